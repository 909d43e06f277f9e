package geo

import "math"

// Normal gravity of WGS 84. Source: NIMA TR8350.2, 3rd ed. 2000, tables 3.4 and 4.1 (derived constants).
const (
	GravityEquatorMS2 = 9.7803253359                                                                             // γe, m/s²
	GravityPoleMS2    = 9.8321849378                                                                             // γp, m/s²
	SomiglianaK       = 0.00193185265241                                                                         // k = bγp/(aγe) − 1
	GravityRatio      = EarthRateRadS * EarthRateRadS * SemiMajorM * SemiMajorM * SemiMinorM / GravitationalM3S2 // m = Ω²a²b/GM
)

// NormalGravity returns the gravity of the WGS 84 ellipsoid at the latitude lat, in rad, and the height above it, in m;
// the result is m/s², positive down.
//
// The expansion in the height is off by up to 0.2 µm/s² a kilometre as far as 10 km, and grows beyond. The real gravity
// differs by some 0.1 mm/s² to 1 mm/s² (gravity anomalies). Source: TR8350.2 eq. 4-1 (Somigliana, on the ellipsoid) and
// 4-3 (second order in the height).
func NormalGravity(lat, height float64) float64 {
	s := math.Sin(lat)
	s2 := s * s
	g := GravityEquatorMS2 * (1 + SomiglianaK*s2) / math.Sqrt(1-EccentricitySquared*s2)
	h := height / SemiMajorM
	return g * (1 - 2*(1+Flattening+GravityRatio-2*Flattening*s2)*h + 3*h*h)
}
