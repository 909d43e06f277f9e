// Package vectors reads tables of check values for tests: one JSON object a line, with inputs, expected values,
// tolerances and the source of each row.
//
// A test loads a table, works out each row and ends it with [Row.Done], which fails on every field that the test
// never looked at. So a table cannot grow a column that nobody checks. Read vectors.go first; nothing is to be added
// for a new table.
//
//	for _, row := range vectors.Load(t, "testdata/attitude_rates.jsonl") {
//		w := frame.BodyRate(...row.In(t, "heading_deg")...)
//		row.Check(t, "body_rate_right_dps", frame.Deg(w.X))
//		row.Done(t)
//	}
package vectors

import (
	"bufio"
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"slices"
	"testing"
)

// A Row is one line of a table.
type Row struct {
	ID        string               `json:"id"`
	Case      string               `json:"case"`
	Inputs    map[string]any       `json:"inputs"`
	Expected  map[string]any       `json:"expected"` // float64, string, bool, nil or []any of them
	Tolerance map[string]Tolerance `json:"tolerance"`
	Source    string               `json:"source"`
	Note      string               `json:"note"`

	seen map[string]bool // "inputs/name" and so on, of what the test looked at
}

// A Tolerance says how far a value may lie from the expected one: max(Abs, Rel·|expected|). The zero Tolerance is
// exact.
type Tolerance struct {
	Abs        float64   `json:"abs"`
	Rel        float64   `json:"rel"`
	PerTimeRel []float64 `json:"per_time_rel"` // Rel for each element of a list
	Wrap       float64   `json:"wrap"`         // a full turn, where values are compared round the circle
	Sign       string    `json:"sign"`         // "free": a list and its negative are the same
}

// Load reads the table at path. The test ends where the table cannot be read in full, has no rows, or has a row without
// id, source, expected values or a tolerance.
func Load(t testing.TB, path string) []Row {
	t.Helper()
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatalf("check values: %v", err)
	}
	rows, err := Parse(path, data)
	if err != nil {
		t.Fatalf("check values: %v", err)
	}
	return rows
}

// Parse reads a table from data; name is for its errors, which name the line.
func Parse(name string, data []byte) ([]Row, error) {
	var rows []Row
	ids := map[string]bool{}
	lines := bufio.NewScanner(bytes.NewReader(data))
	lines.Buffer(nil, 1<<20)
	for n := 1; lines.Scan(); n++ {
		if len(bytes.TrimSpace(lines.Bytes())) == 0 {
			continue
		}
		row := Row{seen: map[string]bool{}}
		d := json.NewDecoder(bytes.NewReader(lines.Bytes()))
		d.DisallowUnknownFields()
		if err := d.Decode(&row); err != nil {
			return nil, fmt.Errorf("%s:%d: %w", name, n, err)
		}
		switch {
		case row.ID == "" || ids[row.ID]:
			return nil, fmt.Errorf("%s:%d: id is %q, allowed: one that no other row has", name, n, row.ID)
		case row.Source == "":
			return nil, fmt.Errorf("%s:%d: %s has no source", name, n, row.ID)
		case len(row.Expected) == 0 || len(row.Tolerance) == 0:
			return nil, fmt.Errorf("%s:%d: %s lacks expected values or a tolerance", name, n, row.ID)
		}
		for field, tol := range row.Tolerance {
			if tol.Sign != "" && tol.Sign != "free" {
				return nil, fmt.Errorf("%s:%d: %s: sign of %s is %q, allowed: free", name, n, row.ID, field, tol.Sign)
			}
		}
		ids[row.ID] = true
		rows = append(rows, row)
	}
	if err := lines.Err(); err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	if len(rows) == 0 {
		return nil, fmt.Errorf("%s: no rows", name)
	}
	return rows, nil
}

// In returns the input of that name, a number.
func (r Row) In(t testing.TB, name string) float64 {
	t.Helper()
	v, ok := r.Inputs[name].(float64)
	if !ok {
		t.Fatalf("%s: input %s is %v, the test needs a number", r.ID, name, r.Inputs[name])
	}
	r.seen["inputs/"+name] = true
	return v
}

// InText returns the input of that name, a text; "" where the row has none.
func (r Row) InText(t testing.TB, name string) string {
	t.Helper()
	v, ok := r.Inputs[name]
	if !ok {
		return ""
	}
	s, ok := v.(string)
	if !ok {
		t.Fatalf("%s: input %s is %v, the test needs a text", r.ID, name, v)
	}
	r.seen["inputs/"+name] = true
	return s
}

// InList returns the input of that name, a list of numbers.
func (r Row) InList(t testing.TB, name string) []float64 {
	t.Helper()
	v, err := numbers(r.Inputs[name])
	if err != nil {
		t.Fatalf("%s: input %s: %v", r.ID, name, err)
	}
	r.seen["inputs/"+name] = true
	return v
}

