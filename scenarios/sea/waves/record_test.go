package waves

import (
	"fmt"
	"math"
	"testing"

	"gonum.org/v1/gonum/dsp/fourier"
	"gonum.org/v1/gonum/dsp/window"
	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distuv"
)

// The records of these tests: 24 independent draws (seeds) of the sea at one place, 34 minutes each at 4 Hz.
//
// Every statistic is worked out on each record apart, so its scatter is measured and not assumed, and the mean of the 24
// is held against what was asked for by Student's t with 23 degrees of freedom, two-sided. A test of several values
// shares the chance of a false alarm, 0.1 %, evenly between them (Bonferroni).
const (
	records    = 24
	sampleHz   = 4.0
	samples    = 1 << 13
	falseAlarm = 0.001
)

// record samples the elevation at a place that is not the origin.
func record(t *testing.T, s Spec, seed uint64) []float64 {
	t.Helper()
	sea, err := New(s, seed, samples/sampleHz)
	if err != nil {
		t.Fatal(err)
	}
	// A buoy that follows the surface: on the samples' own grid the sum is exact.
	buoy := NewSum(sea.Components(), func(int, float64) [Channels]complex128 { return [Channels]complex128{2: 1} },
		func(float64) Place { return Place{X: 120, Y: -45} }, Options{GridHz: sampleHz, Regime: func(float64) uint64 { return 0 }})
	out := make([]float64, samples)
	for i := range out {
		out[i] = buoy.At(float64(i) / sampleHz).Value[2]
	}
	for _, i := range []int{0, 77, samples - 1} {
		if want := sea.Elevation(120, -45, float64(i)/sampleHz); math.Abs(out[i]-want) > 1e-10 {
			t.Fatalf("sample %d is %g m, the plain sum %g m", i, out[i], want)
		}
	}
	return out
}

func recordsOf(t *testing.T, s Spec) [][]float64 {
	t.Helper()
	all := make([][]float64, records)
	for i := range all {
		all[i] = record(t, s, uint64(1000+i))
	}
	return all
}

// tValue is how many standard errors the mean of x lies from want.
func tValue(x []float64, want float64) float64 {
	mean, sd := stat.MeanStdDev(x, nil)
	return (mean - want) / (sd / math.Sqrt(float64(len(x))))
}

// critical is the |t| that chance exceeds in falseAlarm of all cases when n values are tried.
func critical(n int) float64 {
	return distuv.StudentsT{Mu: 0, Sigma: 1, Nu: records - 1}.Quantile(1 - falseAlarm/2/float64(n))
}

func variance(x []float64) float64 {
	sum := 0.0
	for _, v := range x {
		sum += v * v // the mean is known to be 0
	}
	return sum / float64(len(x))
}

// crossings counts up-crossings of zero per second; between samples the line is straight.
func crossings(x []float64) float64 {
	n := 0
	for i := 1; i < len(x); i++ {
		if x[i-1] < 0 && x[i] >= 0 {
			n++
		}
	}
	return float64(n) * sampleHz / float64(len(x)-1)
}

// welch is the spectrum by averaged periodograms (Welch 1967): segments with a Hann window, half overlapping, m²/Hz.
func welch(x []float64, segment int) []float64 {
	fft := fourier.NewFFT(segment)
	taper := make([]float64, segment)
	for i := range taper {
		taper[i] = 1
	}
	window.Hann(taper)
	power := 0.0
	for _, w := range taper {
		power += w * w
	}
	out := make([]float64, segment/2+1)
	buf, n := make([]float64, segment), 0
	for at := 0; at+segment <= len(x); at += segment / 2 {
		for i := range buf {
			buf[i] = x[at+i] * taper[i]
		}
		for i, c := range fft.Coefficients(nil, buf) {
			out[i] += 2 * (real(c)*real(c) + imag(c)*imag(c)) / (power * sampleHz)
		}
		n++
	}
	for i := range out {
		out[i] /= float64(n)
	}
	return out
}

const segment = 1024 // 256 s: lines of 1/256 Hz

// smeared is what Welch's method is to find for a spectrum: the spectrum seen through the window. A Hann window spreads a
// line of the spectrum over its neighbours as |sin(πq)/(πq(1−q²))|², q in lines, times 2/3.
func smeared(density func(hz float64) float64, line int) float64 {
	const df = sampleHz / segment
	sum := 0.0
	const fine = 20
	for i := -8*fine + 1; i < 8*fine; i++ {
		q := (float64(i) + 0.5) / fine
		k := math.Sin(math.Pi*q) / (math.Pi * q * (1 - q*q))
		sum += k * k * 2 / 3 / fine * density((float64(line)-q)*df)
	}
	return sum
}

