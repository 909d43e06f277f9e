package scenarios

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"swellbench/scenarios/frame"
	"swellbench/scenarios/geo"
	"swellbench/scenarios/internal/deriv"
	"swellbench/scenarios/internal/vectors"
	"swellbench/scenarios/sea"
	"swellbench/scenarios/track"
	"swellbench/scenarios/units"
)

func deg(x float64) units.Angle { return units.Angle(frame.Rad(x)) }

func ptr[T any](v T) *T { return &v }

// seaway moves in all six degrees of freedom.
var seaway = sea.Spec{
	Pose:  sea.Pose{Pitch: deg(1.5), Roll: deg(-2)},
	Surge: []sea.Shift{{Amplitude: 0.4, Period: 8, Phase: 1}},
	Sway:  []sea.Shift{{Amplitude: 0.6, Period: 10, Phase: 2}},
	Heave: []sea.Shift{{Amplitude: 1.2, Period: 7, Phase: 3}, {Amplitude: 0.2, Period: 3.1}},
	Roll:  []sea.Turning{{Amplitude: deg(17), Period: 9, Phase: -1}},
	Pitch: []sea.Turning{{Amplitude: deg(6), Period: 11, Phase: -2}},
	Yaw:   []sea.Turning{{Amplitude: deg(4), Period: 13, Phase: 0.5}},
}

var (
	resting = sea.Spec{Pose: sea.Pose{Pitch: deg(3.4), Roll: deg(-6.7)}}
	centre  = r3.Vec{X: 0.4, Y: -1.9, Z: 0.7} // a point that carries the motion

	// levers are points of a vessel, the reference point first.
	levers = []r3.Vec{{}, {X: 0.35, Y: -1.8, Z: 0.6}, {X: -0.9, Y: -3.1, Z: 6.2}, {X: 12, Y: 85, Z: -14}}
)

// swinging is a vessel that stays in place and swings its bow to and fro: a path whose turning is not constant.
type swinging struct{ geo.Position }

func (w swinging) At(t float64) track.PathState {
	sin, cos := math.Sincos(0.7 * t)
	h := track.PathState{Position: w.Position, Heading: frame.Wrap2Pi(0.5 * sin), HeadingRate: 0.35 * cos, HeadingAccel: -0.245 * sin}
	h.Rate.Z, h.RateDot.Z = -h.HeadingRate, -h.HeadingAccel
	return h
}

func pathOf(t testing.TB, s track.Spec) track.Path {
	t.Helper()
	path, err := track.New(s)
	if err != nil {
		t.Fatal(err)
	}
	return path
}

func truthOf(t testing.TB, path track.Path, m sea.Spec, about r3.Vec) *vessel {
	t.Helper()
	motion, err := sea.New(m)
	if err != nil {
		t.Fatal(err)
	}
	return &vessel{path: path, motion: motion, about: about}
}

func tracks(t testing.TB) map[string]track.Path {
	all := map[string]track.Path{"swinging": swinging{geo.Position{Lat: 0.9, Lon: 1, Height: 3}}}
	for name, p := range map[string]track.Position{
		"temperate":           {Latitude: deg(50.1), Longitude: deg(-4.2), Height: 51},
		"south of the line":   {Latitude: deg(-0.01), Longitude: deg(97.3), Height: -30},
		"antimeridian":        {Latitude: deg(61.2), Longitude: deg(179.99999), Height: 14},
		"78 S":                {Latitude: deg(-78), Longitude: deg(166), Height: -55},
		"100 m from the pole": {Latitude: deg(89.9991), Longitude: deg(12), Height: 21},
	} {
		all[name+", standing"] = pathOf(t, track.Spec{Position: p, Heading: ptr(deg(217.3))})
		all[name+", straight"] = pathOf(t, track.Spec{Position: p, Heading: ptr(deg(217.3)), Course: ptr(deg(221)), Speed: 5})
		all[name+", turning"] = pathOf(t, track.Spec{Position: p, Heading: ptr(deg(37.3)), Course: ptr(deg(30)), Speed: 5,
			Turn: &track.Turn{Radius: 60, Direction: track.Port}})
	}
	return all
}

