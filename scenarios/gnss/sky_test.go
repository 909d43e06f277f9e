package gnss

import (
	"math"
	"slices"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"

	"swellbench/scenarios/frame"
	"swellbench/scenarios/geo"
	"swellbench/scenarios/units"
)

func deg(d float64) *units.Angle { return new(units.Angle(frame.Rad(d))) }

// On the equator the vertical points to the centre of the Earth, so that spherical trigonometry gives the look angles:
// tan E = (cos ψ − R/r)/sin ψ for the angle ψ at the centre, and the azimuth of the point below the satellite.
// Source: Maral & Bousquet, Satellite Communications Systems, 5th ed. 2009, ch. 2 (from memory).
func TestLookAngles(t *testing.T) {
	lon := frame.Rad(31)
	r, err := New(Spec{}, testStart, func(float64) (geo.Position, frame.Attitude) { return geo.Position{Lon: lon}, frame.Attitude{Roll: 0.3} }, 7200, 1)
	if err != nil {
		t.Fatal(err)
	}
	for _, at := range []float64{0, 3600} {
		seen := map[int]Sat{}
		for _, s := range r.AppendSatellites(nil, at) {
			seen[s.PRN] = s
		}
		for _, s := range Nominal() {
			v := s.Orbit.At(unixSeconds(testStart) + at)
			radius := r3.Norm(v)
			lat, dlon := math.Asin(v.Z/radius), math.Atan2(v.Y, v.X)-lon
			psi := math.Acos(math.Cos(lat) * math.Cos(dlon))
			el := math.Atan((math.Cos(psi) - geo.SemiMajorM/radius) / math.Sin(psi))
			az := math.Atan2(math.Cos(lat)*math.Sin(dlon), math.Sin(lat))
			got, ok := seen[s.PRN]
			if ok != (el > 0) {
				t.Errorf("%s: listed %v with an elevation of %.2f°", s.Slot, ok, frame.Deg(el))
			} else if ok && (math.Abs(got.Elevation-el) > 1e-9 || math.Abs(frame.AngleDiff(got.Azimuth, az)) > 1e-9) {
				t.Errorf("%s: at %.4f°, %.4f°, want %.4f°, %.4f°", s.Slot, frame.Deg(got.Azimuth), frame.Deg(got.Elevation), frame.Deg(az), frame.Deg(el))
			}
		}
	}
}

// Whatever the mask and the sectors: a satellite is used exactly where it stands above the mask and in no sector, by a
// second opinion on the sectors that walks round the horizon degree by degree.
func TestSectors(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		left, right := rapid.IntRange(-180, 360).Draw(t, "left"), rapid.IntRange(-180, 360).Draw(t, "right")
		above := rapid.IntRange(-90, 80).Draw(t, "above")
		below := rapid.IntRange(above+1, 90).Draw(t, "below")
		mask := rapid.IntRange(0, 60).Draw(t, "mask")
		at := frame.Attitude{Heading: rapid.Float64Range(0, 6).Draw(t, "heading"), Pitch: rapid.Float64Range(-0.3, 0.3).Draw(t, "pitch"), Roll: rapid.Float64Range(-0.6, 0.6).Draw(t, "roll")}
		s := Sector{Left: deg(float64(left)), Right: deg(float64(right)), Above: deg(float64(above)), Below: deg(float64(below))}
		if rapid.Bool().Draw(t, "vessel") {
			s.Fixed = Vessel
		}
		place := geo.Position{Lat: rapid.Float64Range(-1.5, 1.5).Draw(t, "latitude"), Lon: rapid.Float64Range(-3, 3).Draw(t, "longitude")}
		r, err := New(Spec{Mask: deg(float64(mask)), Sectors: []Sector{s}}, testStart, func(float64) (geo.Position, frame.Attitude) { return place, at }, 1, 1)
		if err != nil {
			t.Fatal(err)
		}
		used := 0
		for _, sat := range r.AppendSatellites(nil, 0.5) {
			az, el := sat.Azimuth, sat.Elevation
			if s.Fixed == Vessel {
				// to the deck by matrix: rows of Cᵀ
				m := at.Rotation().Matrix()
				u := frame.Baseline{Azimuth: az, Elevation: el, Length: 1}.Vec()
				x, y, z := m[0]*u.X+m[3]*u.Y+m[6]*u.Z, m[1]*u.X+m[4]*u.Y+m[7]*u.Z, m[2]*u.X+m[5]*u.Y+m[8]*u.Z
				az, el = math.Atan2(x, y), math.Asin(z)
			}
			inside := false
			for edge := left; ; edge++ { // one degree of the sector after the other
				if d := frame.Deg(frame.AngleDiff(az, frame.Rad(float64(edge)))); d >= 0 && d <= 1 {
					inside = true
				}
				if (edge+1-right)%360 == 0 {
					break
				}
			}
			inside = inside && frame.Deg(el) >= float64(above) && frame.Deg(el) <= float64(below)
			want := !inside && frame.Deg(sat.Elevation) >= float64(mask)
			if used4 := sat.Used || sat.CN0.Has() && r.At(0.5).Fix == None; used4 != want && (sat.Used || sat.CN0.Has() != !inside) {
				t.Fatalf("PRN %d at %.3f°, %.3f°: used %v, tracked %v, want %v", sat.PRN, frame.Deg(az), frame.Deg(el), sat.Used, sat.CN0.Has(), want)
			}
			if sat.Used {
				used++
			}
		}
		if st := r.At(0.5); st.Satellites != used {
			t.Fatalf("%d used in the fix, %d listed so", st.Satellites, used)
		}
	})
}

