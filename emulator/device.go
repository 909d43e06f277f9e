package emulator

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"gonum.org/v1/gonum/spatial/r3"

	"swellbench/emulator/line"
	"swellbench/emulator/wire"
	"swellbench/scenarios"
	"swellbench/scenarios/frame"
	"swellbench/scenarios/geo"
	"swellbench/scenarios/gnss"
	"swellbench/scenarios/heave"
	"swellbench/scenarios/inertial"
	"swellbench/scenarios/installation"
	"swellbench/scenarios/opt"
	"swellbench/scenarios/receiver"
	"swellbench/scenarios/strictyaml"
)

// A Device is the virtual sensor of one scenario. The vessel moves by what the installation says is actual; the
// device computes its readings from what was entered into it. Methods may be called from several goroutines.
type Device struct {
	scenario *scenarios.Scenario
	truth    scenarios.Truth
	settings installation.Settings
	streams  []stream

	mounting frame.Rotation  // actual: device to vessel
	primary  r3.Vec          // actual antenna position, vessel axes from the reference point
	baseline opt.Opt[r3.Vec] // actual, if there are two antennas
	sensor   r3.Vec          // actual
	lost     [][2]float64    // from and until when there is no fix from satellites, s
	origin   geo.Position    // where the output point, or the primary antenna, was when the device was switched on

	receiver *gnss.Receiver
	inertial *inertial.Navigator // nil: without GNSS there is no position
	clock    *receiver.Clock
	heave    *heave.Output // nil: heave is true
}

type stream struct {
	spec     scenarios.Stream
	line     line.Settings
	encoders []wire.Encoder
	kinds    []string // of the encoders
	series   []int    // by encoder: the first of the same format, which counts for all of them
	faults   []streamFault
	echoes   [][2]float64 // when what the consumer sends comes back: from, until, s
	sky      bool         // some message tells of single satellites
	forces   bool         // some message may tell what gyros and accelerometers say
}

// New builds the device of a scenario. Its error names every message, format, line setting and fault of the
// scenario that the emulator does not know or cannot do, each with its place in the file.
func New(sc *scenarios.Scenario) (*Device, error) {
	truth, err := sc.Truth()
	if err != nil {
		return nil, err
	}
	in := sc.Installation
	d := &Device{scenario: sc, truth: truth, settings: in.Settings(), mounting: in.MountingRotation()}
	var problems []strictyaml.Problem
	problem := func(path, format string, a ...any) {
		problems = append(problems, strictyaml.Problem{Path: path, Text: fmt.Sprintf(format, a...)})
	}

	d.sensor, _ = in.Point(installation.Sensor)
	primary, ok := in.Point("antenna-primary")
	if !ok {
		problem("installation.points", "there is no point antenna-primary; a device with GNSS needs one")
	}
	d.primary = primary
	if b, ok := in.Baseline(); ok {
		d.baseline = opt.Of(b)
	}
	for i, spec := range sc.Streams {
		st := stream{spec: spec}
		if st.line, err = lineOf(spec.Line); err != nil {
			problem(fmt.Sprintf("streams[%d].line", i), "%v", err)
		}
		if _, ok := formats[spec.Format]; !ok {
			problem(fmt.Sprintf("streams[%d].format", i), "unknown format %q; known: %v", spec.Format, Formats())
			continue
		}
		sound := true
		for name, f := range formats {
			if f.check == nil || !spec.Uses(name) {
				continue
			}
			if err := f.check(spec); err != nil {
				for _, text := range strings.Split(err.Error(), "\n") {
					problem(fmt.Sprintf("streams[%d].layout", i), "%s", text)
				}
				sound = false
			}
		}
		if !sound {
			continue
		}
		for j, m := range spec.Messages {
			enc, err := newEncoder(spec, m)
			if err != nil {
				problem(fmt.Sprintf("streams[%d].messages[%d]", i, j), "%v", err)
				continue
			}
			st.encoders, st.kinds = append(st.encoders, enc), append(st.kinds, enc.Kind())
			st.series = append(st.series, slices.IndexFunc(spec.Messages, func(o scenarios.Message) bool { return spec.FormatOf(o) == spec.FormatOf(m) }))
			st.sky = st.sky || tellsOfSatellites(spec.FormatOf(m), m)
			st.forces = st.forces || spec.FormatOf(m) != "nmea0183" // which has no word for it
		}
		d.streams = append(d.streams, st)
	}
	for k, f := range sc.Faults {
		problems = append(problems, d.addFault(k, f)...)
	}
	if err := sc.Problems(problems); err != nil {
		return nil, err
	}
	if err := d.equip(); err != nil {
		return nil, err
	}
	d.origin = truth.At(0).Point(d.primary).Position
	if first := d.Ideal(0).Position; first.Has() {
		d.origin, _ = first.Value()
	}
	if err := sc.Problems(d.lacks()); err != nil {
		return nil, err
	}
	return d, nil
}

// equip makes the parts of the device that go through the whole run beforehand.
func (d *Device) equip() (err error) {
	sc := d.scenario
	if d.receiver, err = sc.Receiver(d.truth); err != nil {
		return err
	}
	d.lost = d.receiver.Outages()
	if d.clock, err = receiver.New(sc.Device.Clock, sc.UTC(0), sc.Seed); err != nil {
		return err
	}
	if sc.Inertial != nil {
		truth := func(t float64) inertial.State {
			body := scenarios.BodyAt(d.truth, t)
			return d.sensorStateOf(&body)
		}
		if d.inertial, err = inertial.NewWith(*sc.Inertial, truth, d.outages(), sc.Seed); err != nil {
			return err
		}
	}
	if sc.Device.Heave != (heave.Spec{}) {
		filter, err := sc.Device.Heave.Filter()
		if err != nil {
			return err
		}
		d.heave = heave.NewOutput(filter, func(t float64) heave.Motion {
			return motionAt(d.truth.At(t), d.sensor)
		})
	}
	return nil
}

// sensorStateOf is the true state of the inertial sensor, along its own axes.
func (d *Device) sensorStateOf(s *scenarios.Body) inertial.State {
	p := s.Point(d.sensor)
	return inertial.State{Position: p.Position, Velocity: p.Velocity, Acceleration: p.Acceleration,
		Attitude: frame.DeviceFromVessel(s.Rotation(), d.mounting).Attitude()}
}

// outages are the times when the inertial sensor has no fix to lean on, or no heading. An outage begins with the errors
// that the receiver had at the last moment.
func (d *Device) outages() []inertial.Outage {
	var out []inertial.Outage
	for _, o := range d.lost {
		before := d.receiver.At(max(0, o[0]-justBefore))
		out = append(out, inertial.Outage{From: o[0], Until: o[1], Start: &inertial.Start{
			PositionENU: before.ErrorENU, VelocityENU: before.VelocityError,
			PositionSigma: before.SigmaENU, VelocitySigma: before.VelocitySigma,
			Heading: before.HeadingError, HeadingSigma: before.HeadingSigma,
		}})
	}
	if d.baseline.Has() {
		for _, o := range d.receiver.HeadingOutages() {
			out = append(out, inertial.Outage{From: o[0], Until: o[1], HeadingOnly: true})
		}
	}
	return out
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

// UTC is the instant of scenario time t.
func (d *Device) UTC(t float64) time.Time { return d.scenario.UTC(t) }
