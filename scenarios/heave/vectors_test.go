package heave

import (
	"math"
	"testing"

	"swellbench/scenarios/frame"
	"swellbench/scenarios/internal/vectors"
)

func filter(t *testing.T, row vectors.Row) Filter {
	t.Helper()
	f, err := New(int(row.In(t, "order")), row.In(t, "cutoff_period_s"))
	if err != nil {
		t.Fatalf("%s: %v", row.ID, err)
	}
	return f
}

func TestResponseVectors(t *testing.T) {
	for _, row := range vectors.Load(t, "testdata/heave_filter_response.jsonl") {
		e := filter(t, row).At(row.In(t, "wave_period_s"))
		row.Check(t, "gain", e.Gain)
		row.Check(t, "gain_db", e.GainDB())
		row.Check(t, "phase_lead_deg", frame.Deg(e.Lead))
		row.Check(t, "time_lead_s", e.LeadS)
		row.Check(t, "error_gain", e.Error)
		row.Check(t, "zero_phase_gain", e.DelayedGain)
		row.Check(t, "zero_phase_error_gain", e.DelayedError)
		row.Done(t)
	}
}

// jonswap is the spectrum of that peak, before it is scaled. Source: Hasselmann et al. 1973, as in physics.md, 4.
func jonswap(peak, gamma float64) func(float64) float64 {
	return func(w float64) float64 {
		width := 0.07
		if w > peak {
			width = 0.09
		}
		d := (w - peak) / (width * peak)
		return math.Pow(w/peak, -5) * math.Exp(-1.25*math.Pow(w/peak, -4)) * math.Pow(gamma, math.Exp(-d*d/2))
	}
}

func TestSeaStateVectors(t *testing.T) {
	for _, row := range vectors.Load(t, "testdata/heave_filter_seastate.jsonl") {
		f, hs := filter(t, row), row.In(t, "hs_m")
		peak := 2 * math.Pi / row.In(t, "tp_s")
		shape := jonswap(peak, row.In(t, "gamma"))
		all := f.InSea(shape, peak/20, peak*500).Heave // Hs is that of the whole spectrum
		scale := hs * hs / 16 / (all * all)
		e := f.InSea(func(w float64) float64 { return scale * shape(w) }, 0.2*peak, 8*peak)
		row.Check(t, "sigma_heave_m", e.Heave)
		row.Check(t, "sigma_filtered_m", e.Filtered)
		row.Check(t, "sigma_error_m", e.Error)
		row.Check(t, "sigma_error_zero_phase_m", e.DelayedError)
		row.Done(t)
	}
}

// extreme returns where and how high the first extreme of f·sign is, on a fine grid.
func extreme(f func(float64) float64, sign, until float64) (at, value float64) {
	value = math.Inf(-1)
	for i := range 60001 {
		t := until * float64(i) / 60000
		if v := sign * f(t); v > value {
			at, value = t, v
		}
	}
	return at, sign * value
}

func TestTimeVectors(t *testing.T) {
	for _, row := range vectors.Load(t, "testdata/heave_filter_time.jsonl") {
		f := filter(t, row)
		switch row.Case {
		case "step":
			times := row.InList(t, "sample_times_s")
			out := NewOutputFrom(f, func(float64) Motion { return Motion{HeaveM: 1} }, 0)
			closed, run := make([]float64, len(times)), make([]float64, len(times))
			for i, at := range times {
				closed[i], run[i] = f.Step(at), out.At(at).HeaveM
			}
			row.Check(t, "samples", closed...)
			row.Check(t, "samples", run...)
			at, low := extreme(f.Step, -1, 2*f.CutOffS())
			row.Check(t, "min_value", low)
			row.Check(t, "time_of_min_s", at)
			row.Check(t, "settle_5pct_s", f.SettleS(0.05))
			row.Check(t, "settle_1pct_s", f.SettleS(0.01))
		case "acceleration_step":
			b := row.In(t, "acceleration_error_mps2")
			at, high := extreme(func(t float64) float64 { return b * f.AccelerationStep(t) }, 1, 2*f.CutOffS())
			row.Check(t, "peak_heave_error_m", high)
			row.Check(t, "time_of_peak_s", at)
			row.Check(t, "steady_heave_error_m", f.StandingErrorM(b))
			row.Check(t, "steady_heave_error_m", b*f.AccelerationStep(30*f.CutOffS()))
		case "digital_bilinear":
			testSampled(t, row, f)
		default:
			t.Errorf("%s: the test does not know the case %q", row.ID, row.Case)
		}
		row.Done(t)
	}
}

func testSampled(t *testing.T, row vectors.Row, f Filter) {
	rate := row.In(t, "sample_rate_hz")
	if in := row.InText(t, "input"); in != "sin(2 pi t/8), from rest" {
		t.Errorf("%s: the test does not know the input %q", row.ID, in)
	}
	var sos []float64
	h := complex(1, 0)
	z := complex(math.Cos(2*math.Pi/8/rate), -math.Sin(2*math.Pi/8/rate)) // one sample back
	for _, s := range f.Sections(rate) {
		sos = append(append(sos, s.B[:]...), s.A[:]...)
		h *= (complex(s.B[0], 0) + complex(s.B[1], 0)*z + complex(s.B[2], 0)*z*z) / (complex(s.A[0], 0) + complex(s.A[1], 0)*z + complex(s.A[2], 0)*z*z)
	}
	// SciPy gives the gain to the first section; where it stands does not matter to the chain.
	row.Check(t, "sos_rowmajor", gainFirst(sos)...)
	row.Check(t, "gain_at_8s", math.Hypot(real(h), imag(h)))
	lead := math.Atan2(imag(h), real(h))
	row.Check(t, "phase_lead_at_8s_deg", frame.Deg(frame.Wrap2Pi(lead)))
	row.Check(t, "analog_gain_at_8s", f.At(8).Gain)
	s := f.Sampled(rate)
	var got []float64
	n := 0
	for _, i := range row.InList(t, "sample_indices") {
		var y float64
		for ; n <= int(i); n++ {
			y = s.Next(math.Sin(2 * math.Pi * float64(n) / rate / 8))
		}
		got = append(got, y)
	}
	row.Check(t, "outputs", got...)
}

// gainFirst moves the gain of all sections into the first.
func gainFirst(sos []float64) []float64 {
	out := append([]float64(nil), sos...)
	for i := 6; i < len(out); i += 6 {
		g := out[i]
		for j := range 3 {
			out[i+j] /= g
			out[j] *= g
		}
	}
	return out
}

// The sampled filter at a high rate and the continuous output are two ways to one result.
func TestOutputAgreesWithSampled(t *testing.T) {
	const rate = 400.0
	signal := func(t float64) Motion { return Motion{HeaveM: math.Sin(2*math.Pi*t/8) + 0.4*math.Cos(2*math.Pi*t/3.1)} }
	for _, order := range []int{2, 3} {
		f, _ := New(order, 15)
		out, s := NewOutputFrom(f, signal, 0), f.Sampled(rate)
		worst := 0.0
		for i := range int(60 * rate) {
			at := float64(i) / rate
			y := s.Next(signal(at).HeaveM)
			if i > 0 && i%16 == 0 {
				worst = math.Max(worst, math.Abs(y-out.At(at).HeaveM))
			}
		}
		// A switched-on sampled filter sees the first value half a sample early: 1.4·π/(15·400)·… stays below 2e-3.
		if !(worst < 2e-3) || worst == 0 {
			t.Errorf("order %d: sampled and continuous differ by up to %g m, want below 2e-3 and not 0", order, worst)
		}
	}
}