// The funnel rolls with the vessel: a satellite low to port goes behind it when port side goes down, and the quay wall
// stays where it is.
func TestSuperstructureRolls(t *testing.T) {
	roll := func(t float64) (geo.Position, frame.Attitude) {
		return testPlace, frame.Attitude{Heading: frame.Rad(40), Roll: frame.Rad(25) * math.Sin(2*math.Pi*t/12)}
	}
	counts := func(fixed FixedTo) []int {
		r, err := New(Spec{Mask: deg(0), Sectors: []Sector{{Fixed: fixed, Left: deg(180), Right: deg(0), Below: deg(30)}}}, testStart, roll, 12, 1)
		if err != nil {
			t.Fatal(err)
		}
		var n []int
		for k := range 12 {
			tracked := 0
			for _, s := range r.AppendSatellites(nil, float64(k)) {
				if s.CN0.Has() {
					tracked++
				}
			}
			n = append(n, tracked)
		}
		return n
	}
	if n := counts(Earth); slices.Max(n) != slices.Min(n) {
		t.Errorf("the wall rolls: %v satellites", n)
	}
	n := counts(Vessel)
	// roll is greatest at 3 s (starboard down, port up) and least at 9 s: more of the port sky is hidden at 3 s
	if !(n[3] < n[9]) {
		t.Errorf("the superstructure does not roll with the vessel: %v satellites", n)
	}
}

// Interference takes the lowest first, by the stated carrier to noise density.
func TestInterference(t *testing.T) {
	r := receiver(t, Spec{Conditions: []Condition{{Condition: Interference, From: 10, Until: seconds(20), LossDB: new(12.0)}}}, 30)
	before, during := r.AppendSatellites(nil, 9), r.AppendSatellites(nil, 10)
	if len(before) != len(during) {
		t.Fatalf("%d satellites in view before, %d during", len(before), len(during))
	}
	lost := 0
	for i, s := range during {
		was, _ := before[i].CN0.Value()
		now, ok := s.CN0.Value()
		if high := 36+14*math.Sin(s.Elevation)-12 >= 28; ok != high {
			t.Errorf("PRN %d at %.1f° is tracked: %v", s.PRN, frame.Deg(s.Elevation), ok)
		}
		if ok && math.Abs(was-now-12) > 0.01 {
			t.Errorf("PRN %d falls from %.2f to %.2f dB-Hz in a second", s.PRN, was, now)
		}
		if !ok {
			lost++
		}
	}
	if lost == 0 || lost == len(during) {
		t.Errorf("%d of %d lost; the test could not fail", lost, len(during))
	}
	if a, b := r.At(5), r.At(15); b.Fix == Autonomous && !(b.SigmaENU.X > 3.9*a.SigmaENU.X) { // 10^(12/20) = 3.98, and fewer of them
		t.Errorf("sigma goes from %g to %g m", a.SigmaENU.X, b.SigmaENU.X)
	}
}

