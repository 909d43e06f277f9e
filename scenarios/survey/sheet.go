package survey

import (
	"fmt"
	"maps"
	"slices"

	"swellbench/scenarios/heave"
	"swellbench/scenarios/installation"
	"swellbench/scenarios/strictyaml"
	"swellbench/scenarios/units"
)

// A Sheet is one installation sheet: what was measured, before anything is made of it.
type Sheet struct {
	About    string                  `yaml:"about" doc:"which vessel, when, by whom, with what"`
	Vessel   installation.Vessel     `yaml:"vessel" doc:"main dimensions of the vessel"`
	Sets     []Set                   `yaml:"sets,required" doc:"points that were measured in one go, along the same axes from the same origin"`
	Above    map[string]units.Length `yaml:"above" doc:"how far above its measured mark a point is, along the vessel's up axis, such as the phase centre of an antenna; negative below"`
	Device   Device                  `yaml:"device" doc:"how the device stands on the vessel; left out: aligned with it"`
	GNSS     *GNSS                   `yaml:"gnss" doc:"what the GNSS receiver itself says of its antennas"`
	Entered  installation.Entered    `yaml:"entered" doc:"what was typed into the device; left out: nothing, raw output"`
	Expected installation.Expected   `yaml:"expected-of-consumer" doc:"what the consumer must still apply"`
	Periods  []units.Duration        `yaml:"wave-periods" doc:"periods with which the vessel meets waves, for which to tell what the heave filter does; left out: 4, 6, 8, 12 and 16 s"`
	Poses    []Pose                  `yaml:"poses" doc:"attitudes of the vessel for which to tell what the device should show"`
	Checks   Limits                  `yaml:"checks" doc:"how far numbers may disagree"`
}

// A Set is points measured in one go.
type Set struct {
	Name    string                `yaml:"name" doc:"what to call it, such as tape or total station on the quay"`
	Axes    Axes                  `yaml:"axes,required" doc:"along which axes the coordinates count, in their order: of the vessel, such as forward-right-down; of a levelled total station, such as north-east-up; or free. The latter two are tied to the vessel by three or more points that sets before have too"`
	Origin  *Origin               `yaml:"origin" doc:"where the coordinates are zero, for axes of the vessel: a point's name, or its coordinates along the same axes from the vessel reference point; left out: the vessel reference point, wherever the set itself has the point reference"`
	Sigma   Sigma                 `yaml:"sigma,required" doc:"standard deviation of one coordinate, or of each of the three"`
	Tie     []string              `yaml:"tie" doc:"the points that tie a total station's axes to the vessel; left out: all that sets before have too"`
	Control bool                  `yaml:"control" doc:"true: the points only tie other sets to the vessel and are not listed"`
	Points  map[string]Coordinate `yaml:"points,required" doc:"the points by name: sensor, antenna-primary, antenna-secondary, device marks, and any of your own"`
}

// Called is what to call the i-th set.
func (s *Set) called(i int) string {
	if s.Name != "" {
		return s.Name
	}
	return fmt.Sprintf("set %d", i+1)
}

// names lists the points of the set in a fixed order.
func (s *Set) names() []string { return slices.Sorted(maps.Keys(s.Points)) }

// Triple is three lengths along the axes of a set.
type Triple [3]units.Length

func (t Triple) metres() [3]float64 { return [3]float64{float64(t[0]), float64(t[1]), float64(t[2])} }

// An Origin is a point's name, or coordinates where Name is "".
type Origin struct {
	Name string
	At   Triple
}

// DecodeYAML reads a name or three lengths.
func (o *Origin) DecodeYAML(n strictyaml.Node) error {
	switch {
	case n.Kind() == strictyaml.Sequence:
		return n.Decode(&o.At)
	case n.Kind() == strictyaml.String && n.Text() != "":
		o.Name = n.Text()
		return nil
	}
	return n.Error("an origin is "+n.Kind().String(), "allowed: the name of a point, or three lengths along the axes of the set")
}

// SchemaOneOf lists what an origin may be written as.
func (Origin) SchemaOneOf() []any { return []any{"", Triple{}} }

// Sigma is a standard deviation of each coordinate.
type Sigma [3]units.Length

// DecodeYAML reads one length for all, or three.
func (s *Sigma) DecodeYAML(n strictyaml.Node) error {
	if n.Kind() == strictyaml.Sequence {
		var t Triple
		err := n.Decode(&t)
		*s = Sigma(t)
		return err
	}
	var l units.Length
	err := n.Decode(&l)
	*s = Sigma{l, l, l}
	return err
}

