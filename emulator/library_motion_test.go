package emulator_test

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"swellbench/emulator"
	"swellbench/scenarios"
	"swellbench/scenarios/frame"
	"swellbench/scenarios/geo"
	"swellbench/scenarios/units"
)

// every calls f at each tenth of a second of the run.
func every(d *emulator.Device, f func(at float64, s scenarios.State)) {
	for k := 0; float64(k)/10 < float64(d.Scenario().Duration); k++ {
		at := float64(k) / 10
		f(at, d.Truth().At(at))
	}
}

// deviation is the standard deviation of a quantity over the run, sampled ten times a second.
func deviation(d *emulator.Device, of func(at float64, s scenarios.State) float64) float64 {
	var n, sum, squares float64
	every(d, func(at float64, s scenarios.State) {
		x := of(at, s)
		n, sum, squares = n+1, sum+x, squares+x*x
	})
	return math.Sqrt(squares/n - sum/n*sum/n)
}

// turns are the extremes of the rate of turn on the wire, in deg/s.
func turns(t *testing.T, d *emulator.Device) (least, most float64) {
	t.Helper()
	least, most = math.Inf(1), math.Inf(-1)
	for _, s := range sentences(t, d, 0, "ROT") {
		x := number(t, s.fields[1]) / 60
		least, most = min(least, x), max(most, x)
	}
	return least, most
}

// quadrants counts those that the vessel heads into.
func quadrants(d *emulator.Device) int {
	seen := map[int]bool{}
	every(d, func(_ float64, s scenarios.State) { seen[int(s.Attitude.Heading/(math.Pi/2))] = true })
	return len(seen)
}

// wave fits amplitude and phase of a sinusoid of that period to the heave, true or as reported, from 11 s to 44 s: three
// periods of 11 s. The other way to see a filter.
func wave(d *emulator.Device, period float64, heave func(at float64) float64) (amplitude, phase float64) {
	var c, s float64
	const n = 330
	for k := range n {
		at := 11 + float64(k)/10
		sin, cos := math.Sincos(2 * math.Pi * at / period)
		h := heave(at)
		c, s = c+2*h*cos/n, s+2*h*sin/n
	}
	return math.Hypot(c, s), math.Atan2(c, s)
}

// heaveFilter compares the heave on the wire with the true heave of the sensor, which in these scenarios is one sinusoid of
// 11 s.
func heaveFilter(t *testing.T, d *emulator.Device) (gain, leadDeg float64) {
	t.Helper()
	sensor, _ := d.Scenario().Installation.Point("sensor")
	a, p := wave(d, 11, func(at float64) float64 { return d.Truth().At(at).Point(sensor).HeaveM })
	near(t, "true amplitude, m", a, 1.1, 1e-3)
	sent := map[float64]float64{}
	for _, s := range sentences(t, d, 0, "XDR") {
		sent[math.Round(s.valid*10)] = number(t, s.fields[10])
	}
	b, q := wave(d, 11, func(at float64) float64 { return sent[math.Round(at*10)] })
	return b / a, frame.WrapPi(q-p) / degree
}

// A second-order Butterworth high-pass, cut off at 18 s, at 11 s: with x = 18/11 the gain is x²/√(1+x⁴) and the lead
// atan2(√2·x, x²−1).
func showsHeaveRealTime(t *testing.T, d *emulator.Device) {
	const x = 18.0 / 11
	gain, lead := heaveFilter(t, d)
	near(t, "gain", gain, x*x/math.Sqrt(1+x*x*x*x), 0.005)
	near(t, "lead, deg", lead, math.Atan2(math.Sqrt2*x, x*x-1)/degree, 0.5)
}

func showsHeaveDelayed(t *testing.T, d *emulator.Device) {
	const x = 18.0 / 11
	gain, lead := heaveFilter(t, d)
	near(t, "gain", gain, x*x*x*x/(1+x*x*x*x), 0.005)
	near(t, "lead, deg", lead, 0, 0.5)
}

