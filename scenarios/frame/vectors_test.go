package frame_test

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"swellbench/scenarios/frame"
	"swellbench/scenarios/geo"
	"swellbench/scenarios/internal/vectors"
)

// The tables below come with their sources row by row: SciPy, textbook formulas, 8th-order numerical differentiation.
// None of them was made with this package. Angles on the way are degrees.

func table(t *testing.T, name string, check func(t *testing.T, row vectors.Row)) {
	t.Helper()
	for _, row := range vectors.Load(t, "testdata/"+name+".jsonl") {
		check(t, row)
		row.Done(t)
	}
}

func attitudeIn(t *testing.T, row vectors.Row, prefix string) frame.Attitude {
	t.Helper()
	return frame.Attitude{
		Heading: frame.Rad(row.In(t, prefix+"heading_deg")),
		Pitch:   frame.Rad(row.In(t, prefix+"pitch_deg")),
		Roll:    frame.Rad(row.In(t, prefix+"roll_deg")),
	}
}

func vecIn(t *testing.T, row vectors.Row, x, y, z string) r3.Vec {
	t.Helper()
	return r3.Vec{X: row.In(t, x), Y: row.In(t, y), Z: row.In(t, z)}
}

func checkQuat(t *testing.T, row vectors.Row, field string, r frame.Rotation) {
	t.Helper()
	q := r.Quat()
	row.Check(t, field, q.Real, q.Imag, q.Jmag, q.Kmag)
}

func checkMatrix(t *testing.T, row vectors.Row, field string, r frame.Rotation) {
	t.Helper()
	m := r.Matrix()
	row.Check(t, field, m[:]...)
}

func checkAttitude(t *testing.T, row vectors.Row, prefix string, a frame.Attitude) {
	t.Helper()
	row.Check(t, prefix+"heading_deg", frame.Deg(a.Heading))
	row.Check(t, prefix+"pitch_deg", frame.Deg(a.Pitch))
	row.Check(t, prefix+"roll_deg", frame.Deg(a.Roll))
}

func TestAttitudeMatrixVectors(t *testing.T) {
	table(t, "attitude_dcm", func(t *testing.T, row vectors.Row) {
		a := attitudeIn(t, row, "")
		r := a.Rotation()
		checkMatrix(t, row, "dcm_rowmajor", r)
		checkQuat(t, row, "quat_wxyz", r)
		// The angles must come back from the quaternion, from the matrix and by folding alike.
		for _, back := range []frame.Attitude{r.Attitude(), frame.FromMatrix(r.Matrix()).Attitude(), a.Canonical()} {
			switch {
			case row.Has("heading_deg"):
				checkAttitude(t, row, "", back)
			case row.Has("heading_minus_roll_deg"):
				row.Check(t, "heading_minus_roll_deg", frame.Deg(back.Heading-back.Roll))
				row.Check(t, "pitch_deg", frame.Deg(back.Pitch))
			default:
				row.Check(t, "heading_plus_roll_deg", frame.Deg(back.Heading+back.Roll))
				row.Check(t, "pitch_deg", frame.Deg(back.Pitch))
			}
			checkMatrix(t, row, "dcm_rowmajor", back.Rotation())
		}
		checkQuat(t, row, "quat_wxyz", frame.FromMatrix(r.Matrix()))
	})
}

func TestConventionVectors(t *testing.T) {
	table(t, "attitude_conventions", func(t *testing.T, row vectors.Row) {
		a := attitudeIn(t, row, "")
		r := a.Rotation()
		checkMatrix(t, row, "ned_frd_dcm_rowmajor", r.NEDFRD())
		rightDown, forwardUp := a.Inclinations()
		row.Check(t, "incl_stbd_axis_down_deg", frame.Deg(rightDown))
		row.Check(t, "incl_fwd_axis_up_deg", frame.Deg(forwardUp))
		rf := r.RollFirst()
		row.Check(t, "roll_first_heading_deg", frame.Deg(rf.Heading))
		row.Check(t, "roll_first_roll_deg", frame.Deg(rf.Roll))
		row.Check(t, "roll_first_pitch_deg", frame.Deg(rf.Pitch))
		row.Check(t, "tilt_total_deg", frame.Deg(a.TiltTotal()))

		// and every way back
		same(t, row.ID+" NED/FRD", frame.FromNEDFRD(r.NEDFRD()), r, 1e-15)
		same(t, row.ID+" roll first", rf.Rotation(), r, 1e-15)
		if math.Abs(a.Roll) < math.Pi/2 {
			pitch, roll := frame.TiltFromInclinations(rightDown, forwardUp)
			if !near(pitch, a.Pitch, 1e-14) || !near(roll, a.Roll, 1e-13) {
				t.Errorf("%s: from inclinations pitch %v, roll %v, want %v, %v", row.ID, pitch, roll, a.Pitch, a.Roll)
			}
		}
	})
}

