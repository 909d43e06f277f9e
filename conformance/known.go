package conformance

import (
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"

	"swellbench/scenarios/strictyaml"
)

// Known are the checks that are expected to fail for now: a file that a project keeps while it repairs them.
type Known struct {
	Failing []KnownFailing `yaml:"failing,required" doc:"the checks that are expected to fail"`

	doc *strictyaml.Doc
}

// A KnownFailing is one of them.
type KnownFailing struct {
	Case    string `yaml:"case,required" doc:"name of the case"`
	Check   string `yaml:"check,required" doc:"id of the check"`
	Because string `yaml:"because" doc:"for people, such as the number of a ticket"`
}

// LoadKnown reads such a file.
func LoadKnown(path string) (*Known, error) {
	return LoadKnownFS(os.DirFS(filepath.Dir(path)), filepath.Base(path))
}

// LoadKnownFS reads such a file from fsys.
func LoadKnownFS(fsys fs.FS, name string) (*Known, error) {
	var k Known
	doc, err := strictyaml.Decode(fsys, name, &k)
	if err != nil {
		return nil, err
	}
	k.doc = doc
	var ps []strictyaml.Problem
	for i, f := range k.Failing {
		at := fmt.Sprintf("failing[%d]", i)
		if _, ok := CheckByID(f.Check); !ok {
			var ids []string
			for _, c := range Checks {
				ids = append(ids, c.ID)
			}
			ps = append(ps, strictyaml.Problem{Path: at + ".check", Text: fmt.Sprintf("there is no check %s; %s", strictyaml.Quote(f.Check), strictyaml.Allowed(f.Check, ids))})
		}
		if j := slices.IndexFunc(k.Failing[:i], func(g KnownFailing) bool { return g.Case == f.Case && g.Check == f.Check }); j >= 0 {
			ps = append(ps, strictyaml.Problem{Path: at, Text: fmt.Sprintf("%s of %s is there already; remove one of the two", f.Check, f.Case)})
		}
	}
	return &k, doc.Problems(ps)
}

// SchemaKnown is the JSON Schema of such files.
func SchemaKnown() ([]byte, error) {
	return strictyaml.Schema(Known{}, "Checks that are known to fail")
}

// Apply marks in the verdict what is known to fail, and returns, each with its place in the file, the lines that no longer
// hold: the check passes now. Cases that the verdict does not have, but the suite has, are left alone; names that the suite
// does not have are an error, located.
func (k *Known) Apply(v *Verdict) (stale []string, err error) {
	var ps []strictyaml.Problem
	for i, f := range k.Failing {
		at := fmt.Sprintf("failing[%d]", i)
		if !slices.Contains(v.Whole, f.Case) {
			ps = append(ps, strictyaml.Problem{Path: at + ".case", Text: fmt.Sprintf("the suite %s has no case %s; %s", v.Suite, strictyaml.Quote(f.Case), strictyaml.Allowed(f.Case, v.Whole))})
			continue
		}
		c := slices.IndexFunc(v.Cases, func(c CaseResult) bool { return c.Name == f.Case })
		if c < 0 {
			continue
		}
		r := slices.IndexFunc(v.Cases[c].Results, func(r Result) bool { return r.Check == f.Check })
		if r < 0 {
			ps = append(ps, strictyaml.Problem{Path: at + ".check", Text: fmt.Sprintf("the case %s does not ask for %s; remove the line", f.Case, f.Check)})
			continue
		}
		switch res := &v.Cases[c].Results[r]; res.Outcome {
		case Failed:
			res.Known = "known to fail"
			if f.Because != "" {
				res.Known += ": " + f.Because
			}
		case Passed:
			file, line, _ := k.doc.Locate(at)
			stale = append(stale, fmt.Sprintf("%s:%d: %s passes in %s now; delete this line", file, line, f.Check, f.Case))
		}
	}
	v.Stale = stale
	return stale, k.doc.Problems(ps)
}
