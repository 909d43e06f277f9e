package conformance

import (
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"swellbench/conformance/compare"
	"swellbench/conformance/observe"
	"swellbench/emulator"
	"swellbench/scenarios/opt"
	"swellbench/scenarios/strictyaml"
	"swellbench/scenarios/units"
)

// A Profile says what a program supports, so that what does not apply to it is skipped with the reason, and not held
// against it: a file that its developers keep.
type Profile struct {
	form *observe.Map // Map, read

	Program    string   `yaml:"program" doc:"its name, for reports"`
	Command    []string `yaml:"command" doc:"how it is started, with the placeholders of check; taken where the command line gives no program"`
	Formats    []string `yaml:"formats" doc:"the formats of streams that it takes, such as nmea0183. Default: nmea0183 in ready-made suites, all in your own"`
	Quantities []string `yaml:"quantities" doc:"what it delivers: position, heading, attitude, heave. Default: all"`
	Points     []string `yaml:"output-points" doc:"the points of the vessel for which it can deliver position and heave. Default: all"`
	// Observations and Map are as in [Options].
	Observations string   `yaml:"observations" doc:"where it puts what it understood: output, file, pty, tcp or udp. Default: output, or the file {observations} where it is told one"`
	Map          string   `yaml:"map" doc:"the file, beside this one, that says how that becomes observations. Default: one JSON object a line"`
	Accuracy     Accuracy `yaml:"accuracy" doc:"how accurate its users need it to be. Default: as fine as the digits of the messages"`
}

// An Accuracy is how far off a program may be by its own doing: what the sensor and the messages cost comes on top. What is
// not there is judged by the digits of the messages.
type Accuracy struct {
	Position   *units.Length      `yaml:"position" doc:"each of north and east"`
	Height     *units.Length      `yaml:"height"`
	Heading    *units.Angle       `yaml:"heading"`
	Attitude   *units.Angle       `yaml:"attitude" doc:"each of pitch and roll"`
	Heave      *units.Length      `yaml:"heave"`
	Speed      *units.Speed       `yaml:"speed" doc:"over ground"`
	Course     *units.Angle       `yaml:"course" doc:"over ground"`
	RateOfTurn *units.AngularRate `yaml:"rate-of-turn"`
	Time       *units.Duration    `yaml:"time" doc:"of the stamps; values may then also be off by what they change within it"`
}

// mostTime is how far off a program may say that its stamps are, s: with more, nothing could be held against it.
const mostTime = 1

// declared is the accuracy in SI, and what is wrong with it.
func (a *Accuracy) declared() (d compare.Accuracy, wrong []strictyaml.Problem) {
	take := accuracyOf(&wrong)
	d.Position = take("position", value(a.Position))
	d.Height = take("height", value(a.Height))
	d.Heading = take("heading", value(a.Heading))
	d.Attitude = take("attitude", value(a.Attitude))
	d.Heave = take("heave", value(a.Heave))
	d.Speed = take("speed", value(a.Speed))
	d.Course = take("course", value(a.Course))
	d.RateOfTurn = take("rate-of-turn", value(a.RateOfTurn))
	d.TimeS = take("time", value(a.Time))
	if t, _ := d.TimeS.Value(); t > mostTime {
		wrong = append(wrong, strictyaml.Problem{Path: "accuracy.time", Text: fmt.Sprintf("time is %v; allowed: up to %v s, else no stamp could be wrong", *a.Time, mostTime)})
	}
	return d, wrong
}

// value is what a key holds, in SI, if it is there.
func value[T ~float64](p *T) opt.Opt[float64] {
	if p == nil {
		return opt.None[float64]()
	}
	return opt.Of(float64(*p))
}

// accuracyOf makes what takes one accuracy, and notes it if it is none.
func accuracyOf(wrong *[]strictyaml.Problem) func(key string, x opt.Opt[float64]) opt.Opt[float64] {
	return func(key string, x opt.Opt[float64]) opt.Opt[float64] {
		if v, ok := x.Value(); ok && !(v > 0) {
			*wrong = append(*wrong, strictyaml.Problem{Path: "accuracy." + key,
				Text: key + " is not more than zero; leave it out for the digits of the messages to count"})
		}
		return x
	}
}

