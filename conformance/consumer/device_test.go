package consumer

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"swellbench/scenarios/installation"
)

// A device of its own for the tests: what it reports of a pose, computed by 3×3 matrices from the contract, without
// the packages that the consumer uses. Angles in degrees.

type mat [3][3]float64
type vec [3]float64

func (a mat) mul(b mat) (c mat) {
	for i := range 3 {
		for j := range 3 {
			for k := range 3 {
				c[i][j] += a[i][k] * b[k][j]
			}
		}
	}
	return c
}

func (a mat) t() (b mat) {
	for i := range 3 {
		for j := range 3 {
			b[j][i] = a[i][j]
		}
	}
	return b
}

func (a mat) apply(v vec) (w vec) {
	for i := range 3 {
		w[i] = a[i][0]*v[0] + a[i][1]*v[1] + a[i][2]*v[2]
	}
	return w
}

func (v vec) add(w vec) vec { return vec{v[0] + w[0], v[1] + w[1], v[2] + w[2]} }
func (v vec) sub(w vec) vec { return vec{v[0] - w[0], v[1] - w[1], v[2] - w[2]} }

// dcm is Rz(−h)·Rx(p)·Ry(r), written out as in the reference page on physics.
func dcm(h, p, r float64) mat {
	sh, ch := math.Sincos(h * math.Pi / 180)
	sp, cp := math.Sincos(p * math.Pi / 180)
	sr, cr := math.Sincos(r * math.Pi / 180)
	return mat{
		{ch*cr + sh*sp*sr, sh * cp, ch*sr - sh*sp*cr},
		{-sh*cr + ch*sp*sr, ch * cp, -sh*sr - ch*sp*cr},
		{-cp * sr, sp, cp * cr},
	}
}

func euler(c mat) (h, p, r float64) {
	const deg = 180 / math.Pi
	h = math.Atan2(c[0][1], c[1][1]) * deg
	return math.Mod(h+360, 360), math.Atan2(c[2][1], math.Hypot(c[0][1], c[1][1])) * deg, math.Atan2(-c[2][0], c[2][2]) * deg
}

func azimuth(v vec) float64 { return math.Atan2(v[0], v[1]) * 180 / math.Pi }

// moved is the geodetic position (degrees, m) of the point at east, north, up of another: through Earth-centred
// coordinates of WGS 84 (a and 1/f as in NGA.STND.0036), and back by iterating the latitude.
func moved(at [3]float64, enu vec) [3]float64 {
	const a, f = 6378137.0, 1 / 298.257223563
	const e2 = f * (2 - f)
	sl, cl := math.Sincos(at[0] * math.Pi / 180)
	so, co := math.Sincos(at[1] * math.Pi / 180)
	n := a / math.Sqrt(1-e2*sl*sl)
	x := vec{(n + at[2]) * cl * co, (n + at[2]) * cl * so, (n*(1-e2) + at[2]) * sl}
	x = x.add(mat{{-so, -sl * co, cl * co}, {co, -sl * so, cl * so}, {0, cl, sl}}.apply(enu))
	p, lat := math.Hypot(x[0], x[1]), math.Atan2(x[2], math.Hypot(x[0], x[1])*(1-e2))
	for range 30 {
		s := math.Sin(lat)
		lat = math.Atan2(x[2]+e2*a/math.Sqrt(1-e2*s*s)*s, p)
	}
	s := math.Sin(lat)
	h := p*math.Cos(lat) + x[2]*s - a*math.Sqrt(1-e2*s*s)
	return [3]float64{lat * 180 / math.Pi, math.Atan2(x[1], x[0]) * 180 / math.Pi, h}
}

func lift(c mat, l vec) float64 { return c.apply(l)[2] - l[2] }

// A sheet is an installation in plain numbers. What is nil was not entered.
type sheet struct {
	points                        map[string]vec
	mounting                      vec // degrees
	told                          *vec
	primary, secondary            any // nil, a point's name, or a vec
	axes, from                    string
	baseline                      *vec // azimuth, elevation in degrees, length
	sensor, output                any
	expected                      string
	toldPrimary, toldSecondary    *vec // resolved
	toldSensor, toldOut, toldBase *vec
}

func (s *sheet) place(p any) *vec {
	switch p := p.(type) {
	case string:
		v := s.points[p]
		return &v
	case vec:
		return &p
	}
	return nil
}

