package conformance

import (
	"errors"
	"fmt"
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"

	"swellbench/conformance/suites"
	"swellbench/emulator"
	"swellbench/scenarios"
	"swellbench/scenarios/library"
	"swellbench/scenarios/strictyaml"
)

// suiteFile is a suite as its file has it.
type suiteFile struct {
	About string     `yaml:"about" doc:"what the suite is for"`
	Cases []caseFile `yaml:"cases,required" doc:"each is played to a consumer of its own"`
}

// caseFile is one case of it.
type caseFile struct {
	Name     string      `yaml:"name,required" doc:"small letters, digits and hyphens; unique in the suite"`
	About    string      `yaml:"about" doc:"what the case brings to light"`
	Scenario scenarioRef `yaml:"scenario,required" doc:"what is played: a scenario, {file: ...} for one in another file, or the name of a ready-made one"`
	Checks   []checkID   `yaml:"checks,required" doc:"what the case is to prove"`
	// Keep is what the case is about.
	Keep []keep `yaml:"keep" doc:"what is not drawn anew when a suite is played with a seed, because the case is about it"`
	// Environment is what a computer elsewhere would have.
	Environment map[string]string `yaml:"environment" doc:"variables for the program, besides those of this process: {TZ: Asia/Kathmandu} is a computer in another time zone"`
}

// A checkID is the id of a row of [Checks].
type checkID string

// SchemaEnum lists the ids.
func (checkID) SchemaEnum() []string { return checkIDs() }

func checkIDs() []string {
	ids := make([]string, len(Checks))
	for i, c := range Checks {
		ids[i] = c.ID
	}
	return ids
}

// A scenarioRef is a scenario written out, or the name of a ready-made one.
type scenarioRef struct {
	scenario *scenarios.Scenario
	named    bool // its problems are located in a file of its own
}

// DecodeYAML reads either form.
func (r *scenarioRef) DecodeYAML(n strictyaml.Node) error {
	switch n.Kind() {
	case strictyaml.Mapping:
		r.scenario = scenarios.New()
		return n.Decode(r.scenario)
	case strictyaml.String:
		sc, err := library.Open(n.Text())
		if errors.Is(err, fs.ErrNotExist) {
			return n.Error(fmt.Sprintf("there is no ready-made scenario %s", strictyaml.Quote(n.Text())), strictyaml.Allowed(n.Text(), library.Names())+"; for a file write {file: name.yaml}")
		}
		r.scenario, r.named = sc, true
		return err
	}
	return n.Error("scenario is "+n.Kind().String(), "a scenario, {file: ...}, or the name of a ready-made scenario")
}

// SchemaOneOf lists the forms.
func (scenarioRef) SchemaOneOf() []any { return []any{scenarios.Scenario{}, ""} }

// SuiteSchema is the JSON Schema of suite files.
func SuiteSchema() ([]byte, error) { return strictyaml.Schema(suiteFile{}, "Swellbench suite") }

// LoadSuite reads a suite: a file, or a ready-made one by its name ([suites.Names]). The error names everything that
// is wrong with the suite and its scenarios, each with its place.
func LoadSuite(name string) (*Suite, error) {
	if slices.Contains(suites.Names(), name) {
		s, err := LoadSuiteFS(suites.FS, name+".yaml")
		if err == nil {
			s.readyMade = true
		}
		return s, err
	}
	if _, err := os.Stat(name); errors.Is(err, fs.ErrNotExist) && !strings.ContainsAny(name, `/\.`) {
		return nil, usagef("there is no ready-made suite %q and no such file; ready-made: %s", name, strings.Join(suites.Names(), ", "))
	}
	var f suiteFile
	doc, err := strictyaml.DecodeFile(name, &f)
	if err != nil {
		return nil, err
	}
	dir := filepath.Dir(name)
	return f.suite(name, doc, os.DirFS(dir), dir)
}

// LoadSuiteFS reads the suite in a file of fsys.
func LoadSuiteFS(fsys fs.FS, name string) (*Suite, error) {
	var f suiteFile
	doc, err := strictyaml.Decode(fsys, name, &f)
	if err != nil {
		return nil, err
	}
	return f.suite(name, doc, fsys, "")
}

// ParseSuite reads a suite from the bytes of a file of that name. It cannot pull in others.
func ParseSuite(name string, data []byte) (*Suite, error) {
	var f suiteFile
	doc, err := strictyaml.DecodeBytes(name, data, &f)
	if err != nil {
		return nil, err
	}
	return f.suite(name, doc, nil, "")
}

var variableName = regexp.MustCompile(`^[A-Za-z_][A-Za-z0-9_]*$`)

