package compare

import (
	"fmt"
	"io"
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"

	"swellbench/conformance/observe"
	"swellbench/emulator"
	"swellbench/emulator/line"
	"swellbench/emulator/wire"
	"swellbench/scenarios"
	"swellbench/scenarios/geo"
	"swellbench/scenarios/opt"
)

var start = time.Date(2026, 6, 1, 12, 0, 0, 0, time.UTC)

func device(t fatal, yaml string) *emulator.Device {
	t.Helper()
	sc, err := scenarios.Parse("test.yaml", []byte(yaml))
	if err != nil {
		t.Fatalf("%v\n%s", err, yaml)
	}
	if sc.Start.Now {
		sc = sc.WithStart(start)
	}
	d, err := emulator.New(sc)
	if err != nil {
		t.Fatalf("%v\n%s", err, yaml)
	}
	return d
}

type fatal interface {
	Helper()
	Fatalf(string, ...any)
}

func run(t fatal, d *emulator.Device) Run {
	t.Helper()
	var sent []line.Sent
	if err := line.Transmit(d.Line(0), d.Messages(0), io.Discard, func(s line.Sent) { sent = append(sent, s) }); err != nil {
		t.Fatalf("%v", err)
	}
	return Run{Device: d, Truth: d.Truth(), Start: d.UTC(0), Sent: slices.Values(sent)}
}

const messages = `
streams:
  - format: nmea0183
    line: {baud: 115200}
    messages:
      - {type: ZDA, rate: 1 Hz}
      - {type: GGA, rate: 10 Hz, decimals: {minutes: 6, altitude: 2, undulation: 2}}
      - {type: VTG, rate: 10 Hz, decimals: {course: 2, speed: 2}}
      - {type: HDT, rate: 10 Hz, decimals: {heading: 2}}
      - {type: ROT, rate: 10 Hz}
      - {type: XDR, rate: 10 Hz, decimals: {angle: 2, heave: 2}}
`

func vector(t *rapid.T, name string, size float64) string {
	f := func(axis string) float64 { return rapid.Float64Range(-size, size).Draw(t, name+axis) }
	return fmt.Sprintf("[%.4f m, %.4f m, %.4f m]", f(" right"), f(" forward"), f(" up"))
}

// Where the entries are right, what a correct consumer concludes from the device's readings is the truth: for any
// installation, attitude and place.
func TestConclusionIsTruth(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		num := func(name string, low, high float64) float64 { return rapid.Float64Range(low, high).Draw(t, name) }
		mounting := fmt.Sprintf("{heading: %.4f deg, pitch: %.4f deg, roll: %.4f deg}", num("mounting heading", -179, 179), num("mounting pitch", -60, 60), num("mounting roll", -179, 179))
		two := rapid.Bool().Draw(t, "two antennas")
		entered := rapid.SampledFrom([]string{"nothing", "mounting", "all", "straight"}).Draw(t, "entered")
		b := strings.Builder{}
		fmt.Fprintf(&b, "start: now\nduration: 10 s\ninstallation:\n  points:\n    sensor: %s\n    antenna-primary: %s\n    sonar: %s\n",
			vector(t, "sensor", 8), vector(t, "antenna", 8), vector(t, "sonar", 12))
		if two { // never where the primary is
			fmt.Fprintf(&b, "    antenna-secondary: [%.4f m, %.4f m, %.4f m]\n", num("second right", 8.5, 12), num("second forward", -8, 8), num("second up", -8, 8))
		}
		if entered != "straight" {
			fmt.Fprintf(&b, "  mounting: %s\n", mounting)
		}
		second := ""
		if two {
			second = ", secondary: antenna-secondary"
		}
		switch entered {
		case "mounting":
			fmt.Fprintf(&b, "  entered: {mounting: %s}\n", mounting)
		case "all":
			fmt.Fprintf(&b, "  entered: {mounting: %s, antennas: {primary: antenna-primary%s}, output-point: sensor}\n", mounting, second)
		case "straight":
			fmt.Fprintf(&b, "  entered: {antennas: {primary: antenna-primary%s}, output-point: sonar}\n", second)
		}
		fmt.Fprintf(&b, "  expected-of-consumer: {output-point: sonar}\n")
		fmt.Fprintf(&b, "track:\n  position: {latitude: %.6f deg, longitude: %.6f deg, height: %.2f m}\n  heading: %.4f deg\n  speed: %.3f m/s\n",
			num("latitude", -80, 80), num("longitude", -180, 180), num("height", -100, 100), num("heading", 0, 359), num("speed", 0.5, 15))
		fmt.Fprintf(&b, "motion:\n  pose: {pitch: %.4f deg, roll: %.4f deg}\n  roll: [{amplitude: %.3f deg, period: 7 s}]\n  pitch: [{amplitude: 3 deg, period: 5 s}]\n  heave: [{amplitude: 1 m, period: 6 s}]\n  yaw: [{amplitude: 2 deg, period: 8 s}]\n",
			num("pitch", -30, 30), num("roll", -40, 40), num("roll amplitude", 0, 20))
		b.WriteString(messages)
		d := device(t, b.String())
		in := &d.Scenario().Installation
		if p, q := in.Points["antenna-primary"].Vec(), in.Points["antenna-secondary"].Vec(); two && r3.Norm(r3.Sub(p, q)) < 0.5 {
			t.Skip("no baseline to speak of")
		}
		c := NewConsumer(in)
		at := num("t", 0, 10)
		r, s := d.Ideal(at), d.Truth().At(at).Body()
		att := s.Attitude.Rotation()
		if two {
			base, _ := in.Baseline()
			if e := att.Apply(base); math.Hypot(e.X, e.Y) < 0.3 {
				t.Skip("the baseline stands upright: its azimuth tells no heading")
			}
		}
		for i, name := range c.names {
			got, want := c.Conclude(&r, c.points[i]), trueConclusion(&s, c.points[i])
			for q, diff := range deltas(&got, &want) {
				switch Q(q) {
				case Speed, Course, RateOfTurn: // of the point and the axes on the wire
					continue
				}
				// The device turns its arm in the local frame of the antenna: arm²/R, some µm, and times tan(latitude).
				if tol := map[bool]float64{true: 2e-4, false: 1e-8}[Q(q) <= Height]; !(math.Abs(diff) < tol) {
					t.Errorf("%s at %s: %s is off by %g", entered, name, Q(q), diff)
				}
			}
		}
	})
}

