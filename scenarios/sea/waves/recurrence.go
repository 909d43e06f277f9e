package waves

import "math"

// maxRecurrence is how like itself a sea may become later in a run, as [Sea.Recurrence] tells it.
const maxRecurrence = 0.7

// maxSteps bounds the search of recurrence; for ordinary seas that is two weeks and more.
const maxSteps = 3_000_000

// Recurrence tells how nearly the sea repeats within the run: the greatest correlation of the elevation at a place with
// that at any lag of the run, once it has first fallen below a half of what is allowed. 1 would be a repetition; 0.2 to
// 0.4 is what 200 independent sinusoids come to in a day; [New] accepts no sea above 0.7.
//
// It is the envelope |Σpᵢ·exp(iωᵢτ)| of the autocorrelation, p being the shares of the variance. It changes no faster than
// the standard deviation of the frequencies (Cauchy and Schwarz), and is searched at steps of a fifth of that one's
// reciprocal: between two steps it is at most 0.1 higher than at the nearer one.
func (s *Sea) Recurrence() float64 { return s.recurrence }

func recurrence(cs []Component, durationS float64) float64 {
	m0, m1, m2 := moment(cs, 0), moment(cs, 1), moment(cs, 2)
	if !(m0 > 0) {
		return 0
	}
	mean := m1 / m0
	// The envelope's rate is at most the standard deviation of the frequencies, wide.
	wide := math.Sqrt(max(m2/m0-mean*mean, 0))
	step := 0.2 / max(wide, 1e-3*mean)
	steps := int(min(durationS/step, maxSteps))
	type phasor struct{ re, im, c, s float64 }
	ps := make([]phasor, len(cs))
	for i, c := range cs {
		sin, cos := math.Sincos((c.Omega - mean) * step)
		ps[i] = phasor{re: 0.5 * c.Amplitude * c.Amplitude / m0, c: cos, s: sin}
	}
	fallen, most := false, 0.0
	for range steps {
		re, im := 0.0, 0.0
		for i := range ps {
			p := &ps[i]
			p.re, p.im = p.re*p.c-p.im*p.s, p.re*p.s+p.im*p.c
			re += p.re
			im += p.im
		}
		e := math.Hypot(re, im)
		fallen = fallen || e < maxRecurrence/2
		if fallen {
			most = max(most, e)
		}
	}
	return most
}
