package hull

import "math"

// A Box is the hull as the closed forms see it.
type Box struct {
	Length, Breadth, Draught float64 // m
	// Block is the block coefficient: displaced volume over length × breadth × draught.
	Block float64
}

// A Smith is a reading of the Smith factor in the closed form, by which a wave's pressure fades with depth.
type Smith int

// The readings. The paper prints exp(−ke·T), with ke = k|cos β| the wave number along the vessel (from memory); of two
// open implementations one has it so, the other has exp(−kT). In head and following seas they are the same.
//
// The vessel uses [SmithWave]. How a wave fades with depth is a matter of the wave, not of the vessel's heading: in
// beam seas ke is 0, nothing would fade, and a vessel of 5 m draught would heave by half of each ripple; waves much
// shorter than the vessel must not move her. The check values have both, and both are held against them.
const (
	SmithWave  Smith = iota // exp(−kT)
	SmithAlong              // exp(−ke·T)
)

// leastDamping bounds the resonance of heave and pitch to ten times. The closed form has no damping at all where the
// wave that a heaving box makes at one side cancels the other side's, at breadth × block coefficient over draught near
// 12.6; there friction would be left, of some 5 % of critical. No common hull comes near, and no other value changes.
// Common practice, no source.
const leastDamping = 0.1

// HeavePitch gives the response in heave and pitch.
//
// The box follows, with mass and added mass each of its displacement and the wave damping of its section, a force that
// depends on its movement relative to the water:
//
//	(2kT/ω²) ẅ + A²/(kBα³ω) ẇ + w = (the same of the water's movement, added mass and damping), times κ
//
//	A = 2 sin(kBα²/2) exp(−kTα²)     B = breadth × block coefficient,  α = ωe/ω
//	f = (1 − kT) − i·A²/(kBα³)       η = 1/((1 − 2kTα²) − i·A²/(kBα²))
//	heave = η·κ·f·sin(x)/x           x = ke·L/2
//	pitch = η·κ·f·ik·cos β·3(sin x − x cos x)/x³
//
// The paper gives amplitudes; f and η have their phases from its own equation of motion, with ẇ → −iωe·w. A vessel that
// overtakes the wave (α < 0) still has positive damping, so α³ stands for |α|³ there; amplitudes are the same.
// In water of finite depth the k of masses and damping is ω²/g, that of the wave's shape is its own.
//
// Source: Jensen, Mansour and Olsen, Ocean Engineering 31 (2004) 61-85, eqs. for Φw and Φθ; κ see [Smith].
func (b Box) HeavePitch(w Wave, reading Smith) (heave, pitch complex128) {
	k0 := w.K * w.Shallow // ω²/g
	kT, kB := k0*b.Draught, k0*b.Breadth*b.Block
	a2 := w.Alpha * w.Alpha
	s := mean(kB*a2/2) * math.Exp(-kT*a2) // A = kBα²·s
	damping := kB * s * s                 // A²/(kBα²) = damping·α²: no division by α, which may be 0

	f := complex(1-kT, -damping*math.Abs(w.Alpha))
	d := complex(1-2*kT*a2, -math.Copysign(damping*a2, w.Alpha))
	if re := real(d); math.Hypot(re, imag(d)) < leastDamping {
		d = complex(re, -math.Copysign(math.Sqrt(leastDamping*leastDamping-re*re), w.Alpha))
	}
	fade := w.K
	if reading == SmithAlong {
		fade *= math.Abs(w.Ahead)
	}
	answer := f / d * complex(w.pressure(fade, b.Draught), 0)
	along := w.K * w.Ahead
	x := along * b.Length / 2
	return answer * complex(mean(x), 0), answer * complex(0, along*slope(x))
}
