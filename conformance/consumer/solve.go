package consumer

import (
	"math"
	"strings"
	"time"

	"gonum.org/v1/gonum/spatial/r3"

	"swellbench/scenarios/frame"
	"swellbench/scenarios/geo"
	"swellbench/scenarios/installation"
)

// solve applies what is left of the installation to an epoch.
//
// Speed, course and rate of turn are passed on as they are: speed and course are those of the point whose position
// is on the wire (to carry them to another needs angular rates, which these messages do not have), and the rate of
// turn is that of the axes whose attitude is on the wire.
func (s *stages) solve(g *geometry, e *epoch, utc time.Time) observation {
	o := observation{
		time: utc, point: g.point,
		speed: e.values[speed], course: e.values[course], rateOfTurn: e.values[rateOfTurn],
		fix: e.fix, source: e.source(),
	}
	var notes []string
	missing := func(what, why string) { notes = append(notes, what+": "+why) }

	// Pitch and roll of the vessel.
	rp, rr := e.values[pitch], e.values[roll]
	tilted := rp.known && rr.known
	reported := frame.Attitude{Pitch: rp.x, Roll: rr.x}
	o.pitch, o.roll = rp, rr
	if !g.aligned {
		o.pitch, o.roll = value{said: rp.said || rr.said}, value{said: rp.said || rr.said}
		if tilted {
			a := s.attitude(reported, g.rest)
			o.pitch, o.roll = number(a.Pitch), number(a.Roll)
		}
	}

	// Its heading: from a heading or an azimuth on the wire, else from that of the attitude.
	h := e.values[heading]
	yawed := !h.known && e.values[yaw].known
	if yawed && (g.two && g.typed.Has() && !h.said) { // the device makes its heading that of the attitude
		h, yawed = e.values[yaw], false
	}
	switch {
	case yawed:
		o.heading, reported.Heading = null, e.values[yaw].x
		switch {
		case g.aligned:
			o.heading = e.values[yaw]
		case !tilted:
			missing("heading", "the heading on the wire is the device's, and to make it the vessel's needs pitch and roll")
		default:
			o.heading = number(s.attitude(reported, g.rest).Heading)
		}
	case h.said:
		o.heading, reported.Heading = null, h.x
		switch {
		case !h.known:
		case g.heading:
			o.heading = h
		case !tilted && !g.level():
			missing("heading", "what is on the wire is not the vessel's, and to correct it needs pitch and roll")
		default:
			o.heading = number(s.heading(s, g, reported, frame.Attitude{Pitch: o.pitch.x, Roll: o.roll.x}))
			if !o.heading.known {
				missing("heading", "the baseline stands upright")
			}
		}
	case e.values[yaw].said:
		o.heading = null
	}

	whole := tilted && o.heading.known
	vessel := frame.Attitude{Heading: o.heading.x, Pitch: o.pitch.x, Roll: o.roll.x}
	believed := g.believed(reported, vessel)

	// Position of the output point.
	if lat, lon := e.values[latitude], e.values[longitude]; lat.said || lon.said {
		o.lat, o.lon = null, null
		alt, und := e.values[altitude], e.values[undulation]
		if alt.said {
			o.height = null
		}
		left := r3.Sub(r3.Sub(g.out, g.antenna), g.positionDone)
		nothing := g.believes() && r3.Norm(left) < negligible
		switch {
		case !lat.known || !lon.known:
		case !g.placed:
			missing("position", "the installation has no point "+installation.AntennaPrimary)
		case !nothing && !whole:
			missing("position", "the lever arm is still to be applied, and that needs heading, pitch and roll")
		default:
			p := geo.Position{Lat: lat.x, Lon: lon.x}
			deep := alt.known && und.known
			if deep {
				p.Height = alt.x + und.x
			}
			if !nothing {
				p = s.place(s, g, p, believed.Rotation(), vessel.Rotation())
			}
			o.lat, o.lon = number(p.Lat), number(frame.WrapPi(p.Lon))
			if deep {
				o.height = number(p.Height)
			}
		}
	}

	// Heave of the output point.
	if h := e.values[heave]; h.said {
		o.heave = null
		left := r3.Sub(r3.Sub(g.out, g.sensor), g.heaveDone)
		nothing := g.aligned && r3.Norm(left) < negligible ||
			r3.Norm(r3.Sub(g.out, g.sensor)) < negligible && r3.Norm(g.heaveDone) < negligible
		switch {
		case !h.known:
		case nothing:
			o.heave = h
		case !tilted:
			missing("heave", "it is still to be carried to the output point, and that needs pitch and roll")
		default:
			o.heave = number(s.heave(g, h.x, reported, vessel))
		}
	}
	o.note = strings.Join(notes, "; ")
	return o
}

