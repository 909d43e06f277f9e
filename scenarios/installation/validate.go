package installation

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"

	"swellbench/scenarios/strictyaml"
	"swellbench/scenarios/units"
)

// The bounds of what is taken for an honest value. Common practice, no source: the longest ship ever built was 458 m,
// and what is beyond these is a slip of the decimal point or of the unit.
const (
	maxLever        = 1000  // m, of any point from the vessel reference point
	maxSize         = 1000  // m, of the vessel
	maxDisplacement = 1e9   // kg
	minBaseline     = 0.001 // m, below which two antennas stand at one place
	fullTurn        = 2*math.Pi + 1e-9
	quarterTurn     = math.Pi/2 + 1e-9
)

// problems gathers what is wrong.
type problems []strictyaml.Problem

func (ps *problems) add(path, format string, args ...any) {
	*ps = append(*ps, strictyaml.Problem{Path: path, Text: fmt.Sprintf(format, args...)})
}

// Validate returns all that cannot be right, with paths from the installation on; none where all may be. It changes
// nothing.
func (in *Installation) Validate() []strictyaml.Problem {
	var ps problems
	in.validateVessel(&ps)
	in.validatePoints(&ps)
	in.Mounting.validate(&ps, "mounting")
	in.validateEntered(&ps)
	if name := in.Expected.OutputPoint; name != "" {
		in.known(&ps, "expected-of-consumer.output-point", name)
	}
	return ps
}

func (in *Installation) validateVessel(ps *problems) {
	for _, d := range []struct {
		name string
		v    units.Length
	}{{"length", in.Vessel.Length}, {"breadth", in.Vessel.Breadth}, {"draught", in.Vessel.Draught}} {
		if !(d.v >= 0 && d.v <= maxSize) {
			ps.add("vessel."+d.name, "%s of the vessel is %s; allowed: 0 m to %d m", d.name, d.v.In("m"), maxSize)
		}
	}
	if d := in.Vessel.Displacement; !(d >= 0 && d <= maxDisplacement) {
		ps.add("vessel.displacement", "displacement of the vessel is %s; allowed: 0 t to %.0f t", d.In("t"), maxDisplacement/1000)
	}
}

func (in *Installation) validatePoints(ps *problems) {
	if _, ok := in.Points[Sensor]; !ok {
		ps.add("points", "there is no point %s; add %s: [right, forward, up], where the device is", Sensor, Sensor)
	}
	for _, name := range in.Names() {
		v, path := in.Points[name], strictyaml.JoinPath("points", name)
		switch {
		case name == "":
			ps.add(path, "a point has an empty name; give it one")
		case name == "file":
			ps.add(path, "a point is called file, which in a file pulls in another one; give it another name")
		case name == Reference && v != Vector{}:
			ps.add(path, "the point %s is %s; it is [0 m, 0 m, 0 m] always: leave it out, or give this point another name", Reference, v)
		default:
			near(ps, path, "the point "+strictyaml.Quote(name), v)
		}
	}
	if b, ok := in.Baseline(); ok && !(r3.Norm(b) >= minBaseline) {
		ps.add(strictyaml.JoinPath("points", AntennaSecondary), "%s stands where %s does, so the baseline has no direction; correct one, or leave out %s",
			AntennaSecondary, AntennaPrimary, AntennaSecondary)
	}
}

func (in *Installation) validateEntered(ps *problems) {
	e := in.Entered
	if e.Mounting != nil {
		e.Mounting.validate(ps, "entered.mounting")
	}
	in.validatePlace(ps, "entered.sensor", "the sensor entered", e.Sensor)
	in.validatePlace(ps, "entered.output-point", "the output point entered", e.OutputPoint)
	if a := e.Antennas; a != nil {
		if words := a.Axes.SchemaEnum(); a.Axes != "" && !slices.Contains(words, string(a.Axes)) {
			ps.add("entered.antennas.axes", "axes is %s; %s", strictyaml.Quote(string(a.Axes)), strictyaml.Allowed(string(a.Axes), words))
		}
		if words := a.From.SchemaEnum(); a.From != "" && !slices.Contains(words, string(a.From)) {
			ps.add("entered.antennas.from", "from is %s; %s", strictyaml.Quote(string(a.From)), strictyaml.Allowed(string(a.From), words))
		}
		in.validatePlace(ps, "entered.antennas.primary", "the primary antenna entered", a.Primary)
		in.validatePlace(ps, "entered.antennas.secondary", "the secondary antenna entered", a.Secondary)
		s := in.Settings()
		p, ok1 := s.Primary.Value()
		q, ok2 := s.Secondary.Value()
		if ok1 && ok2 && r3.Norm(r3.Sub(p, q)) < minBaseline {
			ps.add("entered.antennas.secondary", "the secondary antenna is entered where the primary is, so the baseline has no direction; correct one, or leave it out")
		}
	}
	if b := e.Baseline; b != nil {
		angle(ps, "entered.baseline.azimuth", "baseline azimuth", b.Azimuth, fullTurn)
		angle(ps, "entered.baseline.elevation", "baseline elevation", b.Elevation, quarterTurn)
		if !(b.Length >= minBaseline && b.Length <= maxLever) {
			ps.add("entered.baseline.length", "baseline length is %s; allowed: %s to %d m", b.Length.In("m"), units.Length(minBaseline), maxLever)
		}
	}
}

// validatePlace checks a place that may be nil.
func (in *Installation) validatePlace(ps *problems, path, what string, p *Place) {
	switch {
	case p == nil:
	case p.Name != "":
		in.known(ps, path, p.Name)
	default:
		near(ps, path, what, p.Vector)
	}
}

// known checks that there is a point of that name.
func (in *Installation) known(ps *problems, path, name string) {
	if _, ok := in.Point(name); !ok {
		ps.add(path, "there is no point %s; %s", strictyaml.Quote(name), strictyaml.Allowed(name, append(in.Names(), Reference)))
	}
}

// near checks that a vector is no longer than a lever arm may be.
func near(ps *problems, path, what string, v Vector) {
	if d := r3.Norm(v.Vec()); !(d <= maxLever) {
		ps.add(path, "%s is %.4g m from its origin; allowed: %d m at most, so look at units and decimal points", what, d, maxLever)
	}
}

func (m Mounting) validate(ps *problems, path string) {
	angle(ps, path+".heading", "mounting heading", m.Heading, fullTurn)
	angle(ps, path+".pitch", "mounting pitch", m.Pitch, fullTurn)
	angle(ps, path+".roll", "mounting roll", m.Roll, fullTurn)
}

func angle(ps *problems, path, what string, a units.Angle, limit float64) {
	if !(math.Abs(float64(a)) <= limit) {
		whole := math.Round(limit * 180 / math.Pi)
		ps.add(path, "%s is %s; allowed: %.0f deg to %.0f deg", what, a.In("deg"), -whole, whole)
	}
}
