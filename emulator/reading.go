package emulator

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"swellbench/emulator/wire"
	"swellbench/scenarios"
	"swellbench/scenarios/frame"
	"swellbench/scenarios/geo"
	"swellbench/scenarios/gnss"
	"swellbench/scenarios/heave"
	"swellbench/scenarios/inertial"
	"swellbench/scenarios/opt"
)

// Reading is what the device reports at scenario time t, noise included. Same t, same answer, asked in any order.
func (d *Device) Reading(t float64) wire.Reading { return d.reading(t, true) }

func (d *Device) reading(t float64, noisy bool) (r wire.Reading) {
	body := scenarios.BodyAt(d.truth, t)
	d.read(&r, &body, noisy, true)
	return r
}

// Ideal is what the device would report at scenario time t but for its white noise: with the errors of its receiver,
// its inertial sensor, its filters and its settings, which no consumer can know of.
func (d *Device) Ideal(t float64) wire.Reading { return d.reading(t, false) }

// IdealOf puts into r what the device would report at an instant, as [Device.Ideal] does, for who has the truth of
// that instant already, be it without accelerations ([scenarios.MotionAt]). Angular rates and specific force are left out.
func (d *Device) IdealOf(truth *scenarios.Body, r *wire.Reading) { d.read(r, truth, false, false) }

// An epoch is what the device has to go by at one instant.
type epoch struct {
	truth *scenarios.Body // of the instant
	heard *scenarios.Body // of the instant that the receiver speaks of: an earlier one if it is frozen
	fix   gnss.State
	drift inertial.Drift
	noise noise
	att   frame.Attitude // as the device believes
	rate  r3.Vec         // angular rate along the believed axes
}

// read fills in a reading of the instant of truth. accelerometers: with what gyros and accelerometers say, which few
// messages carry.
func (d *Device) read(r *wire.Reading, truth *scenarios.Body, noisy, accelerometers bool) {
	t := truth.T
	*r = wire.Reading{T: t, Variation: opt.Of(float64(d.scenario.Variation))}
	e := epoch{truth: truth, heard: truth, fix: d.receiver.At(t)}
	at := t
	if e.fix.Frozen {
		at = e.fix.FrozenAt
		heard := scenarios.BodyAt(d.truth, at)
		e.heard = &heard
	}
	if noisy {
		e.noise = d.noiseAt(t)
	}
	if d.inertial != nil {
		e.drift = d.inertial.AtState(t, d.sensorStateOf(truth))
	}
	if stamp, ok := d.clock.At(at).Value(); ok && !e.fix.Down {
		r.Stamp(stamp.Label, stamp.Ahead)
	}
	d.attitude(r, &e)
	d.heading(r, &e)
	d.heaveOf(r, &e)
	d.position(r, &e)
	if r.Fix == wire.FixNone && !e.fix.Down {
		d.void(r, noisy)
	}
	if accelerometers {
		d.inertialOf(r, &e)
	}
	r.Origin = opt.Of(d.origin)
}

// attitude fills in pitch, roll and rate of turn: of the device's own axes, or of the vessel as the entered mounting has
// it.
func (d *Device) attitude(r *wire.Reading, e *epoch) {
	believed := frame.DeviceFromVessel(e.truth.Rotation(), d.mounting)
	if e.drift.Phi != (r3.Vec{}) {
		believed = e.drift.Turn(believed.Attitude()).Rotation()
	}
	e.rate = d.mounting.Inverse().Apply(e.truth.Rate) // in device axes
	if m, ok := d.settings.Mounting.Value(); ok {
		believed = frame.VesselFromDevice(believed, m)
		e.rate = m.Apply(e.rate)
	}
	e.att = believed.Attitude()
	e.att.Pitch += e.noise.pitch
	e.att.Roll += e.noise.roll
	r.Pitch, r.Roll = opt.Of(e.att.Pitch), opt.Of(frame.WrapPi(e.att.Roll))
	if turn := frame.EulerRates(e.att, e.rate).Heading + e.noise.rateOfTurn; finite(turn) {
		r.RateOfTurn = opt.Of(turn)
	}
	e.att.Heading += e.noise.heading
}

