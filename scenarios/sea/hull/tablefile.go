package hull

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"math"
	"path"
	"slices"
	"strconv"
	"strings"

	"swellbench/scenarios/strictyaml"
)

// Limits of a table, which is untrusted input.
const (
	maxTableBytes = 8 << 20
	maxTableRows  = 50000
	maxTableErrs  = 20
	maxGap        = 90 * math.Pi / 180 // between neighbouring directions
	maxAmplitude  = 1000.0             // m or rad per m
	minOmega      = 1e-4               // rad/s
	maxOmega      = 100.0              // rad/s
	maxPhase      = 1000 * math.Pi / 180
)

// ReadTable reads the table that the section names, from beside the file called name in fsys. It does nothing where the
// section names none. Errors are of type [*strictyaml.Error], joined.
func (s *Spec) ReadTable(fsys fs.FS, name string) error {
	if s.RAOTable == "" {
		return nil
	}
	file := path.Join(path.Dir(name), s.RAOTable)
	if !validName(s.RAOTable) || !fs.ValidPath(file) {
		return &strictyaml.Error{File: name, Path: "rao-table", Found: "rao-table is " + strictyaml.Quote(s.RAOTable), Allowed: "allowed: the name of a CSV file beside this one or below"}
	}
	f, err := fsys.Open(file)
	if err != nil {
		return &strictyaml.Error{File: file, Path: "rao-table", Found: "the table of responses cannot be opened: " + err.Error()}
	}
	defer f.Close()
	t, err := ReadTable(f, file)
	if err == nil {
		s.Table = t
	}
	return err
}

// ReadTable reads a table of responses; name is for its errors. The first line that is no comment (#) names the columns,
// with their units; each further one is a wave. In any order:
//
//	frequency [rad/s]      of the wave, also [Hz]; or period [s]
//	direction [deg]        where the wave comes from: 0 from astern, 90 from starboard, 180 from ahead, 270 or -90 from
//	                       port; also [rad]
//	surge [m/m], sway [m/m], heave [m/m], roll [deg/m], pitch [deg/m], yaw [deg/m]
//	                       amplitude per metre of the wave's amplitude, signs as in package frame; angles also [rad/m]
//	surge phase [deg], ... by what it leads the elevation at midship; "surge lag" instead by what it lags; also [rad]
//
// Each frequency must be there in each direction. A table of one side only is mirrored. Errors are of type
// [*strictyaml.Error] with line and column, joined; no input causes a panic.
func ReadTable(r io.Reader, name string) (*Table, error) {
	data, err := io.ReadAll(io.LimitReader(r, maxTableBytes+1))
	if err != nil {
		return nil, &strictyaml.Error{File: name, Found: "the table of responses cannot be read: " + err.Error()}
	}
	if len(data) > maxTableBytes {
		return nil, &strictyaml.Error{File: name, Found: "the table of responses is too large", Allowed: fmt.Sprintf("allowed: %d MiB", maxTableBytes>>20)}
	}
	p := &tableReader{name: name, csv: csv.NewReader(bytes.NewReader(bytes.TrimPrefix(data, []byte("\ufeff"))))}
	p.csv.Comment, p.csv.TrimLeadingSpace, p.csv.ReuseRecord = '#', true, true
	p.csv.FieldsPerRecord = -1 // counted here, to tell of all lines at once
	t := p.read()
	if len(p.errs) > 0 {
		if p.more > 0 {
			p.errs = append(p.errs, fmt.Errorf("and %d more", p.more))
		}
		return nil, errors.Join(p.errs...)
	}
	return t, nil
}

type tableReader struct {
	name    string
	csv     *csv.Reader
	columns []column
	errs    []error
	more    int
}

// A column says what one column of the file holds.
type column struct {
	name    string // as in columnNames
	what    int    // place in a row: frequency, direction, then amplitude and lead of each degree of freedom
	factor  float64
	inverse bool // a period
	min     float64
	max     float64
	unit    string
}

// A row is one wave of the file, in rad/s, rad, and amplitude and lead of each degree of freedom.
type row [2 + 2*6]float64

type tableRow struct {
	row
	line int
}

func (p *tableReader) fail(line, col int, found, allowed string) {
	if len(p.errs) >= maxTableErrs {
		p.more++
		return
	}
	p.errs = append(p.errs, &strictyaml.Error{File: p.name, Line: line, Col: col, Found: found, Allowed: allowed})
}

