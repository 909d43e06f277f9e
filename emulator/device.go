package emulator

import (
	"fmt"
	"math"
	"strconv"
	"time"

	"gonum.org/v1/gonum/spatial/r3"

	"swellbench/emulator/line"
	"swellbench/emulator/wire"
	"swellbench/scenarios"
	"swellbench/scenarios/frame"
	"swellbench/scenarios/geo"
	"swellbench/scenarios/installation"
	"swellbench/scenarios/opt"
	"swellbench/scenarios/strictyaml"
)

// A Device is the virtual sensor of one scenario. The vessel moves by what the installation says is actual; the
// device computes its readings from what was entered into it. Methods may be called from several goroutines.
type Device struct {
	scenario *scenarios.Scenario
	truth    scenarios.Truth
	settings installation.Settings
	streams  []stream

	mounting  frame.Rotation  // actual: device to vessel
	primary   r3.Vec          // actual antenna positions, vessel axes from the reference point
	baseline  opt.Opt[r3.Vec] // actual, if there are two antennas
	sensor    r3.Vec          // actual
	fix       wire.Fix        // of the undisturbed receiver
	satellite opt.Opt[int]
	hdop      opt.Opt[float64]
}

type stream struct {
	spec     scenarios.Stream
	line     line.Settings
	encoders []wire.Encoder
	kinds    []string // of the encoders
	faults   []line.Fault
}

// New builds the device of a scenario. Its error names every message, format, line setting and fault of the
// scenario that the emulator does not know or cannot do, each with its place in the file.
func New(sc *scenarios.Scenario) (*Device, error) {
	truth, err := sc.Truth()
	if err != nil {
		return nil, err
	}
	in := sc.Installation
	d := &Device{scenario: sc, truth: truth, settings: in.Settings(), mounting: in.MountingRotation(), fix: wire.FixAutonomous}
	var problems []strictyaml.Problem
	problem := func(path, format string, a ...any) {
		problems = append(problems, strictyaml.Problem{Path: path, Text: fmt.Sprintf(format, a...)})
	}

	d.sensor, _ = in.Point("sensor")
	primary, ok := in.Point("antenna-primary")
	if !ok {
		problem("installation.points", "there is no point antenna-primary; a device with GNSS needs one")
	}
	d.primary = primary
	if b, ok := in.Baseline(); ok {
		d.baseline = opt.Of(b)
	}
	if g := sc.GNSS; g.Fix != "" {
		if d.fix, ok = wire.ParseFix(string(g.Fix)); !ok {
			problem("gnss.fix", "unknown fix %q; allowed: none, estimated, autonomous, differential, rtk-float, rtk-fixed, precise, manual, simulated", g.Fix)
		}
	}
	d.satellite, d.hdop = opt.Of(14), opt.Of(0.8)
	if s := sc.GNSS.Satellites; s != nil {
		d.satellite = opt.Of(*s)
	}
	if h := sc.GNSS.HDOP; h != nil {
		d.hdop = opt.Of(*h)
	}

	for i, spec := range sc.Streams {
		st := stream{spec: spec}
		if st.line, err = line.SettingsOf(spec.Line.Baud, spec.Line.DataBits, string(spec.Line.Parity), spec.Line.StopBits); err != nil {
			problem(fmt.Sprintf("streams[%d].line", i), "%v", err)
		}
		if _, ok := formats[spec.Format]; !ok {
			problem(fmt.Sprintf("streams[%d].format", i), "unknown format %q; known: %v", spec.Format, Formats())
			continue
		}
		for j, m := range spec.Messages {
			enc, err := newEncoder(spec.Format, m)
			if err != nil {
				problem(fmt.Sprintf("streams[%d].messages[%d]", i, j), "%v", err)
				continue
			}
			st.encoders, st.kinds = append(st.encoders, enc), append(st.kinds, enc.Kind())
		}
		for k, f := range sc.Faults {
			fault, err := line.NewFault(string(f.Fault), line.Params{
				From: float64(f.From), Until: float64(f.Until), Message: f.Message, Every: f.Every,
			})
			if err != nil {
				problem(fmt.Sprintf("faults[%d]", k), "%v", err)
				continue
			}
			st.faults = append(st.faults, fault)
		}
		d.streams = append(d.streams, st)
	}
	if err := sc.Problems(problems); err != nil {
		return nil, err
	}
	return d, nil
}

// Scenario is the scenario the device plays.
func (d *Device) Scenario() *scenarios.Scenario { return d.scenario }

// Truth is what the vessel really does.
func (d *Device) Truth() scenarios.Truth { return d.truth }

// Streams is the number of streams, each of which has a port of its own.
func (d *Device) Streams() int { return len(d.streams) }

// Stream is the specification of stream i.
func (d *Device) Stream(i int) scenarios.Stream { return d.streams[i].spec }