const swell = `start: now
duration: 6 s
installation:
  points:
    sensor: [0.62 m, -3.35 m, 1.15 m]
    antenna-primary: [1.45 m, -5.20 m, 8.30 m]
    antenna-secondary: [-0.95 m, -4.55 m, 8.75 m]
    sonar: [-1.85 m, 4.90 m, -2.35 m]
  mounting: {heading: -52 deg, pitch: 14 deg, roll: 23 deg}
  ENTERED
  expected-of-consumer: {output-point: sonar}
track:
  position: {latitude: -29.418273 deg, longitude: 33.756128 deg, height: 27.63 m}
  heading: 122.7 deg
  speed: 9.3 kn
motion:
  roll: [{amplitude: 9 deg, period: 3.1 s, phase: 20 deg}]
  pitch: [{amplitude: 4.5 deg, period: 3.7 s, phase: 75 deg}]
  heave: [{amplitude: 0.8 m, period: 4.3 s, phase: 140 deg}]
`

// perfect is the observation of a consumer that knows the truth of a point.
func perfect(d *emulator.Device, t float64, l r3.Vec) observe.Observation {
	now := d.Truth().At(t).Body()
	c := trueConclusion(&now, l)
	return said(d, t, &c)
}

func said(d *emulator.Device, t float64, c *Conclusion) observe.Observation {
	o := observe.Observation{Time: d.UTC(t)}
	if p, ok := c.Position.Value(); ok {
		o.LatRad, o.LonRad, o.HeightM = observe.Of(p.Lat), observe.Of(p.Lon), observe.Of(p.Height)
	}
	for q, f := range map[Q]*observe.Field[float64]{Speed: &o.SpeedMS, Course: &o.CourseRad, Heading: &o.HeadingRad, Pitch: &o.PitchRad, Roll: &o.RollRad, Heave: &o.HeaveM, RateOfTurn: &o.RateOfTurnRadS} {
		if v, ok := c.Value[q].Value(); ok {
			*f = observe.Of(v)
		}
	}
	return o
}

