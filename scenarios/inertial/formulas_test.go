package inertial

import (
	"math"
	"testing"

	"swellbench/scenarios/frame"
	"swellbench/scenarios/internal/vectors"
)

func TestFormulaVectors(t *testing.T) {
	inf := math.Inf(1)
	for _, row := range vectors.Load(t, "testdata/inertial_formulas.jsonl") {
		in := func(name string) float64 { return row.In(t, name) }
		switch row.Case {
		case "schuler":
			ws := SchulerRate(in("radius_m"), in("g_mps2"))
			row.Check(t, "schuler_rate_radps", ws)
			row.Check(t, "schuler_period_s", 2*math.Pi/ws)
			row.Check(t, "schuler_period_min", 2*math.Pi/ws/60)
		case "schuler_latitude":
			north, east, foucault := SchulerPeriods(frame.Rad(in("lat_deg")))
			if math.IsInf(foucault, 1) {
				foucault = 0 // as the row writes it
			}
			row.Check(t, "period_north_s", north)
			row.Check(t, "period_east_s", east)
			row.Check(t, "foucault_period_h", foucault/3600)
		case "accel_bias":
			b, at := in("bias_ug")*1e-6*in("g_mps2"), in("time_s")
			short, long := AccelBiasGrowth(b, at, 0), AccelBiasGrowth(b, at, SchulerRate(in("radius_m"), in("schuler_g_mps2")))
			row.Check(t, "short_term_pos_m", short.Position)
			row.Check(t, "short_term_vel_mps", short.Velocity)
			row.Check(t, "schuler_pos_m", long.Position)
			row.Check(t, "schuler_vel_mps", long.Velocity)
			row.Check(t, "static_tilt_deg", frame.Deg(StaticTilt(b, in("g_mps2"))))
		case "gyro_bias_horizontal":
			e, at := in("bias_dph")*degPerHour, in("time_s")
			short, long := GyroBiasGrowth(e, at, inf, in("g_mps2")), GyroBiasGrowth(e, at, in("radius_m"), in("schuler_g_mps2"))
			row.Check(t, "short_term_pos_m", short.Position)
			row.Check(t, "short_term_vel_mps", short.Velocity)
			row.Check(t, "short_term_tilt_deg", frame.Deg(short.Tilt))
			row.Check(t, "schuler_pos_m", long.Position)
			row.Check(t, "schuler_vel_mps", long.Velocity)
			row.Check(t, "schuler_tilt_deg", frame.Deg(long.Tilt))
		case "initial_errors":
			v, f, at := in("vel_error_mps"), frame.Rad(in("tilt_error_deg")), in("time_s")
			r, g := in("radius_m"), in("schuler_g_mps2")
			row.Check(t, "vel_error_pos_m", VelocityErrorGrowth(v, at, SchulerRate(r, g)))
			row.Check(t, "vel_error_short_pos_m", VelocityErrorGrowth(v, at, 0))
			row.Check(t, "tilt_error_pos_m", TiltErrorGrowth(f, at, r, g))
			row.Check(t, "tilt_error_short_pos_m", TiltErrorGrowth(f, at, inf, g))
		case "heading_error_dead_reckoning":
			across, along := ReckoningError(frame.Rad(in("heading_error_deg")), in("speed_mps")*in("time_s"))
			row.Check(t, "cross_track_m", across)
			row.Check(t, "along_track_m", along)
			side := "port"
			if across > 0 {
				side = "starboard"
			}
			row.CheckText(t, "side", side)
		case "gyro_bias_up_heading":
			row.Check(t, "heading_error_deg", frame.Deg(HeadingDrift(in("bias_up_dph")*degPerHour, in("time_s"))))
		case "gyrocompass_limit":
			row.Check(t, "heading_error_deg", frame.Deg(GyrocompassLimit(in("east_gyro_bias_dph")*degPerHour, frame.Rad(in("lat_deg")))))
		case "gyrocompass_speed_error":
			row.Check(t, "heading_error_deg", frame.Deg(SteamingError(in("vel_north_mps"), in("vel_east_mps"), frame.Rad(in("lat_deg")), in("radius_m"))))
		case "random_walk":
			at := in("time_s")
			a := AccelNoiseGrowth(in("accel_noise_ug_per_sqrthz")*1e-6*in("g_mps2"), at)
			g := GyroNoiseGrowth(in("angle_random_walk_deg_per_sqrth")*degPerRootHour, at, in("g_mps2"))
			row.Check(t, "sigma_pos_accel_noise_m", a.Position)
			row.Check(t, "sigma_vel_accel_noise_mps", a.Velocity)
			row.Check(t, "sigma_pos_gyro_noise_m", g.Position)
			row.Check(t, "sigma_vel_gyro_noise_mps", g.Velocity)
			row.Check(t, "sigma_angle_deg", frame.Deg(g.Tilt))
		default:
			t.Errorf("%s: the test does not know the case %q", row.ID, row.Case)
		}
		row.Done(t)
	}
}
