package track

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"swellbench/scenarios/frame"
	"swellbench/scenarios/geo"
	"swellbench/scenarios/units"
)

var quay = at(50.1, -4.2, 0)

func position(w *WayPoint) geo.Position {
	return geo.Position{Lat: float64(w.Latitude), Lon: float64(w.Longitude)}
}

// stagesOf gives the timetable by name.
func stagesOf(t *testing.T, s Spec) map[string]Stage {
	t.Helper()
	list, err := Timetable(s)
	if err != nil {
		t.Fatal(err)
	}
	all := map[string]Stage{}
	for i, st := range list {
		if i > 0 && st.From != list[i-1].Until {
			t.Errorf("stage %s begins at %g s, the one before ends at %g s", st.Name, st.From, list[i-1].Until)
		}
		all[st.Name] = st
	}
	return all
}

func course(s PathState) float64 { return frame.Wrap2Pi(math.Atan2(s.Velocity.X, s.Velocity.Y)) }

func speed(s PathState) float64 { return math.Hypot(s.Velocity.X, s.Velocity.Y) }

func distance(p, q geo.Position) float64 { d, _, _ := geo.Inverse(p, q); return d }

// A vessel casts off, runs round way-points and comes to rest at the last. Between the corners it is on the geodesics from
// one way-point to the next; corners are rounded on their inner side.
func TestWayPoints(t *testing.T) {
	for _, place := range []Position{quay, at(-33, 179.999, 12), at(84.5, -170, 3), at(89.99, 77, 3)} {
		a, b, c := from(place, 700, 30), from(place, 1400, 62), from(place, 900, 118)
		s := Spec{Position: place, Heading: degrees(300), Manoeuvres: []Manoeuvre{
			{Hold: &Hold{For: 20}},
			{Run: &Run{To: a, Speed: knots(6)}},
			{Run: &Run{To: b, Radius: metres(60)}},
			{Run: &Run{To: c, Radius: metres(90)}},
			{Hold: &Hold{For: 30}},
		}}
		p := mustNew(t, s)
		stages, err := Timetable(s)
		if err != nil {
			t.Fatal(err)
		}
		start := p.At(0).Position
		for _, at := range []float64{-5, 0, 10, 20} {
			scalar(t, "way from the berth", distance(p.At(at).Position, start), 0, 1e-9)
			scalar(t, "heading at the berth", frame.Deg(p.At(at).Heading), 300, 1e-9)
		}
		end := stages[len(stages)-1].From
		for _, at := range []float64{end - 30, end - 7, end, end + 1000} {
			scalar(t, "way from the last way-point", distance(p.At(at).Position, position(c)), 0, 1e-6)
			scalar(t, "speed there", speed(p.At(at)), 0, 1e-9)
		}
		// Legs: where the acceleration along the surface is nothing, the vessel is on one of the geodesics.
		legs := [][2]geo.Position{{start, position(a)}, {position(a), position(b)}, {position(b), position(c)}}
		onLeg := [3]int{}
		nearest := [2]float64{math.Inf(1), math.Inf(1)}
		fastest := 0.0
		for at := 25.0; at < end-30; at += 0.5 {
			s := p.At(at)
			fastest = max(fastest, speed(s))
			nearest[0] = min(nearest[0], distance(s.Position, legs[0][1]))
			nearest[1] = min(nearest[1], distance(s.Position, legs[1][1]))
			if math.Hypot(s.Acceleration.X, s.Acceleration.Y) > 1e-8 || speed(s) < 3 {
				continue
			}
			best := math.Inf(1)
			for i, leg := range legs {
				whole, _, _ := geo.Inverse(leg[0], leg[1])
				detour := distance(leg[0], s.Position) + distance(s.Position, leg[1]) - whole
				if detour < 1e-7 {
					onLeg[i]++
				}
				best = min(best, detour)
			}
			if best > 1e-7 { // half a millimetre off the line makes a detour of 1e-9 m over 700 m; this is some mm
				t.Fatalf("at %g s the vessel runs straight but is on no leg, detour %g m", at, best)
			}
		}
		for i, n := range onLeg {
			if n < 60 {
				t.Errorf("the vessel was on leg %d at %d instants of half a second, want more", i, n)
			}
		}
		scalar(t, "greatest speed", fastest, 6*geo.KnotMS*(1+float64(place.Height)/6.37e6), 1e-6)
		// With the radius R a corner of the angle Δ is cut by at least R·(1/cos(Δ/2) − 1), and by little more.
		for i, radius := range []float64{60, 90} {
			_, _, arrival := geo.Inverse(legs[i][0], legs[i][1])
			_, onward, _ := geo.Inverse(legs[i+1][0], legs[i+1][1])
			cut := radius * (1/math.Cos(frame.AngleDiff(onward, arrival)/2) - 1)
			if nearest[i] < cut-0.05 || nearest[i] > cut+3 {
				t.Errorf("corner %d is passed at %g m, want from %g m", i, nearest[i], cut)
			}
		}
	}
}