func showsSurveyLines(t *testing.T, d *emulator.Device) {
	// Three lines of 60 m at 4.1 m/s, turns between: the course is within two degrees of the line's for 60 m each time.
	on, lines := 0.0, []float64{}
	every(d, func(at float64, s scenarios.State) {
		way := math.Mod(math.Atan2(s.Velocity.X, s.Velocity.Y)/degree-38.2+720+90, 180) - 90
		if math.Abs(way) < 6 {
			on += 0.1
		} else if on > 0 {
			if on > 12 {
				lines = append(lines, on)
			}
			on = 0
		}
	})
	if on > 12 {
		lines = append(lines, on)
	}
	if len(lines) != 3 {
		t.Errorf("straight ways last %v s, want three", lines)
	}
	if least, most := turns(t, d); least > -10 || most < 10 {
		t.Errorf("rates of turn go from %g to %g deg/s, want both sides", least, most)
	}
	if h := deviation(d, func(_ float64, s scenarios.State) float64 { return s.HeaveM }); h < 0.02 || h > 0.3 {
		t.Errorf("heave has a standard deviation of %g m", h)
	}
}

func showsCalibrationPair(t *testing.T, d *emulator.Device) {
	local := geo.LocalAt(d.Truth().At(0).Position)
	sin, cos := math.Sincos(109.4 * degree)
	var there, back int
	every(d, func(at float64, s scenarios.State) {
		p := local.ENU(s.Position)
		along, across := p.X*sin+p.Y*cos, p.X*cos-p.Y*sin
		if along < 10 || along > 68 || math.Abs(across) > 1 {
			return
		}
		if s.Velocity.X*sin+s.Velocity.Y*cos > 4 {
			there++
		} else if s.Velocity.X*sin+s.Velocity.Y*cos < -4 {
			back++
		}
	})
	// 58 m at 4.63 m/s are 12.5 s.
	if there < 115 || back < 115 {
		t.Errorf("she is on the line for %.1f s there and %.1f s back, want 12.5 s each", float64(there)/10, float64(back)/10)
	}
}

func showsFigureOfEight(t *testing.T, d *emulator.Device) {
	if n := quadrants(d); n != 4 {
		t.Errorf("she heads into %d quadrants", n)
	}
	if least, most := turns(t, d); least > -10 || most < 10 {
		t.Errorf("rates of turn go from %g to %g deg/s, want both sides", least, most)
	}
	local, closest := geo.LocalAt(d.Truth().At(0).Position), math.Inf(1)
	every(d, func(at float64, s scenarios.State) {
		if at > 35 && math.Abs(frame.AngleDiff(s.Attitude.Heading, 22.9*degree)) < 8*degree {
			closest = min(closest, horizontal(local.ENU(s.Position)))
		}
	})
	if closest > 1 { // the sea's share
		t.Errorf("back on her course she comes within %g m of the start", closest)
	}
}

func showsStationKeeping(t *testing.T, d *emulator.Device) {
	local, courses := geo.LocalAt(d.Truth().At(0).Position), map[int]bool{}
	every(d, func(at float64, s scenarios.State) {
		if away := horizontal(local.ENU(s.Position)); away > 4 {
			t.Fatalf("at %g s she is %g m away", at, away)
		}
		if off := frame.AngleDiff(s.Attitude.Heading, 214*degree); at > 10 && math.Abs(off) > 10*degree {
			t.Fatalf("at %g s she heads %g deg beside", at, off/degree)
		}
	})
	for _, s := range sentences(t, d, 0, "VTG") {
		if s.fields[1] != "" {
			courses[int(number(t, s.fields[1])/90)] = true
		}
	}
	if len(courses) != 4 {
		t.Errorf("courses lie in %d quadrants, want all", len(courses))
	}
}

func showsLeavingTheBerth(t *testing.T, d *emulator.Device) {
	if _, two := d.Scenario().Installation.Baseline(); two {
		t.Error("there are two antennas")
	}
	var still, moving int
	every(d, func(at float64, s scenarios.State) {
		// Pitch and roll move the reference point, but no faster than this.
		if v := math.Hypot(s.Velocity.X, s.Velocity.Y); v < 0.15 {
			still++
		} else if v > 1.5 {
			moving++
		}
	})
	if still < 100 || moving < 150 {
		t.Errorf("she lies still for %.1f s and moves for %.1f s", float64(still)/10, float64(moving)/10)
	}
	for at := 1.0; at < 60; at += 7 {
		near(t, "heading", value(t, d.Ideal(at).Heading, "heading"), d.Truth().At(at).Attitude.Heading, 1e-9)
	}
}

