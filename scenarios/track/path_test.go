package track

import (
	"fmt"
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"swellbench/scenarios/frame"
	"swellbench/scenarios/geo"
	"swellbench/scenarios/internal/deriv"
	"swellbench/scenarios/units"
)

func deg(x float64) units.Angle { return units.Angle(frame.Rad(x)) }

func at(lat, lon, height float64) Position {
	return Position{Latitude: deg(lat), Longitude: deg(lon), Height: units.Length(height)}
}

func mustNew(t testing.TB, s Spec) Path {
	t.Helper()
	p, err := New(s)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// wild is a curve that goes everywhere at changing speed and with a heading of its own, to try the plan with more than
// the tracks of today.
type wild struct{ size, x0, y0 float64 }

func (w wild) at(t float64) planState {
	s1, c1 := math.Sincos(t / 7)
	s2, c2 := math.Sincos(t/11 + 1)
	return planState{
		x: w.x0 + w.size*s1, vx: w.size * c1 / 7, ax: -w.size * s1 / 49,
		y: w.y0 + w.size*s2, vy: w.size * c2 / 11, ay: -w.size * s2 / 121,
		h: 1 + 0.3*t + 0.2*s1, hRate: 0.3 + 0.2*c1/7, hAccel: -0.2 * s1 / 49,
	}
}

// paths are tracks of every kind, in all sorts of places.
func paths(t *testing.T) map[string]Path {
	all := map[string]Path{}
	for _, place := range []struct {
		name string
		Position
	}{
		{"temperate", at(50.1, -4.2, 51)},
		{"equator", at(0, 17.3, -20)},
		{"south", at(-78.4, 166.1, -12)},
		{"mountain lake", at(-15.8, -69.3, 3812)},
		{"antimeridian", at(61.2, 179.99999, 14)},
		{"1 km from the pole", at(89.991, 12, 21)},
		{"20 m from the pole", at(89.99982, -100, 21)},
		{"at the south pole", at(-90, 40, 2800)},
	} {
		heading, course := deg(37.3), deg(301.7)
		all[place.name+", standing"] = mustNew(t, Spec{Position: place.Position, Heading: &heading})
		all[place.name+", turning on the spot"] = mustNew(t, Spec{Position: place.Position, Heading: &heading,
			Turn: &Turn{Rate: -0.05}})
		all[place.name+", straight"] = mustNew(t, Spec{Position: place.Position, Heading: &heading, Speed: 4.1})
		all[place.name+", straight with crab"] = mustNew(t, Spec{Position: place.Position, Heading: &heading, Course: &course, Speed: 14})
		all[place.name+", circle to starboard"] = mustNew(t, Spec{Position: place.Position, Heading: &heading, Speed: 4.1,
			Turn: &Turn{Radius: 50, Direction: Starboard}})
		all[place.name+", circle to port with crab"] = mustNew(t, Spec{Position: place.Position, Heading: &heading, Course: &course, Speed: 3,
			Turn: &Turn{Rate: -0.04}})
		all[place.name+", wide circle"] = mustNew(t, Spec{Position: place.Position, Heading: &heading, Speed: 20,
			Turn: &Turn{Radius: 100e3, Direction: Port}})
		p := geo.Position{Lat: float64(place.Latitude), Lon: float64(place.Longitude)}
		all[place.name+", wild"] = &path{plan: planAt(p), height: float64(place.Height), curve: wild{size: 40}}
		all[place.name+", wild, past the anchor at 0.7 s"] = &path{plan: planAt(p), height: float64(place.Height),
			curve: wild{size: 40, x0: -40*math.Sin(0.1) + 0.003, y0: -40 * math.Sin(0.7/11+1)}}
		all[place.name+", wild near the end of the series"] = &path{plan: planAt(p), height: float64(place.Height),
			curve: wild{size: 40, x0: nearM, y0: 30}}
		all[place.name+", wild far out"] = &path{plan: planAt(p), height: float64(place.Height), curve: wild{size: 90, x0: 80e3, y0: -60e3}}
	}
	// Far faster and higher than any vessel, so that the terms with the flattening, lost in the tolerance above, count.
	for _, course := range []float64{0.4, 2.1, 4.4} {
		all[fmt.Sprintf("satellite on course %g rad", course)] = &path{plan: planAt(geo.Position{Lat: 0.7, Lon: 1}), height: 2e6,
			curve: line{course: course, speed: 7000, crab: 0.3}}
	}
	for _, w := range []wild{{4000, 80e3, -60e3}, {900, 1500, 1200}} {
		all[fmt.Sprintf("fast as a jet, %+v", w)] = &path{plan: planAt(geo.Position{Lat: -0.9, Lon: 1}), height: 100, curve: w}
	}
	north := deg(0)
	all["over the north pole"] = mustNew(t, Spec{Position: at(89.9998, -71.3, 5), Heading: &north, Speed: 3})
	return all
}

// Tolerances. A position in Earth-centred axes carries some 1e-9 m of rounding and up to 1e-8 m of the geodesic; divided
// by the step of the differences, 0.25 s, it is 4e-8 m/s. Velocities carry less.
const (
	step    = 0.25 // s
	tolVel  = 1e-6 // m/s
	tolAcc  = 1e-7 // m/s²
	tolRate = 1e-10
	tolDot  = 1e-9
)

func TestDerivatives(t *testing.T) {
	for name, p := range paths(t) {
		for _, at := range []float64{-3, 0.7, 11, 96.123} {
			t.Run(fmt.Sprintf("%s at %g s", name, at), func(t *testing.T) {
				s := p.At(at)
				local := geo.LocalAt(s.Position)
				// Velocities in Earth-centred axes, less what all have in common, so that rounding stays small.
				pos := func(t float64) r3.Vec { return local.ENU(p.At(t).Position) }
				vel := func(t float64) r3.Vec {
					s := p.At(t)
					return local.FromECEF(geo.LocalAt(s.Position).ToECEF(s.Velocity))
				}
				near(t, "velocity", s.Velocity, deriv.OfVec(pos, at, step), tolVel)
				near(t, "acceleration", s.Acceleration, deriv.OfVec(vel, at, step), tolAcc)

				axes := func(t float64) (right, forward, up r3.Vec) {
					s := p.At(t)
					l := geo.LocalAt(s.Position)
					sin, cos := math.Sincos(s.Heading)
					return l.ToECEF(r3.Vec{X: cos, Y: -sin}), l.ToECEF(r3.Vec{X: sin, Y: cos}), l.ToECEF(r3.Vec{Z: 1})
				}
				near(t, "rate of the level frame", s.Rate, deriv.Rate(axes, at, step), tolRate)
				near(t, "its derivative", s.RateDot, deriv.OfVec(func(t float64) r3.Vec { return p.At(t).Rate }, at, step), tolDot)

				// Some metres from a pole the heading changes too wildly for the step: its scale is the distance to it.
				if toPole := (math.Pi/2 - math.Abs(s.Position.Lat)) * 6.4e6; toPole > 300 {
					heading := func(t float64) float64 { return frame.AngleDiff(p.At(t).Heading, s.Heading) }
					tol := 1e-9 * max(1, 1e5/toPole)
					scalar(t, "heading rate", s.HeadingRate, deriv.Of(heading, at, step), tol)
					rate := func(t float64) float64 { return p.At(t).HeadingRate }
					scalar(t, "heading acceleration", s.HeadingAccel, deriv.Of(rate, at, step), tol)
				}
			})
		}
	}
}

func near(t *testing.T, what string, got, want r3.Vec, tol float64) {
	t.Helper()
	if !(r3.Norm(r3.Sub(got, want)) <= tol) {
		t.Errorf("%s is %v, differentiated %v, difference %.3g, tolerance %g", what, got, want, r3.Norm(r3.Sub(got, want)), tol)
	}
}

func scalar(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s is %.12g, want %.12g, difference %.3g, tolerance %g", what, got, want, got-want, tol)
	}
}

