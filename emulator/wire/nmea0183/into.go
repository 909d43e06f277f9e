package nmea0183

import (
	"math"
	"time"

	"swellbench/emulator/wire"
	"swellbench/scenarios/frame"
	"swellbench/scenarios/geo"
	"swellbench/scenarios/opt"
)

// What several sentences put into a reading.

func radOpt(v opt.Opt[float64]) opt.Opt[float64] {
	x, ok := v.Value()
	if !ok {
		return v
	}
	if x == 360 { // north, in writing that is not ours
		x = 0
	}
	return opt.Of(frame.Rad(x))
}

// readPosition sets latitude and longitude. The height is that of before until a sentence tells another, 0 at first.
func readPosition(r *wire.Reading, lat, lon opt.Opt[float64]) {
	y, ok := lat.Value()
	x, ok2 := lon.Value()
	if !ok || !ok2 {
		r.Position = opt.None[geo.Position]()
		return
	}
	r.Position = opt.Of(geo.Position{Lat: frame.Rad(y), Lon: frame.WrapPi(frame.Rad(x)), Height: r.Position.Or(geo.Position{}).Height})
}

// readHeight sets the height above the ellipsoid, where both of its parts are known.
func readHeight(r *wire.Reading, altitude, undulation opt.Opt[float64]) {
	p, ok := r.Position.Value()
	a, ok2 := altitude.Value()
	u, ok3 := undulation.Value()
	if ok && ok2 && ok3 {
		p.Height = a + u
		r.Position = opt.Of(p)
	}
}

// readStamp sets the stamp of validity to date and time.
func readStamp(r *wire.Reading, d opt.Opt[Date], tod opt.Opt[time.Duration]) {
	date, ok := d.Value()
	t, ok2 := tod.Value()
	if !ok || !ok2 {
		readClock(r, tod)
		return
	}
	r.UTC, r.Leap = opt.Of(date.Time(t)), leapOf(t)
}

// readClock sets the stamp of validity to a time of day: of the day on which it lies nearest to the stamp of before. If
// there was none the day is not known, and so there is none now.
func readClock(r *wire.Reading, tod opt.Opt[time.Duration]) {
	t, ok := tod.Value()
	before, ok2 := r.UTC.Value()
	if !ok || !ok2 {
		r.UTC, r.Leap = opt.None[time.Time](), wire.NoLeap
		return
	}
	days, _ := floorDiv(before.Unix(), 86400)
	at := time.Unix(days*86400, 0).UTC().Add(t)
	switch off := at.Sub(before); {
	case off > 12*time.Hour:
		at = at.Add(-day)
	case off <= -12*time.Hour:
		at = at.Add(day)
	}
	r.UTC, r.Leap = opt.Of(at), leapOf(t)
}

func leapOf(t time.Duration) wire.Leap {
	if t >= day {
		return wire.LeapNow
	}
	return wire.NoLeap
}

// fixSaid is the state of the fix that status and mode tell together. A void sentence whose mode speaks of a fix has
// none, but for modes with which the standard has the status void: estimated, manual and simulated.
func fixSaid(s Status, m opt.Opt[Mode]) wire.Fix {
	mode, ok := m.Value()
	switch {
	case !ok && s == Valid:
		return wire.FixAutonomous
	case !ok:
		return wire.FixNone
	case s == Void && (mode == 'A' || mode == 'D'):
		return wire.FixNone
	}
	return mode.Fix()
}

// readVelocity sets the velocity over ground, east and north in m/s, and what says the same in other words. At rest there
// is no course.
func readVelocity(r *wire.Reading, east, north float64) {
	r.VelocityEN = opt.Of([2]float64{east, north})
	r.SpeedMS, r.CourseRad = opt.Of(math.Hypot(east, north)), opt.None[float64]()
	if east != 0 || north != 0 {
		r.CourseRad = opt.Of(frame.Wrap2Pi(math.Atan2(east, north)))
	}
}

// readCourse sets speed and course over ground, and the velocity, which says the same in other words.
func readCourse(r *wire.Reading, speedMS, courseRad opt.Opt[float64]) {
	r.SpeedMS, r.CourseRad, r.VelocityEN = speedMS, courseRad, opt.None[[2]float64]()
	v, ok := speedMS.Value()
	c, ok2 := courseRad.Value()
	if ok && ok2 {
		sin, cos := math.Sincos(c)
		r.VelocityEN = opt.Of([2]float64{v * sin, v * cos})
	}
}

// heights are the altitude above mean sea level and the undulation that go with what position fields hold.
func heights(r *wire.Reading) (altitude, undulation opt.Opt[float64]) {
	p, ok := place(r).Value()
	if u, known := r.Undulation.Value(); ok && known {
		altitude = opt.Of(p.Height - u)
	}
	if ok || r.Fix != wire.FixNone {
		undulation = r.Undulation
	}
	return altitude, undulation
}

// readFix sets the state of the fix. The position that stands beside the word that there is none is void.
func readFix(r *wire.Reading, f wire.Fix) {
	if r.Fix = f; f == wire.FixNone {
		r.Position, r.Void = opt.None[geo.Position](), r.Position
	}
}
