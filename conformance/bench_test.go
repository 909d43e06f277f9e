package conformance

import (
	"bytes"
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"

	"swellbench/conformance/observe"
	"swellbench/emulator"
	"swellbench/emulator/line"
	"swellbench/emulator/wire"
	"swellbench/scenarios"
	"swellbench/scenarios/installation"
)

// fataler is a *testing.T or a *rapid.T.
type fataler interface {
	Helper()
	Fatal(...any)
}

// A bench plays a scenario in virtual time and lets a small consumer of its own listen: it shares neither decoder nor
// geometry with the judge, and its styles and mistakes are chosen by the test.
type bench struct {
	dev    *emulator.Device
	origin time.Time
	sent   []line.Sent
}

func newBench(t fataler, yaml string) *bench {
	t.Helper()
	sc, err := scenarios.Parse("bench.yaml", []byte(yaml))
	if err != nil {
		t.Fatal(err)
	}
	b := &bench{origin: time.Date(2026, 6, 1, 12, 0, 0, 0, time.UTC)}
	if sc.Start.Now {
		sc = sc.WithStart(b.origin)
	} else {
		b.origin = time.Date(2026, 9, 9, 7, 31, 12, 3e8, time.UTC)
	}
	if b.dev, err = emulator.New(sc); err != nil {
		t.Fatal(err)
	}
	err = line.Transmit(b.dev.Line(0), b.dev.Messages(0), io.Discard, func(s line.Sent) {
		s.Bytes = bytes.Clone(s.Bytes)
		b.sent = append(b.sent, s)
	})
	if err != nil {
		t.Fatal(err)
	}
	return b
}

func (b *bench) evidence(obs []observe.Observation) *Evidence {
	for i := range obs {
		obs[i].Line = int64(i + 1)
	}
	return &Evidence{Case: &Case{Name: "bench"}, Truth: b.dev.Truth(), Device: b.dev, Origin: b.origin,
		Sent: slices.Values(b.sent), Observed: slices.Values(obs), ObserveStats: observe.Stats{Observations: int64(len(obs)), Lines: int64(len(obs))}}
}

// A listener is the consumer: what it reads of one epoch, or of one sentence.
type listener struct {
	b *bench

	perSentence bool // one observation a sentence instead of one an epoch
	arrival     bool // timeless sentences are stamped on arrival
	lastEpoch   bool // timeless sentences are stamped with the last epoch known before their burst
	omitNull    bool // leaves out what is null
	noChecksum  bool // believes every sentence
	spoil       bool // damaged sentences have another digit as well
	noSource    bool
	decimals    int // of degrees and metres; 0 is all
	point       string

	tweak func(*reading)                                     // after a sentence is read
	stamp func(valid time.Time, arrived time.Time) time.Time // of timed rows
	geo   func(*fix)                                         // the geometry; nil is right
	row   func(*observe.Observation) bool                    // before a row is published; false drops it
	after func(*fix, *observe.Observation)                   // a row, before it is published
	deaf  func(line.Sent) bool                               // messages that it loses
	hold  bool                                               // keeps values of earlier epochs where a sentence is missing
}

// A reading is what sentences say, rad, m, m/s. NaN is null; not there is absent.
type reading map[string]float64