// Without ramps to speak of a turn is that of plane geometry: tangent R·tan(Δ/2), length R·Δ.
func TestBendOfPlaneGeometry(t *testing.T) {
	for _, turn := range []float64{0.3, -1.2, 2.9, -4, 6} {
		b := newBend(turn, 70, 1e-7)
		scalar(t, "tangent", b.tangent(turn), 70*math.Tan(math.Abs(turn)/2), 1e-5)
		scalar(t, "length", b.length(), 70*math.Abs(turn), 1e-6)
		right, ahead := b.chord()
		scalar(t, "right", right, math.Copysign(70*(1-math.Cos(turn)), turn), 1e-5)
		scalar(t, "ahead", ahead, 70*math.Sin(math.Abs(turn)), 1e-5)
	}
}

// The smooth rise is the one of least jerk, whose steepest slope is 15/8 of the mean. Source: Flash and Hogan, The
// Coordination of Arm Movements, J. Neuroscience 5 (1985): x = 10τ³ − 15τ⁴ + 6τ⁵, peak velocity 1.88 of the mean; from
// memory.
func TestSmooth(t *testing.T) {
	top, sum := 0.0, 0.0
	const n = 10000
	for i := range n {
		u := (float64(i) + 0.5) / n
		top = max(top, (smooth(u+1e-6)-smooth(u-1e-6))/2e-6)
		sum += smooth(u) / n
		scalar(t, "point symmetry", smooth(u)+smooth(1-u), 1, 1e-14)
	}
	scalar(t, "steepest slope", top, 1.875, 1e-6)
	scalar(t, "integral", sum, smoothIntegral(1), 1e-8)
	scalar(t, "half the integral", smoothIntegral(0.5), 0.5*0.5*0.5*0.5*(2.5-1.5+0.25), 1e-15)
}

// Rates, radii and angles of turns; changes of speed.
func TestTurnsAndSpeeds(t *testing.T) {
	s := Spec{Position: quay, Heading: degrees(20), Speed: 4, Handling: Handling{Acceleration: ptr(units.Acceleration(0.15)), TurnIn: ptr(units.Duration(3))},
		Manoeuvres: []Manoeuvre{
			{Run: &Run{For: ptr(units.Duration(10))}},
			{Turn: &TurnTo{By: degrees(-100), Rate: ptr(units.AngularRate(frame.Rad(2.5)))}},
			{Run: &Run{Distance: metres(250), Speed: ptr(units.Speed(7))}},
			{Turn: &TurnTo{To: degrees(100), Direction: Starboard, Radius: metres(120)}},
			{Run: &Run{Distance: metres(300), Course: degrees(60)}},
		}}
	p := mustNew(t, s)
	list, err := Timetable(s)
	if err != nil {
		t.Fatal(err)
	}
	extremes := func(st Stage) (rate, acceleration, speedChange float64) {
		for at := st.From; at <= st.Until; at += 0.01 {
			s := p.At(at)
			if math.Abs(s.HeadingRate) > math.Abs(rate) {
				rate = s.HeadingRate
			}
			acceleration = max(acceleration, math.Hypot(s.Acceleration.X, s.Acceleration.Y))
			speedChange = max(speedChange, math.Abs(r3.Dot(s.Acceleration, r3.Unit(s.Velocity))))
		}
		return rate, acceleration, speedChange
	}
	scalar(t, "course at the start", frame.Deg(course(p.At(0))), 20, 1e-9)
	scalar(t, "course before the start", frame.Deg(course(p.At(-1))), 20, 1e-3)
	scalar(t, "length of the first run", list[0].Until, 10, 1e-12)
	rate, acceleration, _ := extremes(list[1])
	scalar(t, "rate of the turn to port, deg/s", frame.Deg(rate), -2.5, 6e-5) // the meridians converge by 4e-5 deg/s
	scalar(t, "its acceleration", acceleration, 4*frame.Rad(2.5), 1e-6)
	scalar(t, "course after it", frame.Deg(course(p.At(list[1].Until))), 280, 2e-3) // and by 1e-3 deg over the turn
	_, _, speedChange := extremes(list[2])
	scalar(t, "acceleration of the speed", speedChange, 0.15, 1e-5)
	scalar(t, "speed after it", speed(p.At(list[2].Until)), 7, 1e-8)
	scalar(t, "distance", distance(p.At(list[2].From).Position, p.At(list[2].Until).Position), 250, 1e-6)
	rate, acceleration, _ = extremes(list[3])
	scalar(t, "rate of the turn to starboard", rate, 7.0/120, 2e-6)
	scalar(t, "its acceleration", acceleration, 49.0/120, 1e-6)
	scalar(t, "course after it", frame.Deg(course(p.At(list[3].Until))), 100, 1e-9)
	scalar(t, "course after the run's own turn", frame.Deg(course(p.At(list[4].Until))), 60, 1e-9)
	last := list[5]
	scalar(t, "distance", distance(p.At(last.From).Position, p.At(last.Until).Position), 300, 1e-6)
}