// Where the entries are wrong, a consumer may take them at their word or undo them; anything else is wrong.
func TestWrongEntries(t *testing.T) {
	d := device(t, strings.Replace(swell, "ENTERED", "entered: {mounting: {heading: -47 deg, pitch: 14 deg, roll: 20 deg}, antennas: {primary: [1.45 m, -4.20 m, 8.30 m], secondary: antenna-secondary}, output-point: sensor}", 1)+messages)
	c := New(run(t, d))
	if !c.wrong {
		t.Fatal("the wrong entries were not noticed")
	}
	i, _ := c.consumer.point("sonar")
	l := c.consumer.points[i]
	r := d.Ideal(2)
	word := c.consumer.Conclude(&r, l)
	then := d.Truth().At(2).Body()
	between := trueConclusion(&then, l)
	for q, diff := range deltas(&word, &between) {
		if Q(q) != RateOfTurn && Q(q) != Speed && Q(q) != Course && Q(q) != Height && Q(q) != Heave && math.Abs(diff) < 10*c.tolerances(c.moment(2), i, c.selection("")).Total[q] {
			t.Fatalf("%s: the entries make no difference (%g): the test would prove nothing", Q(q), diff)
		}
	}
	check := func(name string, o observe.Observation, want bool) {
		row := c.Row(&o)
		for q := range NQ {
			if v := &row.Values[q]; v.State != Judged {
				t.Errorf("%s: %s is not judged: %+v", name, q, v)
			} else if want && v.Beyond() {
				t.Errorf("%s: %s is off by %g, tolerance %g", name, q, v.Diff, v.Tolerance)
			} else if !want && !v.Beyond() && (q == Roll || q == Lat) {
				t.Errorf("%s: %s passes", name, q)
			}
		}
	}
	check("at their word", said(d, 2, &word), true)
	check("undone", perfect(d, 2, l), true)
	o := perfect(d, 2, l)
	a, b := word.Value[Roll].Or(0), between.Value[Roll].Or(0)
	o.RollRad = observe.Of(2*b - a)
	p, _ := word.Position.Value()
	q, _ := between.Position.Value()
	o.LatRad = observe.Of(2*q.Lat - p.Lat)
	check("the wrong way", o, false)
}

// A table of tolerances worked out by hand.
func TestTolerances(t *testing.T) {
	d := device(t, strings.Replace(swell, "  ENTERED\n", "", 1)+messages)
	c := New(run(t, d))
	deg := math.Pi / 180
	r := d.Ideal(1)
	antenna, _ := c.consumer.point("antenna-primary")
	sel := c.selection("")

	// At the antenna nothing is carried: half a digit of the message, of the consumer, and arithmetic.
	tol := c.errors.at(&r, c.consumer.points[antenna], &sel.half, sel.vector)
	lat := -29.418273 * deg
	half := 0.5e-6 / 60 * deg * geo.MeridianRadius(lat)
	want := half + 5e-8*deg*geo.MeridianRadius(lat) + 5e-4
	if math.Abs(tol.Total[Lat]-want) > 1e-7 {
		t.Errorf("latitude at the antenna: %g m, want %g", tol.Total[Lat], want)
	}
	if want := 0.01 + 0.01 + 5e-4; math.Abs(tol.Total[Height]-want) > 1e-9 {
		t.Errorf("height at the antenna: %g m, want %g", tol.Total[Height], want)
	}
	if want := (0.01/60/2 + 0.005 + 1e-4) * deg; math.Abs(tol.Total[RateOfTurn]-want) > 1e-9 { // two decimals of degrees a minute
		t.Errorf("rate of turn: %g, want %g", tol.Total[RateOfTurn], want)
	}

	// At the sonar heading, pitch and roll move it by their resolution times the arm.
	i, _ := c.consumer.point("sonar")
	l := c.consumer.points[i]
	tol = c.errors.at(&r, l, &sel.half, sel.vector)
	arm := r3.Norm(r3.Sub(l, c.consumer.points[antenna]))
	extra := math.Hypot(tol.Part[Lat][Resolution], tol.Part[Lon][Resolution])
	if low, high := 0.005*deg*arm*0.3, 0.005*deg*arm*3+3*half; extra < low || extra > high {
		t.Errorf("the resolution of the attitude adds %g m over an arm of %g m, want %g to %g", extra, arm, low, high)
	}
	if tol.Part[Lat][Staleness] != 0 || tol.Part[Lat][Noise] != 0 {
		t.Errorf("parts that nothing here gives: %+v", tol.Part[Lat])
	}

	// By brute force: moving the readings by their resolution moves the conclusion by no more than the part.
	base := c.consumer.Conclude(&r, l)
	for n := range 27 {
		moved := r
		for k := range nInputs {
			v := input(&moved, k)
			*v = optAdd(*v, float64(n/[]int{1, 3, 9}[k]%3-1)*0.005*deg)
		}
		got := c.consumer.Conclude(&moved, l)
		for q, diff := range deltas(&got, &base) {
			if !math.IsNaN(diff) && math.Abs(diff) > tol.Part[q][Resolution]*1.001+1e-9 {
				t.Errorf("%s moves by %g, more than %g", Q(q), diff, tol.Part[q][Resolution])
			}
		}
	}
}

