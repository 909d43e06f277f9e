package hull

import (
	"math"
	"math/cmplx"
)

// The places in a [Response].
const (
	Surge = iota // m, forward
	Sway         // m, to starboard
	Heave        // m, up
	Roll         // rad, starboard side down
	Pitch        // rad, bow up
	Yaw          // rad, bow to starboard
)

// Names of the places in a [Response], in order.
var Names = [6]string{"surge", "sway", "heave", "roll", "pitch", "yaw"}

// A Response is what one wave does to the vessel: m or rad per metre of the wave's amplitude, signs as in package frame.
//
// A wave of amplitude a, with elevation ζ = Re(a·exp(iθ)), θ = k·x − ωt + φ, moves her by Re(a·R·exp(iθ)), with x her
// mean position: of the hull's centre, which is midship, on the centreline, at the waterline. As she runs, θ falls at
// the encounter frequency; so a factor −i is a quarter of a period ahead, see [Lead].
type Response [6]complex128

// Lead tells by how much a response runs ahead of the elevation at the hull's centre, rad, (-π, π]: the motion is
// |r|·cos(ωe·t + Lead(r)) where the elevation is cos(ωe·t). In a wave that the vessel overtakes, ωe is negative.
func Lead(r complex128) float64 { return cmplx.Phase(cmplx.Conj(r)) }

// ofLead is the inverse: amplitude and lead to a response.
func ofLead(amplitude, lead float64) complex128 { return cmplx.Rect(amplitude, -lead) }

// Beta gives the angle of encounter that [Hull.At] takes, rad, (-π, π], from the vessel's true heading and the true
// direction that the wave travels TO: 0 for a wave from astern, π for one from ahead, +π/2 for one from starboard, -π/2
// for one from port. Where others count the angle from the bow to where the wave goes to, it is the negative of that.
func Beta(heading, direction float64) float64 {
	b := math.Remainder(heading-direction, 2*math.Pi)
	if b <= -math.Pi {
		b = math.Pi
	}
	return b
}

// A Wave is one wave as the vessel meets her.
type Wave struct {
	Omega float64 // rad/s, of the wave for one who stands still; positive
	K     float64 // rad/m; positive
	// Alpha is the encounter frequency over Omega; negative where the vessel overtakes the wave.
	Alpha float64
	// Ahead and Starboard are the components of the direction that the wave travels to, along forward and right.
	Ahead, Starboard float64
	// Shallow is ω²/(gk), which is tanh(kd): 1 in deep water.
	Shallow float64
}

// gravity is g in m/s², to tell deep water from shallow. Source: the standard value, ISO 80000-3.
const gravity = 9.80665

// Encounter puts together what the models need of a wave: wave frequency omega in rad/s, wave number k in rad/m, the
// vessel's speed through the water along her heading in m/s, and [Beta]. ok is false where there is no such wave.
//
// Encounter frequency: ωe = ω − k·U·cos β, in water of any depth. Source: linear wave theory, Faltinsen (1990) ch. 3.
func Encounter(omega, k, speedMS, beta float64) (w Wave, ok bool) {
	sin, cos := math.Sincos(beta)
	w = Wave{Omega: omega, K: k, Ahead: cos, Starboard: -sin, Shallow: 1}
	w.Alpha = 1 - k*speedMS*cos/omega
	if !(omega > 0 && k > 0) || math.IsInf(omega, 0) || math.IsInf(k, 0) || !(math.Abs(w.Alpha) <= maxAlpha) {
		return Wave{}, false
	}
	// Within a thousandth (more than 0.6 wave lengths deep) the water is taken for deep: what is left would be the
	// difference between one value of g and another.
	if s := omega * omega / (gravity * k); s < 1-deepEnough {
		w.Shallow = max(s, minShallow)
	}
	return w, true
}

const (
	deepEnough = 1e-3
	minShallow = 1e-3 // no wave is 6000 times as long as the water is deep
	maxAlpha   = 1e6  // beyond any vessel and any wave
)