// StreamName is the name of stream i: the scenario's, or its number counted from 1.
func (d *Device) StreamName(i int) string {
	if n := d.streams[i].spec.Name; n != "" {
		return n
	}
	return strconv.Itoa(i + 1)
}

// Line is the line setting of stream i.
func (d *Device) Line(i int) line.Settings { return d.streams[i].line }

// Encoders are the encoders of stream i, in the order of its messages.
func (d *Device) Encoders(i int) []wire.Encoder { return d.streams[i].encoders }

// Reading is what the device reports at scenario time t, noise included. Same t, same answer, asked in any order.
func (d *Device) Reading(t float64) wire.Reading { return d.reading(t, true) }

// Ideal is what a device without noise would report at scenario time t from the same settings.
func (d *Device) Ideal(t float64) wire.Reading { return d.reading(t, false) }

func (d *Device) reading(t float64, noisy bool) wire.Reading {
	sc := d.scenario
	s := d.truth.At(t)
	r := wire.Reading{T: t, UTC: opt.Of(sc.UTC(t)), Variation: opt.Of(float64(sc.Variation))}
	var n noise
	if noisy {
		n = d.noiseAt(t)
	}

	// Attitude: of the device's own axes, or of the vessel as the entered mounting has it.
	vessel := s.Attitude.Rotation()
	believed := frame.DeviceFromVessel(vessel, d.mounting)
	rate := d.mounting.Inverse().Apply(s.Rate) // in device axes
	if m, ok := d.settings.Mounting.Value(); ok {
		believed = frame.VesselFromDevice(believed, m)
		rate = m.Apply(rate)
	}
	att := believed.Attitude()
	att.Pitch += n.pitch
	att.Roll += n.roll
	r.Pitch, r.Roll = opt.Of(att.Pitch), opt.Of(frame.WrapPi(att.Roll))
	if hr := frame.EulerRates(att, rate).Heading + n.rateOfTurn; finite(hr) {
		r.RateOfTurn = opt.Of(hr)
	}

	blocked := sc.GNSS.Holds("blocked", t)

	// Heading: from the baseline where two antennas see the sky, else from the attitude.
	heading := att.Heading + n.heading
	b, two := d.baseline.Value()
	switch {
	case !two:
		r.Heading = opt.Of(frame.Wrap2Pi(heading))
	case !blocked:
		azimuth := frame.BaselineAzimuth(vessel, b) + n.heading
		if eb, ok := d.settings.Baseline.Value(); ok {
			azimuth = frame.HeadingFromBaseline(azimuth, att.Pitch, att.Roll, eb)
			if finite(azimuth) {
				heading = azimuth
			}
		}
		// An upright baseline has no azimuth: then the field is empty, and the attitude keeps its own heading.
		if finite(azimuth) {
			r.Heading = opt.Of(frame.Wrap2Pi(azimuth))
		}
	}
	r.Yaw = opt.Of(frame.Wrap2Pi(heading))
	att.Heading = heading

	// Heave: of the sensor, or carried to the entered output point.
	heave := s.Point(d.sensor).HeaveM + n.heave
	out, carried := d.settings.OutputPoint.Value()
	if carried {
		heave += frame.InducedHeaveM(att, r3.Sub(out, d.settings.Sensor))
	}
	r.HeaveM = opt.Of(heave)

	if blocked {
		return r
	}

	// Position and velocity: of the primary antenna, or carried to the entered output point.
	p := s.Point(d.primary)
	local := geo.LocalAt(p.Position)
	offset, v := n.position, r3.Add(p.Velocity, n.velocity)
	if carried {
		primary, _ := d.settings.Primary.Value()
		lever, c := r3.Sub(out, primary), att.Rotation()
		offset = r3.Add(offset, c.Apply(lever))
		v = frame.PointVelocity(v, c, rate, lever)
	}
	r.Fix = d.fix
	if r.Fix != wire.FixNone {
		r.Position = opt.Of(local.Position(offset))
		r.Undulation = opt.Of(float64(sc.Geoid.Undulation))
		r.SpeedMS = opt.Of(math.Hypot(v.X, v.Y))
		r.CourseRad = opt.Of(frame.Wrap2Pi(math.Atan2(v.X, v.Y)))
		r.VelocityUp = opt.Of(v.Z)
		r.Satellites, r.HDOP = d.satellite, d.hdop
		if r.Fix == wire.FixDifferential || r.Fix == wire.FixRTKFloat || r.Fix == wire.FixRTKFixed {
			r.DiffAge, r.DiffStation = opt.Of(1.0), opt.Of(0)
		}
	}
	return r
}

// UTC is the instant of scenario time t.
func (d *Device) UTC(t float64) time.Time { return d.scenario.UTC(t) }

func finite(x float64) bool { return !math.IsNaN(x) && !math.IsInf(x, 0) }
