package installation

import (
	"fmt"

	"gonum.org/v1/gonum/spatial/r3"

	"swellbench/scenarios/frame"
	"swellbench/scenarios/strictyaml"
	"swellbench/scenarios/units"
)

// Names of points that have a meaning of their own. Any other name is the user's.
const (
	Reference        = "reference" // the vessel reference point, always known
	Sensor           = "sensor"    // the device; required
	AntennaPrimary   = "antenna-primary"
	AntennaSecondary = "antenna-secondary"
)

// An Installation is one installation file. Its zero value lacks the point "sensor"; see [Installation.Validate].
type Installation struct {
	Vessel   Vessel            `yaml:"vessel" doc:"main dimensions of the vessel"`
	Points   map[string]Vector `yaml:"points,required" doc:"named places on the vessel: [right, forward, up] from the vessel reference point"`
	Mounting Mounting          `yaml:"mounting" doc:"how the device really stands relative to the vessel; left out: aligned with it"`
	Entered  Entered           `yaml:"entered" doc:"what was typed into the device; left out: nothing, raw output"`
	Expected Expected          `yaml:"expected-of-consumer" doc:"what the consumer must still apply"`
}

// Vessel is the size of the vessel; what is zero is not known.
type Vessel struct {
	Length       units.Length `yaml:"length" doc:"overall"`
	Breadth      units.Length `yaml:"breadth" doc:"overall"`
	Draught      units.Length `yaml:"draught" doc:"of the hull, below the waterline"`
	Displacement units.Mass   `yaml:"displacement" doc:"mass of the vessel as loaded"`
}

// A Vector is [right, forward, up].
type Vector [3]units.Length

// Vec gives the vector in m.
func (v Vector) Vec() r3.Vec {
	return r3.Vec{X: float64(v[0]), Y: float64(v[1]), Z: float64(v[2])}
}

// VectorOf makes a Vector of m.
func VectorOf(v r3.Vec) Vector {
	return Vector{units.Length(v.X), units.Length(v.Y), units.Length(v.Z)}
}

// Mounting is how the device stands relative to the vessel. The zero value is aligned with it.
type Mounting struct {
	Heading units.Angle `yaml:"heading" doc:"positive: turned clockwise, seen from above"`
	Pitch   units.Angle `yaml:"pitch" doc:"positive: the device's forward axis is raised"`
	Roll    units.Angle `yaml:"roll" doc:"positive: the device's right axis is lowered"`
}

// Rotation turns a vector along device axes into one along vessel axes.
func (m Mounting) Rotation() frame.Rotation {
	return frame.Attitude{Heading: float64(m.Heading), Pitch: float64(m.Pitch), Roll: float64(m.Roll)}.Rotation()
}

// Entered is what was typed into the device. What is nil was not.
type Entered struct {
	Mounting    *Mounting `yaml:"mounting" doc:"entered: the device reports attitude of the vessel, else of its own axes"`
	Antennas    *Antennas `yaml:"antennas" doc:"antenna positions as typed"`
	Baseline    *Baseline `yaml:"baseline" doc:"from primary to secondary antenna, along vessel axes; goes before what the antenna positions say"`
	Sensor      *Place    `yaml:"sensor" doc:"position of the device as typed: a point's name, or [right, forward, up] from the vessel reference point; left out: the actual one"`
	OutputPoint *Place    `yaml:"output-point" doc:"where position, velocity and heave are reported for, once antennas.primary is entered: a point's name, or [right, forward, up] from the vessel reference point"`
}

// Antennas is the antenna positions as typed. Axes and From say what the vectors mean; the name of a point means where
// that point really is.
type Antennas struct {
	Axes      Axes   `yaml:"axes" doc:"along which axes typed distances run; left out: vessel"`
	From      Origin `yaml:"from" doc:"where typed distances begin; left out: reference"`
	Primary   *Place `yaml:"primary" doc:"a point's name, or [right, forward, up]"`
	Secondary *Place `yaml:"secondary" doc:"a point's name, or [right, forward, up]"`
}

// Axes is along which axes typed distances run. "" is [VesselAxes].
type Axes string

// The axes.
const (
	VesselAxes Axes = "vessel"
	DeviceAxes Axes = "device" // as the device believes: by the mounting entered, along vessel axes where none is
)

// SchemaEnum lists the allowed words.
func (Axes) SchemaEnum() []string { return []string{string(VesselAxes), string(DeviceAxes)} }

// Origin is where typed distances begin. "" is [FromReference].
type Origin string

// The origins.
const (
	FromReference Origin = "reference"
	FromSensor    Origin = "sensor" // as the device believes: the sensor entered, the actual one where none is
)

// SchemaEnum lists the allowed words.
func (Origin) SchemaEnum() []string { return []string{string(FromReference), string(FromSensor)} }

// A Place is a point's name, or a vector where Name is "".
type Place struct {
	Name   string
	Vector Vector
}

// DecodeYAML reads a name or [right, forward, up].
func (p *Place) DecodeYAML(n strictyaml.Node) error {
	switch {
	case n.Kind() == strictyaml.Sequence:
		return n.Decode(&p.Vector)
	case n.Kind() == strictyaml.String && n.Text() != "":
		p.Name = n.Text()
		return nil
	}
	return n.Error(fmt.Sprintf("a place is %s", n.Kind()), "allowed: the name of a point, or [right, forward, up] such as [0.35 m, -1.80 m, 0.60 m]")
}

// SchemaOneOf lists what a place may be written as.
func (Place) SchemaOneOf() []any { return []any{"", Vector{}} }

// Baseline is the vector from primary to secondary antenna along vessel axes, as typed.
type Baseline struct {
	Azimuth   units.Angle  `yaml:"azimuth,required" doc:"from forward towards right"`
	Elevation units.Angle  `yaml:"elevation" doc:"above the lateral plane"`
	Length    units.Length `yaml:"length,required" doc:"from antenna to antenna, in a straight line"`
}

// Vec gives the vector in m right, forward, up.
func (b Baseline) Vec() r3.Vec {
	return frame.Baseline{Azimuth: float64(b.Azimuth), Elevation: float64(b.Elevation), Length: float64(b.Length)}.Vec()
}

// Expected is what the consumer must still apply.
type Expected struct {
	// OutputPoint names the point whose position, velocity and heave the consumer delivers; "" is [Reference].
	OutputPoint string `yaml:"output-point" doc:"name of the point that the consumer delivers position, velocity and heave of; left out: reference"`
}
