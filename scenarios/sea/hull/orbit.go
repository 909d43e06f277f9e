package hull

// SurgeSwayYaw gives the movement of the water itself, averaged over the hull as a box: what a vessel does in waves that
// are long to her.
//
// The water moves along the wave by i·coth(kd) exp(iθ) at the surface, a quarter of a period behind the elevation: on the
// crest it runs the way the wave goes. The undisturbed pressure pushes the box exactly as it would push the water in
// its place, so the box takes the mean acceleration of that water, and the added mass takes part on both sides alike.
// The integral over length, breadth and draught gives
//
//	surge = i·cos β·D·sinc(kxL/2)·sinc(kyB/2)       sway likewise with the starboard component
//
// with D the mean of the orbit over the draught. In the same way yaw is the turning moment of that acceleration over the
// moment of inertia of the water in the box, m(L²+B²)/12:
//
//	yaw = −kx·ky/k·D·(L²·slope(kxL/2)·sinc(kyB/2) − B²·sinc(kxL/2)·slope(kyB/2))/(L²+B²)
//
// which vanishes for a square: the water does not rotate. The movement is taken per wave, not per encounter: nothing is
// divided by α, so that a vessel that runs with the wave is not carried off (her helmsman and her engine hold her).
//
// Source: the long-wave limit (Froude-Krylov force), Faltinsen (1990) ch. 3; derived here for a box.
func (b Box) SurgeSwayYaw(w Wave) (surge, sway, yaw complex128) {
	x, y := w.K*w.Ahead*b.Length/2, w.K*w.Starboard*b.Breadth/2
	meanX, meanY := mean(x), mean(y)
	orbit := w.orbit(b.Draught)
	m := orbit * meanX * meanY
	ll, bb := b.Length*b.Length, b.Breadth*b.Breadth
	turn := -w.K * w.Ahead * w.Starboard * orbit * (ll*slope(x)*meanY - bb*meanX*slope(y)) / (ll + bb)
	return complex(0, m*w.Ahead), complex(0, m*w.Starboard), complex(turn, 0)
}