// Lines lie side by side at their distance, all of their length, run at constant speed, and each begins abeam of where the
// last one ended; whatever room there is to turn.
func TestLines(t *testing.T) {
	for _, spacing := range []float64{0.5, 12, 61, 66, 70, 90, 400} {
		for _, side := range []Direction{"", Starboard, Port} {
			t.Run(fmt.Sprintf("%g m to %s", spacing, side), func(t *testing.T) {
				s := Spec{Position: quay, Heading: degrees(75), Manoeuvres: []Manoeuvre{
					{Lines: &Lines{Count: 4, Length: 300, Spacing: units.Length(spacing), Side: side, RunIn: 40, Speed: knots(5), Radius: metres(30)}}}}
				p := mustNew(t, s)
				stages := stagesOf(t, s)
				first := stages["line 1 of 4"]
				origin := p.At(first.From)
				local, along := geo.LocalAt(origin.Position), course(origin)
				sin, cos := math.Sincos(along)
				for i := 1; i <= 4; i++ {
					st := stages[fmt.Sprintf("line %d of 4", i)]
					scalar(t, "time on the line", st.Until-st.From, 300/(5*geo.KnotMS), 1e-6)
					for _, f := range []float64{0, 0.4, 1} {
						s := p.At(st.From + f*(st.Until-st.From))
						enu := local.ENU(s.Position)
						across, ahead := enu.X*cos-enu.Y*sin, enu.X*sin+enu.Y*cos
						want := side.sign() * spacing * float64(i-1)
						scalar(t, "across", across, want, 2e-4) // geodesics that start parallel draw together: 1e-8 of 1 km
						if i%2 == 0 {
							f = 1 - f
						}
						scalar(t, "along", ahead, 300*f, 2e-4)
						scalar(t, "speed", speed(s), 5*geo.KnotMS, 1e-8)
						turned := math.Pi * float64((i-1)%2)
						scalar(t, "course", frame.Deg(frame.AngleDiff(course(s), along+turned)), 0, 0.01) // meridians
					}
				}
				for at := 0.0; at < stages["line 4 of 4"].Until; at += 0.1 {
					if s := p.At(at); math.Abs(s.HeadingRate) > 5*geo.KnotMS/30+1e-5 {
						t.Fatalf("at %g s the rate of turn is %g rad/s, tighter than the radius", at, s.HeadingRate)
					}
				}
			})
		}
	}
}