// Position, velocity, acceleration, attitude, rate and its derivative say the same at every point of the vessel. The
// tolerances come from the rounding of Earth-centred positions, some 1e-9 m for the point and as much for the geodesic,
// over the step; the steps are far below the periods.
func TestConsistentAtEveryPoint(t *testing.T) {
	const (
		step    = 0.1  // s
		tolVel  = 1e-6 // m/s
		tolAcc  = 1e-6 // m/s²
		tolRate = 1e-8 // rad/s
	)
	for name, tr := range tracks(t) {
		for _, m := range []struct {
			name  string
			spec  sea.Spec
			about r3.Vec
		}{{"in a seaway", seaway, r3.Vec{}}, {"in a seaway about the centre", seaway, centre}, {"posed about the centre", resting, centre}} {
			truth := truthOf(t, tr, m.spec, m.about)
			for _, at := range []float64{0, 3.3, 71.9} {
				s := truth.At(at)
				what := fmt.Sprintf("%s, %s, at %g s: ", name, m.name, at)
				for _, l := range levers {
					p := s.Point(l)
					local := geo.LocalAt(p.Position)
					pos := func(t float64) r3.Vec { return local.ENU(truth.At(t).Point(l).Position) }
					vel := func(t float64) r3.Vec {
						q := truth.At(t).Point(l)
						return local.FromECEF(geo.LocalAt(q.Position).ToECEF(q.Velocity))
					}
					near(t, what+fmt.Sprintf("velocity at %v", l), p.Velocity, deriv.OfVec(pos, at, step), tolVel)
					near(t, what+fmt.Sprintf("acceleration at %v", l), p.Acceleration, deriv.OfVec(vel, at, step), tolAcc)
				}

				overEarth, overEarthDot := s.RateOverEarth()
				axes := func(t float64) (right, forward, up r3.Vec) {
					s := truth.At(t)
					c, l := s.Attitude.Rotation(), geo.LocalAt(s.Position)
					return l.ToECEF(c.Apply(r3.Vec{X: 1})), l.ToECEF(c.Apply(r3.Vec{Y: 1})), l.ToECEF(c.Apply(r3.Vec{Z: 1}))
				}
				near(t, what+"rate over the Earth", overEarth, deriv.Rate(axes, at, step), tolRate)
				near(t, what+"its derivative", overEarthDot, deriv.OfVec(func(t float64) r3.Vec {
					w, _ := truth.At(t).RateOverEarth()
					return w
				}, at, step), 1e-7)

				levelAxes := func(t float64) (right, forward, up r3.Vec) {
					c := truth.At(t).Attitude.Rotation()
					return c.Apply(r3.Vec{X: 1}), c.Apply(r3.Vec{Y: 1}), c.Apply(r3.Vec{Z: 1})
				}
				near(t, what+"rate", s.Rate, deriv.Rate(levelAxes, at, step), tolRate)
				near(t, what+"its derivative", s.RateDot, deriv.OfVec(func(t float64) r3.Vec { return truth.At(t).Rate }, at, step), 1e-7)

				e := s.EulerRates()
				euler := r3.Vec{X: e.Pitch, Y: e.Roll, Z: e.Heading}
				angles := func(t float64) r3.Vec {
					a := truth.At(t).Attitude
					return r3.Vec{X: a.Pitch, Y: a.Roll, Z: frame.AngleDiff(a.Heading, s.Attitude.Heading)}
				}
				near(t, what+"rates of the angles", euler, deriv.OfVec(angles, at, step), tolRate)
			}
		}
	}
}