// declared is what the program says of its accuracy.
func (p *Profile) declared() compare.Accuracy {
	if p == nil {
		return compare.Accuracy{}
	}
	d, _ := p.Accuracy.declared()
	return d
}

// profileQuantities is which check a quantity of a profile stands behind.
var profileQuantities = map[string][]string{
	"position": {"offset.lever-arm", "parse.hemisphere"},
	"heading":  {"offset.baseline"},
	"attitude": {"offset.mounting"},
	"heave":    {"offset.heave"},
}

// LoadProfile reads a profile.
func LoadProfile(path string) (*Profile, error) {
	return LoadProfileFS(os.DirFS(filepath.Dir(path)), filepath.Base(path))
}

// LoadProfileFS reads a profile from fsys.
func LoadProfileFS(fsys fs.FS, name string) (*Profile, error) {
	var p Profile
	doc, err := strictyaml.Decode(fsys, name, &p)
	if err != nil {
		return nil, err
	}
	var ps []strictyaml.Problem
	known := func(key string, list, allowed []string) {
		for i, x := range list {
			if !slices.Contains(allowed, x) {
				ps = append(ps, strictyaml.Problem{Path: fmt.Sprintf("%s[%d]", key, i), Text: fmt.Sprintf("%s is %s; %s", strings.TrimSuffix(strings.Replace(key, "ies", "ys", 1), "s"), strictyaml.Quote(x), strictyaml.Allowed(x, allowed))})
			}
		}
	}
	known("formats", p.Formats, emulator.Formats())
	known("quantities", p.Quantities, []string{"attitude", "heading", "heave", "position"})
	if way := p.Observations; way != "" && way != "output" && way != "file" && !slices.Contains(sourceWays, way) {
		allowed := append([]string{"output", "file"}, sourceWays...)
		ps = append(ps, strictyaml.Problem{Path: "observations", Text: fmt.Sprintf("observations is %s; %s", strictyaml.Quote(way), strictyaml.Allowed(way, allowed))})
	}
	if p.Map != "" {
		if p.form, err = observe.LoadMapFS(fsys, p.Map); err != nil {
			return nil, err
		}
	}
	if len(p.Command) > 0 && p.Command[0] == "" {
		ps = append(ps, strictyaml.Problem{Path: "command[0]", Text: "there is no program; the first word of the command is its path or name"})
	}
	_, wrong := p.Accuracy.declared()
	return &p, doc.Problems(append(ps, wrong...))
}

// SchemaProfile is the JSON Schema of profiles.
func SchemaProfile() ([]byte, error) { return strictyaml.Schema(Profile{}, "What a program supports") }

// skips is why a case does not apply to the program as a whole; "" if it does.
func (p *Profile) skips(c *Case) string {
	if p == nil || len(p.Formats) == 0 {
		return ""
	}
	for _, st := range c.Scenario.Streams {
		for _, m := range st.Messages {
			if f := st.FormatOf(m); !slices.Contains(p.Formats, f) {
				return fmt.Sprintf("the profile says that the program does not take %s", f)
			}
		}
	}
	return ""
}

// skipped is the result of a check that does not apply to the program, and false where it does.
func (p *Profile) skipped(c *Case, check string) (Result, bool) {
	if p == nil {
		return Result{}, false
	}
	for q, checks := range profileQuantities {
		if len(p.Quantities) > 0 && !slices.Contains(p.Quantities, q) && slices.Contains(checks, check) {
			return skippedCheck(check, fmt.Sprintf("the profile says that the program delivers no %s", q)), true
		}
	}
	if check == "offset.lever-arm" || check == "offset.heave" {
		if _, point := c.Scenario.Installation.ExpectedPoint(); len(p.Points) > 0 && !slices.Contains(p.Points, point) {
			return skippedCheck(check, fmt.Sprintf("the profile says that the program cannot deliver the point %s", point)), true
		}
	}
	return Result{}, false
}

// applied is the results with those skipped that do not apply to the program.
func (p *Profile) applied(c *Case, rs []Result) []Result {
	for i := range rs {
		if r, skip := p.skipped(c, rs[i].Check); skip {
			rs[i] = r
		}
	}
	return rs
}

func skippedCheck(id, reason string) Result {
	return Result{Check: id, Outcome: Skipped, Summary: "skipped: " + reason, Reason: reason}
}