// How many sigma: from tables of the normal distribution (P(|z| > 4.8916) = 1e-6), and growing with the samples.
func TestSigmas(t *testing.T) {
	if k := sigmas(1); math.Abs(k-4.8916) > 1e-3 {
		t.Errorf("one sample: %g", k)
	}
	if a, b := sigmas(1000), sigmas(1e7); !(a > 6 && a < 6.3 && b > 7.2 && b < 7.7) {
		t.Errorf("1000 samples: %g, ten million: %g", a, b)
	}
}

// The tolerance of stamps counts what the digits of the message lose of this run's epochs, and no more.
func TestStampTolerance(t *testing.T) {
	for rate, want := range map[string]float64{"10 Hz": 1.001e-3, "3 Hz": 1.001e-3 + 0.01/3, "8 Hz": 1.001e-3 + 0.005} {
		y := strings.Replace(swell, "  ENTERED\n", "", 1) + "streams:\n  - format: nmea0183\n    line: {baud: 115200}\n    messages:\n      - {type: GGA, rate: " + rate + "}\n"
		c := New(run(t, device(t, y)))
		if math.Abs(c.StampToleranceS-want) > 1e-9 {
			t.Errorf("%s: %g s, want %g", rate, c.StampToleranceS, want)
		}
	}
}

func TestPlace(t *testing.T) {
	at := func(s string) time.Time {
		x, err := time.Parse(time.RFC3339Nano, s)
		if err != nil {
			t.Fatal(err)
		}
		return x
	}
	a := axis{start: at("2027-12-31T23:59:50Z"), origin: at("2026-09-09T07:31:12.3Z"), duration: 20}
	never := func(float64) bool { return false }
	for _, c := range []struct {
		stamp string
		timed bool
		t     float64
		clock Clock
		shift float64
	}{
		{"2027-12-31T23:59:51.5Z", true, 1.5, Scenario, 0},
		{"2028-01-01T00:00:05Z", true, 15, Scenario, 0},
		{"2027-12-31T00:00:05Z", true, 15, Scenario, -86400},
		{"2028-01-01T05:45:05Z", true, 15, Scenario, 20700},
		{"2026-09-09T07:31:13.3Z", false, 1, Host, 0},
		{"2026-09-09T07:31:13.3Z", true, 1, Host, 0},
		{"2027-12-31T23:58:00Z", true, -110, Nowhere, 0},
		{"0001-01-01T00:00:00Z", true, 0, Nowhere, 0},
	} {
		got, clock, shift := a.place(at(c.stamp), time.Time{}, c.timed, never)
		if clock != c.clock || shift != c.shift || clock != Nowhere && math.Abs(got-c.t) > 1e-6 {
			t.Errorf("%s: %g s, %v, shift %g; want %g, %v, %g", c.stamp, got, clock, shift, c.t, c.clock, c.shift)
		}
	}
}

// A source picks the messages it names: the coarse one if it came from that, the fine one if not.
func TestSelection(t *testing.T) {
	y := strings.Replace(swell, "  ENTERED\n", "", 1) + `streams:
  - format: nmea0183
    line: {baud: 115200}
    messages:
      - {type: RMC, rate: 10 Hz, decimals: {minutes: 3}}
      - {type: GGA, rate: 10 Hz, decimals: {minutes: 6}}
      - {type: VTG, rate: 10 Hz}
`
	c := New(run(t, device(t, y)))
	for source, want := range map[string]string{
		"": "GNRMC GNGGA", "GGA": "GNGGA", "GNGGA": "GNGGA", "gga": "GNGGA", "RMC+VTG": "GNRMC", "ZDA+GGA+RMC": "GNRMC GNGGA", "my box": "GNRMC GNGGA", "$GNRMC,": "GNRMC",
	} {
		var got []string
		for _, k := range c.selection(source).carriers[Lat] {
			got = append(got, k.Name)
		}
		if s := strings.Join(got, " "); s != want {
			t.Errorf("%q: %s, want %s", source, s, want)
		}
	}
	if c.selection("").timed[Speed] || !c.selection("RMC").timed[Speed] || c.selection("VTG").timed[Speed] {
		t.Error("speed has a time in RMC only")
	}
	for i := range 1000 { // a consumer that makes up sources
		c.selection(fmt.Sprint(i))
	}
	if len(c.sources) > 257 {
		t.Errorf("%d sources are kept", len(c.sources))
	}
}

