// Package hull says how a vessel answers to one long-crested wave: surge, sway, heave, roll, pitch and yaw, in amplitude
// and phase, by closed-form expressions from her main dimensions, or from a table of responses that the user brings.
//
// Read response.go first: it fixes what a [Response] means, and from which side a wave comes. hull.go puts the six
// together. Then one file for each piece of physics: box.go (heave and pitch), roll.go, orbit.go (surge, sway, yaw),
// depth.go (how all that fades below the surface). spec.go holds what a scenario file says of it and what is taken for
// what it leaves out; table.go and tablefile.go hold the user's table.
//
// To add another model of one degree of freedom: a file with a function of a [Wave], and its line in [Hull.At]. It must
// meet the limits in limits_test.go, which hold for any vessel.
//
// # How true it is
//
// Linear, rigid, wall-sided and fore-and-aft symmetric: no slamming, no green water, no parametric roll, no coupling
// between heave and pitch. Heave and pitch are meant for conceptual design. Roll depends on its damping, which nobody
// knows well. Surge, sway and yaw are those of the water itself, averaged over the hull: right in waves much longer than
// the vessel, and no more than plausible in others.
//
// For a judge of what software makes of a sensor that is enough: what counts is that the six belong together in phase,
// have the periods and the size of real ones, and can be differentiated exactly.
//
// Sources: Jensen, Mansour and Olsen, Estimation of ship motions using closed-form expressions, Ocean Engineering 31
// (2004) 61-85; Faltinsen, Sea Loads on Ships and Offshore Structures, 1990; Lloyd, Seakeeping, 1989; and for each
// formula what stands beside it.
package hull
