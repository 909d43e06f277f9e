package geo

import "math"

// The WGS 84 ellipsoid. Source: NIMA TR8350.2, 3rd ed. 2000, tables 3.1 (defining) and 3.3 (derived), and
// NGA.STND.0036 (2014). The derived ones are worked out by the compiler from the defining ones.
const (
	SemiMajorM        = 6378137.0      // a, m, defining
	InverseFlattening = 298.257223563  // 1/f, defining
	GravitationalM3S2 = 3.986004418e14 // GM with the atmosphere, m³/s², defining
	EarthRateRadS     = 7.292115e-5    // Ω, rad/s, defining

	Flattening                = 1 / InverseFlattening            // f
	SemiMinorM                = SemiMajorM * (1 - Flattening)    // b, m
	EccentricitySquared       = Flattening * (2 - Flattening)    // e²
	SecondEccentricitySquared = EccentricitySquared / oneMinusE2 // e'²
	MeanRadiusM               = (2*SemiMajorM + SemiMinorM) / 3  // R1, m
	oneMinusE2                = (1 - Flattening) * (1 - Flattening)
)

// Quantities that have nothing to do with the ellipsoid but with ships and instruments.
const (
	NauticalMileM      = 1852.0               // m; International Hydrographic Conference 1929
	KnotMS             = NauticalMileM / 3600 // m/s
	StandardGravityMS2 = 9.80665              // m/s²; 3rd CGPM 1901, a convention, nowhere the local gravity
)

// MeridianRadius returns the radius of curvature of the meridian at the latitude lat, in m:
// M = a(1−e²)/(1−e² sin² lat)^1.5. On the surface one radian of latitude is so long. Source: Groves 2013, ch. 2.
func MeridianRadius(lat float64) float64 {
	s := math.Sin(lat)
	w2 := 1 - EccentricitySquared*s*s
	return SemiMajorM * oneMinusE2 / (w2 * math.Sqrt(w2))
}

// PrimeVerticalRadius returns the radius of curvature across the meridian at the latitude lat, in m:
// N = a/√(1−e² sin² lat). On the surface one radian of longitude is N·cos lat long. Source: Groves 2013, ch. 2.
func PrimeVerticalRadius(lat float64) float64 {
	s := math.Sin(lat)
	return SemiMajorM / math.Sqrt(1-EccentricitySquared*s*s)
}

// Radii returns [MeridianRadius] and [PrimeVerticalRadius] where the sine of the latitude is known.
func Radii(sinLat float64) (meridian, primeVertical float64) {
	w2 := 1 - EccentricitySquared*sinLat*sinLat
	w := math.Sqrt(w2)
	return SemiMajorM * oneMinusE2 / (w2 * w), SemiMajorM / w
}

// GaussianRadius returns the mean radius of curvature over all directions at the latitude lat, in m: √(M·N).
func GaussianRadius(lat float64) float64 {
	s := math.Sin(lat)
	return SemiMinorM / (1 - EccentricitySquared*s*s)
}