// resolve works out what was entered, in vessel axes from the reference point as the person believed them: distances
// along the device's axes are turned by the mounting that was entered.
func (s *sheet) resolve() {
	told := mat{{1, 0, 0}, {0, 1, 0}, {0, 0, 1}}
	if s.told != nil {
		told = dcm(s.told[0], s.told[1], s.told[2])
	}
	sensor := s.points["sensor"]
	if p := s.place(s.sensor); p != nil {
		sensor = *p
	}
	s.toldSensor = &sensor
	antenna := func(p any) *vec {
		v, typed := p.(vec)
		if !typed {
			return s.place(p)
		}
		if s.axes == "device" {
			v = told.apply(v)
		}
		if s.from == "sensor" {
			v = v.add(sensor)
		}
		return &v
	}
	s.toldPrimary, s.toldSecondary = antenna(s.primary), antenna(s.secondary)
	switch {
	case s.baseline != nil:
		a, e, l := s.baseline[0]*math.Pi/180, s.baseline[1]*math.Pi/180, s.baseline[2]
		s.toldBase = &vec{l * math.Sin(a) * math.Cos(e), l * math.Cos(a) * math.Cos(e), l * math.Sin(e)}
	case s.toldPrimary != nil && s.toldSecondary != nil:
		b := s.toldSecondary.sub(*s.toldPrimary)
		s.toldBase = &b
	}
	if s.toldPrimary != nil {
		s.toldOut = s.place(s.output)
	}
}

// A pose is the truth at the reference point.
type pose struct {
	at      [3]float64 // degrees, degrees, m
	h, p, r float64
	heave   float64
}

func (q pose) point(l vec) [3]float64 { return moved(q.at, dcm(q.h, q.p, q.r).apply(l)) }

// report is what the device of the sheet sends in a pose.
func (s *sheet) report(q pose, clock string) string {
	vessel := dcm(q.h, q.p, q.r)
	c := vessel.mul(dcm(s.mounting[0], s.mounting[1], s.mounting[2]))
	if s.told != nil {
		c = c.mul(dcm(s.told[0], s.told[1], s.told[2]).t())
	}
	yaw, p, r := euler(c)
	heading, believed := yaw, yaw
	if second, two := s.points["antenna-secondary"]; two {
		heading = azimuth(vessel.apply(second.sub(s.points["antenna-primary"])))
		if s.toldBase != nil {
			heading -= azimuth(dcm(0, p, r).apply(*s.toldBase))
			believed = heading
		}
	}
	c = dcm(believed, p, r)
	at := q.point(s.points["antenna-primary"])
	heave := q.heave + lift(vessel, s.points["sensor"])
	if s.toldOut != nil {
		at = moved(at, c.apply(s.toldOut.sub(*s.toldPrimary)))
		heave += lift(c, s.toldOut.sub(*s.toldSensor))
	}
	heading = math.Mod(heading+720, 360)
	return gga(clock, at[0], at[1], at[2], 47.125, 4) + sentence("GPZDA,%s,01,06,2026,00,00", clock) + hdt(heading) + xdr(p, r, heave)
}

// draw makes a sheet that may be anything an installation file may say.
func draw(rng *rand.Rand) *sheet {
	span := func(w float64) float64 { return math.Round(rng.Float64()*2*w*1000-w*1000) / 1000 }
	point := func() vec { return vec{span(5), span(12), span(8)} }
	coin := func() bool { return rng.IntN(2) == 0 }
	s := &sheet{points: map[string]vec{"reference": {}, "sensor": point(), "antenna-primary": point(), "sonar": point()}}
	s.mounting = vec{span(180), span(40), span(180)}
	if coin() {
		s.mounting = [...]vec{{}, {90, 0, 0}, {0, 0, 180}, {0, 90, 0}, {12, 0, 0}}[rng.IntN(5)]
	}
	other := func(v vec, w float64) *vec { // as it is, or a mistake
		if coin() {
			v = v.add(vec{span(w), span(w), span(w)})
		}
		return &v
	}
	if coin() {
		s.told = other(s.mounting, 20)
	}
	if coin() {
		base := vec{span(1), 2 + span(0.5), span(0.3)}
		if coin() {
			base = vec{2 + span(0.5), span(1), span(0.3)}
		}
		s.points["antenna-secondary"] = s.points["antenna-primary"].add(base)
		if coin() {
			s.baseline = other(vec{math.Atan2(base[0], base[1]) * 180 / math.Pi, math.Atan2(base[2], math.Hypot(base[0], base[1])) * 180 / math.Pi, 2}, 5)
			s.baseline[2] = 2 + span(0.5)
			if coin() {
				s.baseline = &vec{90, 0, 2}
			}
		}
	}
	typed := func(name string) any {
		switch rng.IntN(3) {
		case 0:
			return name
		case 1:
			return *other(s.points[name], 0.5)
		}
		return nil
	}
	if coin() {
		s.primary = typed("antenna-primary")
		if _, two := s.points["antenna-secondary"]; two {
			s.secondary = typed("antenna-secondary")
		}
		if coin() {
			s.axes = "device"
		}
		if coin() {
			s.from = "sensor"
		}
	}
	s.sensor = typed("sensor")
	if coin() {
		s.output = [...]any{"sonar", "reference", "sensor", "antenna-primary", point()}[rng.IntN(5)]
	}
	s.expected = [...]string{"sonar", "reference", "sensor", "antenna-primary"}[rng.IntN(4)]
	s.resolve()
	return s
}

