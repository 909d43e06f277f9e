package waves

import "math"

// The constants of the fully developed sea. Source: Pierson & Moskowitz, A Proposed Spectral Form for Fully Developed
// Wind Seas Based on the Similarity Theory of S. A. Kitaigorodskii, 1964.
const (
	pmAlpha = 8.1e-3
	pmBeta  = 0.74
)

// FullyDeveloped is the Pierson–Moskowitz spectrum of a wind of windMS m/s, 19.5 m above the sea, that has blown long
// over a wide sea: S = α·g²·ω⁻⁵·exp(−β(g/Uω)⁴). Hs is 0.209·U²/g and the peak lies at 0.877·g/U.
func FullyDeveloped(windMS, g float64) Spectrum {
	// The maximum of ω⁻⁵exp(−Bω⁻⁴) lies at (4B/5)^¼, its integral is 1/(4B).
	b := pmBeta * math.Pow(g/windMS, 4)
	hs := 4 * math.Sqrt(pmAlpha*g*g/(4*b))
	return NewSpectrum(hs, 2*math.Pi/math.Pow(0.8*b, 0.25), 1)
}

// FullyDevelopedPeriod is the peak period in s of the fully developed sea of that significant height in m: the one
// [FullyDeveloped] has for the wind that raises it.
func FullyDevelopedPeriod(hsM, g float64) float64 {
	// Hs = 2U²/g·√(α/β), ωp = (0.8β)^¼·g/U.
	u := math.Sqrt(hsM * g / 2 / math.Sqrt(pmAlpha/pmBeta))
	return 2 * math.Pi * u / (math.Pow(0.8*pmBeta, 0.25) * g)
}

// FetchLimited is the JONSWAP spectrum of a wind of windMS m/s, 10 m above the sea, that blows over fetchM metres of it:
// α = 0.076·(U²/Fg)^0.22, ωp = 22·(g²/UF)^⅓. Source: Hasselmann et al., 1973, from memory.
//
// The height is that of the whole spectrum α·g²·ω⁻⁵·exp(−1.25(ωp/ω)⁴)·γ^…, integrated exactly.
func FetchLimited(windMS, fetchM, gamma, g float64) Spectrum {
	alpha := FetchAlpha(windMS, fetchM, g)
	wp := 22 * math.Cbrt(g*g/(windMS*fetchM))
	// m0 = α·g²·ωp⁻⁴·∫shape, and norm = 0.2/∫shape.
	norm := NewSpectrum(1, 1, gamma).Norm()
	hs := 4 * math.Sqrt(alpha*g*g/math.Pow(wp, 4)*0.2/norm)
	return NewSpectrum(hs, 2*math.Pi/wp, gamma)
}

// FetchAlpha is the level of the tail that [FetchLimited] uses.
func FetchAlpha(windMS, fetchM, g float64) float64 {
	return 0.076 * math.Pow(windMS*windMS/(fetchM*g), 0.22)
}