// passes tells how near the track of the reference point comes to a place, m.
func passes(d *emulator.Device, lat, lon float64) float64 {
	local, closest := geo.LocalAt(geo.Position{Lat: lat * degree, Lon: lon * degree}), math.Inf(1)
	every(d, func(_ float64, s scenarios.State) { closest = min(closest, horizontal(local.ENU(s.Position))) })
	return closest
}

// crabDeg is by how much the bow points to starboard of the course over ground, mean over a stretch without turns, in deg.
func crabDeg(d *emulator.Device, from, until float64) float64 {
	sum, n := 0.0, 0.0
	for at := from; at < until; at += 0.1 {
		s := d.Truth().At(at)
		way := r3.Sub(d.Truth().At(at+0.05).Position.ECEF(), d.Truth().At(at-0.05).Position.ECEF())
		v := geo.LocalAt(s.Position).FromECEF(way)
		sum += frame.AngleDiff(s.Attitude.Heading, math.Atan2(v.X, v.Y)) / degree
		n++
	}
	return sum / n
}

// triangleDeg is the crab by the triangle of velocities (Bowditch, dead reckoning, from memory): own speed through the water
// on the heading, plus drift, makes the course. It is solved here by halving, unlike in package track.
func triangleDeg(own, courseDeg, setDeg, drift float64) float64 {
	lo, hi := -80.0, 80.0
	for range 60 {
		crab := (lo + hi) / 2
		h := (courseDeg + crab) * degree
		east, north := own*math.Sin(h)+drift*math.Sin(setDeg*degree), own*math.Cos(h)+drift*math.Cos(setDeg*degree)
		if frame.AngleDiff(math.Atan2(east, north), courseDeg*degree) > 0 {
			hi = crab
		} else {
			lo = crab
		}
	}
	return lo
}

func showsCSVRoute(t *testing.T, d *emulator.Device) {
	for _, p := range [][2]float64{{-36.512480, 12.204930}, {-36.512730, 12.205610}, {-36.512310, 12.206180}} {
		if away := passes(d, p[0], p[1]); away > 9 { // corners are rounded
			t.Errorf("she passes %v at %g m", p, away)
		}
	}
	most := 0.0
	for at := 2.0; at < 60; at++ {
		most = max(most, math.Abs(crabDeg(d, at, at+1)))
	}
	if most < 14 || most > 26 {
		t.Errorf("the bow points up to %g deg beside the course, want nearly 20", most)
	}
}

func showsGPXRoute(t *testing.T, d *emulator.Device) {
	for _, p := range [][2]float64{{58.381940, -9.227150}, {58.382310, -9.226020}, {58.381890, -9.224980}} {
		if away := passes(d, p[0], p[1]); away > 10 {
			t.Errorf("she passes %v at %g m", p, away)
		}
	}
	// The second leg at 8 kn, towards the fairway from the second bend.
	_, course, _ := geo.Inverse(geo.Position{Lat: 58.382310 * degree, Lon: -9.226020 * degree}, geo.Position{Lat: 58.381890 * degree, Lon: -9.224980 * degree})
	at := math.NaN() // amidst that leg
	for x := 20.0; x < 45; x += 0.5 {
		s := d.Truth().At(x)
		if math.IsNaN(at) && math.Abs(frame.AngleDiff(math.Atan2(s.Velocity.X, s.Velocity.Y), course)) < 0.5*degree {
			at = x
		}
	}
	near(t, "crab on the second leg, deg", crabDeg(d, at+1, at+8), triangleDeg(8, course/degree, 337, 0.9), 0.7)
}

func showsCrossCurrent(t *testing.T, d *emulator.Device) {
	// Drift is the sum of the two.
	e, n := 1.5*math.Sin(61*degree)+0.6*math.Sin(102*degree), 1.5*math.Cos(61*degree)+0.6*math.Cos(102*degree)
	set, drift := math.Atan2(e, n)/degree, math.Hypot(e, n)
	first, second := triangleDeg(5.5, 336.8, set, drift), triangleDeg(5.5, 68, set, drift)
	// The motion about the track has periods of 7 s to 11 s.
	near(t, "crab on the first leg, deg", crabDeg(d, 1, 17), first, 1.2)
	near(t, "crab on the second leg, deg", crabDeg(d, 40, 54), second, 1.2)
	if math.Abs(first) < 15 || math.Abs(second) > 8 {
		t.Errorf("crab angles are %g and %g deg", first, second)
	}
}