// drawPose avoids what no heading can be told from: a device that stands upright.
func (s *sheet) drawPose(rng *rand.Rand) pose {
	for {
		q := pose{
			at: [3]float64{rng.Float64()*160 - 80, rng.Float64()*360 - 180, rng.Float64()*100 - 50},
			h:  rng.Float64() * 360, p: rng.Float64()*40 - 20, r: rng.Float64()*60 - 30, heave: rng.Float64()*4 - 2,
		}
		c := dcm(q.h, q.p, q.r).mul(dcm(s.mounting[0], s.mounting[1], s.mounting[2]))
		_, p1, _ := euler(c)
		if s.told != nil {
			c = c.mul(dcm(s.told[0], s.told[1], s.told[2]).t())
		}
		_, p2, _ := euler(c)
		if math.Abs(p1) < 85 && math.Abs(p2) < 85 {
			return q
		}
	}
}

// yaml writes the sheet as an installation file.
func (s *sheet) yaml() string {
	var b strings.Builder
	list := func(v vec) string {
		return fmt.Sprintf("[%.6f m, %.6f m, %.6f m]", v[0], v[1], v[2])
	}
	place := func(key string, p any) {
		switch p := p.(type) {
		case string:
			fmt.Fprintf(&b, "%s: %s\n", key, p)
		case vec:
			fmt.Fprintf(&b, "%s: %s\n", key, list(p))
		}
	}
	b.WriteString("points:                 # right, forward, up\n")
	for _, name := range []string{"sensor", "antenna-primary", "antenna-secondary", "sonar"} {
		if v, ok := s.points[name]; ok {
			fmt.Fprintf(&b, "  %s: %s\n", name, list(v))
		}
	}
	angles := func(v vec) string {
		return fmt.Sprintf("{heading: %.6f deg, pitch: %.6f deg, roll: %.6f deg}", v[0], v[1], v[2])
	}
	fmt.Fprintf(&b, "mounting: %s\nentered:\n  sensor: %s\n", angles(s.mounting), list(*s.toldSensor))
	if s.told != nil {
		fmt.Fprintf(&b, "  mounting: %s\n", angles(*s.told))
	}
	if s.baseline != nil {
		fmt.Fprintf(&b, "  baseline: {azimuth: %.9f deg, elevation: %.9f deg, length: %.6f m}\n", s.baseline[0], s.baseline[1], s.baseline[2])
	}
	place("  output-point", s.output)
	if s.primary != nil || s.secondary != nil {
		b.WriteString("  antennas:\n")
		if s.axes != "" {
			fmt.Fprintf(&b, "    axes: %s\n", s.axes)
		}
		if s.from != "" {
			fmt.Fprintf(&b, "    from: %s\n", s.from)
		}
		place("    primary", s.primary)
		place("    secondary", s.secondary)
	}
	fmt.Fprintf(&b, "expected-of-consumer: {output-point: %s}\n", s.expected)
	return b.String()
}

func (s *sheet) installation(t testing.TB) *installation.Installation {
	t.Helper()
	in, err := installation.Parse("random.yaml", []byte(s.yaml()))
	if err != nil {
		t.Fatalf("%v\n%s", err, s.yaml())
	}
	return in
}

// check compares an observation with the truth at the output point: 0.2 mm (the local frames in which the device and
// the truth add their arms differ by arm times arm over the Earth's radius, 0.05 mm), the rounding of what is printed.
func (s *sheet) check(t testing.TB, o observed, q pose) {
	t.Helper()
	out := s.points[s.expected]
	want := q.point(out)
	const metre = 1 / 111e3
	o.near(t, "lat", want[0], 2e-4*metre)
	o.near(t, "lon", want[1], 2e-4*metre/math.Cos(want[0]*math.Pi/180))
	o.near(t, "height", want[2], 2e-4)
	o.near(t, "heading", q.h, angleTol)
	o.near(t, "pitch", q.p, angleTol)
	o.near(t, "roll", q.r, angleTol)
	o.near(t, "heave", q.heave+lift(dcm(q.h, q.p, q.r), out), 2e-5)
}

func TestRandomInstallations(t *testing.T) {
	for seed := range uint64(400) {
		rng := rand.New(rand.NewPCG(seed, 1))
		s := draw(rng)
		q := s.drawPose(rng)
		o := one(t, s.installation(t), s.report(q, "120000.00"))
		s.check(t, o, q)
		if t.Failed() {
			t.Fatalf("seed %d, pose %+v, observed %v\n%s", seed, q, o, s.yaml())
		}
	}
}
