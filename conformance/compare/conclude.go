package compare

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"

	"swellbench/emulator/wire"
	"swellbench/scenarios"
	"swellbench/scenarios/frame"
	"swellbench/scenarios/geo"
	"swellbench/scenarios/installation"
	"swellbench/scenarios/opt"
)

// A Consumer is a correct consumer's knowledge of the installation. It takes what was entered into the device at its
// word, and applies the rest.
type Consumer struct {
	installation *installation.Installation
	reported     installation.Reported
	mounting     frame.Rotation // device axes to vessel axes; identity where the device has taken it off
	mounted      bool           // mounting is more than identity
	baseline     r3.Vec
	names        []string // of the points, sorted
	points       []r3.Vec
	expected     int  // the point the consumer is to deliver
	yawOnly      bool // no message carries what heading messages do, but some carry the heading of the attitude
}

// NewConsumer makes the consumer of an installation, which must be valid.
func NewConsumer(in *installation.Installation) *Consumer {
	c := &Consumer{installation: in, reported: in.Reported()}
	if !c.reported.AttitudeOfVessel {
		c.mounting = in.MountingRotation()
		c.mounted = c.mounting.AngleTo(frame.Rotation{}) > 1e-12
	}
	c.baseline, _ = in.Baseline()
	for name := range in.Points {
		c.names = append(c.names, name)
	}
	if !slices.Contains(c.names, installation.Reference) {
		c.names = append(c.names, installation.Reference)
	}
	slices.Sort(c.names)
	for _, name := range c.names {
		p, _ := in.Point(name)
		c.points = append(c.points, p)
	}
	_, name := in.ExpectedPoint()
	c.expected = slices.Index(c.names, name)
	return c
}

// point finds a point by its name; "" is the one the consumer is to deliver.
func (c *Consumer) point(name string) (int, bool) {
	if name == "" || c.expected >= 0 && name == c.names[c.expected] {
		return c.expected, c.expected >= 0
	}
	return slices.BinarySearch(c.names, name)
}

// A Conclusion is what a correct consumer says of one point at one instant; what it cannot know is absent.
type Conclusion struct {
	Position opt.Opt[geo.Position]
	level    geo.Local            // there
	Value    [NQ]opt.Opt[float64] // but for latitude, longitude and height; SI and rad
}

// Conclude applies the installation to a reading, for the point l in m right, forward, up from the vessel reference
// point.
//
// The attitude of the vessel is a matrix product, never a subtraction. The heading is the baseline's azimuth less the
// azimuth of the baseline tilted as the vessel is. Position goes back over the lever arm to the vessel reference point
// and forward to l, heave likewise. Source: the conventions of package frame.
func (c *Consumer) Conclude(r *wire.Reading, l r3.Vec) Conclusion {
	var out Conclusion
	att, tilted, headed := c.attitude(r)
	whole := tilted && headed
	if tilted {
		out.Value[Pitch], out.Value[Roll] = opt.Of(att.Pitch), opt.Of(att.Roll)
	} else if !c.mounted { // one of the two, perhaps
		out.Value[Pitch], out.Value[Roll] = r.Pitch, r.Roll
	}
	if headed {
		out.Value[Heading] = opt.Of(frame.Wrap2Pi(att.Heading))
	}
	out.Value[Speed], out.Value[Course], out.Value[RateOfTurn] = r.SpeedMS, r.CourseRad, r.RateOfTurn

	if p, ok := r.Position.Value(); ok {
		arm := r3.Sub(l, c.reported.PositionAt)
		switch {
		case arm == r3.Vec{}:
			out.Position, out.level = opt.Of(p), geo.LocalAt(p)
		case whole:
			out.level, p = carried(p, att.Rotation(), c.reported.PositionAt, l)
			out.Position = opt.Of(p)
		}
	}
	if h, ok := r.HeaveM.Value(); ok {
		arm := r3.Sub(l, c.reported.HeaveAt)
		switch {
		case arm == r3.Vec{}:
			out.Value[Heave] = opt.Of(h)
		case tilted:
			out.Value[Heave] = opt.Of(h + frame.InducedHeaveM(att, arm)) // it is linear in the arm
		}
	}
	return out
}