func showsFarNorth(t *testing.T, d *emulator.Device) {
	a, b := d.Truth().At(0), d.Truth().At(44)
	course := func(s scenarios.State) float64 { return math.Atan2(s.Velocity.X, s.Velocity.Y) }
	lon := frame.AngleDiff(b.Position.Lon, a.Position.Lon) / degree
	if turn := frame.AngleDiff(course(b), course(a)) / degree; turn < 4 || math.Abs(turn-lon) > 3 {
		t.Errorf("the course turns by %g deg while the longitude runs by %g deg; want the same, and some", turn, lon)
	}
	if flat := r3.Norm(r3.Sub(b.Position.ECEF(), a.Position.ECEF())); math.Abs(flat-9.3*1852/3600*44) > 4 {
		t.Errorf("she runs %g m", flat)
	}
}

func showsShallowBar(t *testing.T, d *emulator.Device) {
	deep := fromLibrary(t, "shallow-bar", func(s *scenarios.Scenario) { s.Sea.Depth = nil })
	pitch := func(_ float64, s scenarios.State) float64 { return s.Attitude.Pitch / degree }
	if a, b := deviation(d, pitch), deviation(deep, pitch); a < 1.05*b {
		t.Errorf("pitch has a standard deviation of %.2f deg over the bar and %.2f deg in deep water", a, b)
	}
	sensor, _ := d.Scenario().Installation.Point("sensor")
	sonar, _ := d.Scenario().Installation.Point("sonar")
	diff := deviation(d, func(_ float64, s scenarios.State) float64 { return s.Point(sensor).HeaveM - s.Point(sonar).HeaveM })
	if diff < 0.05 {
		t.Errorf("heave at sensor and sonar differ by %.3f m", diff)
	}
}

func showsStormSwell(t *testing.T, d *emulator.Device) {
	heave := func(_ float64, s scenarios.State) float64 { return s.HeaveM }
	h := deviation(d, heave)
	// Long waves lift the launch by their height: the swell's standard deviation is 1.9 m/4.
	if h < 0.25 || h > 0.9 {
		t.Errorf("heave has a standard deviation of %.2f m", h)
	}
	for i := range d.Scenario().Sea.Systems {
		one := fromLibrary(t, "storm-swell", func(s *scenarios.Scenario) {
			s.Sea.Systems = append(s.Sea.Systems[:i:i], s.Sea.Systems[i+1:]...)
		})
		if x := deviation(one, func(at float64, s scenarios.State) float64 { return s.HeaveM - d.Truth().At(at).HeaveM }); x < 0.05 {
			t.Errorf("without system %d heave changes by %.3f m only", i, x)
		}
	}
	noise := deviation(d, func(at float64, _ scenarios.State) float64 {
		return value(t, d.Reading(at).HeaveM, "heave") - value(t, d.Ideal(at).HeaveM, "heave")
	})
	near(t, "noise of heave, m", noise, 0.02, 0.003)
}

func showsOwnResponses(t *testing.T, d *emulator.Device) {
	formula := fromLibrary(t, "own-responses", func(s *scenarios.Scenario) {
		s.Hull.RAOTable, s.Hull.Table = "", nil
		gm := units.Length(2.5)
		s.Hull.GM = &gm
	})
	roll := deviation(d, func(at float64, s scenarios.State) float64 {
		return (s.Attitude.Roll - formula.Truth().At(at).Attitude.Roll) / degree
	})
	if roll < 0.2 {
		t.Errorf("roll differs from that of the formulas by %.3f deg", roll)
	}
	sonar, _ := d.Scenario().Installation.Point("sonar")
	centre, _ := d.Scenario().Installation.Point("rotation-centre")
	if x := deviation(d, func(_ float64, s scenarios.State) float64 { return s.Point(sonar).HeaveM - s.Point(centre).HeaveM }); x < 0.05 {
		t.Errorf("heave at the sonar and in the middle differ by %.3f m", x)
	}
}