func near(t *testing.T, what string, got, want r3.Vec, tol float64) {
	t.Helper()
	if !(r3.Norm(r3.Sub(got, want)) <= tol) {
		t.Errorf("%s is %v, want %v, difference %.3g, tolerance %g", what, got, want, r3.Norm(r3.Sub(got, want)), tol)
	}
}

// The point that carries the motion does exactly the surge, sway and heave; all others have the attitude on top.
func TestAbout(t *testing.T) {
	for name, tr := range tracks(t) {
		truth := truthOf(t, tr, seaway, centre)
		for _, at := range []float64{0, 3.3, 71.9} {
			s, mean, m := truth.At(at), truth.path.At(at), truth.motion.At(at)
			local := geo.LocalAt(mean.Position)
			heading := frame.Attitude{Heading: mean.Heading}.Rotation()
			what := fmt.Sprintf("%s at %g s: ", name, at)

			want := r3.Add(r3.Vec{X: m.Sway.Value, Y: m.Surge.Value, Z: m.Heave.Value}, centre)
			got := heading.Inverse().Apply(local.ENU(s.Point(centre).Position))
			near(t, what+"place of the point that carries the motion", got, want, 1e-8)

			got = heading.Inverse().Apply(local.ENU(s.Position))
			near(t, what+"displacement of the reference point", got, r3.Vec{X: s.SwayM, Y: s.SurgeM, Z: s.HeaveM}, 1e-8)

			// The attitude is that of the file: heading of the track plus yaw, pitch, roll. The level frames of the two
			// places differ by a metre's worth of the Earth, 1.6e-7 rad, times the convergence near the pole.
			tol := 1e-6
			if mean.Position.Lat > 1.57 {
				tol = 0.05
			}
			a := frame.Attitude{Heading: mean.Heading + m.Yaw.Value, Pitch: m.Pitch.Value, Roll: m.Roll.Value}.Rotation()
			if d := a.AngleTo(s.Attitude.Rotation()); d > tol {
				t.Errorf("%sattitude is %+v, %g rad from the file's", what, s.Attitude, d)
			}
			for _, l := range levers {
				// Heave at a point: how much higher than on the level vessel on its mean path.
				up := local.ENU(s.Point(l).Position).Z - l.Z
				if d := math.Abs(s.Point(l).HeaveM - up); d > 1e-5 {
					t.Errorf("%sheave at %v is %.9g m, it is %.9g m up from its mean place", what, l, s.Point(l).HeaveM, up)
				}
			}
		}
	}
}

// At rest and posed, the truth is the numbers of the file to the last bit but rounding.
func TestPose(t *testing.T) {
	s := truthOf(t, pathOf(t, track.Spec{Position: track.Position{Latitude: deg(50.1), Longitude: deg(-4.2), Height: 51}, Heading: ptr(deg(217.3))}),
		resting, r3.Vec{}).At(12)
	want := State{T: 12, Position: geo.Position{Lat: frame.Rad(50.1), Lon: frame.Rad(-4.2), Height: 51},
		Attitude: frame.Attitude{Heading: frame.Rad(217.3), Pitch: frame.Rad(3.4), Roll: frame.Rad(-6.7)}}
	if s != want {
		t.Errorf("state is %+v, want %+v", s, want)
	}
}

// Antenna positions from reference point, attitude and lever arms. Source in each row.
func TestPointAgainstCheckValues(t *testing.T) {
	for _, row := range vectors.Load(t, "geo/testdata/leverarm_antennas.jsonl") {
		s := State{
			Position: geo.Position{Lat: frame.Rad(row.In(t, "lat_deg")), Lon: frame.Rad(row.In(t, "lon_deg")), Height: row.In(t, "height_m")},
			Attitude: frame.Attitude{Heading: frame.Rad(row.In(t, "heading_deg")), Pitch: frame.Rad(row.In(t, "pitch_deg")), Roll: frame.Rad(row.In(t, "roll_deg"))},
		}
		p := s.Point(r3.Vec{X: row.In(t, "ant1_right_m"), Y: row.In(t, "ant1_fwd_m"), Z: row.In(t, "ant1_up_m")}).Position
		row.Check(t, "ant1_lat_deg", frame.Deg(p.Lat))
		row.Check(t, "ant1_lon_deg", frame.Deg(p.Lon))
		row.Check(t, "ant1_height_m", p.Height)
	}
}