func (l *listener) run() []observe.Observation {
	var out []observe.Observation
	date := time.Time{}
	held, last := reading{}, time.Time{}
	emit := func(r reading, sources []string, valid, arrived time.Time) {
		if l.hold {
			for k, v := range held {
				if _, ok := r[k]; !ok {
					r[k] = v
				}
			}
			for k, v := range r {
				held[k] = v
			}
		}
		o := l.publish(r, valid, arrived)
		if !l.noSource {
			o.Source = strings.Join(sources, "+")
		}
		if l.row == nil || l.row(&o) {
			out = append(out, o)
		}
	}
	for i := 0; i < len(l.b.sent); {
		j := i
		for j < len(l.b.sent) && l.b.sent[j].Valid == l.b.sent[i].Valid {
			j++
		}
		burst := l.b.sent[i:j]
		i = j
		whole, sources, valid, arrived := reading{}, []string(nil), time.Time{}, time.Time{}
		type one struct {
			r       reading
			kind    string
			arrived time.Time
		}
		var ones []one
		for _, s := range burst {
			if l.deaf != nil && l.deaf(s) {
				continue
			}
			r, kind, tod, d, ok := l.read(s)
			if !ok {
				continue
			}
			if l.tweak != nil {
				r["_t"] = s.Valid
				l.tweak(&r)
			}
			if !d.IsZero() {
				date = d
			}
			arrived = l.b.origin.Add(time.Duration((s.Last + 0.004) * 1e9))
			if tod >= 0 {
				day := date
				if day.IsZero() {
					day = l.b.dev.UTC(0).Truncate(24 * time.Hour)
				}
				valid = day.Add(tod)
				for !last.IsZero() && valid.Before(last.Add(-12*time.Hour)) { // the time of day stepped back: a new day
					valid = valid.Add(24 * time.Hour)
				}
			}
			for k, v := range r {
				if _, there := whole[k]; !there || kind == "GGA" || kind == "VTG" {
					whole[k] = v
				}
			}
			sources = append(sources, kind)
			ones = append(ones, one{r, kind, arrived})
		}
		if len(ones) == 0 {
			continue
		}
		if !valid.IsZero() {
			last = valid
		}
		if valid.IsZero() && date.IsZero() {
			valid = arrived
		} else if valid.IsZero() { // no timed sentence: from the elapsed time since the last one
			valid = l.b.dev.UTC(burst[0].Valid).Add(3 * time.Millisecond)
		}
		if !l.perSentence {
			emit(whole, sources, valid, arrived)
			continue
		}
		for _, x := range ones {
			at := valid
			timed := x.kind == "GGA" || x.kind == "RMC" || x.kind == "ZDA"
			switch {
			case timed:
			case l.arrival:
				at = x.arrived
			case l.lastEpoch:
				at = valid.Add(-l.step())
			}
			r := x.r
			for k, v := range whole { // the geometry takes what came with it
				if _, ok := r[k]; !ok {
					r["_"+k] = v
				}
			}
			emit(r, []string{x.kind}, at, x.arrived)
		}
	}
	return out
}

// step is the interval of the most frequent GGA, 0 without it.
func (l *listener) step() time.Duration {
	most := 0.0
	for _, m := range l.b.dev.Stream(0).Messages {
		if m.Type == "GGA" {
			most = max(most, float64(m.Rate))
		}
	}
	if most == 0 {
		return 0
	}
	return time.Duration(1e9 / most)
}

// read takes a sentence apart, by position of its fields.
func (l *listener) read(s line.Sent) (r reading, kind string, tod time.Duration, date time.Time, ok bool) {
	tod = -1
	text := strings.TrimSpace(string(s.Bytes))
	star := strings.LastIndexByte(text, '*')
	if s.Dropped != "" || len(text) < 10 || text[0] != '$' || star < 0 || star+3 > len(text) {
		return
	}
	sum := byte(0)
	for _, c := range []byte(text[1:star]) {
		sum ^= c
	}
	if fmt.Sprintf("%02X", sum) != strings.ToUpper(text[star+1:]) && !l.noChecksum {
		return
	}
	body := []byte(text[1:star])
	if l.spoil && s.Hurt != "" { // the third digit of the sentence becomes another one
		n := 0
		for i, c := range body {
			if c >= '0' && c <= '9' {
				if n++; n == 3 || n == 12 {
					body[i] = '0' + (c-'0'+3)%10
				}
			}
		}
	}
	f := strings.Split(string(body), ",")
	r, kind = reading{}, f[0][2:]
	num := func(i int, unit float64) float64 {
		v, err := strconv.ParseFloat(f[i], 64)
		if err != nil {
			return math.NaN()
		}
		return v * unit
	}
	deg := math.Pi / 180
	angle := func(i int) float64 { // ddmm.mm and a letter
		v := num(i, 1)
		d := math.Floor(v / 100)
		v = (d + (v-100*d)/60) * deg
		if f[i+1] == "S" || f[i+1] == "W" {
			v = -v
		}
		return v
	}
	clock := func(i int) time.Duration {
		v := num(i, 1)
		if math.IsNaN(v) {
			return -1
		}
		h, m := math.Floor(v/10000), math.Mod(math.Floor(v/100), 100)
		return time.Duration(h)*time.Hour + time.Duration(m)*time.Minute + time.Duration(math.Round(math.Mod(v, 100)*1e6))*time.Microsecond
	}
	switch kind {
	case "GGA":
		tod = clock(1)
		r["lat"], r["lon"], r["height"], r["fix"] = angle(2), angle(4), num(9, 1)+num(11, 1), num(6, 1)
	case "RMC":
		tod = clock(1)
		r["lat"], r["lon"], r["speed"], r["course"] = angle(3), angle(5), num(7, 1852.0/3600), num(8, deg)
		if d := f[9]; len(d) == 6 {
			date, _ = time.Parse("020106", d)
		}
	case "ZDA":
		tod = clock(1)
		date, _ = time.Parse("2006-01-02", f[4]+"-"+f[3]+"-"+f[2])
	case "VTG":
		r["course"], r["speed"] = num(1, deg), num(5, 1852.0/3600)
	case "HDT":
		r["heading"] = num(1, deg)
	case "ROT":
		r["rot"] = num(1, deg/60)
	case "XDR":
		for i := 1; i+3 < len(f); i += 4 {
			switch strings.ToUpper(f[i+3])[:1] {
			case "P":
				r["pitch"] = num(i+1, deg)
			case "R":
				r["roll"] = num(i+1, deg)
			case "H":
				r["heave"] = num(i+1, 1)
			}
		}
	}
	return r, kind, tod, date, true
}

