package hull

import (
	"fmt"
	"math"
	"path"

	"swellbench/scenarios/installation"
	"swellbench/scenarios/strictyaml"
	"swellbench/scenarios/units"
)

// What is taken where a file says nothing, and the bounds of what it may say.
const (
	seaWater       = 1025.0 // kg/m³; common practice, no source
	guessedBlock   = 0.55   // of workboats and survey vessels 0.45 to 0.65; common practice, no source
	guessedGM      = 0.08   // of the breadth, commonly 0.05 to 0.12; common practice, no source
	guessedDamping = 0.08   // of critical: 0.02 to 0.05 bare, 0.05 to 0.10 with bilge keels, more for chines; common practice, no source

	minSize, maxSize       = 0.5, 1000.0 // m, of length and breadth
	minDraught             = 0.05        // m
	minGM, maxGM           = 0.01, 100.0 // m
	minPeriod, maxPeriod   = 0.5, 120.0  // s
	minDamping, maxDamping = 0.005, 2.0
	minBlock, maxBlock     = 0.1, 1.0
)

// A Spec is the `hull:` section of a scenario file: what of the vessel the waves act on, besides the size that the
// installation gives. Its zero value leaves all to estimates, see [Spec.Particulars].
type Spec struct {
	GM          *units.Length   `yaml:"gm" doc:"metacentric height, of which the natural period of roll follows. Default: 8 % of the breadth, an estimate"`
	RollPeriod  *units.Duration `yaml:"roll-period" doc:"natural period of roll. Default: from gm, by the formula of the IMO weather criterion"`
	RollDamping *float64        `yaml:"roll-damping" doc:"fraction of critical damping: bare hulls 0.02 to 0.05, with bilge keels 0.05 to 0.10. Default: 0.08, an estimate"`
	// RAOTable names a CSV file; it replaces the closed forms for all six degrees of freedom.
	RAOTable string `yaml:"rao-table" doc:"name of a CSV file with the vessel's own responses (RAO), beside this one: columns frequency, direction, and amplitude and phase of all six degrees of freedom, with their units. Default: closed forms from the size of the vessel"`

	// Table is what RAOTable holds; [Spec.ReadTable] fills it.
	Table *Table `yaml:"-"`
}

// Particulars is what the closed forms go by, estimates included.
type Particulars struct {
	Box         Box
	GMM         float64 // m; what the period says where only that is given
	RollPeriodS float64 // natural period of roll, s
	RollDamping float64 // fraction of critical
	Estimated   []string
}

// Particulars completes what the file says by estimates, and names those: "block coefficient", "metacentric height",
// "roll period", "roll damping".
//
// The block coefficient is displacement/(1025 kg/m³ · length · breadth · draught). The roll period is
//
//	T = 2·C·B/√GM,  C = 0.373 + 0.023·B/T − 0.043·L/100
//
// Source: IMO, International Code on Intact Stability 2008 (MSC.267(85)), part A, 2.3.4; what stands for a missing
// metacentric height, block coefficient or damping is common practice, no source.
func (s Spec) Particulars(v installation.Vessel) Particulars {
	p := Particulars{
		Box:         Box{Length: float64(v.Length), Breadth: float64(v.Breadth), Draught: float64(v.Draught), Block: guessedBlock},
		RollDamping: guessedDamping,
	}
	guess := func(what string) { p.Estimated = append(p.Estimated, what) }
	if v.Displacement > 0 {
		p.Box.Block = block(v)
	} else {
		guess("block coefficient")
	}
	c := inertiaFactor(v) * p.Box.Breadth * 2
	switch {
	case s.RollPeriod != nil && s.GM != nil:
		p.RollPeriodS, p.GMM = float64(*s.RollPeriod), float64(*s.GM)
	case s.RollPeriod != nil:
		p.RollPeriodS = float64(*s.RollPeriod)
		p.GMM = (c / p.RollPeriodS) * (c / p.RollPeriodS)
		guess("metacentric height")
	case s.GM != nil:
		p.GMM = float64(*s.GM)
		p.RollPeriodS = c / math.Sqrt(p.GMM)
		guess("roll period")
	default:
		p.GMM = guessedGM * p.Box.Breadth
		p.RollPeriodS = c / math.Sqrt(p.GMM)
		guess("metacentric height")
		guess("roll period")
	}
	if s.RollDamping != nil {
		p.RollDamping = *s.RollDamping
	} else {
		guess("roll damping")
	}
	return p
}

func block(v installation.Vessel) float64 {
	return float64(v.Displacement) / (seaWater * float64(v.Length) * float64(v.Breadth) * float64(v.Draught))
}

// inertiaFactor is C of the roll period. Vessels beyond those that the formula was made from are held at its edge.
func inertiaFactor(v installation.Vessel) float64 {
	return max(0.3, 0.373+0.023*float64(v.Breadth)/float64(v.Draught)-0.043*float64(v.Length)/100)
}

