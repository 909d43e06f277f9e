package waves

import "math"

// Statistics of wave heights in a sea with a narrow spectrum: they follow Rayleigh's distribution. Source:
// Longuet-Higgins, On the Statistical Distribution of the Heights of Sea Waves, 1952. Heights are in units of the
// significant height Hm0 = 4√m0.

// HeightExceedance is the part of all waves that are higher than h: exp(−2h²).
func HeightExceedance(h float64) float64 { return math.Exp(-2 * h * h) }

// CrestExceedance is the part of all crests that are higher than a above still water: exp(−8a²).
func CrestExceedance(a float64) float64 { return math.Exp(-8 * a * a) }

// MeanOfHighest is the mean height of the highest 1/q of all waves, q ≥ 1: 1.0011 for q = 3, 0.627 for q = 1.
//
// In units of √(8m0): √(ln q) + q·(√π/2)·erfc(√(ln q)).
func MeanOfHighest(q float64) float64 {
	r := math.Sqrt(math.Log(q))
	return math.Sqrt2 / 2 * (r + q*math.Sqrt(math.Pi)/2*math.Erfc(r))
}

// MostProbableHighest is the most probable height of the highest of n independent waves: √(ln n/2).
func MostProbableHighest(n float64) float64 { return math.Sqrt(math.Log(n) / 2) }

// MedianHighest is the height that the highest of n independent waves reaches in half of all cases.
func MedianHighest(n float64) float64 {
	// 1 − 2^(−1/n) waves exceed it.
	return math.Sqrt(-math.Log(-math.Expm1(-math.Ln2/n)) / 2)
}

// ExpectedHighest is the mean height of the highest of n independent waves: ∫1 − (1 − exp(−2h²))ⁿ dh.
func ExpectedHighest(n float64) float64 {
	f := func(h float64) float64 { return -math.Expm1(n * math.Log1p(-math.Exp(-2*h*h))) }
	// The integrand is 1 to the last bit until (1−e^(−2h²))ⁿ shows, and nothing three further heights on.
	return panels(f, 0, MostProbableHighest(n)+4, 64)
}

// ExpectedHighestLarge is the approximation of [ExpectedHighest] for many waves, √(ln n/2) + 0.57722/(2√(2 ln n)): 1.9 %
// high for 10 of them, 0.4 % for 1000. Source: DNV-RP-C205 section 3.5.
func ExpectedHighestLarge(n float64) float64 {
	const euler = 0.57722 // as the source prints it
	return MostProbableHighest(n) + euler/(2*math.Sqrt(2*math.Log(n)))
}