func TestMountingVectors(t *testing.T) {
	table(t, "attitude_mounting", func(t *testing.T, row vectors.Row) {
		vessel, mount := attitudeIn(t, row, "vessel_"), attitudeIn(t, row, "mount_")
		device := frame.DeviceFromVessel(vessel.Rotation(), mount.Rotation())
		checkMatrix(t, row, "device_dcm_rowmajor", device)
		checkQuat(t, row, "device_quat_wxyz", device)

		d := device.Attitude()
		row.Check(t, "device_pitch_deg", frame.Deg(d.Pitch))
		if row.Has("device_heading_deg") {
			checkAttitude(t, row, "device_", d)
			naive := frame.Attitude{
				Heading: d.Heading - mount.Heading, Pitch: d.Pitch - mount.Pitch, Roll: d.Roll - mount.Roll,
			}
			row.Check(t, "naive_heading_error_deg", frame.Deg(naive.Heading-vessel.Heading))
			row.Check(t, "naive_pitch_error_deg", frame.Deg(naive.Pitch-vessel.Pitch))
			row.Check(t, "naive_roll_error_deg", frame.Deg(naive.Roll-vessel.Roll))
			row.Check(t, "naive_rotation_error_deg", frame.Deg(naive.Rotation().AngleTo(vessel.Rotation())))
		}

		// Back from the rotation, and from the three angles a device would send, wherever they are defined or not.
		for _, from := range []frame.Rotation{device, d.Rotation()} {
			checkAttitude(t, row, "recovered_", frame.VesselFromDevice(from, mount.Rotation()).Attitude())
		}
		pitch, roll := frame.TiltFromDevice(d.Pitch, d.Roll, mount.Rotation())
		row.Check(t, "recovered_pitch_deg", frame.Deg(pitch))
		row.Check(t, "recovered_roll_deg", frame.Deg(roll))
	})
}

func TestInterpolationVectors(t *testing.T) {
	table(t, "attitude_interp", func(t *testing.T, row vectors.Row) {
		switch row.Case {
		case "slerp":
			a, b, f := attitudeIn(t, row, "a_"), attitudeIn(t, row, "b_"), row.In(t, "fraction")
			checkAttitude(t, row, "", frame.Interpolate(a.Rotation(), b.Rotation(), f).Attitude())
			row.Check(t, "heading_shortest_linear_deg", frame.Deg(frame.InterpolateAngle(a.Heading, b.Heading, f)))
		case "heading_difference":
			d := frame.AngleDiff(frame.Rad(row.In(t, "to_deg")), frame.Rad(row.In(t, "from_deg")))
			row.Check(t, "difference_deg", frame.Deg(d))
			if d <= -math.Pi || d > math.Pi {
				t.Errorf("%s: difference %v is out of range", row.ID, d)
			}
		case "heading_mean":
			list := row.InList(t, "headings_deg")
			for i := range list {
				list[i] = frame.Rad(list[i])
			}
			row.Check(t, "mean_deg", frame.Deg(frame.MeanAngle(list...)))
		default:
			t.Errorf("%s: no test for case %s", row.ID, row.Case)
		}
	})
}

func TestRateVectors(t *testing.T) {
	table(t, "attitude_rates", func(t *testing.T, row vectors.Row) {
		a := attitudeIn(t, row, "")
		d := frame.Rates{
			Heading: frame.Rad(row.In(t, "heading_rate_dps")),
			Pitch:   frame.Rad(row.In(t, "pitch_rate_dps")),
			Roll:    frame.Rad(row.In(t, "roll_rate_dps")),
		}
		w := frame.BodyRate(a, d)
		switch row.Case {
		case "euler_rates":
			row.Check(t, "body_rate_right_dps", frame.Deg(w.X))
			row.Check(t, "body_rate_fwd_dps", frame.Deg(w.Y))
			row.Check(t, "body_rate_up_dps", frame.Deg(w.Z))
			back := frame.EulerRates(a, w)
			row.CheckBack(t, "inverse_rates", frame.Deg(back.Heading), frame.Deg(d.Heading))
			row.CheckBack(t, "inverse_rates", frame.Deg(back.Pitch), frame.Deg(d.Pitch))
			row.CheckBack(t, "inverse_rates", frame.Deg(back.Roll), frame.Deg(d.Roll))
		case "inertial_rates":
			p := geo.Position{Lat: frame.Rad(row.In(t, "lat_deg")), Height: row.In(t, "height_m")}
			v := vecIn(t, row, "vel_east_mps", "vel_north_mps", "vel_up_mps")
			g := frame.GyroRate(w, a.Rotation(), r3.Add(geo.EarthRate(p.Lat), geo.TransportRate(p, v)))
			row.Check(t, "gyro_right_dph", frame.Deg(g.X)*3600)
			row.Check(t, "gyro_fwd_dph", frame.Deg(g.Y)*3600)
			row.Check(t, "gyro_up_dph", frame.Deg(g.Z)*3600)
		default:
			t.Errorf("%s: no test for case %s", row.ID, row.Case)
		}
	})
}