var fixOf = []wire.Fix{wire.FixNone, wire.FixAutonomous, wire.FixDifferential, wire.FixPrecise, wire.FixRTKFixed, wire.FixRTKFloat, wire.FixEstimated, wire.FixManual, wire.FixSimulated}

// A fix is one epoch under the consumer's geometry.
type fix struct {
	l                       *listener
	r                       reading
	heading, pitch, roll    float64 // of the vessel
	lat, lon, height, heave float64 // of the output point
}

func (l *listener) publish(r reading, valid, arrived time.Time) observe.Observation {
	f := &fix{l: l, r: r}
	if l.geo != nil {
		l.geo(f)
	} else {
		f.solve()
	}
	o := observe.Observation{Time: valid, Arrival: arrived, Point: l.point}
	_, timed := r["lat"]
	if l.stamp != nil && timed {
		o.Time = l.stamp(valid, arrived)
	}
	put := func(key string, to *observe.Field[float64], v float64, digit float64) {
		if _, ok := r[key]; !ok {
			return
		}
		if math.IsNaN(v) {
			if !l.omitNull {
				*to = observe.Null[float64]()
			}
			return
		}
		if l.decimals > 0 {
			digit *= math.Pow(10, float64(-l.decimals))
			v = math.Round(v/digit) * digit
		}
		*to = observe.Of(v)
	}
	deg := math.Pi / 180
	put("lat", &o.LatRad, f.lat, deg*1e-5)
	put("lon", &o.LonRad, f.lon, deg*1e-5)
	put("height", &o.HeightM, f.height, 1)
	put("speed", &o.SpeedMS, r["speed"], 1)
	put("course", &o.CourseRad, r["course"], deg)
	put("heading", &o.HeadingRad, f.heading, deg)
	put("pitch", &o.PitchRad, f.pitch, deg)
	put("roll", &o.RollRad, f.roll, deg)
	put("heave", &o.HeaveM, f.heave, 1)
	put("rot", &o.RateOfTurnRadS, r["rot"], deg)
	if v, ok := r["fix"]; ok && !math.IsNaN(v) && v >= 0 && int(v) < len(fixOf) {
		o.Fix = observe.Of(fixOf[int(v)])
	}
	if l.after != nil {
		l.after(f, &o)
	}
	if l.omitNull && !o.LatRad.Said() && !o.HeadingRad.Said() && !o.PitchRad.Said() {
		o.Fix = observe.Field[wire.Fix]{}
	}
	return o
}

// The geometry, with plain matrices.

type mat [3][3]float64
type vec [3]float64

func rot(h, p, r float64) mat {
	sh, ch := math.Sincos(h)
	sp, cp := math.Sincos(p)
	sr, cr := math.Sincos(r)
	return mat{{ch*cr + sh*sp*sr, sh * cp, ch*sr - sh*sp*cr}, {-sh*cr + ch*sp*sr, ch * cp, -sh*sr - ch*sp*cr}, {-cp * sr, sp, cp * cr}}
}