func (p *tableReader) read() *Table {
	var rows []tableRow
	for {
		fields, err := p.csv.Read()
		if err == io.EOF {
			break
		}
		if err != nil {
			line, col := 1, 1
			if e, ok := errors.AsType[*csv.ParseError](err); ok {
				line, col, err = e.Line, e.Column, e.Err
			}
			p.fail(line, col, "the table is no CSV here: "+err.Error(), "")
			return nil
		}
		line, _ := p.csv.FieldPos(0)
		if p.columns == nil {
			p.header(fields)
			if len(p.errs) > 0 {
				return nil
			}
			continue
		}
		if len(rows) == maxTableRows {
			p.fail(line, 1, fmt.Sprintf("the table has more than %d rows", maxTableRows), "")
			return nil
		}
		if r, ok := p.row(line, fields); ok {
			rows = append(rows, tableRow{r, line})
		}
	}
	switch {
	case p.columns == nil:
		p.fail(1, 1, "the table is empty", "its first line names the columns, such as frequency [rad/s], direction [deg], heave [m/m], heave phase [deg]")
	case len(p.errs) == 0:
		return p.build(rows)
	}
	return nil
}

// header reads the names of the columns and their units.
func (p *tableReader) header(fields []string) {
	seen := map[int]string{}
	for i, f := range fields {
		line, col := p.csv.FieldPos(i)
		c, found, allowed := parseColumn(f)
		if found != "" {
			p.fail(line, col, found, allowed)
			p.columns = append(p.columns, column{})
			continue
		}
		if other, twice := seen[c.what]; twice {
			p.fail(line, col, "column "+strictyaml.Quote(f)+" says the same as "+strictyaml.Quote(other), "leave one out")
		}
		seen[c.what] = f
		p.columns = append(p.columns, c)
	}
	line, _ := p.csv.FieldPos(0)
	for what := range len(row{}) {
		if _, ok := seen[what]; !ok {
			p.fail(line, 1, "there is no column "+placeName(what), "add one such as "+placeExample(what))
		}
	}
}

func placeName(what int) string {
	switch {
	case what == 0:
		return "frequency"
	case what == 1:
		return "direction"
	case what%2 == 0:
		return Names[what/2-1]
	}
	return Names[what/2-1] + " phase"
}

func placeExample(what int) string {
	switch {
	case what == 0:
		return "frequency [rad/s]"
	case what%2 == 1:
		return placeName(what) + " [deg]"
	case what/2-1 < Roll:
		return placeName(what) + " [m/m]"
	}
	return placeName(what) + " [deg/m]"
}

var (
	angles      = map[string]float64{"deg": math.Pi / 180, "rad": 1}
	turns       = map[string]float64{"deg/m": math.Pi / 180, "rad/m": 1}
	shifts      = map[string]float64{"m/m": 1}
	frequencies = map[string]float64{"rad/s": 1, "hz": 2 * math.Pi}
	periods     = map[string]float64{"s": 1}
)

// parseColumn reads one field of the header; found is "" where it is sound.
func parseColumn(field string) (c column, found, allowed string) {
	name, unit, ok := strings.Cut(strings.ToLower(field), "[")
	unit, closed := strings.CutSuffix(strings.TrimSpace(unit), "]")
	name, unit = strings.Join(strings.Fields(name), " "), strings.TrimSpace(unit)
	if !ok || !closed {
		return c, "column " + strictyaml.Quote(field) + " has no unit", "write it in brackets, such as heave [m/m]"
	}
	c = column{name: name, factor: 1, unit: unit}
	var units map[string]float64
	dof, kind, _ := strings.Cut(name, " ")
	n := slices.Index(Names[:], dof)
	switch {
	case name == "frequency":
		units, c.min, c.max = frequencies, minOmega, maxOmega
	case name == "period":
		units, c.inverse, c.min, c.max = periods, true, 2*math.Pi/maxOmega, 2*math.Pi/minOmega
	case name == "direction":
		units, c.what, c.min, c.max = angles, 1, -2*math.Pi, 2*math.Pi
	case n >= 0 && kind == "":
		if units = shifts; n >= Roll {
			units = turns
		}
		c.what, c.max = 2+2*n, maxAmplitude
	case n >= 0 && (kind == "phase" || kind == "lag"):
		units, c.what, c.min, c.max = angles, 3+2*n, -maxPhase, maxPhase
	default:
		var words []string
		words = append(words, "frequency", "period", "direction")
		for _, d := range Names {
			words = append(words, d, d+" phase", d+" lag")
		}
		return c, "there is a column " + strictyaml.Quote(name), strictyaml.Allowed(name, words)
	}
	factor, known := units[unit]
	if !known {
		var words []string
		for u := range units {
			words = append(words, strings.Replace(u, "hz", "Hz", 1))
		}
		slices.Sort(words)
		return c, fmt.Sprintf("the unit of %s is %s", name, strictyaml.Quote(unit)), "allowed: " + strings.Join(words, ", ")
	}
	c.factor = factor
	if kind == "lag" {
		c.factor = -factor
	}
	return c, "", ""
}