// The heading's own derivatives close to the pole, against the closed form on a straight track that misses it: seen
// from the pole, the vessel at the distance x past the nearest point, which is d away, has turned by atan(x/d).
func TestHeadingRateNearPole(t *testing.T) {
	const d, v = 25.0, 4.0
	start, _ := geo.Direct(geo.Position{Lat: math.Pi / 2, Lon: 0.3}, 0, d)
	course := deg(90)
	p := mustNew(t, Spec{Position: Position{Latitude: units.Angle(start.Lat), Longitude: units.Angle(start.Lon)}, Course: &course, Speed: v})
	for _, at := range []float64{0, 2, 9} {
		s, x := p.At(at), v*at
		scalar(t, "heading rate", s.HeadingRate, v/d/(1+x*x/d/d), 1e-9)
		scalar(t, "heading acceleration", s.HeadingAccel, -2*x*v*v/(d*d*d)/math.Pow(1+x*x/d/d, 2), 1e-9)
	}
}

// A straight track is the geodesic: it agrees with the published geodesic test set.
// Source: C. F. F. Karney, GeodTest, rows as shipped with the GeographicLib test suite (in package geo's testdata
// geodesy_geodesic.jsonl, the first three rows): azimuths at both ends, distance.
func TestStraightAgainstPublishedGeodesics(t *testing.T) {
	for _, row := range []struct{ lat1, lon1, azi1, lat2, lon2, azi2, distance float64 }{
		{35.60777, -139.44815, 111.09874842956033, -11.17491, -69.95921, 129.28927088970877, 8935244.56048183},
		{-21.97856, 142.59065, -32.44456876433189, 41.84138, 98.56635, -41.84359951440466, 8394328.894657671},
		{-17.42761, 173.34268, -159.03355766119293, -15.84784, 5.93557, -20.78748465153699, 16076603.163118068},
	} {
		azimuth := deg(row.azi1)
		const speed = 10
		p := mustNew(t, Spec{Position: at(row.lat1, row.lon1, 0), Heading: &azimuth, Speed: speed})
		s := p.At(row.distance / speed)
		// The set gives positions to 1e-5 deg exactly, and lengths to nanometres: 1e-9 deg is 0.1 mm.
		scalar(t, "latitude", frame.Deg(s.Position.Lat), row.lat2, 1e-9)
		scalar(t, "longitude", frame.Deg(s.Position.Lon), frame.Deg(frame.WrapPi(frame.Rad(row.lon2))), 1e-9)
		scalar(t, "heading", frame.Deg(s.Heading), frame.Deg(frame.Wrap2Pi(frame.Rad(row.azi2))), 1e-9)
		scalar(t, "speed", r3.Norm(s.Velocity), speed, 1e-12)
	}
}

