package inertial

import (
	"bytes"
	"math"
	"os"
	"strings"
	"testing"

	"swellbench/scenarios/frame"
	"swellbench/scenarios/geo"
	"swellbench/scenarios/internal/vectors"
	"swellbench/scenarios/units"
)

// errorRows loads the table. Its per_time_rel is one number, "the same as rel, element by element", which is what rel does
// to a list.
func errorRows(t *testing.T) []vectors.Row {
	t.Helper()
	const path = "testdata/inertial_errors.jsonl"
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	rows, err := vectors.Parse(path, bytes.ReplaceAll(data, []byte(`"per_time_rel"`), []byte(`"rel"`)))
	if err != nil {
		t.Fatal(err)
	}
	return rows
}

// atRest returns the truth of a row: a sensor that stands on the ellipsoid.
func atRest(t *testing.T, row vectors.Row) func(float64) State {
	s := State{
		Position: geo.Position{Lat: frame.Rad(row.In(t, "lat_deg"))},
		Attitude: frame.Attitude{Heading: frame.Rad(row.In(t, "heading_deg")), Pitch: frame.Rad(row.In(t, "pitch_deg")), Roll: frame.Rad(row.In(t, "roll_deg"))},
	}
	return func(float64) State { return s }
}

// specOf returns the section that asks for a row.
func specOf(t *testing.T, row vectors.Row) Spec {
	var s Spec
	g, a := Gyros{}, Accelerometers{}
	for i, axis := range []string{"right", "fwd", "up"} {
		g[i] = units.AngularRate(row.In(t, "gyro_bias_"+axis+"_dph") * degPerHour)
		a[i] = units.Acceleration(row.In(t, "accel_bias_"+axis+"_ug") * microG)
	}
	s.GyroBias, s.AccelBias = &g, &a
	switch w := row.InText(t, "initial_alignment"); w {
	case "perfect":
		s.Alignment = Perfect
	case "levelled":
		s.Alignment = SelfLevelled
	default:
		t.Fatalf("%s: the test does not know the alignment %q", row.ID, w)
	}
	switch w := row.InText(t, "vertical_channel"); w {
	case "held":
		s.Height = Held
	case "free":
		s.Height = Free
	default:
		t.Fatalf("%s: the test does not know the vertical channel %q", row.ID, w)
	}
	return s
}

// columns works a row out: its columns by name, over its times. The loss is at an odd time.
func columns(t *testing.T, row vectors.Row) (times []float64, columns map[string][]float64) {
	const loss = 77.7
	times = row.InList(t, "times_s")
	n, err := New(specOf(t, row), atRest(t, row), [][2]float64{{loss, loss + times[len(times)-1] + 1}}, 1)
	if err != nil {
		t.Fatalf("%s: %v", row.ID, err)
	}
	columns = map[string][]float64{}
	for _, at := range times {
		d := n.At(loss + at)
		if !d.Active {
			t.Fatalf("%s: not active at %g s", row.ID, at)
		}
		for name, v := range map[string]float64{
			"pos_east_m": d.PositionENU.X, "pos_north_m": d.PositionENU.Y, "pos_up_m": d.PositionENU.Z,
			"vel_east_mps": d.VelocityENU.X, "vel_north_mps": d.VelocityENU.Y, "vel_up_mps": d.VelocityENU.Z,
			"heading_err_deg": frame.Deg(d.Heading), "pitch_err_deg": frame.Deg(d.Pitch), "roll_err_deg": frame.Deg(d.Roll),
			"pos_horizontal_m": math.Hypot(d.PositionENU.X, d.PositionENU.Y),
		} {
			columns[name] = append(columns[name], v)
		}
	}
	return times, columns
}

func TestLinearVectors(t *testing.T) {
	if testing.Short() {
		t.Skip("pure computing, with nothing side by side; takes a minute under the race detector")
	}
	t.Parallel()
	rows := 0
	for _, row := range errorRows(t) {
		if !strings.HasSuffix(row.Case, "/linear") {
			continue
		}
		rows++
		_, got := columns(t, row)
		for name := range row.Expected {
			row.Check(t, name, got[name]...)
		}
		row.Done(t)
	}
	if rows < 25 {
		t.Errorf("%d linear rows, want all 28", rows)
	}
}
