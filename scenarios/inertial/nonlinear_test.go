package inertial

import (
	"math"
	"strings"
	"testing"

	"swellbench/scenarios/internal/vectors"
)

// departures is the table of doc.go, of rows whose height is held: how far, in % of the largest error of the full navigator so far, the linear equations
// have parted from it at most, by the largest gyro bias of the row in deg/h and after so many seconds.
var departures = []struct {
	gyro    float64
	percent map[float64]float64
}{
	{0, map[float64]float64{600: 0.004, 1800: 0.025, 3600: 0.04, 21600: 0.15}},
	{0.1, map[float64]float64{600: 0.01, 1800: 0.04, 3600: 0.12, 21600: 1.2}},
	{2, map[float64]float64{600: 0.2, 1800: 1, 3600: 3, 21600: 13}},
	{10, map[float64]float64{600: 0.7, 1800: 6, 3600: 25, 21600: 60}},
}

func TestNonlinearVectors(t *testing.T) {
	if testing.Short() {
		t.Skip("pure computing, with nothing side by side; takes a minute under the race detector")
	}
	t.Parallel()
	worst := make([]map[float64]float64, len(departures))
	for i := range worst {
		worst[i] = map[float64]float64{}
	}
	rows := 0
	for _, row := range errorRows(t) {
		if !strings.HasSuffix(row.Case, "/nonlinear") {
			continue
		}
		rows++
		times, got := columns(t, row)
		band := 0
		for _, axis := range []string{"right", "fwd", "up"} {
			for math.Abs(row.In(t, "gyro_bias_"+axis+"_dph")) > departures[band].gyro {
				band++
			}
		}
		list := func(name string) []float64 {
			var l []float64
			for _, v := range row.Expected[name].([]any) {
				l = append(l, v.(float64))
			}
			return l
		}
		east, north := list("pos_east_m"), list("pos_north_m")
		free := row.InText(t, "vertical_channel") == "free"
		far, off := 0.0, 0.0
		for i, at := range times {
			far = math.Max(far, math.Hypot(east[i], north[i]))
			off = math.Max(off, math.Hypot(got["pos_east_m"][i]-east[i], got["pos_north_m"][i]-north[i]))
			if far > 0 && !free {
				worst[band][at] = math.Max(worst[band][at], 100*off/far)
			}
		}
		if free {
			checkFree(t, row, times, got, list("pos_up_m"), 100*off/far)
		}
	}
	if rows < 29 {
		t.Errorf("%d rows, want all 30", rows)
	}
	for i, d := range departures {
		for at, limit := range d.percent {
			if w := worst[i][at]; !(w <= limit) || w < limit/2 {
				t.Errorf("gyro bias to %g deg/h, after %g s: the linear equations part by %.3g %%, the docs say %g %%", d.gyro, at, w, limit)
			}
		}
	}
}

// checkFree holds the free height to 0.1 % of the full navigator within half an hour, and the rest to 0.4 %, as the docs
// say.
func checkFree(t *testing.T, row vectors.Row, times []float64, got map[string][]float64, up []float64, percent float64) {
	if !(percent < 0.4) {
		t.Errorf("%s: the horizontal position parts by %.2g %%, the docs say 0.4 %%", row.ID, percent)
	}
	for i := range times {
		if !near(got["pos_up_m"][i], up[i], 0.001, 0.001) {
			t.Errorf("%s: height after %g s is off by %g m, by the full navigator %g m", row.ID, times[i], got["pos_up_m"][i], up[i])
		}
	}
}