// attitudeOf composes: C of the vessel = C on the wire · restᵀ.
func attitudeOf(reported frame.Attitude, rest frame.Rotation) frame.Attitude {
	return frame.VesselFromDevice(reported.Rotation(), rest).Attitude()
}

// headingOf gives the heading of the vessel from what is on the wire.
//
// With two antennas it is an azimuth of the baseline, or a heading that the device has made of that with the baseline
// it was told: the azimuth is restored and the actual baseline taken off, tilted as the vessel is. With one antenna
// it is the heading of the attitude on the wire.
func headingOf(s *stages, g *geometry, reported, tilt frame.Attitude) float64 {
	if !g.two {
		return s.attitude(reported, g.rest).Heading
	}
	azimuth := reported.Heading
	if b, ok := g.typed.Value(); ok {
		azimuth = frame.BaselineAzimuth(reported.Rotation(), b)
	}
	return frame.HeadingFromBaseline(azimuth, tilt.Pitch, tilt.Roll, g.baseline)
}

// believed is the attitude by which the device has turned its own lever arms: what it reports, with the heading where
// it makes one, else with the heading that its axes really have.
func (g *geometry) believed(reported, vessel frame.Attitude) frame.Attitude {
	if g.two && !g.typed.Has() {
		reported.Heading = vessel.Rotation().Mul(g.rest).Attitude().Heading
	}
	return reported
}

// placeOf carries the position on the wire back over what the device has applied, to the antenna, and on to the
// output point. Both arms are turned by a full attitude before they are added in Earth-centred axes.
func placeOf(s *stages, g *geometry, p geo.Position, believed, vessel frame.Rotation) geo.Position {
	if r3.Norm(g.positionDone) > negligible {
		p = back(p, believed.Apply(g.positionDone))
	}
	ref := back(p, s.turn(vessel, g.antenna))
	return geo.LocalAt(ref).Position(s.turn(vessel, g.out))
}

// back finds the position from which p lies at enu, in the local frame of the position that is looked for. Near a pole
// that frame is another than the one at p; the search narrows by the ratio of the arm to the distance from the pole.
func back(p geo.Position, enu r3.Vec) geo.Position {
	end, q := p.ECEF(), p
	for range 100 {
		next := geo.FromECEF(r3.Sub(end, geo.LocalAt(q).ToECEF(enu)))
		moved := r3.Norm(r3.Sub(next.ECEF(), q.ECEF()))
		if q = next; moved < 1e-6 {
			break
		}
	}
	return q
}

// turnOf turns an arm from vessel axes into east, north, up.
func turnOf(vessel frame.Rotation, arm r3.Vec) r3.Vec { return vessel.Apply(arm) }

// heaveOf carries heave back over what the device has applied, to the sensor, and on to the output point.
func heaveOf(g *geometry, h float64, reported, vessel frame.Attitude) float64 {
	h -= frame.InducedHeaveM(reported, g.heaveDone)
	return h + frame.InducedHeaveM(vessel, r3.Sub(g.out, g.sensor))
}

// source names the messages of the epoch, in order of arrival.
func (e *epoch) source() string {
	var b strings.Builder
	for i, p := range e.parts {
		if i > 0 {
			b.WriteByte('+')
		}
		b.WriteString(p.key.kind)
	}
	return b.String()
}

func degrees(rad float64) float64 { return rad * (180 / math.Pi) }