// Speed, radius and side of a circle, and that it closes.
func TestCircle(t *testing.T) {
	heading, course := deg(200), deg(215)
	for _, c := range []struct {
		name    string
		turn    Turn
		radius  float64 // m
		side    float64 // degrees from the course to the middle
		degRate float64 // deg/s
	}{
		{"radius to starboard", Turn{Radius: 80, Direction: Starboard}, 80, 90, frame.Deg(4.0 / 80)},
		{"radius to port", Turn{Radius: 80, Direction: Port}, 80, -90, -frame.Deg(4.0 / 80)},
		{"rate to starboard", Turn{Rate: units.AngularRate(frame.Rad(2))}, 4 / frame.Rad(2), 90, 2},
		{"rate to port", Turn{Rate: units.AngularRate(frame.Rad(-2))}, 4 / frame.Rad(2), -90, -2},
	} {
		t.Run(c.name, func(t *testing.T) {
			p := mustNew(t, Spec{Position: at(50.1, -4.2, 0), Heading: &heading, Course: &course, Speed: 4, Turn: &c.turn})
			start := p.At(0)
			scalar(t, "heading at the start", frame.Deg(start.Heading), 200, 1e-9)
			scalar(t, "course at the start", frame.Deg(frame.Wrap2Pi(math.Atan2(start.Velocity.X, start.Velocity.Y))), 215, 1e-9)
			scalar(t, "latitude at the start", frame.Deg(start.Position.Lat), 50.1, 1e-12)
			scalar(t, "longitude at the start", frame.Deg(start.Position.Lon), -4.2, 1e-12)
			middle, _ := geo.Direct(start.Position, frame.Rad(215+c.side), c.radius)
			for _, at := range []float64{0, 13, 50, 3601} {
				s := p.At(at)
				distance, _, _ := geo.Inverse(middle, s.Position)
				scalar(t, "distance from the middle", distance, c.radius, 1e-8)
				scalar(t, "speed", math.Hypot(s.Velocity.X, s.Velocity.Y), 4, 1e-10)
				crab := frame.AngleDiff(s.Heading, math.Atan2(s.Velocity.X, s.Velocity.Y))
				scalar(t, "crab", frame.Deg(crab), -15, 1e-9)
				// The meridians converge by at most v·tan(lat)/R = 4.3e-5 deg/s.
				scalar(t, "heading rate", frame.Deg(s.HeadingRate), c.degRate, 5e-5)
				scalar(t, "acceleration", r3.Norm(s.Acceleration), 16/c.radius, 1e-7)
			}
			again := p.At(360 / math.Abs(c.degRate))
			distance, _, _ := geo.Inverse(start.Position, again.Position)
			scalar(t, "distance from the start after one turn", distance, 0, 1e-6)
		})
	}
}