// attitude is that of the vessel. tilted: pitch and roll are known; headed: the heading is.
func (c *Consumer) attitude(r *wire.Reading) (att frame.Attitude, tilted, headed bool) {
	p, ok1 := r.Pitch.Value()
	s, ok2 := r.Roll.Value()
	h, ok3 := r.Heading.Value()
	yawed := false
	if !ok3 {
		h, ok3 = r.Yaw.Value()
		yawed = ok3
	}
	att, tilted = frame.Attitude{Heading: h, Pitch: p, Roll: s}, ok1 && ok2
	direct := c.reported.HeadingOfVessel || c.reported.TwoAntennas // the heading does not come from the attitude
	if yawed {                                                     // unless the device has made its heading that of the attitude
		direct = c.reported.HeadingOfVessel && (c.yawOnly || !c.reported.TwoAntennas)
	}
	switch {
	case !tilted && yawed:
		return att, false, direct || !c.mounted
	case !tilted:
		// A baseline along forward keeps its azimuth whatever the tilt, and a device that is aligned its yaw.
		return att, false, ok3 && (c.reported.HeadingOfVessel || c.reported.TwoAntennas && c.ahead() || !direct && !c.mounted)
	case c.mounted && (!ok3 || direct):
		att.Pitch, att.Roll = frame.TiltFromDevice(p, s, c.mounting)
	case c.mounted:
		att = frame.VesselFromDevice(att.Rotation(), c.mounting).Attitude()
	}
	if ok3 && !yawed && c.reported.TwoAntennas && !c.reported.HeadingOfVessel {
		att.Heading = frame.HeadingFromBaseline(h, att.Pitch, att.Roll, c.baseline)
	}
	return att, true, ok3 && !math.IsNaN(att.Heading)
}

// ahead tells whether the baseline runs along forward.
func (c *Consumer) ahead() bool {
	b := c.baseline
	return b.Y > 0 && math.Hypot(b.X, b.Z) < 1e-9*b.Y
}

// carried goes from the position p of the point at to the position of the point to. The attitude is that of the local
// frame at the vessel reference point, which is found by going back twice: the frames differ by arm/R, which matters
// near a pole only.
func carried(p geo.Position, c frame.Rotation, at, to r3.Vec) (geo.Local, geo.Position) {
	back := c.Apply(at)
	level := geo.LocalAt(p)
	end := level.Origin()
	for range 2 {
		level = geo.LocalFromECEF(r3.Sub(end, level.ToECEF(back)))
	}
	return level.Move(c.Apply(to))
}

// need says what it takes to get q at a point from what is on the wire.
func (c *Consumer) need(q Q, point int) Need {
	const same = 1e-9 // m
	switch q {
	case Pitch, Roll:
		if c.mounted {
			return Mounting
		}
	case Heading:
		switch {
		case c.reported.HeadingOfVessel:
		case c.reported.TwoAntennas && !c.yawOnly:
			if !c.ahead() {
				return Baseline
			}
		case c.mounted:
			return Mounting
		}
	case Lat, Lon, Height:
		if r3.Norm(r3.Sub(c.points[point], c.reported.PositionAt)) > same {
			return LeverArm
		}
	case Heave:
		if r3.Norm(r3.Sub(c.points[point], c.reported.HeaveAt)) > same {
			return HeaveArm
		}
	}
	return Nothing
}

// trueConclusion is the truth in the form of a conclusion.
func trueConclusion(s *scenarios.Body, l r3.Vec) Conclusion {
	var out Conclusion
	level, p, v := s.Place(l)
	out.Position, out.level = opt.Of(p), level
	att := s.Attitude.Canonical()
	out.Value[Heading], out.Value[Pitch], out.Value[Roll] = opt.Of(att.Heading), opt.Of(att.Pitch), opt.Of(att.Roll)
	out.Value[Heave], out.Value[RateOfTurn] = opt.Of(s.HeaveM+frame.InducedHeaveM(s.Attitude, l)), opt.Of(s.EulerRates().Heading)
	out.Value[Speed] = opt.Of(math.Hypot(v.X, v.Y))
	out.Value[Course] = opt.Of(frame.Wrap2Pi(math.Atan2(v.X, v.Y)))
	return out
}
