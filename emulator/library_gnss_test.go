package emulator_test

import (
	"math"
	"strconv"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"swellbench/emulator"
	"swellbench/emulator/wire"
	"swellbench/scenarios"
	"swellbench/scenarios/frame"
	"swellbench/scenarios/gnss"
)

// GGA's fields, counted from the address.
const (
	ggaTime, ggaLat, ggaQuality, ggaUsed, ggaHDOP, ggaAge, ggaStation = 1, 2, 6, 7, 8, 13, 14
)

func number(t *testing.T, text string) float64 {
	t.Helper()
	x, err := strconv.ParseFloat(text, 64)
	if err != nil {
		t.Fatal(err)
	}
	return x
}

func showsBridgePassage(t *testing.T, d *emulator.Device) {
	gga := sentences(t, d, 0, "GGA")
	wantRuns(t, "quality", gga, ggaQuality, []string{"2", "6", "2"}, []float64{0, 14.6, 23.6}, 0.2)
	for _, at := range []float64{14.4, 16, 22, 23.4, 25, 34} {
		r := d.Ideal(at)
		if gap := at > 14.5 && at < 23.5; r.Satellites.Has() == gap {
			t.Errorf("at %g s there are satellites: %v", at, r.Satellites.Has())
		}
		if waits := at > 14.5 && at < 33.5; r.HeadingEstimated != waits || !r.Heading.Has() { // for the baseline
			t.Errorf("at %g s the heading is estimated: %v", at, r.HeadingEstimated)
		}
	}
	left := 0
	for _, s := range visible(t, d, 18) {
		if s.Used {
			left++
			if s.Elevation > 22*degree {
				t.Errorf("PRN %d is used at an elevation of %.1f deg, above the deck's edge", s.PRN, s.Elevation/degree)
			}
		}
	}
	if left > 3 {
		t.Errorf("%d satellites are left below the bridge", left)
	}
}

// visible are the satellites in view of the scenario at one instant, from where its antenna is.
func visible(t *testing.T, d *emulator.Device, at float64) []gnss.Sat {
	t.Helper()
	r, err := d.Scenario().Receiver(d.Truth())
	if err != nil {
		t.Fatal(err)
	}
	return r.AppendSatellites(nil, at)
}

func showsQuayWall(t *testing.T, d *emulator.Device) {
	open := fromLibrary(t, "quay-wall", func(s *scenarios.Scenario) { s.GNSS.Sectors = nil })
	values, from := runs(sentences(t, d, 0, "GGA"), ggaUsed)
	if len(values) < 3 {
		t.Errorf("satellites are %v from %v, want at least two changes while she swings", values, from)
	}
	all, _ := runs(sentences(t, open, 0, "GGA"), ggaUsed)
	if number(t, all[0]) < number(t, values[0])+2 {
		t.Errorf("wall and funnel leave %s of %s satellites, want two fewer at least", values[0], all[0])
	}
	wall, funnel, used := 0, 0, 0
	for at := 0.0; at < 50; at += 5 {
		bow := d.Truth().At(at).Attitude
		for _, s := range visible(t, d, at) {
			az, el := s.Azimuth/degree, s.Elevation/degree
			v := bow.Rotation().Inverse().Apply(r3.Vec{X: math.Sin(s.Azimuth) * math.Cos(s.Elevation),
				Y: math.Cos(s.Azimuth) * math.Cos(s.Elevation), Z: math.Sin(s.Elevation)})
			b := frame.BaselineOf(v)
			behindWall := az > 205 && az < 330 && el < 58
			rel := frame.Wrap2Pi(b.Azimuth) / degree
			behindFunnel := rel > 150 && rel < 215 && b.Elevation/degree < 42
			switch {
			case s.Used && (behindWall || behindFunnel):
				t.Errorf("at %g s PRN %d is used at azimuth %.1f, elevation %.1f, %.1f off the bow", at, s.PRN, az, el, rel)
			case s.Used:
				used++
			case behindWall:
				wall++
			case behindFunnel && el > 8:
				funnel++
			}
		}
	}
	if wall == 0 || funnel == 0 || used == 0 {
		t.Errorf("%d times behind the wall, %d behind the funnel, %d used; want some of each", wall, funnel, used)
	}
	hdt := sentences(t, d, 0, "HDT")
	if hdt[0].fields[1] == "" || hdt[len(hdt)-1].fields[1] != "" {
		t.Errorf("the heading is %q and in the end %q; want one and none", hdt[0].fields[1], hdt[len(hdt)-1].fields[1])
	}
}