// row reads the numbers of one line.
func (p *tableReader) row(line int, fields []string) (r row, ok bool) {
	if len(fields) != len(p.columns) {
		p.fail(line, 1, fmt.Sprintf("the line has %d fields", len(fields)), fmt.Sprintf("the header has %d", len(p.columns)))
		return r, false
	}
	ok = true
	for i, f := range fields {
		c := p.columns[i]
		at, col := p.csv.FieldPos(i)
		v, err := strconv.ParseFloat(strings.TrimSpace(f), 64)
		if err != nil || math.IsNaN(v) || math.IsInf(v, 0) {
			p.fail(at, col, c.name+" is "+strictyaml.Quote(f), "allowed: a number in "+c.unit+", with a decimal point")
			ok = false
			continue
		}
		si := v * c.factor
		if slack := 1e-12 * c.max; !(si >= c.min-slack && si <= c.max+slack) { // the rounding of 360 deg in rad
			p.fail(at, col, fmt.Sprintf("%s is %g %s", c.name, v, c.unit), c.bounds())
			ok = false
			continue
		}
		if c.inverse {
			si = 2 * math.Pi / si
		}
		r[c.what] = si
	}
	return r, ok
}

// bounds words the limits of a column in its own unit.
func (c column) bounds() string {
	low, high := c.min/math.Abs(c.factor), c.max/math.Abs(c.factor)
	return fmt.Sprintf("allowed: %.4g %s to %.4g %s", low, c.unit, high, c.unit)
}

// build makes the grid of the rows, and tells of what is missing or twice.
func (p *tableReader) build(rows []tableRow) *Table {
	t := &Table{}
	for i := range rows {
		a := circle(rows[i].row[1])
		if 2*math.Pi-a < sameAngle {
			a = 0
		}
		rows[i].row[1] = a
		t.omegas = append(t.omegas, rows[i].row[0])
		t.directions = append(t.directions, rows[i].row[1])
	}
	t.omegas = distinct(t.omegas, func(x float64) float64 { return 1e-9 * x })
	t.directions = distinct(t.directions, func(float64) float64 { return sameAngle })
	if len(t.omegas) < 2 {
		p.fail(1, 1, fmt.Sprintf("the table has %d frequencies", len(t.omegas)), "allowed: two or more")
		return nil
	}
	if cells := len(t.omegas) * len(t.directions); cells > maxTableRows {
		p.fail(1, 1, fmt.Sprintf("the table has %d rows, %d frequencies and %d directions", len(rows), len(t.omegas), len(t.directions)),
			fmt.Sprintf("allowed: each frequency in each direction, %d rows at most", maxTableRows))
		return nil
	}
	lines := make([][]int, len(t.directions))
	for d := range lines {
		lines[d] = make([]int, len(t.omegas))
		t.values = append(t.values, make([]Response, len(t.omegas)))
	}
	for _, r := range rows {
		d, i := nearest(t.directions, r.row[1]), nearest(t.omegas, r.row[0])
		if other := lines[d][i]; other != 0 {
			p.fail(r.line, 1, fmt.Sprintf("direction %.6g deg at %.6g rad/s is here and in line %d", t.directions[d]*180/math.Pi, t.omegas[i], other), "leave one out")
		}
		lines[d][i] = r.line
		for n := range 6 {
			t.values[d][i][n] = ofLead(r.row[2+2*n], r.row[3+2*n])
		}
	}
	for d := range lines {
		for i, line := range lines[d] {
			if line == 0 {
				p.fail(rows[len(rows)-1].line, 1, fmt.Sprintf("direction %.6g deg at %.6g rad/s is missing", t.directions[d]*180/math.Pi, t.omegas[i]), "each frequency must be there in each direction")
			}
		}
	}
	if len(p.errs) > 0 {
		return nil
	}
	if oneSided(t.directions) {
		t.mirror()
	}
	for d, a := range t.directions {
		next := t.directions[0] + 2*math.Pi
		if d+1 < len(t.directions) {
			next = t.directions[d+1]
		}
		if next-a > maxGap+sameAngle {
			p.fail(rows[len(rows)-1].line, 1, fmt.Sprintf("there is no direction between %.4g and %.4g deg", a*180/math.Pi, math.Mod(next*180/math.Pi, 360)), "allowed: gaps of at most 90 deg, 30 or less are better")
		}
	}
	if len(p.errs) > 0 {
		return nil
	}
	t.judge()
	return t
}

// distinct sorts, and makes one of what is within slack.
func distinct(xs []float64, slack func(float64) float64) []float64 {
	slices.Sort(xs)
	return slices.CompactFunc(xs, func(a, b float64) bool { return math.Abs(a-b) <= slack(b) })
}

// nearest finds the place in xs, ascending, that is nearest to x.
func nearest(xs []float64, x float64) int {
	i, _ := slices.BinarySearch(xs, x)
	if i == len(xs) || i > 0 && x-xs[i-1] < xs[i]-x {
		i--
	}
	return i
}
