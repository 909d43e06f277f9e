package track

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	slash "path"

	"swellbench/scenarios/strictyaml"
)

// Limits of a file of way-points.
const (
	maxRouteBytes  = 4 << 20
	maxRoutePoints = 10000
)

// Resolve reads the files that routes name, so that [Spec.Validate] and [New] know their way-points. It must be called
// before these, and again after a change of the file system only. Names are relative to the folder that dirOf gives for
// the path of a part of the section, such as "manoeuvres[2].route"; nil means the root of fsys. Names that lead out of
// fsys are refused. It returns what is wrong, with paths relative to the section.
func (s *Spec) Resolve(fsys fs.FS, dirOf func(path string) string) []strictyaml.Problem {
	var ps []strictyaml.Problem
	for i := range s.Manoeuvres {
		r := s.Manoeuvres[i].Route
		if r == nil || (r.CSV == "") == (r.GPX == "") {
			continue
		}
		at, dir := fmt.Sprintf("manoeuvres[%d].route", i), "."
		if dirOf != nil {
			dir = dirOf(at)
		}
		points, err := r.load(fsys, dir)
		r.points, r.read = points, true // where it is wrong, once is enough
		if err != nil {
			ps = append(ps, strictyaml.Problem{Path: at + "." + r.key(), Text: err.Error()})
		}
	}
	return ps
}

// load reads the file of the route.
func (r *Route) load(fsys fs.FS, dir string) ([]routePoint, error) {
	name := r.CSV + r.GPX
	full := slash.Join(dir, name)
	if slash.IsAbs(name) || !fs.ValidPath(full) {
		return nil, fmt.Errorf("the file %s lies outside the folder of the scenario; allowed: a file in it or below, with / between folders", strictyaml.Quote(name))
	}
	data, err := readRoute(fsys, full)
	if err != nil {
		return nil, fmt.Errorf("the file %s cannot be read: %w; name a file of way-points", strictyaml.Quote(name), err)
	}
	if r.GPX != "" {
		return parseGPX(name, data, r.Name)
	}
	return parseCSV(name, data)
}

// readRoute reads a file of bounded size.
func readRoute(fsys fs.FS, name string) ([]byte, error) {
	if info, err := fs.Stat(fsys, name); err == nil && !info.Mode().IsRegular() { // a pipe would be waited for
		return nil, errors.New("it is no ordinary file")
	}
	f, err := fsys.Open(name)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, errors.New("there is no such file")
	} else if pe := (*fs.PathError)(nil); errors.As(err, &pe) {
		return nil, pe.Err
	} else if err != nil {
		return nil, err
	}
	defer f.Close()
	data, err := io.ReadAll(io.LimitReader(f, maxRouteBytes+1))
	if err == nil && len(data) > maxRouteBytes {
		err = fmt.Errorf("it is larger than %d bytes", maxRouteBytes)
	}
	return data, err
}

// A fileError is something wrong with a file of way-points.
type fileError struct {
	name      string
	line, col int // 0: of the whole file
	text      string
}

func (e *fileError) Error() string {
	where := e.name
	if e.line > 0 {
		where += fmt.Sprintf(":%d", e.line)
	}
	if e.col > 0 {
		where += fmt.Sprintf(":%d", e.col)
	}
	return where + ": " + e.text
}

func tooMany(name string, line int) error {
	return &fileError{name, line, 0, fmt.Sprintf("there are too many way-points; allowed: at most %d", maxRoutePoints)}
}
