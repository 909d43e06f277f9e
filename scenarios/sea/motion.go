package sea

// A Motion knows how the vessel moves about its mean path at scenario time t, in s. Same t, same answer, asked in any
// order. It may be shared.
type Motion interface{ At(t float64) SixDOF }

// SixDOF is the departure from the mean path at one instant.
//
// Surge, sway and heave are of the point that the file names with `about`, in m: forward along the mean heading, to
// starboard of it, and up. Roll, pitch and yaw are of the vessel, in rad: starboard down, bow up, and to starboard;
// yaw adds to the heading of the track. Pitch and roll are the vessel's own, static pose included.
type SixDOF struct {
	Surge, Sway, Heave Component
	Roll, Pitch, Yaw   Component
}

// A Component is one degree of freedom with its derivatives: m, m/s, m/s², or rad, rad/s, rad/s².
type Component struct{ Value, Rate, Accel float64 }