// Has tells whether the row expects a value for field.
func (r Row) Has(field string) bool { _, ok := r.Expected[field]; return ok }

// Check compares got, one number or the elements of a list, with what the row expects for field, by the row's
// tolerance. It fails the test where the row does not expect field at all.
func (r Row) Check(t testing.TB, field string, got ...float64) {
	t.Helper()
	v, ok := r.Expected[field]
	if !ok {
		t.Errorf("%s: the row expects nothing for %s", r.ID, field)
		return
	}
	r.seen["expected/"+field] = true
	want, err := numbers(v)
	if err != nil {
		t.Errorf("%s: expected %s: %v", r.ID, field, err)
		return
	}
	if err := r.compare(field, got, want); err != nil {
		t.Error(err)
	}
}

// CheckText compares got with the text, number, bool or null the row expects for field, exactly.
func (r Row) CheckText(t testing.TB, field string, got any) {
	t.Helper()
	want, ok := r.Expected[field]
	if !ok {
		t.Errorf("%s: the row expects nothing for %s", r.ID, field)
		return
	}
	r.seen["expected/"+field] = true
	if fmt.Sprint(got) != fmt.Sprint(want) {
		t.Errorf("%s: %s is %v, want %v", r.ID, field, got, want)
	}
}

// CheckBack compares got with want by the row's tolerance for the way back, which the row names but expects no value
// for, such as inverse_rates.
func (r Row) CheckBack(t testing.TB, name string, got, want float64) {
	t.Helper()
	if _, ok := r.Tolerance[name]; !ok {
		t.Errorf("%s: no tolerance %s", r.ID, name)
		return
	}
	if !r.Within(name, got, want) {
		t.Errorf("%s: on the way back (%s): %v, want %v, tolerance %+v", r.ID, name, got, want, r.Tolerance[name])
	}
}

// Within tells whether got is near enough to want by the row's tolerance for field.
func (r Row) Within(field string, got, want float64) bool {
	return r.compare(field, []float64{got}, []float64{want}) == nil
}

// Done fails the test for each input and each expected value that it did not look at, and for each tolerance of its
// own name that it did not use. Call it at the end of a row.
func (r Row) Done(t testing.TB) {
	t.Helper()
	for _, left := range r.left() {
		t.Errorf("%s: the test does not use %s", r.ID, left)
	}
}

// left lists what no call has looked at, in order.
func (r Row) left() []string {
	var left []string
	note := func(kind, name string) {
		if !r.seen[kind+"/"+name] {
			left = append(left, kind+"/"+name)
		}
	}
	for name := range r.Inputs {
		note("inputs", name)
	}
	for name := range r.Expected {
		note("expected", name)
	}
	for name := range r.Tolerance {
		if name != "*" {
			note("tolerance", name)
		}
	}
	slices.Sort(left)
	return left
}

func (r Row) compare(field string, got, want []float64) error {
	tol, ok := r.Tolerance[field]
	if !ok {
		tol, ok = r.Tolerance["*"]
	}
	if !ok {
		return fmt.Errorf("%s: no tolerance for %s", r.ID, field)
	}
	if r.seen != nil {
		r.seen["tolerance/"+field] = true
	}
	if len(got) != len(want) {
		return fmt.Errorf("%s: %s has %d values, want %d", r.ID, field, len(got), len(want))
	}
	err := r.elements(field, tol, 1, got, want)
	if err != nil && tol.Sign == "free" && r.elements(field, tol, -1, got, want) == nil {
		return nil
	}
	return err
}

// elements compares sign·got with want, element by element.
func (r Row) elements(field string, tol Tolerance, sign float64, got, want []float64) error {
	for i := range want {
		d := sign*got[i] - want[i]
		if tol.Wrap > 0 {
			d = math.Remainder(d, tol.Wrap)
		}
		rel := tol.Rel
		if i < len(tol.PerTimeRel) {
			rel = tol.PerTimeRel[i]
		}
		allowed := max(tol.Abs, rel*math.Abs(want[i]))
		if !(math.Abs(d) <= allowed) { // so that NaN is never within
			return fmt.Errorf("%s (%s): %s[%d] is %.17g, want %.17g, off by %.3g, allowed: %.3g",
				r.ID, r.Case, field, i, got[i], want[i], d, allowed)
		}
	}
	return nil
}

// numbers reads a JSON number or a list of them.
func numbers(v any) ([]float64, error) {
	switch v := v.(type) {
	case float64:
		return []float64{v}, nil
	case []any:
		out := make([]float64, len(v))
		for i := range v {
			f, ok := v[i].(float64)
			if !ok {
				return nil, fmt.Errorf("element %d is %v, not a number", i, v[i])
			}
			out[i] = f
		}
		return out, nil
	}
	return nil, fmt.Errorf("%v is neither a number nor a list of numbers", v)
}