var caseName = regexp.MustCompile(`^[a-z0-9]+(-[a-z0-9]+)*$`)

// suite makes the suite of what was read, or tells all that is wrong. fsys is where files are that scenarios name, dir what
// stands before their names in places.
func (f *suiteFile) suite(name string, doc *strictyaml.Doc, fsys fs.FS, dir string) (*Suite, error) {
	base := filepath.Base(filepath.ToSlash(name))
	s := &Suite{Name: strings.TrimSuffix(base, filepath.Ext(base)), About: f.About}
	var ps []strictyaml.Problem
	problem := func(path, format string, args ...any) {
		ps = append(ps, strictyaml.Problem{Path: path, Text: fmt.Sprintf(format, args...)})
	}
	if len(f.Cases) == 0 {
		problem("cases", "there are no cases; give at least one")
	}
	seen := map[string]bool{}
	for i, c := range f.Cases {
		at := fmt.Sprintf("cases[%d]", i)
		switch {
		case !caseName.MatchString(c.Name):
			problem(at+".name", "name is %s; allowed: small letters, digits and single hyphens, such as swell-raw", strictyaml.Quote(c.Name))
		case seen[c.Name]:
			problem(at+".name", "there is another case %s; names are unique", c.Name)
		}
		seen[c.Name] = true
		if len(c.Checks) == 0 {
			problem(at+".checks", "there are no checks; a case that proves nothing is no case")
		}
		checks := make([]string, 0, len(c.Checks))
		for k, id := range c.Checks {
			if slices.Contains(checks, string(id)) {
				problem(fmt.Sprintf("%s.checks[%d]", at, k), "%s is there twice", id)
			}
			checks = append(checks, string(id))
		}
		var kept []string
		for k, word := range c.Keep {
			if !slices.Contains(word.SchemaEnum(), string(word)) {
				problem(fmt.Sprintf("%s.keep[%d]", at, k), "keep is %s; %s", strictyaml.Quote(string(word)), strictyaml.Allowed(string(word), word.SchemaEnum()))
			}
			kept = append(kept, string(word))
		}
		var environment []string
		for _, name := range slices.Sorted(maps.Keys(c.Environment)) {
			if value := c.Environment[name]; !variableName.MatchString(name) || name == markVariable || strings.ContainsRune(value, 0) {
				problem(at+".environment."+name, "%s is no variable that can be set; allowed: letters, digits and underscores, such as TZ, with a value without zero bytes", strictyaml.Quote(name))
			}
			environment = append(environment, name+"="+c.Environment[name])
		}
		sc := c.Scenario.scenario
		if !c.Scenario.named {
			sc.Name = c.Name
			var wrong []strictyaml.Problem
			if fsys != nil {
				file, _, _ := doc.Locate(at + ".scenario")
				if rel, err := filepath.Rel(dir, file); dir != "" && err == nil {
					file = rel
				}
				var err error
				if wrong, err = sc.ReadFiles(fsys, filepath.ToSlash(file)); err != nil {
					problem(at+".scenario", "%v", err)
				}
			}
			wrong = append(wrong, sc.Validate()...)
			if len(wrong) == 0 {
				wrong = deviceProblems(sc)
			}
			ps = append(ps, strictyaml.Under(at+".scenario", wrong)...)
		} else if _, err := emulator.New(sc); err != nil {
			problem(at+".scenario", "%v", err)
		}
		s.Cases = append(s.Cases, Case{Name: c.Name, About: c.About, Scenario: sc, Checks: checks, Keep: kept, Environment: environment})
	}
	if err := doc.Problems(ps); err != nil {
		return nil, err
	}
	return s, nil
}

// deviceProblems is what the emulator finds in a scenario that was read as a part of another file, so that it does not
// know its own places: each of its errors then reads "scenario: path: text".
func deviceProblems(sc *scenarios.Scenario) []strictyaml.Problem {
	_, err := emulator.New(sc)
	var ps []strictyaml.Problem
	for _, e := range flatten(err) {
		text := strings.TrimPrefix(e.Error(), "scenario: ")
		path, what, ok := strings.Cut(text, ": ")
		if !ok || strings.ContainsAny(path, " ") {
			path, what = "", text
		}
		ps = append(ps, strictyaml.Problem{Path: path, Text: what})
	}
	return ps
}

// flatten lists what errors.Join joined.
func flatten(err error) []error {
	if err == nil {
		return nil
	}
	if j, ok := err.(interface{ Unwrap() []error }); ok {
		var all []error
		for _, e := range j.Unwrap() {
			all = append(all, flatten(e)...)
		}
		return all
	}
	return []error{err}
}
