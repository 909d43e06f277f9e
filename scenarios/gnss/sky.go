package gnss

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"swellbench/scenarios/frame"
	"swellbench/scenarios/geo"
	"swellbench/scenarios/opt"
)

// A Sat is a satellite above the horizon, as receivers list them.
type Sat struct {
	PRN       int
	Azimuth   float64          // true, at the primary antenna, rad, 0 ≤ x < 2π
	Elevation float64          // above the horizon, rad
	CN0       opt.Opt[float64] // carrier to noise density, dB-Hz; absent where the satellite is not tracked
	Used      bool             // in the fix
}

// Carrier to noise density of an undisturbed satellite, from the horizon to the zenith, and what a receiver needs to
// track one; dB-Hz. Common practice, no source.
const (
	cn0HorizonDBHz = 36
	cn0ZenithDBHz  = 50
	cn0TrackDBHz   = 28
)

// cn0 is the carrier to noise density of a satellite, in dB-Hz; sine is that of its elevation.
func cn0(sine, lossDB float64) float64 {
	return cn0HorizonDBHz + (cn0ZenithDBHz-cn0HorizonDBHz)*sine - lossDB
}

// lossFactor is how much noisier ranges get where the carrier to noise density falls: the thermal noise of a code loop
// goes as the inverse root of it. Source: Kaplan & Hegarty 2006, ch. 5.
func lossFactor(lossDB float64) float64 { return math.Pow(10, lossDB/20) }

// A view is what the receiver sees at one instant.
type view struct {
	above    int // satellites above the mask
	clear    int // of those, the ones that the sectors of the whole run leave
	used     int
	geometry Geometry
	ok       bool    // enough for a fix
	baseline float64 // horizontal length of the baseline, m; 0 with one antenna
}

// look works out the sky of scenario time t under what holds during a span. It appends the satellites above the horizon
// to dst where that is not nil.
//
// Azimuth is clockwise from north, elevation above the horizon of the antenna; those for sectors of the vessel are in
// vessel axes, azimuth from the bow to the right, elevation above the deck. Both antennas have the same sky.
func (r *Receiver) look(t float64, sp *span, dst *[]Sat) view {
	var v view
	var sight [MaxSatellites]r3.Vec
	at, attitude := r.antenna(t)
	c := attitude.Rotation()
	back := c.Inverse()
	local, from := geo.LocalAt(at), at.ECEF()
	now := r.startUnix + t
	tracks := !sp.deaf()
	for i := range r.satellites {
		s := &r.satellites[i]
		line := local.FromECEF(r3.Sub(s.Orbit.At(now), from))
		u := r3.Scale(1/math.Sqrt(line.X*line.X+line.Y*line.Y+line.Z*line.Z), line)
		if !(u.Z > 0) || dst == nil && u.Z < r.maskSine {
			continue
		}
		density := cn0(u.Z, sp.lossDB)
		tracked := tracks && density >= cn0TrackDBHz
		hidden := r.hidden(r.sectors, u, back)
		masked := u.Z < r.maskSine
		if !masked {
			v.above++
			if !hidden {
				v.clear++
			}
		}
		tracked = tracked && !hidden && !r.hidden(sp.sectors, u, back)
		used := tracked && !masked && s.Healthy
		if used {
			sight[v.used] = u
			v.used++
		}
		if dst != nil {
			sat := Sat{PRN: s.PRN, Azimuth: frame.Wrap2Pi(math.Atan2(u.X, u.Y)), Elevation: math.Asin(min(u.Z, 1)), Used: used}
			if tracked {
				sat.CN0 = opt.Of(density)
			}
			*dst = append(*dst, sat)
		}
	}
	v.geometry, v.ok = NewGeometry(sight[:v.used])
	v.ok = v.ok && v.geometry.DOP.Position <= r.maxPDOP
	if b, two := r.spec.Baseline.Value(); two {
		b = c.Apply(b)
		v.baseline = math.Sqrt(b.X*b.X + b.Y*b.Y)
	}
	return v
}

// hidden tells whether a sector hides the direction u, east, north, up; back leads from there to vessel axes.
func (r *Receiver) hidden(sectors []sector, u r3.Vec, back frame.Rotation) bool {
	for i := range sectors {
		w := u
		if sectors[i].vessel {
			w = back.Apply(u)
		}
		if sectors[i].hides(math.Atan2(w.X, w.Y), math.Asin(max(-1, min(w.Z, 1)))) {
			return true
		}
	}
	return false
}
