package nmea2000

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"
	"os/exec"
	"strconv"
	"strings"
	"testing"
	"time"

	"swellbench/emulator/wire"
	"swellbench/scenarios/frame"
	"swellbench/scenarios/geo"
	"swellbench/scenarios/opt"
)

// canboatOrSkip finds node and the package, which .ci/run installs.
func canboatOrSkip(t *testing.T) string {
	t.Helper()
	node, err := exec.LookPath("node")
	if err != nil {
		t.Skip("the independent decoder needs node, which is not installed")
	}
	if err := exec.Command(node, "testdata/decode.js", "--check").Run(); err != nil {
		t.Skip("the independent decoder needs the package @canboat/canboatjs, which is not installed: npm install -g --ignore-scripts @canboat/canboatjs")
	}
	return node
}

// A ride is a random run of a vessel: what a device on it might know, drawn anew for each message.
type ride struct{ *rand.Rand }

func (d ride) maybe(x float64) opt.Opt[float64] {
	if d.IntN(12) == 0 {
		return opt.None[float64]()
	}
	return opt.Of(x)
}

func (d ride) between(lo, hi float64) opt.Opt[float64] { return d.maybe(lo + (hi-lo)*d.Float64()) }

func (d ride) reading(i int) wire.Reading {
	r := wire.Reading{T: float64(i) / 10, Count: uint32(i), Fix: wire.Fix(d.IntN(int(wire.FixSimulated) + 1)),
		Undulation: d.between(-110, 90), Variation: d.between(-math.Pi, math.Pi), SpeedMS: d.between(0, 30), CourseRad: d.between(0, 2*math.Pi),
		HDOP: d.between(0.4, 99), PDOP: d.between(0.6, 150), VDOP: d.between(0.5, 120), TDOP: d.between(0.3, 90), DiffAge: d.between(0, 600),
		Heading: d.between(0, 2*math.Pi), Yaw: d.between(0, 2*math.Pi), Pitch: d.between(-1.5, 1.5), Roll: d.between(-math.Pi, math.Pi),
		RateOfTurn: d.between(-2, 2), HeaveM: d.between(-20, 20)}
	if d.IntN(12) > 0 {
		r.Position = opt.Of(geo.Position{Lat: math.Asin(2*d.Float64() - 1), Lon: math.Pi * (2*d.Float64() - 1), Height: 9000*d.Float64() - 100})
		r.Satellites = opt.Of(d.IntN(60))
	}
	if d.IntN(12) > 0 {
		r.UTC = opt.Of(time.Unix(d.Int64N(60000*86400), d.Int64N(1e9)).UTC())
	}
	if r.DiffAge.Has() {
		r.DiffStation = opt.Of(d.IntN(4093))
	}
	return r
}

// TestCanboatAgrees: over a long random run canboatjs finds in each message what the reading was, to within half a step.
// Messages of several addresses go among each other frame by frame, as on a bus.
func TestCanboatAgrees(t *testing.T) {
	node := canboatOrSkip(t)
	rounds := 1500
	if testing.Short() {
		rounds = 100
	}
	type sent struct {
		kind    string
		o       Options
		reading wire.Reading
	}
	d := ride{rand.New(rand.NewPCG(4, 2000))}
	var stream bytes.Buffer
	var whole []sent // in the order of their last frames
	for i := range rounds {
		var queue [4][][]byte
		var on [4]sent
		for k := range queue {
			kind := Kinds()[d.IntN(len(Messages))]
			if k < 2 && d.IntN(3) == 0 {
				kind = "129029" // more of those, to have them cross
			}
			s := sent{kind: kind, reading: d.reading(i)}
			s.o = Options{Source: opt.Of(10 + 60*k + d.IntN(60)), Priority: opt.Of(d.IntN(8)), MomentHz: 10, Magnetic: d.IntN(2) == 0}
			lines, err := encoderOf(t, kind, s.o).Append(nil, &s.reading)
			if err != nil {
				t.Fatal(err)
			}
			for line := range bytes.SplitAfterSeq(lines, []byte{'\r'}) {
				if len(line) > 0 {
					queue[k] = append(queue[k], line)
				}
			}
			on[k] = s
		}
		for left := len(queue); left > 0; {
			k := d.IntN(len(queue))
			if len(queue[k]) == 0 {
				continue
			}
			stream.Write(queue[k][0])
			if queue[k] = queue[k][1:]; len(queue[k]) == 0 {
				whole = append(whole, on[k])
				left--
			}
		}
	}
	cmd := exec.Command(node, "testdata/decode.js")
	cmd.Stdin = &stream
	var errors bytes.Buffer
	cmd.Stderr = &errors
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("%v: %s", err, errors.String())
	}
	lines := strings.Split(strings.TrimSpace(string(out)), "\n")
	if len(lines) != len(whole) {
		t.Fatalf("canboatjs found %d messages, sent were %d", len(lines), len(whole))
	}
	bad := 0
	for i, s := range whole {
		var got canboatMessage
		if err := json.Unmarshal([]byte(lines[i]), &got); err != nil || got.Error != "" {
			t.Fatalf("%s: %v", lines[i], err)
		}
		c := checker{got: got.Fields}
		c.message(s.kind, s.o, &s.reading)
		if fmt.Sprint(got.PGN) != s.kind || got.Src != s.o.Source.Or(0) || got.Prio != s.o.Priority.Or(0) || got.Dst != Global {
			c.wrong = append(c.wrong, "identifier")
		}
		if c.wrong != nil {
			t.Errorf("message %d, %s: %s\nread by canboatjs: %s", i, s.kind, strings.Join(c.wrong, "; "), lines[i])
			if bad++; bad == 10 {
				t.FailNow()
			}
		}
	}
	t.Logf("%d messages agree", len(whole))
}