func showsCorrectionsLost(t *testing.T, d *emulator.Device) {
	gga := sentences(t, d, 0, "GGA")
	// The last corrections are of 9 s, as those of 10 s would be half a second on their way; ages are limits from there.
	wantRuns(t, "quality", gga, ggaQuality, []string{"4", "5", "2", "1", "2", "5", "4"}, []float64{0, 14, 20, 27, 36.6, 38.6, 42.6}, 0.3)
	most := 0.0
	for _, s := range gga {
		if s.fields[ggaAge] != "" {
			most = max(most, number(t, s.fields[ggaAge]))
			if s.fields[ggaStation] != "0417" {
				t.Fatalf("the station is %s", s.fields[ggaStation])
			}
		}
	}
	if most < 16.5 || most > 18.2 {
		t.Errorf("the age grows to %g s, want nearly 18", most)
	}
	last := 0.0
	for i, at := range []float64{13, 16, 24, 30} {
		s := horizontal(value(t, d.Ideal(at).Sigma, "sigma"))
		if i > 0 && s < 1.5*last {
			t.Errorf("at %g s the sigma is %g m, not much worse than before, %g m", at, s, last)
		}
		last = s
	}
}

func showsInterference(t *testing.T, d *emulator.Device) {
	before, during, after := d.Ideal(11.5), d.Ideal(20), d.Ideal(29)
	n := func(r wire.Reading) int { return value(t, r.Satellites, "satellites") }
	sigma := func(r wire.Reading) float64 { return horizontal(value(t, r.Sigma, "sigma")) }
	hdop := func(r wire.Reading) float64 { return value(t, r.HDOP, "HDOP") }
	if n(during) > n(before)-2 || n(after) < n(before)-1 {
		t.Errorf("%d, %d, %d satellites; want fewer in between", n(before), n(during), n(after))
	}
	if sigma(during) < 2*sigma(before) || sigma(after) > 1.2*sigma(before) || hdop(during) < 1.2*hdop(before) {
		t.Errorf("sigma %g, %g, %g m and HDOP %g, %g; want both worse in between", sigma(before), sigma(during), sigma(after), hdop(before), hdop(during))
	}
	// The lowest are lost: each that is still used stands higher than each that no longer is.
	lowest, lost := 90.0, 0.0
	used := map[int]bool{}
	for _, s := range visible(t, d, 20) {
		used[s.PRN] = s.Used
	}
	for _, s := range visible(t, d, 11) {
		if el := s.Elevation / degree; s.Used && used[s.PRN] {
			lowest = min(lowest, el)
		} else if s.Used {
			lost = max(lost, el)
		}
	}
	if lost == 0 || lost > lowest {
		t.Errorf("a satellite at %.1f deg is lost, one at %.1f deg is not", lost, lowest)
	}
	var rms [2]float64
	for at := 0.0; at < 28; at += 0.2 {
		off := horizontal(offENU(t, d, at))
		if at >= 12 {
			rms[1] += off * off / 80
		} else {
			rms[0] += off * off / 60
		}
	}
	if rms[1] < 2*rms[0] {
		t.Errorf("the position is off by %.2g m before and %.2g m during, rms", math.Sqrt(rms[0]), math.Sqrt(rms[1]))
	}
}

func showsMultipath(t *testing.T, d *emulator.Device) {
	var most, up float64
	for at := 0.0; at < 40; at += 0.1 {
		off := offENU(t, d, at)
		if (at < 7.95 || at > 32.05) && r3.Norm(off) > 1e-6 {
			t.Fatalf("at %.1f s the position is off by %v", at, off)
		}
		// East is sin, north cos of the direction.
		along, across := off.X*math.Sin(76*degree)+off.Y*math.Cos(76*degree), off.X*math.Cos(76*degree)-off.Y*math.Sin(76*degree)
		if math.Abs(across) > 1e-6 {
			t.Fatalf("at %.1f s the position is off by %g m across the direction", at, across)
		}
		most, up = max(most, math.Abs(along)), max(up, math.Abs(off.Z))
	}
	near(t, "greatest horizontal error", most, 2.5, 0.01)
	near(t, "greatest vertical error", up, 3.2, 0.01)
	if a, b := value(t, d.Ideal(5).Sigma, "sigma"), value(t, d.Ideal(11).Sigma, "sigma"); a.X > 1.2*b.X || b.X > 1.2*a.X {
		t.Errorf("the reported sigma changes from %v to %v", a, b)
	}
}

func showsPositionJump(t *testing.T, d *emulator.Device) {
	for at := 0.25; at < 40; at += 0.5 {
		want := r3.Vec{}
		if at > 12.5 && at < 32.5 {
			want = r3.Vec{X: 0.47, Y: -0.36, Z: 0.83}
		}
		if off := offENU(t, d, at); r3.Norm(r3.Sub(off, want)) > 1e-6 {
			t.Fatalf("at %g s the position is off by %v, want %v", at, off, want)
		}
	}
	wantRuns(t, "quality", sentences(t, d, 0, "GGA"), ggaQuality, []string{"4"}, []float64{0}, 0)
}

