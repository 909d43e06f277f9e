package conformance

import (
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"swellbench/emulator"
	"swellbench/scenarios/strictyaml"
)

// A Profile says what a program supports, so that what does not apply to it is skipped with the reason, and not held
// against it: a file that its developers keep.
type Profile struct {
	Program    string   `yaml:"program" doc:"its name, for reports"`
	Command    []string `yaml:"command" doc:"how it is started, with the placeholders of check; taken where the command line gives no program"`
	Formats    []string `yaml:"formats" doc:"the formats of streams that it takes, such as nmea0183. Default: all"`
	Quantities []string `yaml:"quantities" doc:"what it delivers: position, heading, attitude, heave. Default: all"`
	Points     []string `yaml:"output-points" doc:"the points of the vessel for which it can deliver position and heave. Default: all"`
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
	if len(p.Command) > 0 && p.Command[0] == "" {
		ps = append(ps, strictyaml.Problem{Path: "command[0]", Text: "there is no program; the first word of the command is its path or name"})
	}
	return &p, doc.Problems(ps)
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

func skippedCheck(id, reason string) Result {
	return Result{Check: id, Outcome: Skipped, Summary: "skipped: " + reason, Reason: reason}
}