// A calibration runs the very same line there and back.
func TestCalibration(t *testing.T) {
	s := Spec{Position: at(-41, 174.6, 20), Manoeuvres: []Manoeuvre{
		{Calibration: &Calibration{Length: 500, Pairs: ptr(2), RunIn: 60, Side: Port, Course: degrees(131), Speed: knots(7), Radius: metres(45)}}}}
	p := mustNew(t, s)
	stages := stagesOf(t, s)
	first := stages["line 1 of 4"]
	a, b := p.At(first.From).Position, p.At(first.Until).Position
	scalar(t, "length", distance(a, b), 500, 1e-7)
	scalar(t, "heading at the berth", frame.Deg(p.At(0).Heading), 131, 1e-9)
	for i := 2; i <= 4; i++ {
		st := stages[fmt.Sprintf("line %d of 4", i)]
		for k := range 11 {
			f := float64(k) / 10
			there, here := f, f
			if i%2 == 0 {
				there = 1 - f
			}
			on := p.At(first.From + there*(first.Until-first.From))
			s := p.At(st.From + here*(st.Until-st.From))
			scalar(t, "way from the first line", distance(on.Position, s.Position), 0, 1e-5)
			scalar(t, "change of heading", math.Abs(frame.AngleDiff(s.Heading, on.Heading)), math.Pi*float64((i-1)%2), 1e-7)
		}
	}
}

// An eight closes, has its crossing in its middle, and turns as far to one side as to the other.
func TestEight(t *testing.T) {
	for _, d := range []Direction{Starboard, Port} {
		s := Spec{Position: quay, Heading: degrees(10), Speed: 3, Manoeuvres: []Manoeuvre{{Eight: &Eight{Radius: 40, Rounds: ptr(2), Direction: d}}}}
		p := mustNew(t, s)
		stages := stagesOf(t, s)
		one := stages["eight 1 of 2"]
		for _, at := range []float64{one.Until / 2, one.Until, 1.5 * one.Until, 2 * one.Until} {
			scalar(t, "way from the crossing", distance(p.At(at).Position, p.At(0).Position), 0, 1e-4)
		}
		scalar(t, "heading at the end", frame.Deg(p.At(2*one.Until).Heading), 10, 1e-3)
		scalar(t, "course half-way", frame.Deg(course(p.At(one.Until/2))), frame.Deg(frame.Wrap2Pi(frame.Rad(10+270*d.sign()))), 1e-3)
		least, most := 0.0, 0.0
		for at := 0.0; at < one.Until; at += 0.05 {
			rate := p.At(at).HeadingRate
			least, most = min(least, rate), max(most, rate)
			if at < one.Until/2 && rate*d.sign() < -1e-6 {
				t.Fatalf("the first loop turns at %g rad/s, want to %s", rate, d)
			}
		}
		scalar(t, "rate to starboard", most, 3.0/40, 1e-5)
		scalar(t, "rate to port", least, -3.0/40, 1e-5)
	}
}

// Keeping station the vessel stays within the radius, but uses it.
func TestKeep(t *testing.T) {
	s := Spec{Position: quay, Heading: degrees(90), Speed: 3, Manoeuvres: []Manoeuvre{
		{Run: &Run{Distance: metres(200)}}, {Keep: &Keep{For: 1800, Radius: 5, Period: ptr(units.Duration(50)), Heading: degrees(140)}}}}
	p := mustNew(t, s)
	keep := stagesOf(t, s)["keep"]
	station := p.At(keep.Until).Position
	scalar(t, "distance run", distance(p.At(0).Position, station), 200, 1e-6)
	farthest := 0.0
	for at := keep.From; at < keep.Until; at += 0.5 {
		s := p.At(at)
		farthest = max(farthest, distance(s.Position, station))
		if at > keep.Until-1800 {
			scalar(t, "heading", frame.Deg(s.Heading), 140, 1e-4)
		}
	}
	if farthest > 5 || farthest < 3 {
		t.Errorf("the vessel went %g m from its station, want 3 m to 5 m", farthest)
	}
}

// With current and wind the velocity less the drift is the vessel's own: along its keel, at its own speed. Only while it
// gets under way or loses it, not.
func TestDriftTriangle(t *testing.T) {
	s := outing(quay)
	s.Heading, s.Speed = degrees(145), 2.6
	s.Manoeuvres = s.Manoeuvres[2:12] // under way throughout
	s.Current, s.WindDrift = &Drift{deg(60), 0.7}, &Drift{deg(-170), 0.3}
	p := mustNew(t, s)
	east := 0.7*math.Sin(frame.Rad(60)) + 0.3*math.Sin(frame.Rad(-170))
	north := 0.7*math.Cos(frame.Rad(60)) + 0.3*math.Cos(frame.Rad(-170))
	stages, err := Timetable(s)
	if err != nil {
		t.Fatal(err)
	}
	own := map[float64]int{}
	for at := -10.0; at < stages[len(stages)-1].From+10; at += 0.3 {
		s := p.At(at)
		water := r3.Vec{X: s.Velocity.X - east, Y: s.Velocity.Y - north}
		across := water.X*math.Cos(s.Heading) - water.Y*math.Sin(s.Heading)
		scalar(t, "velocity through the water across the keel", across, 0, 5e-4) // meridians converge over 1.5 km
		own[math.Round((water.X*math.Sin(s.Heading)+water.Y*math.Cos(s.Heading))*500)/500]++
	}
	for _, v := range []float64{2.6, 6 * geo.KnotMS, 9 * geo.KnotMS, 5 * geo.KnotMS, 4.5 * geo.KnotMS} {
		if n := own[math.Round(v*500)/500]; n < 30 {
			t.Errorf("the vessel's own speed was %.3f m/s in %d samples, want more", v, n)
		}
	}
}