// A timeless value may be that of any of its epochs in the window, and of no other.
func TestWindow(t *testing.T) {
	d := device(t, strings.Replace(swell, "  ENTERED\n", "", 1)+messages)
	r := run(t, d)
	c := New(r)
	k := c.Book.Kinds[5]
	if k.Name != "YXXDR" || k.DelayS < 0.015 || k.DelayS > 0.04 {
		t.Fatalf("%s needs %g s; the test expects some 20 ms at 115200 baud", k.Name, k.DelayS)
	}
	l, _ := c.consumer.point("sonar")
	ideal := func(t float64) *Conclusion {
		m := c.moment(t)
		x := c.at(m, l).c
		return &x
	}
	for _, x := range []struct {
		stamp, valid float64
		want         bool
	}{
		{2.0, 2.0, true},
		{2.05, 2.0, true},   // on arrival
		{2.0, 2.1, true},    // by the last epoch known
		{2.0, 1.9, false},   // one epoch old
		{2.0, 2.2, false},   // two ahead
		{2.085, 2.0, false}, // later than line and host need
		{2.05, 2.05, true},  // computed for the stamp
		{2.5, 1.5, false},
	} {
		v := ideal(x.valid)
		o := observe.Observation{Time: d.UTC(x.stamp), RollRad: observe.Of(v.Value[Roll].Or(9)), PitchRad: observe.Of(v.Value[Pitch].Or(9))}
		row := c.Row(&o)
		if got := !row.Values[Roll].Beyond() && !row.Values[Pitch].Beyond(); got != x.want || row.Values[Roll].State != Judged {
			t.Errorf("values of %g s stamped %g s: accepted %v, want %v (roll off by %g of %g)", x.valid, x.stamp, got, x.want, row.Values[Roll].Diff, row.Values[Roll].Tolerance)
		}
	}

	r.HostLateS = 0.02
	if w := New(r).HostSlackS; math.Abs(w-0.11) > 1e-9 {
		t.Errorf("a host 20 ms late gives a slack of %g s", w)
	}
}

// Row allocates nothing once sources and instants are known, and stands any observation.
func TestRowAnything(t *testing.T) {
	d := device(t, strings.Replace(swell, "  ENTERED\n", "", 1)+messages)
	c := New(run(t, d))
	rapid.Check(t, func(t *rapid.T) {
		o := observe.Observation{Time: start.Add(time.Duration(rapid.Int64().Draw(t, "time"))), Source: rapid.String().Draw(t, "source"),
			Point: rapid.SampledFrom([]string{"", "sonar", "nowhere", "reference"}).Draw(t, "point")}
		if rapid.Bool().Draw(t, "within") {
			o.Time = start.Add(time.Duration(rapid.IntRange(0, 6000).Draw(t, "ms")) * time.Millisecond)
		}
		any := func(name string, f *observe.Field[float64]) {
			switch rapid.IntRange(0, 2).Draw(t, name) {
			case 1:
				*f = observe.Null[float64]()
			case 2:
				*f = observe.Of(rapid.Float64Range(-1e300, 1e300).Draw(t, name+" value"))
			}
		}
		any("lat", &o.LatRad)
		any("lon", &o.LonRad)
		any("height", &o.HeightM)
		any("heading", &o.HeadingRad)
		any("roll", &o.RollRad)
		any("speed", &o.SpeedMS)
		any("course", &o.CourseRad)
		if rapid.Bool().Draw(t, "fix") {
			o.Fix = observe.Of(wire.FixRTKFixed)
		}
		row := c.Row(&o)
		for q := range NQ {
			if v := &row.Values[q]; v.State == Judged && (math.IsNaN(v.Tolerance) || v.Tolerance <= 0) {
				t.Errorf("%s: tolerance %g", q, v.Tolerance)
			}
		}
	})
	i, _ := c.consumer.point("sonar")
	o := perfect(d, 2, c.consumer.points[i])
	if n := testing.AllocsPerRun(100, func() { c.Row(&o) }); n > 0 {
		t.Errorf("%g allocations a row", n)
	}
}

// BenchmarkRow: a consumer at 100 Hz with all quantities.
func BenchmarkRow(b *testing.B) {
	d := device(b, strings.Replace(swell, "  ENTERED\n", "", 1)+strings.NewReplacer("10 Hz", "100 Hz", "115200", "921600").Replace(messages))
	c := New(run(b, d))
	i, _ := c.consumer.point("sonar")
	var obs []observe.Observation
	for k := range 500 {
		obs = append(obs, perfect(d, float64(k)/100, c.consumer.points[i]))
	}
	b.ReportAllocs()
	for n := 0; b.Loop(); n++ {
		c.Row(&obs[n%len(obs)])
	}
}

func optAdd(o opt.Opt[float64], d float64) opt.Opt[float64] { return opt.Of(o.Or(0) + d) }
