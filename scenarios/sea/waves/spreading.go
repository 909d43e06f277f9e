package waves

import (
	"math"

	"gonum.org/v1/gonum/mathext"
)

// Law names how the energy of a system is spread about its main direction.
type Law string

// The laws.
const (
	// CosN is cosⁿθ within 90° of the main direction. Source: DNV-RP-C205.
	CosN Law = "cos-n"
	// Cos2S is cos²ˢ(θ/2) all round. Source: Longuet-Higgins, Cartwright & Smith, 1963; Mitsuyasu et al., 1975.
	Cos2S Law = "cos-2s"
)

// SchemaEnum lists the words.
func (Law) SchemaEnum() []string { return []string{string(CosN), string(Cos2S)} }

// fold reduces a law to cosᵖ(θ/wide), |θ| < wide·90°.
func (l Law) fold(exponent float64) (power, wide float64) {
	if l == Cos2S {
		return 2 * exponent, 2
	}
	return exponent, 1
}

// SpreadingNorm is the density in the main direction, per rad: Γ(1+n/2)/(√π·Γ(½+n/2)) for cosⁿ, and
// Γ(s+1)/(2√π·Γ(s+½)) for cos²ˢ(θ/2), so that the whole is 1.
func SpreadingNorm(l Law, exponent float64) float64 {
	power, wide := l.fold(exponent)
	a, _ := math.Lgamma(1 + power/2)
	b, _ := math.Lgamma(0.5 + power/2)
	return math.Exp(a-b) / (wide * math.Sqrt(math.Pi))
}

// Spreading is the density at theta rad from the main direction, per rad.
func Spreading(l Law, exponent, theta float64) float64 {
	power, wide := l.fold(exponent)
	half := math.Mod(theta, 2*math.Pi)
	if half > math.Pi {
		half -= 2 * math.Pi
	} else if half < -math.Pi {
		half += 2 * math.Pi
	}
	half /= wide
	if math.Abs(half) >= math.Pi/2 {
		return 0
	}
	return SpreadingNorm(l, exponent) * math.Pow(math.Cos(half), power)
}

// spreadingQuantile is the angle from the main direction, rad, below which the part q of the energy lies, 0 < q < 1:
// with φ = θ/wide, the part within ±φ is the incomplete beta function of sin²φ with the parameters ½ and (p+1)/2.
func spreadingQuantile(l Law, exponent, q float64) float64 {
	power, wide := l.fold(exponent)
	within := min(math.Abs(2*q-1), 1)
	x := mathext.InvRegIncBeta(0.5, (power+1)/2, within)
	return math.Copysign(wide*math.Asin(math.Sqrt(x)), q-0.5)
}