func showsFrozenReceiver(t *testing.T, d *emulator.Device) {
	stamps, from := runs(sentences(t, d, 0, "GGA"), ggaTime)
	for i := range stamps[1:] {
		if gap := from[i+1] - from[i]; gap > 0.21 && math.Abs(from[i]-14) > 0.21 {
			t.Errorf("%s stands for %g s", stamps[i], gap)
		} else if gap < 7.5 && math.Abs(from[i]-14) < 1e-6 {
			t.Errorf("%s stands for %g s, want eight", stamps[i], gap)
		}
	}
	tilts, _ := runs(sentences(t, d, 0, "XDR"), 2)
	if len(tilts) < 190 {
		t.Errorf("pitch has %d values in 200 messages; it should go on", len(tilts))
	}
	off := r3.Norm(offENU(t, d, 21.99))
	near(t, "distance to where she is, m", off, 7.4*1852/3600*8, 4)
}

func showsBothLost(t *testing.T, d *emulator.Device) {
	wantRuns(t, "quality", sentences(t, d, 0, "GGA"), ggaQuality, []string{"3", "0"}, []float64{0, 13}, 0.01)
	for _, kind := range []string{"GGA", "HDT", "RMC", "VTG"} {
		field := map[string]int{"GGA": ggaLat, "HDT": 1, "RMC": 3, "VTG": 1}[kind]
		for _, s := range sentences(t, d, 0, kind) {
			if there := s.fields[field] != ""; there != (s.valid < 13) {
				t.Fatalf("%s at %g s: %v", kind, s.valid, s.fields)
			}
		}
	}
	for _, s := range sentences(t, d, 0, "XDR") {
		if s.fields[2] == "" || s.fields[6] == "" || s.fields[10] == "" {
			t.Fatalf("at %g s pitch, roll or heave is not there: %v", s.valid, s.fields)
		}
	}
}

func showsGNSSGap(t *testing.T, d *emulator.Device) {
	gga := sentences(t, d, 0, "GGA")
	wantRuns(t, "quality", gga, ggaQuality, []string{"4", "0", "5"}, []float64{0, 14.6, 28}, 0.2)
	hdt := sentences(t, d, 0, "HDT")
	for _, s := range hdt {
		if none := s.fields[1] == ""; none != (s.valid > 14.5 && s.valid < 38) { // ten seconds after the fix
			t.Fatalf("at %g s the heading is %q", s.valid, s.fields[1])
		}
	}
}

func showsSecondaryLost(t *testing.T, d *emulator.Device) {
	gone, back := math.NaN(), math.NaN()
	for _, s := range sentences(t, d, 0, "HDT") {
		if none := s.fields[1] == ""; none && math.IsNaN(gone) {
			gone = s.valid
		} else if !none && !math.IsNaN(gone) && math.IsNaN(back) {
			back = s.valid
		} else if none && !math.IsNaN(back) {
			t.Fatalf("the heading is gone again at %g s", s.valid)
		}
	}
	if !(gone > 14 && gone < 34) {
		t.Errorf("the heading is gone from %g s on, want some time after the loss at 10 s", gone)
	}
	near(t, "time when the heading is back", back, 40, 0.3)
	wantRuns(t, "quality", sentences(t, d, 0, "GGA"), ggaQuality, []string{"4"}, []float64{0}, 0)
	baseline := func(at float64) float64 {
		in := d.Scenario().Installation
		b, _ := in.Baseline()
		return frame.BaselineAzimuth(d.Truth().At(at).Attitude.Rotation(), b)
	}
	for at := 10.2; at < gone-0.1; at += 0.2 {
		r := d.Ideal(at)
		off, sigma := frame.AngleDiff(value(t, r.Heading, "heading"), baseline(at)), value(t, r.HeadingSigma, "sigma of the heading")
		if !r.HeadingEstimated || sigma > 1*degree || math.Abs(off) > 3*sigma {
			t.Fatalf("at %.1f s the heading is off by %.3f deg with a sigma of %.3f deg, estimated: %v", at, off/degree, sigma/degree, r.HeadingEstimated)
		}
	}
	if s := value(t, d.Ideal(gone-0.2).HeadingSigma, "sigma of the heading"); s < 0.9*degree {
		t.Errorf("the heading goes at a sigma of %.3f deg, want 1 deg", s/degree)
	}
}

