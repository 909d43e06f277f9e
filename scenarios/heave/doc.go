// Package heave is the heave filter of a motion sensor: what it does to the true heave before anyone sees it.
//
// A sensor finds heave by integrating its accelerometers twice. Whatever error they have would grow without bound, so
// the result goes through a high-pass filter, here a Butterworth filter of order 2 or 3 with its −3 dB point at a
// stated cut-off period. Surge and sway are found in the same way. Two outputs exist:
//
//   - real-time heave has been through the filter once. The gain hardly suffers, but the output leads the true heave,
//     and the lead makes the error: 8 s waves through order 3 and 20 s keep 99.8 % of their height, lead by 47° and
//     are wrong by 80 % of their amplitude.
//   - delayed heave has been through it forward and then backward, once the waves that follow are known. The lead is
//     gone and the gain is |H|².
//
// # Reading order
//
// filter.go: the filter itself, its response and what it does at one wave period. step.go: how it forgets a step of
// height and a standing error of acceleration. spectrum.go: what it does in a seaway. output.go: real-time and delayed
// heave of a vessel at any scenario time, in any order. spec.go: the section of a scenario file, and its warnings.
// words.go: the same for a person. digital.go: the sections of a sampled filter, for whoever rebuilds it.
//
// A filter of another order is one more row in the table of filter.go, with its two step responses in step.go.
//
// Sources: any textbook of filters for the Butterworth polynomials, such as Oppenheim & Schafer, Discrete-Time Signal
// Processing, ch. 7 (from memory); the numbers in testdata are SciPy's.
package heave