// Whatever happens to it, the state machine and the sky agree: where there is a fix there are four satellites, and the
// list says which; no number that should be one is not.
func TestStateAndSkyAgree(t *testing.T) {
	names := Condition{}.Condition.SchemaEnum()
	rapid.Check(t, func(t *rapid.T) {
		spec := Spec{
			Fix:     rapid.SampledFrom([]Fix{RTKFixed, Differential, Autonomous, Precise}).Draw(t, "fix"),
			Errors:  &Errors{},
			Mask:    deg(rapid.Float64Range(0, 35).Draw(t, "mask")),
			Sectors: []Sector{{Fixed: Vessel, Left: deg(100), Right: deg(260), Below: deg(50)}},
			StartUp: rapid.SampledFrom([]StartUp{"", Cold, Hot}).Draw(t, "start"),
			Times:   Times{Cold: seconds(7), Fixed: seconds(3), Heading: seconds(2)}, Baseline: twoAntennas,
		}
		for range rapid.IntRange(0, 4).Draw(t, "n") {
			c := Condition{Condition: ConditionName(rapid.SampledFrom(names).Draw(t, "name")), From: units.Duration(rapid.Float64Range(0, 50).Draw(t, "from"))}
			c.Until = seconds(float64(c.From) + rapid.Float64Range(0.1, 9).Draw(t, "for"))
			switch c.Condition {
			case PartlyBlocked:
				c.Sectors = []Sector{{Left: deg(0), Right: deg(200), Below: deg(70)}}
			case Interference:
				c.LossDB = new(rapid.Float64Range(0, 25).Draw(t, "loss"))
			case Multipath:
				c.Amplitude, c.Period = new(units.Length(2)), seconds(10)
			case PositionJump:
				c.Jump = &Offset{East: 3}
			}
			spec.Conditions = append(spec.Conditions, c)
		}
		roll := func(t float64) (geo.Position, frame.Attitude) {
			return testPlace, frame.Attitude{Heading: 1, Roll: 0.5 * math.Sin(t)}
		}
		r, err := New(spec, testStart, roll, 60, 1)
		if err != nil {
			return // two of a kind at once
		}
		outages := r.Outages()
		for range 40 {
			at := rapid.Float64Range(0, 59.999).Draw(t, "t")
			s, used := r.At(at), 0
			for _, sat := range r.AppendSatellites(nil, at) {
				if sat.Used {
					used++
				}
			}
			out := slices.ContainsFunc(outages, func(o [2]float64) bool { return at >= o[0] && at < o[1] })
			gone := s.Fix == None
			switch {
			case gone && (used > 0 || s.Satellites > 0 || s.HeadingValid || s.DOP.Has()):
				t.Fatalf("at %v s no fix, and %+v with %d satellites", at, s, used)
			case !gone && (used < 4 || s.Satellites != used || !s.DOP.Has() || !(s.SigmaENU.Z > 0)):
				t.Fatalf("at %v s %+v with %d satellites", at, s, used)
			case !s.Frozen && gone != out:
				t.Fatalf("at %v s fix %s, outages %v", at, s.Fix, outages)
			}
			for _, x := range []float64{s.ErrorENU.X, s.ErrorENU.Y, s.ErrorENU.Z, s.VelocityError.X, s.HeadingError, s.SigmaENU.X} {
				if math.IsNaN(x) || math.IsInf(x, 0) {
					t.Fatalf("at %v s %+v", at, s)
				}
			}
		}
	})
}

func TestUnhealthy(t *testing.T) {
	sats := Nominal()
	r := receiver(t, Spec{}, 10)
	first := r.AppendSatellites(nil, 1)[0]
	for i := range sats {
		sats[i].Healthy = sats[i].PRN != first.PRN
	}
	all := r.look(1, &r.spans[0], nil)
	r.satellites = sats
	var list []Sat
	if v := r.look(1, &r.spans[0], &list); v.used != all.used-1 && first.Used || list[0].Used || !list[0].CN0.Has() {
		t.Errorf("an unhealthy satellite: %+v, %d used of %d", list[0], v.used, all.used)
	}
}
