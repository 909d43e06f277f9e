package survey

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"swellbench/scenarios/frame"
	"swellbench/scenarios/installation"
)

// A PoseFor is what a device should show while the vessel lies still in a pose.
type PoseFor struct {
	Name    string  `json:"name,omitempty"`
	Heading float64 `json:"heading_deg"` // of the vessel
	Pitch   float64 `json:"pitch_deg"`
	Roll    float64 `json:"roll_deg"`
	// Devices: raw (nothing entered), set-up (all entered as measured) and, where the sheet says what was entered,
	// as-entered.
	Devices []DeviceShows `json:"devices"`
	// Points, from the vessel reference point: east, north, up.
	Points []PoseAt `json:"points"`
	// Moves tells how the raw tilt changes where the vessel's does by one degree, to try out alongside. None where the
	// device's forward axis is so near the vertical that its roll jumps.
	Moves []Move `json:"moves,omitempty"`
}

// A DeviceShows is the readings of one device.
type DeviceShows struct {
	Setting string    `json:"setting"`
	Shows   []Reading `json:"shows"`
}

// A Reading is one number on the screen.
type Reading struct {
	Name string `json:"name"`
	Of   string `json:"of"` // what it is of: vessel, device axes, baseline, or a point
	Unit string `json:"unit"`
	Value
}

// A PoseAt is where a point then is.
type PoseAt struct {
	Name string   `json:"name"`
	ENU  [3]Value `json:"east_north_up_m"`
}

// A Move is one degree of the vessel, and what a raw device makes of it.
type Move struct {
	Vessel   string  `json:"vessel"`
	RawPitch float64 `json:"raw_pitch_changes_deg"`
	RawRoll  float64 `json:"raw_roll_changes_deg"`
}

// pose works out the readings. The pose itself is taken as exact.
func (v *Survey) pose(p Pose) PoseFor {
	a := frame.Attitude{Heading: float64(p.Heading), Pitch: float64(p.Pitch), Roll: float64(p.Roll)}
	out := PoseFor{Name: p.Name, Heading: frame.Deg(frame.Wrap2Pi(a.Heading)), Pitch: frame.Deg(a.Pitch), Roll: frame.Deg(a.Roll)}
	out.Devices = append(out.Devices,
		DeviceShows{"raw", v.readings(a, installation.Entered{})},
		DeviceShows{"set-up", v.readings(a, v.rightly())})
	if v.Sheet.Entered != (installation.Entered{}) {
		out.Devices = append(out.Devices, DeviceShows{"as-entered", v.readings(a, v.Sheet.Entered)})
	}
	for _, name := range v.names() {
		out.Points = append(out.Points, PoseAt{name, metres3(v.vector(func(s *solution) r3.Vec {
			l, _ := v.at(s, name)
			return a.Rotation().Apply(l)
		}))})
	}
	if tilt := frame.DeviceFromVessel(a.Rotation(), v.best.mounting).Attitude().Pitch; math.Abs(tilt) > frame.Rad(85) {
		return out
	}
	step := frame.Rad(0.5)
	for _, m := range []struct {
		name string
		d    frame.Attitude
	}{{"bow up by 1 deg", frame.Attitude{Pitch: step}}, {"starboard side down by 1 deg", frame.Attitude{Roll: step}}} {
		raw := func(sign float64) frame.Attitude {
			b := frame.Attitude{Heading: a.Heading, Pitch: a.Pitch + sign*m.d.Pitch, Roll: a.Roll + sign*m.d.Roll}
			return frame.DeviceFromVessel(b.Rotation(), v.best.mounting).Attitude()
		}
		up, down := raw(1), raw(-1)
		out.Moves = append(out.Moves, Move{m.name, frame.Deg(up.Pitch - down.Pitch), frame.Deg(frame.AngleDiff(up.Roll, down.Roll))})
	}
	return out
}