// bands are ranges of lines, about a seventh of the peak frequency wide, from 0.6 to 2.9 of it.
func bands(peakHz float64) [][2]int {
	const df = sampleHz / segment
	var out [][2]int
	for f := 0.6; f < 2.9; f += 0.15 {
		out = append(out, [2]int{int(math.Ceil(f * peakHz / df)), int(math.Ceil((f+0.15)*peakHz/df)) - 1})
	}
	return out
}

// shapeT is the greatest |t| of the energies in the bands against those of a spectrum.
func shapeT(spectra [][]float64, density func(hz float64) float64, peakHz float64) (worst float64, n int) {
	for _, b := range bands(peakHz) {
		var want float64
		got := make([]float64, len(spectra))
		for line := b[0]; line <= b[1]; line++ {
			want += smeared(density, line)
			for i, s := range spectra {
				got[i] += s[line]
			}
		}
		worst = max(worst, math.Abs(tValue(got, want)))
		n++
	}
	return worst, n
}

var recordedSeas = []struct {
	name string
	Spec
}{
	{"jonswap 3.3", Spec{Systems: []System{{Spectrum: Jonswap, Height: 2.2, Period: 8, Gamma: 3.3, From: deg(200)}}}},
	{"jonswap 7, spread", Spec{Systems: []System{{Spectrum: Jonswap, Height: 1, Period: 7, Gamma: 7, From: deg(20), Spreading: &Spread{Cos2S, 10}}}}},
	{"two-parameter by Tz", Spec{Systems: []System{{Spectrum: TwoParameter, Height: 1.5, ZeroCrossing: 6, From: deg(290)}}}},
	{"wind", Spec{Systems: []System{{Spectrum: PiersonMoskowitz, Wind: 10, From: deg(100), Spreading: &Spread{CosN, 2}}}}},
	{"shallow", Spec{Depth: ptr(units8m), Systems: []System{{Spectrum: Jonswap, Height: 1, Period: 8, Gamma: 2, From: deg(0)}}}},
}

// Hm0, Tz and the shape of generated records are those of the spectrum asked for.
func TestRecords(t *testing.T) {
	single(t)
	for _, c := range recordedSeas {
		t.Run(c.name, func(t *testing.T) {
			sp := c.Systems[0].spectrum()
			all := recordsOf(t, c.Spec)
			var m0, rate []float64
			var spectra [][]float64
			for _, x := range all {
				m0, rate = append(m0, variance(x)), append(rate, crossings(x))
				spectra = append(spectra, welch(x, segment))
			}
			cut := 2 * math.Pi * c.cutHz(1/sp.TpS())
			// The variance, against Hs²/16 of the whole spectrum, which the cut-off lowers by 1.3e-4 at most.
			if v := tValue(m0, sp.HsM()*sp.HsM()/16); math.Abs(v) > critical(1) {
				t.Errorf("Hm0 is %.4g m, want %.4g m: t = %.2f, allowed: ±%.2f", 4*math.Sqrt(stat.Mean(m0, nil)), sp.HsM(), v, critical(1))
			}
			// Up-crossings come at √(m2/m0)/2π (Rice 1944), of the spectrum up to the cut-off. That is what is tried, and
			// that the whole spectrum's Tz is within the stated 0.7 % of it.
			tz := 2 * math.Pi * math.Sqrt(sp.Moment(0, cut)/sp.Moment(2, cut))
			if v := tValue(rate, 1/tz); math.Abs(v) > critical(1) {
				t.Errorf("Tz is %.4g s, want %.4g s: t = %.2f, allowed: ±%.2f", 1/stat.Mean(rate, nil), tz, v, critical(1))
			}
			if math.Abs(tz/sp.TzS()-1) > 0.007 {
				t.Errorf("the cut-off makes Tz %.4g s instead of %.4g s", tz, sp.TzS())
			}
			if worst, n := shapeT(spectra, sp.AtHz, 1/sp.TpS()); worst > critical(n) {
				t.Errorf("shape: the worst of %d bands has |t| = %.2f, allowed: %.2f", n, worst, critical(n))
			}
		})
	}
}

