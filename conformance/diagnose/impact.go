package diagnose

// Conditions are those of a sounding.
type Conditions struct {
	DepthM       float64 // below the transducer
	BeamAngleRad float64 // from the vessel's down axis, positive to starboard
	SpeedMS      float64
	DraughtM     float64
}
