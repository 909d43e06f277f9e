package emulator_test

import (
	"bytes"
	"crypto/sha256"
	"fmt"
	"io"
	"math"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"swellbench/emulator"
	"swellbench/emulator/line"
	"swellbench/emulator/wire"
	"swellbench/scenarios"
	"swellbench/scenarios/frame"
	"swellbench/scenarios/geo"
	"swellbench/scenarios/library"
)

const head = `
start: 2026-06-01T12:00:00Z
duration: 10 s
seed: 5
geoid: {undulation: 41.5 m}
magnetic-variation: -3.5 deg
track:
  position: {latitude: 54.2 deg, longitude: -3.7 deg, height: 45 m}
  heading: 77.3 deg
  speed: 4 m/s
motion:
  pose: {pitch: 2 deg, roll: -3 deg}
  roll: [{amplitude: 8 deg, period: 7 s}]
  pitch: [{amplitude: 4 deg, period: 9 s}]
  heave: [{amplitude: 0.7 m, period: 11 s}]
streams:
  - format: nmea0183
    line: {baud: 38400}
    messages:
      - {type: GGA, rate: 5 Hz}
      - {type: HDT, rate: 10 Hz}
`

const points = `
installation:
  points:
    sensor: [0.4 m, -1.8 m, 0.6 m]
    antenna-primary: [-0.9 m, -3.1 m, 6.2 m]
    antenna-secondary: [1.1 m, -2.6 m, 6.5 m]
    sonar: [0.7 m, 2.4 m, -1.6 m]
  mounting: {heading: 37 deg, pitch: -12 deg, roll: 8 deg}
`

func device(t testing.TB, text string) *emulator.Device {
	t.Helper()
	sc, err := scenarios.Parse("test.yaml", []byte(text))
	if err != nil {
		t.Fatal(err)
	}
	d, err := emulator.New(sc)
	if err != nil {
		t.Fatal(err)
	}
	return d
}

func value[T any](t *testing.T, o interface{ Value() (T, bool) }, what string) T {
	t.Helper()
	v, ok := o.Value()
	if !ok {
		t.Fatalf("no %s", what)
	}
	return v
}

func near(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s is %.12g, want %.12g ± %g", what, got, want, tol)
	}
}

// Nothing entered: what is on the wire is of the antenna, of the device's own axes, of the baseline and of the sensor
// (README, the table of what was entered). The expectation is put together here from the truth and frame alone.
func TestRawOutput(t *testing.T) {
	d := device(t, head+points)
	in := d.Scenario().Installation
	for _, at := range []float64{0, 1.7, 6.3, 2.2} {
		r, s := d.Reading(at), d.Truth().At(at)
		c := s.Attitude.Rotation()
		primary, _ := in.Point("antenna-primary")
		secondary, _ := in.Point("antenna-secondary")
		sensor, _ := in.Point("sensor")

		want := s.Point(primary)
		off := geo.LocalAt(want.Position).ENU(value(t, r.Position, "position"))
		near(t, "distance to the antenna", r3.Norm(off), 0, 1e-7)
		near(t, "speed", value(t, r.SpeedMS, "speed"), math.Hypot(want.Velocity.X, want.Velocity.Y), 1e-9)
		near(t, "undulation", value(t, r.Undulation, "undulation"), 41.5, 0)
		near(t, "heave", value(t, r.HeaveM, "heave"), s.Point(sensor).HeaveM, 1e-12)

		a := c.Mul(in.MountingRotation()).Attitude()
		near(t, "pitch", value(t, r.Pitch, "pitch"), a.Pitch, 1e-12)
		near(t, "roll", value(t, r.Roll, "roll"), a.Roll, 1e-12)
		b := c.Apply(r3.Sub(secondary, primary))
		near(t, "heading", value(t, r.Heading, "heading"), frame.Wrap2Pi(math.Atan2(b.X, b.Y)), 1e-12)
		// The rate of turn is the derivative of the device's own heading.
		const h = 1e-4
		ahead, behind := d.Reading(at+h), d.Reading(max(at-h, 0))
		numeric := frame.WrapPi(heading(ahead, in.MountingRotation(), d)-heading(behind, in.MountingRotation(), d)) / (ahead.T - behind.T)
		near(t, "rate of turn", value(t, r.RateOfTurn, "rate of turn"), numeric, 1e-5)
	}
}