func TestSpotTurns(t *testing.T) {
	heading := deg(350)
	p := mustNew(t, Spec{Position: at(50.1, -4.2, 51), Heading: &heading, Turn: &Turn{Rate: units.AngularRate(frame.Rad(2))}})
	s := p.At(10)
	scalar(t, "heading", frame.Deg(s.Heading), 10, 1e-9)
	scalar(t, "heading rate", frame.Deg(s.HeadingRate), 2, 1e-12)
	if want := (geo.Position{Lat: frame.Rad(50.1), Lon: frame.Rad(-4.2), Height: 51}); s.Position != want {
		t.Errorf("position is %v, want %v", s.Position, want)
	}
	if s.Velocity != (r3.Vec{}) || s.Acceleration != (r3.Vec{}) {
		t.Errorf("velocity %v, acceleration %v, want none", s.Velocity, s.Acceleration)
	}
}

// Without a heading the bow points along the course, and a vessel that stands points north.
func TestHeadingDefaults(t *testing.T) {
	course := deg(123.4)
	scalar(t, "heading", frame.Deg(mustNew(t, Spec{Position: at(1, 2, 3), Course: &course, Speed: 1}).At(0).Heading), 123.4, 1e-12)
	scalar(t, "heading", mustNew(t, Spec{Position: at(1, 2, 3)}).At(5).Heading, 0, 0)
	minus := deg(-10)
	scalar(t, "heading", frame.Deg(mustNew(t, Spec{Position: at(1, 2, 3), Heading: &minus}).At(5).Heading), 350, 1e-12)
}

// The vessel moves faster than its shadow on the ellipsoid, by the height over the radius of curvature.
func TestSpeedAtHeight(t *testing.T) {
	for _, c := range []struct{ course, radius float64 }{
		{0, geo.MeridianRadius(frame.Rad(40))}, {90, geo.PrimeVerticalRadius(frame.Rad(40))},
	} {
		course := deg(c.course)
		p := mustNew(t, Spec{Position: at(40, 5, 3000), Course: &course, Speed: 10})
		scalar(t, "speed", r3.Norm(p.At(0).Velocity), 10*(1+3000/c.radius), 1e-12)
	}
}

func TestCrossesAntimeridian(t *testing.T) {
	east := deg(90)
	p := mustNew(t, Spec{Position: at(61.2, 179.99995, 14), Heading: &east, Speed: 5})
	before, after := p.At(0).Position.Lon, p.At(2).Position.Lon
	if !(before > 3 && after < -3) {
		t.Errorf("longitudes are %g and %g rad, want the sign to change from + to −", before, after)
	}
}

// Over the pole the heading turns round at once, the vessel does not.
func TestOverThePole(t *testing.T) {
	north := deg(0)
	p := mustNew(t, Spec{Position: at(89.9998, -71.3, 5), Heading: &north, Speed: 3})
	a, b := p.At(7), p.At(8)
	scalar(t, "heading before", frame.Deg(frame.AngleDiff(a.Heading, 0)), 0, 1e-6)
	scalar(t, "heading after", frame.Deg(frame.AngleDiff(b.Heading, math.Pi)), 0, 1e-6)
	scalar(t, "longitude after", frame.Deg(b.Position.Lon), 108.7, 1e-6)
	distance := r3.Norm(r3.Sub(a.Position.ECEF(), b.Position.ECEF()))
	scalar(t, "distance run in 1 s", distance, 3, 1e-5)

	// Exactly at the pole everything is finite, and what the pole does not spoil is right.
	s := mustNew(t, Spec{Position: at(90, 10, 0), Heading: &north, Speed: 3}).At(0)
	scalar(t, "speed at the pole", r3.Norm(s.Velocity), 3, 1e-12)
	for _, x := range []float64{s.Heading, s.HeadingRate, s.HeadingAccel, s.Position.Lat, s.Position.Lon, r3.Norm(s.Rate), r3.Norm(s.RateDot), r3.Norm(s.Acceleration)} {
		if math.IsNaN(x) || math.IsInf(x, 0) {
			t.Errorf("at the pole the state is %+v, want all finite", s)
		}
	}
}

func TestAtAllocatesNothing(t *testing.T) {
	for name, p := range paths(t) {
		if n := testing.AllocsPerRun(100, func() { p.At(12.3) }); n != 0 {
			t.Errorf("%s: %g allocations, want 0", name, n)
		}
	}
}

func BenchmarkAt(b *testing.B) {
	heading := deg(37.3)
	for name, s := range map[string]Spec{
		"straight": {Position: at(50.1, -4.2, 51), Heading: &heading, Speed: 4.1},
		"circle":   {Position: at(50.1, -4.2, 51), Heading: &heading, Speed: 4.1, Turn: &Turn{Rate: 0.03}},
	} {
		b.Run(name, func(b *testing.B) {
			p := mustNew(b, s)
			b.ReportAllocs()
			var t float64
			for b.Loop() {
				p.At(t)
				t += 0.01
			}
		})
	}
}