// SchemaOneOf lists what a standard deviation may be written as.
func (Sigma) SchemaOneOf() []any { return []any{units.Length(0), Triple{}} }

// A Coordinate is one measured point.
type Coordinate struct {
	At    Triple
	Sigma *Sigma // nil: that of the set
}

type coordinate struct {
	At    Triple `yaml:"at,required" doc:"the coordinates, in the order of the axes"`
	Sigma *Sigma `yaml:"sigma" doc:"standard deviation of this point, if not that of the set"`
}

// DecodeYAML reads three lengths, or a mapping with at and sigma.
func (c *Coordinate) DecodeYAML(n strictyaml.Node) error {
	if n.Kind() == strictyaml.Mapping {
		var m coordinate
		err := n.Decode(&m)
		c.At, c.Sigma = m.At, m.Sigma
		return err
	}
	return n.Decode(&c.At)
}

// SchemaOneOf lists what a point may be written as.
func (Coordinate) SchemaOneOf() []any { return []any{Triple{}, coordinate{}} }

// Device is how the device stands: by marks, or as stated.
type Device struct {
	Marks    *Marks     `yaml:"marks" doc:"points on the device or its bracket whose place in the device's own axes is known, such as from its drawing; a set has them by the same names"`
	Mounting *Mounting  `yaml:"mounting" doc:"in place of marks: the mounting angles, as judged otherwise"`
	Heave    heave.Spec `yaml:"heave-filter" doc:"the filter that the device is set to; left out: nothing is told of it"`
}

// Marks is where the marks are in the device's own axes.
type Marks struct {
	Axes   Axes              `yaml:"axes,required" doc:"along which of the device's own axes the coordinates count, in their order"`
	From   MarksFrom         `yaml:"from" doc:"where the coordinates begin: sensor, the device's centre, which then follows too; or elsewhere, then only directions count; left out: sensor"`
	Sigma  Sigma             `yaml:"sigma" doc:"standard deviation of a coordinate; left out: exact"`
	Points map[string]Triple `yaml:"points,required" doc:"the marks by name: three or more, not in one line"`
}

// marksGiveSensor tells whether the device's centre follows from its marks.
func (s *Sheet) marksGiveSensor() bool {
	return len(s.markNames()) > 0 && s.Device.Marks.From != FromElsewhere
}

// markNames lists the device marks.
func (s *Sheet) markNames() []string {
	if s.Device.Marks == nil {
		return nil
	}
	return slices.Sorted(maps.Keys(s.Device.Marks.Points))
}

// MarksFrom is where the coordinates of marks begin.
type MarksFrom string

// The beginnings. "" is FromSensor.
const (
	FromSensor    MarksFrom = "sensor"
	FromElsewhere MarksFrom = "elsewhere"
)

// SchemaEnum lists the allowed words.
func (MarksFrom) SchemaEnum() []string { return []string{string(FromSensor), string(FromElsewhere)} }

// Mounting is mounting angles with a standard deviation.
type Mounting struct {
	Heading units.Angle `yaml:"heading" doc:"positive: turned clockwise, seen from above"`
	Pitch   units.Angle `yaml:"pitch" doc:"positive: the device's forward axis is raised"`
	Roll    units.Angle `yaml:"roll" doc:"positive: the device's right axis is lowered"`
	Sigma   units.Angle `yaml:"sigma,required" doc:"standard deviation of each angle"`
}

// GNSS is what the receiver says of its antennas.
type GNSS struct {
	Baseline Measured `yaml:"baseline,required" doc:"the distance between the antennas as the receiver finds it"`
}

// Measured is a length with its standard deviation.
type Measured struct {
	Length units.Length `yaml:"length,required" doc:"between the phase centres, in a straight line"`
	Sigma  units.Length `yaml:"sigma,required" doc:"standard deviation"`
}

// A Pose is an attitude of the vessel.
type Pose struct {
	Name    string      `yaml:"name" doc:"what to call it, such as alongside"`
	Heading units.Angle `yaml:"heading,required" doc:"of the vessel, clockwise from true north"`
	Pitch   units.Angle `yaml:"pitch" doc:"positive: bow up"`
	Roll    units.Angle `yaml:"roll" doc:"positive: starboard side down"`
}

// Limits is how far numbers may disagree.
type Limits struct {
	Coverage    float64      `yaml:"coverage-factor" doc:"numbers disagree where they differ by more than so many standard deviations; left out: 3"`
	EntryLength units.Length `yaml:"entry-length-step" doc:"typed lengths are rounded to this; left out: 1 cm"`
	EntryAngle  units.Angle  `yaml:"entry-angle-step" doc:"typed angles are rounded to this; left out: 0.01 deg"`
}