// heading fills in the heading: with two antennas the azimuth of the baseline, as the receiver has it or as the inertial
// sensor goes on with it, or the vessel's where the baseline was entered; with one that of the attitude. The believed
// attitude takes it over where it is the vessel's.
func (d *Device) heading(r *wire.Reading, e *epoch) {
	defer func() {
		if r.T < float64(d.scenario.Device.StartUp.Alignment) {
			r.Heading, r.Yaw, r.HeadingSigma, r.HeadingEstimated = opt.None[float64](), opt.None[float64](), opt.None[float64](), false
			return
		}
		r.Yaw = opt.Of(frame.Wrap2Pi(e.att.Heading))
	}()
	var heading, sigma float64
	baseline, two := d.baseline.Value()
	switch {
	case !two:
		if e.drift.Active && !e.drift.HeadingValid {
			return
		}
		heading, sigma, r.HeadingEstimated = e.att.Heading, e.drift.Sigma.Heading, e.drift.Active
	case e.fix.HeadingValid && !e.fix.Down:
		heading = frame.BaselineAzimuth(e.heard.Rotation(), baseline) + e.fix.HeadingError + e.noise.heading
		sigma = e.fix.HeadingSigma
	case d.inertial != nil && e.drift.HeadingValid:
		heading = frame.BaselineAzimuth(e.truth.Rotation(), baseline) + e.drift.Heading + e.noise.heading
		sigma, r.HeadingEstimated = e.drift.Sigma.Heading, true
	default:
		return
	}
	if entered, ok := d.settings.Baseline.Value(); ok && two {
		heading = frame.HeadingFromBaseline(heading, e.att.Pitch, e.att.Roll, entered)
		if finite(heading) {
			e.att.Heading = heading
		}
	}
	if !finite(heading) { // an upright baseline has no azimuth: the field is empty
		r.HeadingEstimated = false
		return
	}
	r.Heading = opt.Of(frame.Wrap2Pi(heading))
	if sigma > 0 {
		r.HeadingSigma = opt.Of(sigma)
	}
}

// heaveOf fills in the heave of the sensor, through the filter, carried to the entered output point.
func (d *Device) heaveOf(r *wire.Reading, e *epoch) {
	var m heave.Motion
	switch {
	case d.heave == nil:
		m = motionAt(e.truth.State, d.sensor)
	case d.scenario.Device.Heave.Output == heave.Delayed:
		m = d.heave.Delayed(r.T)
	default:
		m = d.heave.At(r.T)
	}
	m.HeaveM += e.noise.heave
	if out, carried := d.settings.OutputPoint.Value(); carried {
		surge, sway, up := frame.InducedMotion(e.att, r3.Sub(out, d.settings.Sensor))
		m.SurgeM, m.SwayM, m.HeaveM = m.SurgeM+surge, m.SwayM+sway, m.HeaveM+up
	}
	r.HeaveM, r.SurgeM, r.SwayM = opt.Of(m.HeaveM), opt.Of(m.SurgeM), opt.Of(m.SwayM)
}

// motionAt is the true motion of the point l about the mean path.
func motionAt(s scenarios.State, l r3.Vec) heave.Motion {
	surge, sway, up := frame.InducedMotion(s.Attitude, l)
	return heave.Motion{SurgeM: s.SurgeM + surge, SwayM: s.SwayM + sway, HeaveM: s.HeaveM + up}
}

// inertialOf fills in the angular rates and the specific force at the sensor, along the axes that the attitude speaks
// of. They are free of noise: what the errors of gyros and accelerometers come to is in the attitude and the drift.
func (d *Device) inertialOf(r *wire.Reading, e *epoch) {
	p := e.truth.Point(d.sensor)
	f := frame.SpecificForce(p.Acceleration, e.truth.Rotation(), geo.NormalGravity(p.Position.Lat, p.Position.Height))
	f = d.mounting.Inverse().Apply(f) // in device axes
	if m, ok := d.settings.Mounting.Value(); ok {
		f = m.Apply(f)
	}
	r.Rates, r.SpecificForce = opt.Of(e.rate), opt.Of(f)
}