// Velocity and acceleration at a lever arm. The table leaves the transport rate out; at the height of this state, far
// out in space, it is nothing. Source in each row.
func TestPointMotionAgainstCheckValues(t *testing.T) {
	for _, row := range vectors.Load(t, "frame/testdata/leverarm_kinematics.jsonl") {
		s := State{
			Position: geo.Position{Height: 1e15},
			Attitude: frame.Attitude{Heading: frame.Rad(row.In(t, "heading_deg")), Pitch: frame.Rad(row.In(t, "pitch_deg")), Roll: frame.Rad(row.In(t, "roll_deg"))},
			Rate: r3.Vec{X: frame.Rad(row.In(t, "omega_right_dps")), Y: frame.Rad(row.In(t, "omega_fwd_dps")),
				Z: frame.Rad(row.In(t, "omega_up_dps"))},
			RateDot: r3.Vec{X: frame.Rad(row.In(t, "alpha_right_dps2")), Y: frame.Rad(row.In(t, "alpha_fwd_dps2")),
				Z: frame.Rad(row.In(t, "alpha_up_dps2"))},
			Velocity:     r3.Vec{X: row.In(t, "ref_vel_east_mps"), Y: row.In(t, "ref_vel_north_mps"), Z: row.In(t, "ref_vel_up_mps")},
			Acceleration: r3.Vec{X: row.In(t, "ref_acc_east_mps2"), Y: row.In(t, "ref_acc_north_mps2"), Z: row.In(t, "ref_acc_up_mps2")},
		}
		p := s.Point(r3.Vec{X: row.In(t, "right_m"), Y: row.In(t, "fwd_m"), Z: row.In(t, "up_m")})
		row.Check(t, "vel_east_mps", p.Velocity.X)
		row.Check(t, "vel_north_mps", p.Velocity.Y)
		row.Check(t, "vel_up_mps", p.Velocity.Z)
		row.Check(t, "acc_east_mps2", p.Acceleration.X)
		row.Check(t, "acc_north_mps2", p.Acceleration.Y)
		row.Check(t, "acc_up_mps2", p.Acceleration.Z)
	}
}

// A vessel goes over the pole in a seaway, and the points of it go smoothly.
func TestOverThePole(t *testing.T) {
	truth := truthOf(t, pathOf(t, track.Spec{Position: track.Position{Latitude: deg(89.9998), Longitude: deg(-71.3)}, Heading: ptr(deg(0)), Speed: 3}), seaway, centre)
	l := r3.Vec{X: -0.9, Y: -3.1, Z: 6.2}
	over := 0
	for at := 0.0; at < 15; at += 0.25 {
		p := truth.At(at).Point(l)
		speed := deriv.OfVec(func(t float64) r3.Vec { return truth.At(t).Point(l).Position.ECEF() }, at, 0.05)
		near(t, fmt.Sprintf("velocity at %g s", at), geo.LocalAt(p.Position).ToECEF(p.Velocity), speed, 1e-5)
		if math.Pi/2-p.Position.Lat < 2/6.4e6 {
			over++
		}
	}
	if over == 0 {
		t.Error("the point never came within 2 m of the pole; the test tests nothing")
	}
}

func TestAnyOrder(t *testing.T) {
	for name, tr := range tracks(t) {
		truth := truthOf(t, tr, seaway, centre)
		late := truth.At(1e5 + 0.1)
		early := truth.At(0.3)
		if truth.At(1e5+0.1) != late || truth.At(0.3) != early {
			t.Errorf("%s: the same time, asked again, has another answer", name)
		}
	}
}

