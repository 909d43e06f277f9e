// Package waves makes the surface of the sea: spectra, the sinusoidal components drawn from them, and fast sums of
// those components along a vessel's way.
//
// Read spec.go first, the `sea:` section of a scenario file, then sea.go: [New] turns it into a [Sea] of [Component]s.
//
//   - spectrum.go, wind.go: Pierson–Moskowitz, JONSWAP and two-parameter spectra and their moments
//   - seastate.go: the WMO table of sea states, and the Beaufort scale
//   - spreading.go: how the energy is spread over directions
//   - dispersion.go, encounter.go: how long and how fast a wave is, and how often a moving vessel meets it
//   - heights.go: the statistics of wave heights
//   - limits.go: seas that cannot be
//   - components.go: which sinusoids stand for a spectrum
//   - sum.go, interpolate.go, phasor.go, grid.go: [Sum], six channels of responses at any time, some tens of times faster than
//     the plain sum
//
// To add one more spectrum: a word in [Kind], its checks in spec.go, and its branch in System.spectrum.
//
// # Signs
//
// A component's elevation is ζ(x, y, t) = a·cos(k·(x sin d + y cos d) − ωt + φ), x east and y north in m from where the
// track starts, up positive. d is the true direction the wave travels to. Seas and winds are told by where they come
// from, in files and in names with From.
//
// # Gravity
//
// The sea uses [GravityMS2]; formulas take g, for tables that were made with another value.
package waves

// GravityMS2 is the acceleration of gravity that the sea is made with, m/s². It is the rounded value of the handbooks;
// from the equator to the poles gravity is 0.3 % below to 0.2 % above.
const GravityMS2 = 9.81