func heading(r wire.Reading, mounting frame.Rotation, d *emulator.Device) float64 {
	return d.Truth().At(r.T).Attitude.Rotation().Mul(mounting).Attitude().Heading
}

// Everything entered, and entered right: the truth of the output point.
func TestEnteredRight(t *testing.T) {
	d := device(t, head+points+`
  entered:
    mounting: {heading: 37 deg, pitch: -12 deg, roll: 8 deg}
    antennas: {primary: antenna-primary, secondary: antenna-secondary}
    output-point: sonar
`)
	sonar, _ := d.Scenario().Installation.Point("sonar")
	for _, at := range []float64{0.3, 4.4, 9.9} {
		r, s := d.Reading(at), d.Truth().At(at)
		p, a := s.Point(sonar), s.Attitude.Canonical()
		near(t, "distance to the sonar", r3.Norm(geo.LocalAt(p.Position).ENU(value(t, r.Position, "position"))), 0, 1e-5)
		near(t, "speed", value(t, r.SpeedMS, "speed"), math.Hypot(p.Velocity.X, p.Velocity.Y), 1e-5)
		near(t, "heave", value(t, r.HeaveM, "heave"), p.HeaveM, 1e-9)
		near(t, "heading", value(t, r.Heading, "heading"), a.Heading, 1e-9)
		near(t, "pitch", value(t, r.Pitch, "pitch"), a.Pitch, 1e-12)
		near(t, "roll", value(t, r.Roll, "roll"), a.Roll, 1e-12)
		near(t, "rate of turn", value(t, r.RateOfTurn, "rate of turn"), s.EulerRates().Heading, 1e-12)
	}
}

// A wrong entry shows on the wire as the physics has it: a mounting heading entered 2 degrees too large turns the
// reported vessel attitude, and an antenna entered 1 m too far forward moves the output point 1 m aft.
func TestEnteredWrong(t *testing.T) {
	right := device(t, head+points+"  entered: {mounting: {heading: 37 deg, pitch: -12 deg, roll: 8 deg}, antennas: {primary: antenna-primary, secondary: antenna-secondary}, output-point: sonar}\n")
	wrong := device(t, head+points+`
  entered:
    mounting: {heading: 37 deg, pitch: -12 deg, roll: 8 deg}
    antennas: {primary: [-0.9 m, -2.1 m, 6.2 m], secondary: [1.1 m, -1.6 m, 6.5 m]}
    output-point: sonar
`)
	for _, at := range []float64{0.3, 4.4} {
		a := right.Truth().At(at).Attitude.Rotation()
		good, bad := value(t, right.Reading(at).Position, "position"), value(t, wrong.Reading(at).Position, "position")
		got := a.Inverse().Apply(geo.LocalAt(good).ENU(bad))
		// The device adds its arm in the level frame of the antenna: arm²/R off, some micrometres.
		near(t, "shift right", got.X, 0, 1e-5)
		near(t, "shift forward", got.Y, -1, 1e-5)
		near(t, "shift up", got.Z, 0, 1e-5)
	}
}

func TestBlockedIsAbsent(t *testing.T) {
	d := device(t, head+points+"gnss:\n  times: {hot: 1 s, heading: 2 s}\n  conditions: [{condition: blocked, from: 2 s, until: 4 s}]\n")
	for _, c := range []struct {
		at           float64
		fix, heading bool
	}{{1.9, true, true}, {2, false, false}, {3.9, false, false}, {4.9, false, false}, {5.1, true, false}, {6.9, true, false}, {7.1, true, true}} {
		r := d.Reading(c.at)
		if r.Position.Has() != c.fix || r.SpeedMS.Has() != c.fix || r.HDOP.Has() != c.fix || (r.Fix == wire.FixNone) == c.fix || r.Heading.Has() != c.heading {
			t.Errorf("at %g s: position %v, heading %v, fix %v; want position %v, heading %v", c.at, r.Position.Has(), r.Heading.Has(), r.Fix, c.fix, c.heading)
		}
		if !r.Pitch.Has() || !r.HeaveM.Has() || !r.UTC.Has() {
			t.Errorf("at %g s the motion sensor or the clock is gone too", c.at)
		}
	}
}

