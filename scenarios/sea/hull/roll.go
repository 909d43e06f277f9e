package hull

import "math"

// Oscillator gives the response of a damped oscillator to a harmonic load, over what the load would do if it stood still:
//
//	φ¨ + 2ζωn·φ˙ + ωn²·φ = ωn²·load   →   1/(1 − r² − 2iζr),  r = ωe/ωn
//
// It goes to 1 in long waves, and to 1/(2ζ) with a lag of 90° at resonance. Frequencies in rad/s, the encounter frequency
// negative where the vessel overtakes the wave; damping is a fraction of critical.
//
// Source: any textbook on vibration; for roll on the effective wave slope Lloyd (1989) and Faltinsen (1990).
func Oscillator(encounter, natural, damping float64) complex128 {
	r := encounter / natural
	if math.Abs(r) > 1e100 { // far beyond resonance, and r² must not overflow
		return 0
	}
	return 1 / complex(1-r*r, -2*damping*r)
}

// WaveSlope gives the roll angle that follows the surface: minus the slope towards starboard, per metre of amplitude.
func (w Wave) WaveSlope() complex128 { return complex(0, -w.K*w.Starboard) }

// rollLoad is the effective wave slope, which drives roll: the slope of the plane that fits the surface best over the
// waterplane, faded to the depth of the centre of buoyancy, taken at half the draught. It is the wave slope in waves
// longer than the vessel and goes to zero in short ones.
//
// Source: the effective wave slope of W. Froude, 1861 (from memory); the fit over length and breadth is derived here, and
// is the same as the paper's for pitch.
func (b Box) rollLoad(w Wave) complex128 {
	along, across := w.K*w.Ahead*b.Length/2, w.K*w.Starboard*b.Breadth/2
	return w.WaveSlope() * complex(mean(along)*slope(across)*w.pressure(w.K, b.Draught/2), 0)
}