func (m mat) mulT(n mat) (o mat) { // m·nᵀ
	for i := range 3 {
		for j := range 3 {
			for k := range 3 {
				o[i][j] += m[i][k] * n[j][k]
			}
		}
	}
	return o
}

func (m mat) apply(v vec) (o vec) {
	for i := range 3 {
		for k := range 3 {
			o[i] += m[i][k] * v[k]
		}
	}
	return o
}

func (m mat) angles() (h, p, r float64) {
	return math.Mod(math.Atan2(m[0][1], m[1][1])+2*math.Pi, 2*math.Pi), math.Atan2(m[2][1], math.Hypot(m[0][1], m[1][1])), math.Atan2(-m[2][0], m[2][2])
}

func sub(a, b vec) vec { return vec{a[0] - b[0], a[1] - b[1], a[2] - b[2]} }

func (f *fix) at(key string) float64 {
	if v, ok := f.r[key]; ok {
		return v
	}
	if v, ok := f.r["_"+key]; ok {
		return v
	}
	return math.NaN()
}

func (f *fix) place(name string) vec {
	in := &f.l.b.dev.Scenario().Installation
	v := in.Points[name]
	return vec{float64(v[0]), float64(v[1]), float64(v[2])}
}

// attitude brings device angles to the vessel, and the baseline's azimuth to its heading.
func (f *fix) attitude(mount func(dh, dp, dr float64, m mat) (h, p, r float64)) {
	in := &f.l.b.dev.Scenario().Installation
	f.heading, f.pitch, f.roll = f.at("heading"), f.at("pitch"), f.at("roll")
	two := false
	if _, ok := in.Points["antenna-secondary"]; ok {
		two = true
	}
	if in.Entered.Mounting == nil && in.Mounting != (installation.Mounting{}) {
		m := rot(float64(in.Mounting.Heading), float64(in.Mounting.Pitch), float64(in.Mounting.Roll))
		h := f.heading
		if two {
			h = 0
		}
		var vh float64
		vh, f.pitch, f.roll = mount(h, f.pitch, f.roll, m)
		if !two {
			f.heading = vh
		}
	}
	if two && in.Entered.Antennas == nil && in.Entered.Baseline == nil {
		b := rot(0, f.pitch, f.roll).apply(sub(f.place("antenna-secondary"), f.place("antenna-primary")))
		f.heading = math.Mod(f.heading-math.Atan2(b[0], b[1])+4*math.Pi, 2*math.Pi)
	}
}

func compose(dh, dp, dr float64, m mat) (h, p, r float64) { return rot(dh, dp, dr).mulT(m).angles() }

// arm is from the point on the wire to the output point.
func (f *fix) arm() (position, heave vec) {
	in := &f.l.b.dev.Scenario().Installation
	out := f.place(in.Expected.OutputPoint)
	from, lift := f.place("antenna-primary"), f.place("sensor")
	if in.Entered.OutputPoint != nil && in.Entered.Antennas != nil {
		from = f.place(in.Entered.OutputPoint.Name)
		lift = from
	}
	if f.l.point != "" {
		out = f.place(f.l.point)
	}
	return sub(out, from), sub(out, lift)
}

func (f *fix) carry(enu vec) {
	const a, e2 = 6378137, 0.00669437999014
	f.lat, f.lon, f.height = f.at("lat"), f.at("lon"), f.at("height")
	s := math.Sin(f.lat)
	w := math.Sqrt(1 - e2*s*s)
	h := f.height
	if math.IsNaN(h) {
		h = 0
	}
	f.lat += enu[1] / (a*(1-e2)/(w*w*w) + h)
	f.lon = math.Mod(f.lon+enu[0]/((a/w+h)*math.Cos(f.lat))+3*math.Pi, 2*math.Pi) - math.Pi
	f.height += enu[2]
}

func (f *fix) lift(arm vec) {
	f.heave = f.at("heave") + rot(0, f.pitch, f.roll).apply(arm)[2] - arm[2]
}

func (f *fix) solve() {
	f.attitude(compose)
	arm, lift := f.arm()
	enu := vec{}
	if arm != enu {
		enu = rot(f.heading, f.pitch, f.roll).apply(arm)
	}
	f.carry(enu)
	if lift == (vec{}) {
		f.heave = f.at("heave")
	} else {
		f.lift(lift)
	}
}
