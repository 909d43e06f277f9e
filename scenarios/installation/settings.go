package installation

import (
	"gonum.org/v1/gonum/spatial/r3"

	"swellbench/scenarios/frame"
	"swellbench/scenarios/opt"
)

// Point returns where a point really is, in m right, forward, up from the vessel reference point. [Reference] is
// always known.
func (in *Installation) Point(name string) (r3.Vec, bool) {
	if name == Reference {
		return r3.Vec{}, true
	}
	v, ok := in.Points[name]
	return v.Vec(), ok
}

// MountingRotation turns a vector along device axes into one along vessel axes, as the device really stands.
func (in *Installation) MountingRotation() frame.Rotation { return in.Mounting.Rotation() }

// Baseline returns the actual vector from primary to secondary antenna, in m along vessel axes; false where there are
// not two antennas.
func (in *Installation) Baseline() (r3.Vec, bool) {
	primary, ok1 := in.Point(AntennaPrimary)
	secondary, ok2 := in.Point(AntennaSecondary)
	if !ok1 || !ok2 {
		return r3.Vec{}, false
	}
	return r3.Sub(secondary, primary), true
}

// ExpectedPoint returns the point that the consumer is to deliver, in m from the vessel reference point, and its name.
// Of a name that is not known, the position is that of the vessel reference point.
func (in *Installation) ExpectedPoint() (r3.Vec, string) {
	name := in.Expected.OutputPoint
	if name == "" {
		name = Reference
	}
	v, _ := in.Point(name)
	return v, name
}

// Settings is what was entered as the device takes it, right or wrong: all along vessel axes, in m from the vessel
// reference point. What is absent was not entered, or names a point that is not known.
type Settings struct {
	Mounting  opt.Opt[frame.Rotation] // device axes to vessel axes
	Primary   opt.Opt[r3.Vec]         // antenna
	Secondary opt.Opt[r3.Vec]         // antenna
	Baseline  opt.Opt[r3.Vec]         // primary to secondary: as entered, else from both antennas entered
	Sensor    r3.Vec                  // as entered, else the actual one

	// OutputPoint is present only where it is in force, that is with Primary.
	OutputPoint opt.Opt[r3.Vec]
	OutputName  string // "" where OutputPoint is absent or was typed as a vector
}

// Settings resolves what was entered.
func (in *Installation) Settings() Settings {
	var s Settings
	believed := frame.Rotation{}
	if m := in.Entered.Mounting; m != nil {
		believed = m.Rotation()
		s.Mounting = opt.Of(believed)
	}
	actual, _ := in.Point(Sensor)
	s.Sensor = in.place(in.Entered.Sensor).Or(actual)
	if a := in.Entered.Antennas; a != nil {
		typed := func(p *Place) opt.Opt[r3.Vec] {
			if p == nil || p.Name != "" {
				return in.place(p)
			}
			var origin r3.Vec
			if a.From == FromSensor {
				origin = s.Sensor
			}
			if a.Axes == DeviceAxes {
				return opt.Of(frame.LeverFromDevice(p.Vector.Vec(), believed, origin))
			}
			return opt.Of(r3.Add(origin, p.Vector.Vec()))
		}
		s.Primary, s.Secondary = typed(a.Primary), typed(a.Secondary)
	}
	primary, has := s.Primary.Value()
	if b := in.Entered.Baseline; b != nil {
		s.Baseline = opt.Of(b.Vec())
	} else if secondary, ok := s.Secondary.Value(); ok && has {
		s.Baseline = opt.Of(r3.Sub(secondary, primary))
	}
	if has {
		if s.OutputPoint = in.place(in.Entered.OutputPoint); s.OutputPoint.Has() {
			s.OutputName = in.Entered.OutputPoint.Name
		}
	}
	return s
}

// place resolves a place along vessel axes from the vessel reference point.
func (in *Installation) place(p *Place) opt.Opt[r3.Vec] {
	if p == nil {
		return opt.None[r3.Vec]()
	}
	if p.Name == "" {
		return opt.Of(p.Vector.Vec())
	}
	if v, ok := in.Point(p.Name); ok {
		return opt.Of(v)
	}
	return opt.None[r3.Vec]()
}

// Reported says what the values on the wire are of, where what was entered is right. Where it is not, the device is
// mistaken about it, which [Installation.Warnings] tells.
type Reported struct {
	PositionAt   r3.Vec // of position and velocity, in m from the vessel reference point
	PositionName string // the point's name, "" where it was typed as a vector
	HeaveAt      r3.Vec
	HeaveName    string
	// AttitudeOfVessel: pitch, roll and yaw are the vessel's, else those of the device's own axes.
	AttitudeOfVessel bool
	// HeadingOfVessel: the heading is the vessel's. Else, with two antennas, it is the true azimuth of the baseline, and
	// with one the yaw of the device's own axes.
	HeadingOfVessel bool
	TwoAntennas     bool
}

// Reported tells what the values on the wire are of. An installation without the point antenna-primary, whose device
// reports no position, has PositionAt at the sensor.
func (in *Installation) Reported() Reported {
	s := in.Settings()
	sensor, _ := in.Point(Sensor)
	r := Reported{PositionAt: sensor, PositionName: Sensor, HeaveAt: sensor, HeaveName: Sensor, AttitudeOfVessel: s.Mounting.Has()}
	if primary, ok := in.Point(AntennaPrimary); ok {
		r.PositionAt, r.PositionName = primary, AntennaPrimary
	}
	if out, ok := s.OutputPoint.Value(); ok {
		r.PositionAt, r.PositionName = out, s.OutputName
		r.HeaveAt, r.HeaveName = out, s.OutputName
	}
	if _, r.TwoAntennas = in.Baseline(); r.TwoAntennas {
		r.HeadingOfVessel = s.Baseline.Has()
	} else {
		r.HeadingOfVessel = r.AttitudeOfVessel
	}
	return r
}