type canboatMessage struct {
	Error               string
	PGN, Prio, Src, Dst int
	Fields              map[string]any
}

// A checker compares what canboatjs read with the reading.
type checker struct {
	got   map[string]any
	wrong []string
}

func (c *checker) fail(name string, want any) {
	c.wrong = append(c.wrong, fmt.Sprintf("%s is %v, sent was %v", name, c.got[name], want))
}

// near wants x to within half a step. Numbers are printed with at most 8 decimals by canboatjs where the step is no power
// of ten: slack is for that.
func (c *checker) near(name string, x opt.Opt[float64], half, turn float64) {
	want, ok := x.Value()
	v, has := c.got[name]
	got, isNumber := v.(float64)
	diff := got - want
	if turn > 0 {
		diff = math.Remainder(diff, turn)
	}
	if !has || ok != (v != nil) || ok && (!isNumber || math.Abs(diff) > half*(1+1e-6)+1e-12) {
		c.fail(name, x)
	}
}

func (c *checker) is(name string, want any) {
	if v, has := c.got[name]; !has || v != want {
		c.fail(name, want)
	}
}

// when wants date and time, printed as 2027.06.15 and 08:15:02.20000.
func (c *checker) when(x opt.Opt[time.Time]) {
	want, ok := x.Value()
	date, hasDate := c.got["date"].(string)
	clock, hasTime := c.got["time"].(string)
	if ok != hasDate || ok != hasTime {
		c.fail("date", x)
		return
	}
	if !ok {
		return
	}
	day, err := time.Parse("2006.01.02", date)
	if err != nil {
		c.fail("date", want)
		return
	}
	if d := day.Add(duration(clock)).Sub(want); d.Abs() > tick/2 {
		c.fail("time", want)
	}
}

// duration reads hh:mm:ss.sssss, -1 for what is none.
func duration(s string) time.Duration {
	parts := strings.Split(s, ":")
	if len(parts) != 3 {
		return -1
	}
	h, err1 := strconv.Atoi(parts[0])
	m, err2 := strconv.Atoi(parts[1])
	sec, err3 := strconv.ParseFloat(parts[2], 64)
	if err1 != nil || err2 != nil || err3 != nil {
		return -1
	}
	return time.Duration(h)*time.Hour + time.Duration(m)*time.Minute + time.Duration(math.Round(sec*1e9))
}

func (c *checker) sid(r *wire.Reading) { c.is("sid", math.Mod(math.Round(r.T*10), 253)) }

func (c *checker) position(r *wire.Reading, half float64) {
	var lat, lon, height opt.Opt[float64]
	if p, ok := r.Position.Value(); ok {
		lat, lon, height = opt.Of(frame.Deg(p.Lat)), opt.Of(frame.Deg(p.Lon)), opt.Of(p.Height)
	}
	c.near("latitude", lat, half, 0)
	c.near("longitude", lon, half, 360)
	if _, ok := c.got["altitude"]; ok {
		c.near("altitude", height, 0.5e-6, 0)
	}
}