// With an inertial sensor the outage carries an estimated position whose error begins small and grows, with a sigma that
// fits it; the heading goes on.
func TestDeadReckoning(t *testing.T) {
	d := device(t, strings.Replace(head, "duration: 10 s", "duration: 200 s", 1)+points+
		"gnss:\n  fix: rtk-fixed\n  errors: {}\n  conditions: [{condition: blocked, from: 20 s, until: 180 s}]\ninertial: {grade: industrial}\n")
	primary, _ := d.Scenario().Installation.Point("antenna-primary")
	off := func(at float64) float64 {
		r := d.Reading(at)
		return r3.Norm(geo.LocalAt(d.Truth().At(at).Point(primary).Position).ENU(value(t, r.Position, "position")))
	}
	if e := off(19.9); e > 0.2 {
		t.Errorf("before the loss the position is %g m off", e)
	}
	if a, b, c := off(20.1), off(60), off(179); !(a < 0.3 && b < c && c > 1) {
		t.Errorf("the position is off by %g, %g, %g m after 0.1, 40 and 159 s", a, b, c)
	}
	r := d.Reading(179)
	s := value(t, r.Sigma, "sigma")
	if e := off(179); r.Fix != wire.FixEstimated || !r.HeadingEstimated || r.HDOP.Has() || !(e < 5*math.Hypot(s.X, s.Y)) {
		t.Errorf("fix %v, heading estimated %v, %g m off at a sigma of %v", r.Fix, r.HeadingEstimated, e, s)
	}
}

// With a recovery time the error fades once GNSS is back, from where the outage left it, also while the heading still
// waits for its baseline.
func TestRecovery(t *testing.T) {
	d := device(t, strings.Replace(head, "duration: 10 s", "duration: 200 s", 1)+points+
		"gnss:\n  fix: rtk-fixed\n  conditions: [{condition: blocked, from: 20 s, until: 150 s}]\ninertial: {grade: industrial, recovery: 5 s}\n")
	primary, _ := d.Scenario().Installation.Point("antenna-primary")
	off := func(at float64) r3.Vec {
		return geo.LocalAt(d.Truth().At(at).Point(primary).Position).ENU(value(t, d.Reading(at).Position, "position"))
	}
	last := off(151.49)
	for _, after := range []float64{0.5, 5, 9.9, 12, 20} {
		want := r3.Scale(math.Exp(-after/5), last)
		if e := r3.Norm(r3.Sub(off(151.5+after), want)); e > 0.01*r3.Norm(last) {
			t.Errorf("%g s after the return the position is off by %v, want %v", after, off(151.5+after), want)
		}
	}
}

// Where the receiver is off too, the device goes over from the drift to the receiver without a step: the drift took up
// at the loss what the receiver was off by then.
func TestRecoveryWithoutAStep(t *testing.T) {
	d := device(t, strings.Replace(head, "duration: 10 s", "duration: 100 s", 1)+points+
		"gnss:\n  errors: {}\n  conditions: [{condition: blocked, from: 20 s, until: 50 s}]\ninertial: {grade: tactical, recovery: 5 s}\n")
	primary, _ := d.Scenario().Installation.Point("antenna-primary")
	off := func(at float64) r3.Vec {
		return geo.LocalAt(d.Truth().At(at).Point(primary).Position).ENU(value(t, d.Ideal(at).Position, "position"))
	}
	if before := r3.Norm(off(19.9)); before < 0.3 {
		t.Fatalf("the receiver is off by %g m only, so the test tells nothing", before)
	}
	const back = 51.5 // when the fix is back
	if d.Ideal(back-0.01).Fix != wire.FixEstimated || d.Ideal(back+0.01).Fix != wire.FixAutonomous {
		t.Fatalf("the fix goes from %v to %v", d.Ideal(back-0.01).Fix, d.Ideal(back+0.01).Fix)
	}
	if step := r3.Norm(r3.Sub(off(back+0.01), off(back-0.01))); step > 0.02 {
		t.Errorf("the position steps by %g m when the fix is back", step)
	}
	s := func(at float64) r3.Vec { return value(t, d.Ideal(at).Sigma, "sigma") }
	if a, b := s(back-0.01), s(back+0.01); math.Abs(a.X-b.X) > 0.02*a.X || math.Abs(a.Y-b.Y) > 0.02*a.Y {
		t.Errorf("the sigma steps from %v to %v when the fix is back", a, b)
	}
}

// A frozen receiver repeats its time and place; the motion sensor goes on.
func TestFrozenReceiver(t *testing.T) {
	d := device(t, head+points+"gnss:\n  conditions: [{condition: frozen-receiver, from: 3 s, until: 6 s}]\n")
	a, b, c := d.Reading(3.5), d.Reading(5.5), d.Reading(6.5)
	if a.UTC != b.UTC || a.Position != b.Position || a.SpeedMS != b.SpeedMS || a.Pitch == b.Pitch {
		t.Errorf("frozen: %v then %v", a, b)
	}
	if c.UTC == b.UTC || c.Position == b.Position {
		t.Error("it does not thaw")
	}
}