// Validate returns all that is wrong, with paths relative to the section.
func (s Spec) Validate() []strictyaml.Problem {
	var ps []strictyaml.Problem
	add := func(path, format string, args ...any) {
		ps = append(ps, strictyaml.Problem{Path: path, Text: fmt.Sprintf(format, args...)})
	}
	if g := s.GM; g != nil && !(float64(*g) >= minGM && float64(*g) <= maxGM) {
		add("gm", "metacentric height is %v; allowed: %g m to %g m, and with less the vessel does not stay upright", g.In("m"), minGM, maxGM)
	}
	if t := s.RollPeriod; t != nil && !(float64(*t) >= minPeriod && float64(*t) <= maxPeriod) {
		add("roll-period", "natural period of roll is %v; allowed: %g s to %g s", t.In("s"), minPeriod, maxPeriod)
	}
	if d := s.RollDamping; d != nil && !(*d >= minDamping && *d <= maxDamping) {
		add("roll-damping", "roll damping is %g of critical; allowed: %g to %g, commonly 0.05 to 0.1", *d, minDamping, maxDamping)
	}
	if s.RAOTable == "" {
		return ps
	}
	if !validName(s.RAOTable) {
		add("rao-table", "rao-table is %s; allowed: the name of a CSV file beside this one or below, such as raos.csv", strictyaml.Quote(s.RAOTable))
	}
	if s.GM != nil || s.RollPeriod != nil || s.RollDamping != nil {
		add("rao-table", "there are gm, roll-period or roll-damping as well as a table of responses; the table says all: leave them out, or the table")
	}
	return ps
}

func validName(name string) bool {
	return path.Clean(name) == name && !path.IsAbs(name) && name != "." && name != ".." && !(len(name) > 2 && name[:3] == "../")
}

// ValidateVessel returns what the closed forms lack of the vessel, with paths relative to the `vessel:` section of the
// installation. A table of responses needs nothing of it.
func (s Spec) ValidateVessel(v installation.Vessel) []strictyaml.Problem {
	if s.RAOTable != "" || s.Table != nil {
		return nil
	}
	var ps []strictyaml.Problem
	sound := true
	for _, d := range []struct {
		name     string
		v        units.Length
		min, max float64
	}{{"length", v.Length, minSize, maxSize}, {"breadth", v.Breadth, minSize, maxSize}, {"draught", v.Draught, minDraught, maxSize}} {
		if !(float64(d.v) >= d.min && float64(d.v) <= d.max) {
			sound = false
			ps = append(ps, strictyaml.Problem{Path: d.name, Text: fmt.Sprintf(
				"%s of the vessel is %v; the response to waves needs one of %g m to %g m, or the vessel's own table of responses (rao-table)", d.name, d.v.In("m"), d.min, d.max)})
		}
	}
	if sound && v.Displacement != 0 {
		if b := block(v); !(b >= minBlock && b <= maxBlock) {
			most := float64(v.Displacement) / b
			ps = append(ps, strictyaml.Problem{Path: "displacement", Text: fmt.Sprintf(
				"displacement of the vessel is %v, a block coefficient of %.3g with this length, breadth and draught in sea water; allowed: %g to %g, which is %.4g t to %.4g t",
				v.Displacement.In("t"), b, minBlock, maxBlock, minBlock*most/1000, maxBlock*most/1000)})
		}
	}
	return ps
}

// Warnings tells of what is possible but unlikely, and of estimates, with paths relative to the section. It expects a
// section and a vessel without problems.
func (s Spec) Warnings(v installation.Vessel) []strictyaml.Problem {
	var ps []strictyaml.Problem
	add := func(path, format string, args ...any) {
		ps = append(ps, strictyaml.Problem{Path: path, Text: fmt.Sprintf(format, args...)})
	}
	if s.RAOTable != "" || s.Table != nil {
		if s.Table != nil {
			for _, w := range s.Table.Warnings() {
				add("rao-table", "%s", w)
			}
		}
		return ps
	}
	if len(s.ValidateVessel(v)) > 0 || len(s.Validate()) > 0 {
		return nil
	}
	p := s.Particulars(v)
	if s.GM == nil && s.RollPeriod == nil {
		add("", "neither gm nor roll-period is given; estimated: a metacentric height of %.2f m and a natural period of roll of %.1f s", p.GMM, p.RollPeriodS)
	}
	if s.GM != nil && s.RollPeriod != nil {
		byGM := 2 * inertiaFactor(v) * p.Box.Breadth / math.Sqrt(p.GMM)
		if r := p.RollPeriodS / byGM; r > 1.5 || r < 1/1.5 {
			add("roll-period", "natural period of roll is %v, but a metacentric height of %v makes it about %.1f s; the period is taken", s.RollPeriod.In("s"), s.GM.In("m"), byGM)
		}
	}
	if d := p.RollDamping; d < 0.02 || d > 0.4 {
		add("roll-damping", "roll damping is %g of critical, commonly 0.02 to 0.2", d)
	}
	if b := p.Box.Block; b < 0.3 || b > 0.95 {
		add("", "the vessel's block coefficient is %.2f, commonly 0.35 to 0.9; see length, breadth, draught and displacement", b)
	}
	if r := p.Box.Length / p.Box.Breadth; r < 2 || r > 12 {
		add("", "the vessel is %.1f times as long as broad, commonly 2.5 to 9", r)
	}
	if r := p.Box.Breadth * p.Box.Block / p.Box.Draught; r > 8 {
		add("", "the vessel's breadth times block coefficient is %.1f times her draught, beyond what the closed forms for heave and pitch were made for", r)
	}
	return ps
}