func showsWrongInteger(t *testing.T, d *emulator.Device) {
	well := fromLibrary(t, "wrong-integer", func(s *scenarios.Scenario) { s.GNSS.Conditions = nil })
	b, _ := d.Scenario().Installation.Baseline()
	wave := 299792458 / 1575.42e6 // of L1, IS-GPS-200 3.3.1.1
	step := wave / math.Hypot(b.X, b.Y)
	for at := 0.5; at < 40; at++ {
		want := 0.0
		switch {
		case at > 10 && at < 17:
			want = step
		case at > 24 && at < 31:
			want = -2 * step
		}
		off := frame.AngleDiff(value(t, d.Ideal(at).Heading, "heading"), value(t, well.Ideal(at).Heading, "heading"))
		if math.Abs(off-want) > 0.06*math.Abs(want)+1e-9 { // to first order, level
			t.Errorf("at %g s the heading is off by %.2f deg, want %.2f", at, off/degree, want/degree)
		}
		if d.Ideal(at).Position != well.Ideal(at).Position {
			t.Fatalf("at %g s the position is another one", at)
		}
	}
}

// showsOutage is for one grade: what the sigma of the position, each axis, has grown to after the 40 s, m, and what no
// error may exceed.
func showsOutage(grown, most float64) func(*testing.T, *emulator.Device) {
	return func(t *testing.T, d *emulator.Device) {
		wantRuns(t, "quality", sentences(t, d, 0, "GGA"), ggaQuality, []string{"4", "6", "5", "4"}, []float64{0, 8, 49.6, 54.6}, 0.3)
		last := 0.0
		for at := 8.5; at < 49; at += 0.5 {
			s := value(t, d.Ideal(at).Sigma, "sigma")
			if h := horizontal(s); h < last {
				t.Fatalf("at %g s the sigma shrinks from %g m to %g m", at, last, h)
			} else {
				last = h
			}
			if off := horizontal(offENU(t, d, at)); off > most {
				t.Fatalf("at %g s the position is off by %g m", at, off)
			}
		}
		near(t, "sigma of each axis after 40 s, m", last/math.Sqrt2, grown, 0.35*grown)
		if after := horizontal(offENU(t, d, 59.9)); after > 0.15 {
			t.Errorf("at the end the position is still off by %g m", after)
		}
		// Over many seeds the error is what the sigma says: the mean of the squares of error/sigma is 1 with a standard
		// deviation of √(2/120) = 0.13, and four of those bound it.
		if testing.Short() {
			return
		}
		const seeds = 60
		sum := 0.0
		for seed := range uint64(seeds) {
			other := fromLibrary(t, d.Scenario().Name, func(s *scenarios.Scenario) { s.Seed = 1000 + seed })
			off, s := offENU(t, other, 47.9), value(t, other.Ideal(47.9).Sigma, "sigma")
			sum += off.X*off.X/(s.X*s.X) + off.Y*off.Y/(s.Y*s.Y)
		}
		near(t, "mean square of error over sigma", sum/(2*seeds), 1, 0.52)
	}
}

func showsAlmanacSky(t *testing.T, d *emulator.Device) {
	full := fromLibrary(t, "almanac-sky", func(s *scenarios.Scenario) { s.GNSS.Almanac = nil })
	a, b := d.Ideal(10), full.Ideal(10)
	if n, all := value(t, a.Satellites, "satellites"), value(t, b.Satellites, "satellites"); n != all-2 {
		t.Errorf("%d satellites of %d, want two fewer", n, all)
	}
	if x, y := value(t, a.HDOP, "HDOP"), value(t, b.HDOP, "HDOP"); x <= y {
		t.Errorf("HDOP is %g with the almanac and %g with all", x, y)
	}
	// The rest stand where the published slots have them. PRN 17 is slot E1, PRN 10 slot C2.
	slots := map[int]gnss.Sat{}
	for _, s := range visible(t, full, 10) {
		slots[s.PRN] = s
	}
	for _, s := range visible(t, d, 10) {
		o, ok := slots[s.PRN]
		if !ok || s.PRN == 10 {
			t.Errorf("PRN %d is in view", s.PRN)
		}
		if math.Abs(s.Elevation-o.Elevation) > 0.01*degree || math.Abs(frame.AngleDiff(s.Azimuth, o.Azimuth))*math.Cos(s.Elevation) > 0.01*degree {
			t.Errorf("PRN %d stands at %.3f, %.3f deg; the slot at %.3f, %.3f", s.PRN, s.Azimuth/degree, s.Elevation/degree, o.Azimuth/degree, o.Elevation/degree)
		}
		if s.PRN == 17 && s.Used {
			t.Error("the unhealthy satellite is used")
		}
	}
	if _, ok := slots[10]; !ok {
		t.Error("slot C2 is not in view, so that nobody misses it")
	}
}