// An upright baseline has no azimuth: the heading field is empty, and the stream goes on.
func TestUprightBaseline(t *testing.T) {
	text := strings.ReplaceAll(head+points, "antenna-secondary: [1.1 m, -2.6 m, 6.5 m]", "antenna-secondary: [-0.9 m, -3.1 m, 8.2 m]")
	text = strings.NewReplacer("pitch: 2 deg, roll: -3 deg", "pitch: 0 deg, roll: 0 deg", "amplitude: 8 deg", "amplitude: 0 deg", "amplitude: 4 deg", "amplitude: 0 deg").Replace(text)
	d := device(t, text)
	if err := emulator.Render(d, 0, io.Discard, nil); err != nil {
		t.Error(err)
	}
}

// Noise has the stated standard deviation and nothing else is touched: 4,000 epochs, five standard errors
// (sigma/sqrt(2n) of a standard deviation; any statistics handbook).
func TestNoise(t *testing.T) {
	d := device(t, head+points+"device: {noise: {horizontal: 20 mm, vertical: 30 mm, heading: 0.1 deg, roll: 0.05 deg, heave: 10 mm}}\n")
	const n = 4000
	var east, up, heading, roll, heave, pitch float64
	for k := range n {
		at := float64(k) * 0.002
		r, i := d.Reading(at), d.Ideal(at)
		e := geo.LocalAt(value(t, i.Position, "position")).ENU(value(t, r.Position, "position"))
		sq := func(sum *float64, x float64) { *sum += x * x }
		sq(&east, e.X)
		sq(&up, e.Z)
		sq(&heading, frame.WrapPi(value(t, r.Heading, "heading")-value(t, i.Heading, "heading")))
		sq(&roll, value(t, r.Roll, "roll")-value(t, i.Roll, "roll"))
		sq(&pitch, value(t, r.Pitch, "pitch")-value(t, i.Pitch, "pitch"))
		sq(&heave, value(t, r.HeaveM, "heave")-value(t, i.HeaveM, "heave"))
	}
	for _, c := range []struct {
		name        string
		sum, wanted float64
	}{{"east", east, 0.02}, {"up", up, 0.03}, {"heading", heading, 0.1 * math.Pi / 180}, {"roll", roll, 0.05 * math.Pi / 180}, {"heave", heave, 0.01}, {"pitch", pitch, 0}} {
		near(t, "sigma of "+c.name, math.Sqrt(c.sum/n), c.wanted, 5*c.wanted/math.Sqrt(2*n))
	}
}

// One seed, one byte stream and one sent-log, for every ready-made scenario; another seed gives another stream where
// chance plays a part.
func TestOneSeedOneStream(t *testing.T) {
	render := func(d *emulator.Device) string {
		h := sha256.New()
		log := d.NewSentLog(h)
		for i := range d.Streams() {
			if err := emulator.Render(d, i, h, func(s line.Sent) { log.Add(i, s) }); err != nil {
				t.Fatal(err)
			}
		}
		if err := log.Flush(); err != nil {
			t.Fatal(err)
		}
		return fmt.Sprintf("%x", h.Sum(nil))
	}
	for _, name := range library.Names() {
		open := func() *emulator.Device {
			sc, err := library.Open(name)
			if err != nil {
				t.Fatal(err)
			}
			d, err := emulator.New(sc.WithStart(sc.UTC(0)))
			if err != nil {
				t.Fatal(err)
			}
			return d
		}
		if a, b := render(open()), render(open()); a != b {
			t.Errorf("%s: two runs differ", name)
		}
	}
	noisy := head + points + "device: {noise: {heading: 0.1 deg}}\n"
	if render(device(t, noisy)) == render(device(t, strings.Replace(noisy, "seed: 5", "seed: 6", 1))) {
		t.Error("two seeds give one stream")
	}
}