// rightly is all entered as measured: the output point is that of the sheet where it names one, else the sensor.
func (v *Survey) rightly() installation.Entered {
	in := v.actual(v.best)
	e := installation.Entered{Mounting: &in.Mounting, Sensor: &installation.Place{Name: installation.Sensor}}
	if _, ok := in.Points[installation.AntennaPrimary]; ok {
		e.Antennas = &installation.Antennas{Primary: &installation.Place{Name: installation.AntennaPrimary}}
		if _, ok := in.Baseline(); ok {
			e.Antennas.Secondary = &installation.Place{Name: installation.AntennaSecondary}
		}
		e.OutputPoint = &installation.Place{Name: installation.Sensor}
		if p := v.Sheet.Entered.OutputPoint; p != nil && p.Name != "" {
			e.OutputPoint = p
		}
	}
	return e
}

// readings works out what a device shows into which this was entered. What is entered are numbers, and stay as they
// are while the measurements behind the actual places are varied. The rules are those of package installation.
func (v *Survey) readings(a frame.Attitude, entered installation.Entered) []Reading {
	typed := v.actual(v.best)
	typed.Entered = entered
	set, told := typed.Settings(), typed.Reported()
	vessel := a.Rotation()
	_, gnss := typed.Points[installation.AntennaPrimary]
	mounting, mounted := set.Mounting.Value()
	out, carried := set.OutputPoint.Value()

	attitude := func(s *solution) frame.Attitude {
		c := frame.DeviceFromVessel(vessel, s.mounting)
		if mounted {
			c = frame.VesselFromDevice(c, mounting)
		}
		return c.Attitude()
	}
	baseline := func(s *solution) r3.Vec {
		p, _ := v.at(s, installation.AntennaPrimary)
		q, _ := v.at(s, installation.AntennaSecondary)
		return r3.Sub(q, p)
	}
	heading := func(s *solution) float64 {
		att := attitude(s)
		if !told.TwoAntennas {
			return att.Heading
		}
		azimuth := frame.BaselineAzimuth(vessel, baseline(s))
		if b, ok := set.Baseline.Value(); ok {
			return frame.HeadingFromBaseline(azimuth, att.Pitch, att.Roll, b)
		}
		return azimuth
	}
	// The device's whole belief of its attitude: yaw is the heading of the vessel where the baseline gives it.
	believed := func(s *solution) frame.Attitude {
		att := attitude(s)
		if told.TwoAntennas && set.Baseline.Has() {
			if h := heading(s); finite(h) {
				att.Heading = h
			}
		}
		return att
	}

	axes := "device axes"
	if told.AttitudeOfVessel {
		axes = "vessel"
	}
	yaw := axes
	if told.TwoAntennas && set.Baseline.Has() {
		yaw = "vessel"
	}
	of := yaw
	if told.TwoAntennas && !set.Baseline.Has() {
		of = "baseline"
	}
	shows := []Reading{
		{"heading", of, "deg", degrees(v.angle(heading))},
		{"yaw with attitude", yaw, "deg", degrees(v.angle(func(s *solution) float64 { return believed(s).Heading }))},
		{"pitch", axes, "deg", degrees(v.angle(func(s *solution) float64 { return attitude(s).Pitch }))},
		{"roll", axes, "deg", degrees(v.angle(func(s *solution) float64 { return attitude(s).Roll }))},
		{"heave by tilt alone", told.HeaveName, "m", metres(v.length(func(s *solution) float64 {
			h := frame.InducedHeaveM(a, s.sensor)
			if carried {
				h += frame.InducedHeaveM(believed(s), r3.Sub(out, set.Sensor))
			}
			return h
		}))},
	}
	if shows[4].Of == "" {
		shows[4].Of = "the place typed"
	}
	if told.TwoAntennas {
		shows = append(shows, Reading{"baseline inclination", "baseline", "deg", degrees(v.angle(func(s *solution) float64 {
			return frame.BaselineOf(vessel.Apply(baseline(s))).Elevation
		}))})
	}
	if gnss {
		primary, _ := set.Primary.Value()
		at := v.vector(func(s *solution) r3.Vec {
			p, _ := v.at(s, installation.AntennaPrimary)
			p = vessel.Apply(p)
			if carried {
				p = r3.Add(p, believed(s).Rotation().Apply(r3.Sub(out, primary)))
			}
			return p
		})
		name := told.PositionName
		if name == "" {
			name = "the place typed"
		}
		for i, d := range []string{"east", "north", "up"} {
			shows = append(shows, Reading{"position, " + d + " of reference", name, "m", metres(at[i])})
		}
	}
	return shows
}
