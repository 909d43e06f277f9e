package scenarios

import (
	"errors"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"strings"

	"swellbench/scenarios/strictyaml"
)

// New returns a scenario with the defaults of a file that says nothing. It lacks what a file must say, so it is not
// valid yet. Whoever decodes a scenario as a part of a larger file starts with it.
func New() *Scenario { return &Scenario{Start: Start{Now: true}} }

// Load reads the scenario in a file of the operating system. Files that it pulls in lie in the same folder or below.
// The error names everything that is wrong, each with its place.
func Load(name string) (*Scenario, error) {
	dir, base := filepath.Split(name)
	if dir == "" {
		dir = "."
	}
	s, err := LoadFS(os.DirFS(dir), base)
	if pe := (*fs.PathError)(nil); errors.As(err, &pe) && pe.Path == base {
		return nil, &fs.PathError{Op: pe.Op, Path: name, Err: pe.Err}
	}
	return s, err
}

// LoadFS reads the scenario in a file of fsys.
func LoadFS(fsys fs.FS, name string) (*Scenario, error) {
	s := New()
	doc, err := strictyaml.Decode(fsys, name, s)
	if err == nil {
		var ps []strictyaml.Problem
		if ps, err = s.readFiles(fsys, name); err == nil {
			err = doc.Problems(ps)
		}
	}
	return s.finish(name, doc, err)
}

// ReadFiles reads the files that a scenario names which was read as a part of the file name of fsys, such as its layouts,
// and returns what is wrong with them.
func (s *Scenario) ReadFiles(fsys fs.FS, name string) ([]strictyaml.Problem, error) {
	return s.readFiles(fsys, name)
}

// Parse reads a scenario from the bytes of a file of that name. It cannot pull in others.
func Parse(name string, data []byte) (*Scenario, error) {
	s := New()
	doc, err := strictyaml.DecodeBytes(name, data, s)
	return s.finish(name, doc, err)
}

// finish validates what was read.
func (s *Scenario) finish(name string, doc *strictyaml.Doc, err error) (*Scenario, error) {
	if err != nil {
		return nil, err
	}
	base := path.Base(filepath.ToSlash(name))
	s.Name = strings.TrimSuffix(base, path.Ext(base))
	s.doc = doc
	if err := s.Problems(s.Validate()); err != nil {
		return nil, err
	}
	return s, nil
}

// Problems gives each problem its place in the file and joins them to one error, nil where there are none. Through it
// the emulator reports what only it can know: messages, formats and faults that do not exist.
func (s *Scenario) Problems(ps []strictyaml.Problem) error {
	if s.doc != nil {
		return s.doc.Problems(ps)
	}
	var errs []error // a scenario that no file was read for
	for _, p := range ps {
		errs = append(errs, errors.New("scenario: "+p.Path+": "+p.Text))
	}
	return errors.Join(errs...)
}