// Worked by hand: own speed 10 kn, current 2 kn. Across the course the bow is asin(0.2) = 11.536959° into it and the speed
// over ground 10·√0.96 = 9.797959 kn; ahead and astern it is 12 kn and 8 kn; from 45° ahead, with d = e = √2 kn,
// asin(0.14142136) = 8.130102° and 9.899495 − 1.414214 = 8.485281 kn.
func TestDriftByHand(t *testing.T) {
	for _, c := range []struct{ set, speed, crab float64 }{
		{180, 9.797958971, 11.536959033 * -1}, {0, 9.797958971, 11.536959033}, {90, 12, 0}, {270, 8, 0},
		{225, 8.485281374, -8.130102354},
	} {
		s := Spec{Position: at(0, 20, 0), Course: degrees(90), Speed: 10 * geo.KnotMS, Current: &Drift{deg(c.set), 2 * geo.KnotMS}}
		st := mustNew(t, s).At(60)
		scalar(t, "speed", speed(st)/geo.KnotMS, c.speed, 1e-8)
		scalar(t, "heading", frame.Deg(st.Heading), 90+c.crab, 1e-7)
		scalar(t, "course", frame.Deg(course(st)), 90, 1e-9)
		// And back: from the heading to the course.
		s.Course, s.Heading = nil, degrees(90+c.crab)
		scalar(t, "course from the heading", frame.Deg(course(mustNew(t, s).At(0))), 90, 1e-7)
	}
}

// A leg over the pole and one over the antimeridian are straight, and no farther than they must be.
func TestFarLegs(t *testing.T) {
	for _, c := range []struct {
		from Position
		to   WayPoint
	}{
		{at(89.5, 10, 5), WayPoint{deg(89.6), deg(-170)}},
		{at(70, 10, 5), WayPoint{deg(71), deg(-165)}},
		{at(-17, 179.2, 5), WayPoint{deg(-16.5), deg(-179)}},
		{at(50, -5, 5), WayPoint{deg(40), deg(-70)}},
	} {
		s := Spec{Position: c.from, Manoeuvres: []Manoeuvre{{Run: &Run{To: &c.to, Speed: knots(20)}}, {Hold: &Hold{For: 10}}}}
		p := mustNew(t, s)
		run := stagesOf(t, s)["run"]
		want := distance(p.At(0).Position, position(&c.to))
		const ramp = 1.875 * 20 * geo.KnotMS / 0.2
		scalar(t, "duration", run.Until, want/(20*geo.KnotMS)+ramp, 1e-5)
		scalar(t, "way from the way-point", distance(p.At(run.Until).Position, position(&c.to)), 0, 1e-6)
	}
}

func TestManoeuvresAllocateNothing(t *testing.T) {
	for name, p := range sailed(t) {
		at := 0.0
		if n := testing.AllocsPerRun(300, func() { p.At(at); at += 9 }); n != 0 {
			t.Errorf("%s: %g allocations, want 0", name, n)
		}
	}
}

// What is asked in any order is the same.
func TestRandomAccess(t *testing.T) {
	p := mustNew(t, outing(quay))
	forth := map[float64]PathState{}
	for at := -5.0; at < 2700; at += 7.3 {
		forth[at] = p.At(at)
	}
	for at, s := range forth {
		if p.At(at) != s {
			t.Fatalf("at %g s the answer changed", at)
		}
	}
	if s := fmt.Sprint(mustNew(t, outing(quay)).At(1234.5)); s != fmt.Sprint(p.At(1234.5)) || strings.Contains(s, "NaN") {
		t.Errorf("a second path of the same section answers %s", s)
	}
}
