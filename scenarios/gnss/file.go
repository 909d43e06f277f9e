package gnss

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"path"

	"swellbench/scenarios/strictyaml"
)

// ReadAlmanac reads the almanac file that the section names, if it names one, from fsys; dir is the folder of the file
// that the section stands in. Problems have paths relative to the section.
func (s *Spec) ReadAlmanac(fsys fs.FS, dir string) []strictyaml.Problem {
	a := s.Almanac
	if a == nil || a.Path == "" {
		return nil
	}
	problem := func(format string, args ...any) []strictyaml.Problem {
		return []strictyaml.Problem{{Path: "almanac.path", Text: fmt.Sprintf(format, args...)}}
	}
	if a.Text != "" {
		return problem("there are a path and a text; give one of them")
	}
	name := path.Join(dir, a.Path)
	if path.IsAbs(a.Path) || !fs.ValidPath(name) {
		return problem("the almanac is %s; allowed: a file in the same folder or below", strictyaml.Quote(a.Path))
	}
	f, err := fsys.Open(name)
	if err == nil {
		defer f.Close()
		var b []byte
		if b, err = io.ReadAll(io.LimitReader(f, maxAlmanacBytes+1)); err == nil {
			if len(b) == 0 {
				return problem("the almanac %s is empty", strictyaml.Quote(a.Path))
			}
			spec := *a // the Spec may be shared with others
			spec.Text = string(b)
			s.Almanac = &spec
			return nil
		}
	}
	if pe := (*fs.PathError)(nil); errors.As(err, &pe) {
		err = pe.Err
	}
	return problem("the almanac %s cannot be read: %v", strictyaml.Quote(a.Path), err)
}