// sky lists the satellites above the horizon of the reading, in buf; the receiver's own tracking where it is frozen.
func (d *Device) sky(r *wire.Reading, buf []gnss.Sat, sky []wire.Satellite) ([]gnss.Sat, []wire.Satellite) {
	t, sky := r.T, sky[:0]
	fix := d.receiver.At(t)
	if fix.Down {
		r.Sky = sky
		return buf, sky
	}
	if fix.Frozen {
		t = fix.FrozenAt
	}
	buf = d.receiver.AppendSatellites(buf[:0], t)
	for _, s := range buf {
		sky = append(sky, wire.Satellite{Number: s.PRN, Elevation: s.Elevation, Azimuth: s.Azimuth, SNR: s.CN0, Used: s.Used})
	}
	r.Sky = sky
	return buf, sky
}

// position fills in what the receiver, or the inertial sensor in its place, says of the primary antenna, or of the
// entered output point.
func (d *Device) position(r *wire.Reading, e *epoch) {
	word, off, speed := e.fix.Fix, e.fix.ErrorENU, e.fix.VelocityError
	sigma, cov := e.fix.SigmaENU, e.fix.CovarianceEN
	level, antenna, moving := e.heard.Place(d.primary)
	switch {
	case e.drift.Active:
		word, off, speed = gnss.Estimated, e.drift.PositionENU, e.drift.VelocityENU
		sigma, cov = e.drift.Sigma.PositionENU, e.drift.Sigma.PositionEN
		level, antenna, moving = e.truth.Place(d.primary)
	case e.fix.Down:
		return
	default: // the device goes over from what the outage left to what the receiver says
		share := 1 - e.drift.Share
		off, speed = r3.Add(r3.Scale(share, off), e.drift.PositionENU), r3.Add(r3.Scale(share, speed), e.drift.VelocityENU)
		s := e.drift.Sigma.PositionENU
		sigma = r3.Vec{X: math.Hypot(share*sigma.X, s.X), Y: math.Hypot(share*sigma.Y, s.Y), Z: math.Hypot(share*sigma.Z, s.Z)}
		cov = share*share*cov + e.drift.Sigma.PositionEN
	}
	if r.Fix, _ = wire.ParseFix(string(word)); r.Fix == wire.FixNone {
		return
	}
	if typed, ok := d.receiver.EnteredPosition(); ok && e.fix.Entered && !e.drift.Active {
		level, antenna, moving, off = geo.LocalAt(typed), typed, r3.Vec{}, r3.Vec{}
	}
	off, v := r3.Add(off, e.noise.position), r3.Add(r3.Add(moving, speed), e.noise.velocity)
	if out, carried := d.settings.OutputPoint.Value(); carried {
		primary, _ := d.settings.Primary.Value()
		lever, c := r3.Sub(out, primary), e.att.Rotation()
		off = r3.Add(off, c.Apply(lever))
		v = frame.PointVelocity(v, c, e.rate, lever)
	}
	if off != (r3.Vec{}) {
		antenna = level.Position(off)
	}
	r.Position = opt.Of(antenna)
	r.Undulation = opt.Of(float64(d.scenario.Geoid.Undulation))
	r.SpeedMS = opt.Of(math.Hypot(v.X, v.Y))
	r.CourseRad = opt.Of(frame.Wrap2Pi(math.Atan2(v.X, v.Y)))
	r.VelocityEN, r.VelocityUp = opt.Of([2]float64{v.X, v.Y}), opt.Of(v.Z)
	if sigma != (r3.Vec{}) {
		r.Sigma, r.SigmaEN = opt.Of(sigma), cov
	}
	if e.drift.Active || e.fix.Entered {
		return
	}
	r.Satellites = opt.Of(e.fix.Satellites)
	if dop, ok := e.fix.DOP.Value(); ok {
		r.HDOP, r.PDOP, r.VDOP, r.TDOP = opt.Of(dop.Horizontal), opt.Of(dop.Position), opt.Of(dop.Vertical), opt.Of(dop.Time)
	}
	if r.DiffAge = e.fix.AgeS; r.DiffAge.Has() {
		r.DiffStation = opt.Of(0)
		if s := d.scenario.GNSS.Corrections.Station; s != nil {
			r.DiffStation = opt.Of(*s)
		}
	}
}

func finite(x float64) bool { return !math.IsNaN(x) && !math.IsInf(x, 0) }