func TestHeaveVectors(t *testing.T) {
	table(t, "leverarm_heave", func(t *testing.T, row vectors.Row) {
		a := attitudeIn(t, row, "")
		mean := frame.Attitude{Pitch: frame.Rad(row.In(t, "mean_pitch_deg")), Roll: frame.Rad(row.In(t, "mean_roll_deg"))}
		l := vecIn(t, row, "right_m", "fwd_m", "up_m")
		induced := frame.InducedHeaveM(a, l) - frame.InducedHeaveM(mean, l)
		row.Check(t, "induced_heave_m", induced)
		row.Check(t, "heave_point_m", row.In(t, "heave_ref_m")+induced)
		// What is left out by the small-angle form is worked out by the row; here the same form from the same inputs.
		row.Check(t, "small_angle_induced_heave_m", l.Y*math.Sin(a.Pitch)-l.X*math.Sin(a.Roll))
	})
}

func TestKinematicsVectors(t *testing.T) {
	table(t, "leverarm_kinematics", func(t *testing.T, row vectors.Row) {
		a := attitudeIn(t, row, "")
		c := a.Rotation()
		w := r3.Scale(frame.Rad(1), vecIn(t, row, "omega_right_dps", "omega_fwd_dps", "omega_up_dps"))
		alpha := r3.Scale(frame.Rad(1), vecIn(t, row, "alpha_right_dps2", "alpha_fwd_dps2", "alpha_up_dps2"))
		l := vecIn(t, row, "right_m", "fwd_m", "up_m")

		v := frame.PointVelocity(vecIn(t, row, "ref_vel_east_mps", "ref_vel_north_mps", "ref_vel_up_mps"), c, w, l)
		row.Check(t, "vel_east_mps", v.X)
		row.Check(t, "vel_north_mps", v.Y)
		row.Check(t, "vel_up_mps", v.Z)
		over := frame.BaselineOf(r3.Vec{X: v.X, Y: v.Y})
		row.Check(t, "speed_over_ground_mps", over.Length)
		row.Check(t, "course_over_ground_deg", frame.Deg(over.Azimuth))

		acc := frame.PointAcceleration(vecIn(t, row, "ref_acc_east_mps2", "ref_acc_north_mps2", "ref_acc_up_mps2"), c, w, alpha, l)
		row.Check(t, "acc_east_mps2", acc.X)
		row.Check(t, "acc_north_mps2", acc.Y)
		row.Check(t, "acc_up_mps2", acc.Z)

		// The rates of the angles that belong to the body rates, both ways; 1e-7 as the table's other values.
		d := frame.EulerRates(a, w)
		for _, r := range []struct {
			name string
			got  float64
		}{{"heading_rate_dps", d.Heading}, {"pitch_rate_dps", d.Pitch}, {"roll_rate_dps", d.Roll}} {
			if want := row.In(t, r.name); !near(frame.Deg(r.got), want, 1e-7) {
				t.Errorf("%s: %s is %v, want %v", row.ID, r.name, frame.Deg(r.got), want)
			}
		}
	})
}

func TestSpecificForceVectors(t *testing.T) {
	table(t, "leverarm_specific_force", func(t *testing.T, row vectors.Row) {
		a := attitudeIn(t, row, "")
		f := frame.SpecificForce(vecIn(t, row, "acc_east_mps2", "acc_north_mps2", "acc_up_mps2"), a.Rotation(), row.In(t, "gravity_mps2"))
		row.Check(t, "f_right_mps2", f.X)
		row.Check(t, "f_fwd_mps2", f.Y)
		row.Check(t, "f_up_mps2", f.Z)
		pitch, roll := frame.TiltFromSpecificForce(f)
		row.Check(t, "accelerometer_pitch_deg", frame.Deg(pitch))
		row.Check(t, "accelerometer_roll_deg", frame.Deg(roll))
	})
}

func near(got, want, tol float64) bool { return math.Abs(got-want) <= tol }

// A tester is a test or a property test.
type tester interface {
	Helper()
	Errorf(format string, args ...any)
}

func same(t tester, what string, got, want frame.Rotation, tol float64) {
	t.Helper()
	if a := got.AngleTo(want); !(a <= tol) {
		t.Errorf("%s: %v rad apart, allowed: %v", what, a, tol)
	}
}