// message wants what the reading says, by the words of the canboat database.
func (c *checker) message(kind string, o Options, r *wire.Reading) {
	const turn = 2 * math.Pi
	reference, heading, course := "True", r.Heading, r.CourseRad
	if o.Magnetic {
		reference = "Magnetic"
		heading, course = opt.None[float64](), opt.None[float64]()
		if v, ok := r.Variation.Value(); ok {
			if h, ok := r.Heading.Value(); ok {
				heading = opt.Of(h - v)
			}
			if k, ok := r.CourseRad.Value(); ok {
				course = opt.Of(k - v)
			}
		}
	}
	if kind != "129025" && kind != "60928" {
		c.sid(r)
	}
	switch kind {
	case "60928":
		for name, want := range map[string]any{"uniqueNumber": 1.0, "manufacturerCode": 2040.0, "deviceInstanceLower": 0.0,
			"deviceFunction": 140.0, "deviceClass": "Navigation", "industryGroup": "Marine Industry", "arbitraryAddressCapable": "Yes"} {
			c.is(name, want)
		}
	case "126992":
		c.is("source", "GPS")
		c.when(r.UTC)
	case "127250":
		c.is("reference", reference)
		c.is("deviation", nil)
		c.near("heading", heading, 0.5e-4, turn)
		c.near("variation", r.Variation, 0.5e-4, turn)
	case "127251":
		c.near("rate", r.RateOfTurn, 0.5/32e6+0.5e-8, 0) // and 8 decimals
	case "127252":
		c.near("heave", r.HeaveM, 0.005, 0)
	case "127257":
		c.near("yaw", r.Yaw, 0.5e-4, turn)
		c.near("pitch", r.Pitch, 0.5e-4, 0)
		c.near("roll", r.Roll, 0.5e-4, turn)
	case "127258":
		c.is("source", "Manual")
		c.near("variation", r.Variation, 0.5e-4, turn)
	case "129025":
		c.position(r, 0.5e-7)
	case "129026":
		c.is("cogReference", reference)
		c.near("cog", course, 0.5e-4, turn)
		c.near("sog", r.SpeedMS, 0.005, 0)
	case "129029":
		c.when(r.UTC)
		c.position(r, 1e-13)
		c.is("gnssType", "GPS")
		c.is("integrity", "No integrity checking")
		c.is("method", map[wire.Fix]string{wire.FixNone: "no GNSS", wire.FixAutonomous: "GNSS fix", wire.FixDifferential: "DGNSS fix",
			wire.FixPrecise: "Precise GNSS", wire.FixRTKFixed: "RTK Fixed Integer", wire.FixRTKFloat: "RTK float",
			wire.FixEstimated: "Estimated (DR) mode", wire.FixManual: "Manual Input", wire.FixSimulated: "Simulate mode"}[r.Fix])
		var used any
		if n, ok := r.Satellites.Value(); ok {
			used = float64(n)
		}
		c.is("numberOfSvs", used)
		c.near("hdop", r.HDOP, 0.005, 0)
		c.near("pdop", r.PDOP, 0.005, 0)
		c.near("geoidalSeparation", r.Undulation, 0.005, 0)
		stations := []any{}
		if r.DiffAge.Has() {
			stations = append(stations, nil)
		}
		c.is("referenceStations", float64(len(stations)))
		list, _ := c.got["list"].([]any)
		if len(list) != len(stations) {
			c.fail("list", stations)
			return
		}
		for _, v := range list {
			station, _ := v.(map[string]any)
			sc := checker{got: station}
			sc.is("referenceStationType", "GPS")
			sc.is("referenceStationId", float64(r.DiffStation.Or(-1)))
			age, _ := station["ageOfDgnssCorrections"].(string)
			if math.Abs(duration(age).Seconds()-r.DiffAge.Or(-9)) > 0.005+1e-9 {
				sc.fail("ageOfDgnssCorrections", r.DiffAge)
			}
			c.wrong = append(c.wrong, sc.wrong...)
		}
	case "129539":
		c.is("desiredMode", "Auto")
		c.near("hdop", r.HDOP, 0.005, 0)
		c.near("vdop", r.VDOP, 0.005, 0)
		c.near("tdop", r.TDOP, 0.005, 0)
	}
}
