package inertial

import (
	"math"

	"swellbench/scenarios/geo"
)

// The textbook laws of one axis, for forecasts and for tests of the full equations. Source: Titterton & Weston,
// Strapdown Inertial Navigation Technology, 2nd ed. 2004, ch. 12; Groves 2013, ch. 5 and 14; Farrell, Aided Navigation,
// 2008, ch. 11 (chapters from memory). A Schuler loop is x″ = f − ωs²·x, with ωs = √(g/R).

// SchulerRate returns ωs, in rad/s, for the radius, in m, and the gravity, in m/s²: 2π/ωs is 84.4 minutes.
func SchulerRate(radius, g float64) float64 { return math.Sqrt(g / radius) }

// SchulerPeriods returns the periods of the two horizontal loops at sea level at the latitude, in rad, in s, and that of
// their precession (Foucault), in s: 2π/(Ω·sin lat), negative in the south and +Inf at the equator.
func SchulerPeriods(lat float64) (north, east, foucault float64) {
	g := geo.NormalGravity(lat, 0)
	up := geo.EarthRate(lat).Z
	foucault = math.Inf(1)
	if up != 0 {
		foucault = 2 * math.Pi / up
	}
	return 2 * math.Pi / SchulerRate(geo.MeridianRadius(lat), g), 2 * math.Pi / SchulerRate(geo.PrimeVerticalRadius(lat), g), foucault
}

// A Growth is the error of one axis after some time: position, m, velocity, m/s, and tilt, rad.
type Growth struct{ Position, Velocity, Tilt float64 }

// AccelBiasGrowth is what an accelerometer bias b, in m/s², does in t, in s, in a Schuler loop of the rate ws, in rad/s,
// that was levelled perfectly: b/ωs²·(1−cos ωs·t). With ws 0 it is the short-term law b·t²/2.
func AccelBiasGrowth(b, t, ws float64) Growth {
	if ws == 0 {
		return Growth{Position: b * t * t / 2, Velocity: b * t}
	}
	half := math.Sin(ws * t / 2) // 1−cos without loss of digits
	return Growth{Position: 2 * b * half * half / (ws * ws), Velocity: b * math.Sin(ws*t) / ws}
}

// StaticTilt returns the tilt, in rad, that hides the accelerometer bias b, in m/s², from a unit that levels itself.
func StaticTilt(b, g float64) float64 { return b / g }

// GyroBiasGrowth is what the bias e of a level gyro, in rad/s, does in t, in s: R·e·(t−sin(ωs·t)/ωs). With radius +Inf
// it is the short-term law g·e·t³/6.
func GyroBiasGrowth(e, t, radius, g float64) Growth {
	if math.IsInf(radius, 1) {
		return Growth{g * e * t * t * t / 6, g * e * t * t / 2, e * t}
	}
	ws := SchulerRate(radius, g)
	x := ws * t
	half := math.Sin(x / 2)
	return Growth{radius * e * (t - math.Sin(x)/ws), 2 * radius * e * half * half, e * math.Sin(x) / ws}
}

// VelocityErrorGrowth returns the position error, in m, of a velocity error v, in m/s, after t, in s: v/ωs·sin(ωs·t); v·t
// with ws 0.
func VelocityErrorGrowth(v, t, ws float64) float64 {
	if ws == 0 {
		return v * t
	}
	return v / ws * math.Sin(ws*t)
}

// TiltErrorGrowth returns the position error, in m, of a tilt f, in rad, after t, in s: R·f·(1−cos ωs·t). With radius
// +Inf it is g·f·t²/2.
func TiltErrorGrowth(f, t, radius, g float64) float64 {
	if math.IsInf(radius, 1) {
		return g * f * t * t / 2
	}
	half := math.Sin(SchulerRate(radius, g) * t / 2)
	return 2 * radius * f * half * half
}

// HeadingDrift returns the error of heading, in rad, positive clockwise, after t, in s, of a bias of the gyro that points
// up, in rad/s: −e·t. Counter-clockwise seen from above is positive for the gyro.
func HeadingDrift(e, t float64) float64 { return -e * t }

// GyrocompassLimit returns the error of heading, in rad, that a gyrocompass settles at for the bias of the gyro that
// points east, in rad/s: −e/(Ω·cos lat).
func GyrocompassLimit(east, lat float64) float64 { return -east / geo.EarthRate(lat).Y }

// SteamingError returns the error of heading, in rad, of a gyrocompass that is not corrected for its own speed, in m/s
// north and east, on a sphere of the radius, in m: −atan(vN/(Ω·R·cos lat + vE)).
func SteamingError(north, east, lat, radius float64) float64 {
	return -math.Atan2(north, geo.EarthRate(lat).Y*radius+east)
}

// ReckoningError returns how far a vessel that reckons by its log and a heading that reads too high by e, in rad, is put
// off after the distance, in m: across, positive to starboard, and along.
func ReckoningError(e, distance float64) (across, along float64) {
	half := math.Sin(e / 2)
	return distance * math.Sin(e), -2 * distance * half * half
}

// AccelNoiseGrowth returns the standard deviations after t, in s, of an accelerometer noise n, in m/s²/√Hz, short-term:
// n·t^1.5/√3 and n·√t.
func AccelNoiseGrowth(n, t float64) Growth {
	return Growth{Position: n * math.Sqrt(t*t*t/3), Velocity: n * math.Sqrt(t)}
}

// GyroNoiseGrowth returns the standard deviations after t, in s, of an angle random walk n, in rad/√s, short-term:
// g·n·t^2.5/√20, g·n·t^1.5/√3 and n·√t.
func GyroNoiseGrowth(n, t, g float64) Growth {
	return Growth{g * n * t * t * math.Sqrt(t/20), g * n * math.Sqrt(t*t*t/3), n * math.Sqrt(t)}
}
