package track

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"swellbench/scenarios/geo"
	"swellbench/scenarios/units"
)

// Tracks put together at random are refused in words, or are sound: finite, and nothing leaps where parts meet.
func TestRandomManoeuvres(t *testing.T) {
	sound, refused := 0, 0
	for seed := range uint64(1200) {
		r := rand.New(rand.NewPCG(seed, 7))
		s := randomSpec(r)
		v := s.plan()
		if len(v.problems) > 0 {
			refused++
			for _, p := range v.problems {
				if p.Path == "" || strings.Contains(p.Text, "NaN") || strings.Contains(p.Text, "Inf") || strings.Contains(p.Text, "%!") {
					t.Fatalf("seed %d: %+v\nof %+v", seed, p, s)
				}
			}
			continue
		}
		sound++
		checkSegments(t, seed, s, v.path)
	}
	if sound < 150 || refused < 150 {
		t.Errorf("%d sound, %d refused; the test tests little", sound, refused)
	}
}

// checkSegments ends the test where a number is not finite or something leaps.
func checkSegments(t *testing.T, seed uint64, s Spec, p *segments) {
	t.Helper()
	for i := 1; i < len(p.all); i++ {
		a, b := p.all[i-1].state(p.all[i].from-p.all[i-1].from), p.all[i].state(0)
		sa, sb := a.atHeight(p.height), b.atHeight(p.height)
		local, other := geo.LocalAt(sa.Position), geo.LocalAt(sb.Position)
		same := func(v r3.Vec) r3.Vec { return local.FromECEF(other.ToECEF(v)) }
		ease := 1 + r3.Norm(sa.Velocity)/10
		// A scenario time of a year holds 4e-9 s, and rates build up as fast as turn-in lets them.
		ease *= 1 + p.all[i].from/1e5 + 1/(p.all[i].from-p.all[i-1].from+0.05)
		for _, q := range []struct {
			what      string
			leap, tol float64
		}{
			{"position", r3.Norm(local.ENU(sb.Position)), 2e-8},
			{"velocity", r3.Norm(r3.Sub(same(sb.Velocity), sa.Velocity)), 1e-8},
			{"acceleration", r3.Norm(r3.Sub(same(sb.Acceleration), sa.Acceleration)), 1e-7},
			{"rate", r3.Norm(r3.Sub(sb.Rate, sa.Rate)), 1e-8},
			{"derivative of the rate", r3.Norm(r3.Sub(sb.RateDot, sa.RateDot)), 1e-6},
		} {
			if !(q.leap <= q.tol*ease) {
				t.Fatalf("seed %d: at %g s, part %d of %d: %s leaps by %g, tolerance %g\n%+v", seed, p.all[i].from, i, len(p.all), q.what, q.leap, q.tol*ease, s)
			}
		}
	}
	for _, at := range []float64{-1e6, -1, 0, p.all[len(p.all)-1].from * 0.7, p.all[len(p.all)-1].from + 1e6} {
		st := p.At(at)
		for _, x := range []float64{st.Position.Lat, st.Position.Lon, r3.Norm(st.Velocity), r3.Norm(st.Acceleration), st.Heading, r3.Norm(st.Rate), r3.Norm(st.RateDot)} {
			if math.IsNaN(x) || math.IsInf(x, 0) {
				t.Fatalf("seed %d: at %g s the state is %+v\n%+v", seed, at, st, s)
			}
		}
	}
}

// randomSpec draws a section whose values are within their limits for the most part.
func randomSpec(r *rand.Rand) Spec {
	wide := func(lo, hi float64) float64 { return lo * math.Pow(hi/lo, r.Float64()) }
	angle := func() units.Angle { return deg(-180 + 540*r.Float64()) }
	maybe := func() bool { return r.IntN(2) == 0 }
	speed := func() *units.Speed {
		if maybe() {
			return nil
		}
		return ptr(units.Speed(wide(0.5, 20)))
	}
	radius := func() *units.Length {
		if maybe() {
			return nil
		}
		return metres(wide(5, 2000))
	}
	s := Spec{Position: Position{deg(-90 + 180*r.Float64()), deg(-180 + 360*r.Float64()), units.Length(-50 + 500*r.Float64())}}
	if r.IntN(6) == 0 {
		s.Position.Latitude = deg(90 - wide(1e-6, 1))
	}
	if maybe() {
		s.Heading = ptr(angle())
		if maybe() {
			s.Speed = units.Speed(wide(0.5, 20))
		}
	}
	if r.IntN(3) == 0 {
		s.Current = &Drift{angle(), units.Speed(wide(0.01, 2))}
	}
	if maybe() {
		s.Handling = Handling{Acceleration: ptr(units.Acceleration(wide(0.01, 2))), TurnIn: ptr(units.Duration(wide(0.5, 20))), SwingRate: ptr(units.AngularRate(wide(0.005, 0.5)))}
	}
	for range 1 + r.IntN(5) {
		var m Manoeuvre
		switch r.IntN(8) {
		case 0:
			m.Hold = &Hold{For: units.Duration(wide(0.001, 1000))}
		case 1:
			m.Run = &Run{To: from(s.Position, wide(1, 1e5), 360*r.Float64()), Speed: speed(), Radius: radius()}
		case 2:
			m.Run = &Run{Distance: metres(wide(1, 1e5)), Speed: speed(), Radius: radius()}
			if maybe() {
				m.Run.Course = ptr(angle())
			}
		case 3:
			m.Turn = &TurnTo{By: ptr(deg(-800 + 1600*r.Float64()))}
			if maybe() {
				m.Turn = &TurnTo{To: ptr(angle()), Direction: []Direction{"", Port, Starboard}[r.IntN(3)]}
			}
			if maybe() {
				m.Turn.Rate = ptr(units.AngularRate(wide(0.001, 0.5)))
			} else {
				m.Turn.Radius = radius()
			}
		case 4:
			m.Lines = &Lines{Count: 1 + r.IntN(4), Length: units.Length(wide(0.1, 5000)), Spacing: units.Length(wide(0.01, 3000)), Speed: speed(), Radius: radius(), RunIn: units.Length(r.IntN(2) * 50)}
		case 5:
			m.Calibration = &Calibration{Length: units.Length(wide(1, 3000)), Speed: speed(), Radius: radius(), Side: Port}
		case 6:
			m.Eight = &Eight{Radius: units.Length(wide(5, 1000)), Speed: speed()}
		case 7:
			m.Keep = &Keep{For: units.Duration(wide(60, 5000)), Radius: units.Length(wide(0.1, 40))}
		}
		s.Manoeuvres = append(s.Manoeuvres, m)
	}
	return s
}