// The tests of the records would notice a sea that is a little wrong.
func TestRecordTestsCanFail(t *testing.T) {
	single(t)
	s := Spec{Systems: []System{{Spectrum: Jonswap, Height: 2.2, Period: 8, Gamma: 3.3, From: deg(200)}}}
	var m0, rate []float64
	var spectra [][]float64
	for _, x := range recordsOf(t, s) {
		m0, rate = append(m0, variance(x)), append(rate, crossings(x))
		spectra = append(spectra, welch(x, segment))
	}
	sp := s.Systems[0].spectrum()
	if v := tValue(m0, math.Pow(1.04*sp.HsM()/4, 2)); math.Abs(v) < critical(1) {
		t.Errorf("a height 4 %% off passes with t = %.2f", v)
	}
	if v := tValue(rate, 1/(1.03*sp.TzS())); math.Abs(v) < critical(1) {
		t.Errorf("a zero-crossing period 3 %% off passes with t = %.2f", v)
	}
	for name, wrong := range map[string]Spectrum{
		"no peak":          NewSpectrum(2.2, 8, 1),
		"a gamma of 5":     NewSpectrum(2.2, 8, 5),
		"a longer period":  NewSpectrum(2.2, 8.3, 3.3),
		"a greater height": NewSpectrum(2.4, 8, 3.3),
	} {
		if worst, n := shapeT(spectra, wrong.AtHz, 1/sp.TpS()); worst < critical(n) {
			t.Errorf("%s passes: |t| = %.2f", name, worst)
		}
	}
}

// Wave heights follow Rayleigh's distribution nearly: in a sea with a spectrum of ordinary width, H1/3 from zero
// up-crossings is some 5 % below Hm0 (common experience: 0.92 to 1.0 of it), and the share of waves above Hm0 is below
// but near exp(−2) = 0.135.
func TestHeightsAreRayleigh(t *testing.T) {
	single(t)
	s := Spec{Systems: []System{{Spectrum: Jonswap, Height: 2, Period: 8, Gamma: 3.3, From: 0}}}
	var heights []float64
	above := 0
	for _, x := range recordsOf(t, s) {
		top, bottom, begun := 0.0, 0.0, false
		for i := 1; i < len(x); i++ {
			if x[i-1] < 0 && x[i] >= 0 {
				if begun {
					heights = append(heights, top-bottom)
					if top-bottom > 2 {
						above++
					}
				}
				top, bottom, begun = 0, 0, true
			}
			top, bottom = max(top, x[i]), min(bottom, x[i])
		}
	}
	h := significant(heights)
	share := float64(above) / float64(len(heights))
	if h < 0.91*2 || h > 1.0*2 || share < 0.08 || share > HeightExceedance(1) {
		t.Errorf("%d waves: H1/3 is %.3f of Hm0, %.3f of them are higher than it", len(heights), h/2, share)
	}
}

// Two systems add their energy, each with its own direction.
func TestSystemsAdd(t *testing.T) {
	s := Spec{Systems: []System{
		{Spectrum: Jonswap, Height: 1.5, Period: 6, From: deg(230), Spreading: &Spread{CosN, 4}},
		{Spectrum: Jonswap, Height: 2, Period: 14, Gamma: 6, From: deg(310)},
		{Spectrum: PiersonMoskowitz, State: ptr(0), From: deg(0)},
	}}
	sea, err := New(s, 5, 600)
	if err != nil {
		t.Fatal(err)
	}
	cs := sea.Components()
	if len(cs) != DefaultComponents {
		t.Errorf("%d components, want %d", len(cs), DefaultComponents)
	}
	if got := sea.HsM(); math.Abs(got-2.5) > 0.01 {
		t.Errorf("1.5 m and 2 m together are %.4g m, want 2.5 m", got)
	}
	wind, swell := cs[:len(cs)/2], cs[len(cs)/2:]
	if h := 4 * math.Sqrt(moment(wind, 0)); math.Abs(h-1.5) > 0.01 {
		t.Errorf("wind sea is %.4g m", h)
	}
	if h := 4 * math.Sqrt(moment(swell, 0)); math.Abs(h-2) > 0.01 {
		t.Errorf("swell is %.4g m", h)
	}
	for _, c := range swell {
		if math.Abs(c.Direction-float64(deg(130))) > 1e-12 {
			t.Fatalf("swell from 310° travels to %g°, want 130°", c.Direction*180/math.Pi)
		}
	}
	if len(sea.Spectra()) != 3 || sea.Spectra()[2].HsM() != 0 {
		t.Errorf("spectra are %v", sea.Spectra())
	}
	if fmt.Sprint(cs) != fmt.Sprint(mustComponents(t, s, 5)) {
		t.Error("the same seed gives another sea")
	}
	if fmt.Sprint(cs) == fmt.Sprint(mustComponents(t, s, 6)) {
		t.Error("another seed gives the same sea")
	}
}