// Epochs are k/f; messages of one epoch keep the order of the file; latency moves what is due, not what is valid.
func TestSchedule(t *testing.T) {
	d := device(t, head+points+"device: {latency: {constant: 40 ms, random: 20 ms}}\n")
	last, lastDue, counts := -1.0, -1.0, map[string]int{}
	for m, err := range d.Messages(0) {
		if err != nil {
			t.Fatal(err)
		}
		if m.Valid < last || m.Due < lastDue {
			t.Fatalf("%s valid %g due %g after %g, %g", m.Kind, m.Valid, m.Due, last, lastDue)
		}
		if lag := m.Due - m.Valid; lag < 0.04 || lag >= 0.06+1e-12 {
			t.Errorf("%s is due %g s after it was valid, want 0.04 to 0.06", m.Kind, lag)
		}
		if want := float64(counts[m.Kind]) / map[string]float64{"GNGGA": 5, "HEHDT": 10}[m.Kind]; m.Valid != want {
			t.Errorf("%s number %d is valid at %g, want %g", m.Kind, counts[m.Kind], m.Valid, want)
		}
		counts[m.Kind]++
		last, lastDue = m.Valid, m.Due
	}
	if counts["GNGGA"] != 50 || counts["HEHDT"] != 100 {
		t.Errorf("counted %v", counts)
	}
}

func TestBadScenarios(t *testing.T) {
	for _, c := range []struct{ name, old, new, want string }{
		{"message", "type: HDT", "type: HTD", "test.yaml:21:"},
		{"format", "format: nmea0183", "format: nmea183", "unknown format \"nmea183\""},
		{"talker", "{type: HDT, rate: 10 Hz}", "{type: HDT, rate: 10 Hz, talker: toolong}", "test.yaml:21:"},
		{"no antenna", "antenna-primary: [-0.9 m, -3.1 m, 6.2 m]", "mast: [-0.9 m, -3.1 m, 6.2 m]", "antenna-primary"},
		{"fault", "streams:", "faults: [{fault: gremlin}]\nstreams:", "no fault is called \"gremlin\""},
	} {
		text := strings.Replace(strings.Replace(head+points, "    antenna-secondary: [1.1 m, -2.6 m, 6.5 m]\n", "", 1), c.old, c.new, 1)
		sc, err := scenarios.Parse("test.yaml", []byte(text))
		if err == nil {
			_, err = emulator.New(sc)
		}
		if err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: error %v, want %q in it", c.name, err, c.want)
		}
	}
}

// The sent-log reads back, and its offsets and sizes tile the stream.
func TestSentLog(t *testing.T) {
	d := device(t, head+points+"faults: [{fault: bad-checksum, message: HDT, every: 5}]\n")
	var stream, logged bytes.Buffer
	log := d.NewSentLog(&logged)
	if err := emulator.Render(d, 0, &stream, func(s line.Sent) { log.Add(0, s) }); err != nil {
		t.Fatal(err)
	}
	if err := log.Flush(); err != nil {
		t.Fatal(err)
	}
	at, hurt, n := int64(0), 0, 0
	for r, err := range emulator.ReadSentLog(&logged) {
		if err != nil {
			t.Fatal(err)
		}
		if b := stream.Bytes()[r.Offset : r.Offset+int64(r.Bytes)]; r.Offset != at || !strings.HasPrefix(string(b), "$"+r.Kind) || !strings.HasSuffix(string(b), "\r\n") {
			t.Fatalf("record %d: %+v of %q", n, r, b)
		}
		if r.Last <= r.First || r.First < r.Due || r.UTC != d.UTC(r.Valid) {
			t.Errorf("record %d: %+v", n, r)
		}
		if r.Hurt != "" {
			hurt++
		}
		at += int64(r.Bytes)
		n++
	}
	if at != int64(stream.Len()) || n != 150 || hurt != 20 {
		t.Errorf("%d records of %d bytes, %d hurt; want 150 of %d, 20", n, at, hurt, stream.Len())
	}
}

// The virtual-time path allocates nothing per message in steady state.
func TestNoAllocationPerMessage(t *testing.T) {
	allocations := func(duration string) float64 {
		d := device(t, strings.Replace(head, "duration: 10 s", "duration: "+duration, 1)+points+"device: {noise: {heading: 0.1 deg}, latency: {random: 5 ms}}\n")
		log := d.NewSentLog(io.Discard)
		return testing.AllocsPerRun(3, func() {
			if err := emulator.Render(d, 0, io.Discard, func(s line.Sent) { log.Add(0, s) }); err != nil {
				t.Fatal(err)
			}
		})
	}
	if short, long := allocations("5 s"), allocations("50 s"); long > short+5 {
		t.Errorf("%v allocations for 75 messages, %v for 750", short, long)
	}
}