func TestAtAllocatesNothing(t *testing.T) {
	for name, tr := range tracks(t) {
		truth := truthOf(t, tr, seaway, centre)
		if n := testing.AllocsPerRun(100, func() { truth.At(12.3).Point(centre) }); n != 0 {
			t.Errorf("%s: %g allocations, want 0", name, n)
		}
	}
}

func BenchmarkTruth(b *testing.B) {
	tr := tracks(b)["temperate, turning"]
	truth := truthOf(b, tr, seaway, centre)
	b.Run("in order", func(b *testing.B) {
		b.ReportAllocs()
		var t float64
		for b.Loop() {
			truth.At(t)
			t += 0.01
		}
	})
	b.Run("anywhere", func(b *testing.B) {
		b.ReportAllocs()
		var t float64
		for b.Loop() {
			truth.At(t)
			t = math.Mod(t+12345.678, 86400)
		}
	})
	b.Run("with a point", func(b *testing.B) {
		b.ReportAllocs()
		var t float64
		for b.Loop() {
			truth.At(t).Point(levers[2])
			t += 0.01
		}
	})
}

// TestMotionAt: what is left out is left out, all else is that of the state.
func TestMotionAt(t *testing.T) {
	for _, text := range []string{"", "  sway: [{amplitude: 0.4 m, period: 6.1 s}]\n"} {
		sc, err := Parse("motion.yaml", []byte(strings.Replace(moving, "motion:\n", "motion:\n"+text, 1)))
		if err != nil {
			t.Fatal(err)
		}
		truth, err := sc.Truth()
		if err != nil {
			t.Fatal(err)
		}
		for at := 0.0; at < 30; at += 0.37 {
			s := truth.At(at)
			full, light, plain := BodyAt(truth, at), MotionAt(truth, at), s.Body()
			if full.State != s {
				t.Fatalf("at %g s: %+v, want %+v", at, full.State, s)
			}
			l := r3.Vec{X: 3, Y: -7, Z: 2}
			a, b, c := full.Point(l), plain.Point(l), s.Point(l)
			if r3.Norm(r3.Sub(a.Velocity, b.Velocity)) > 1e-12 || r3.Norm(r3.Sub(a.Acceleration, b.Acceleration)) > 1e-12 || a.HeaveM != b.HeaveM || b != c ||
				math.Abs(a.Position.Lat-b.Position.Lat) > 1e-15 || math.Abs(a.Position.Lon-b.Position.Lon) > 2e-15 || math.Abs(a.Position.Height-b.Position.Height) > 1e-8 {
				t.Fatalf("at %g s: %+v of what the state was made of, %+v of the state", at, a, b)
			}
			s.Acceleration, s.RateDot = r3.Vec{}, r3.Vec{}
			if light.State != s {
				t.Fatalf("at %g s without accelerations: %+v, want %+v", at, light.State, s)
			}
			level, p, v := light.Place(l)
			if p != a.Position || v != a.Velocity || r3.Norm(level.ENU(p)) > 1e-8 {
				t.Fatalf("at %g s: %v at %v m/s, want %+v", at, p, v, a)
			}
		}
	}
}

const moving = `
start: 2026-06-01T12:00:00Z
duration: 30 s
seed: 1
track: {position: {latitude: 47.1 deg, longitude: -8.2 deg, height: 48 m}, heading: 80 deg, course: 84 deg, speed: 9 kn}
motion:
  roll: [{amplitude: 9 deg, period: 3.1 s}]
  pitch: [{amplitude: 4 deg, period: 3.7 s, phase: 75 deg}]
  heave: [{amplitude: 0.8 m, period: 4.3 s}]
  yaw: [{amplitude: 2.5 deg, period: 4.9 s}]
installation:
  points: {antenna-primary: [1 m, -5 m, 8 m], sensor: [0 m, 0 m, 0 m]}
streams:
  - format: nmea0183
    line: {baud: 38400}
    messages: [{type: GGA, rate: 1 Hz}]
`
