package vectors

import (
	"math"
	"slices"
	"strings"
	"testing"
)

const line = `{"id":"a-1","case":"c","inputs":{"x":1,"l":[1,2],"s":"up"},"expected":{"v":10,"h":359.9,"q":[0.5,-0.5],` +
	`"e":3,"s":"ok","n":null,"p":[1,100]},"tolerance":{"*":{"abs":0.1},"v":{"abs":0.5,"rel":0.1},"h":{"abs":0.2,"wrap":360},` +
	`"q":{"abs":0.01,"sign":"free"},"e":{"abs":0},"p":{"abs":0.5,"per_time_rel":[0,0.1]},"back":{"abs":2}},"source":"worked by hand"}`

func row(t *testing.T) Row {
	t.Helper()
	rows, err := Parse("table", []byte(line+"\n\n"))
	if err != nil || len(rows) != 1 {
		t.Fatalf("Parse: %d rows, %v", len(rows), err)
	}
	return rows[0]
}

func TestTolerances(t *testing.T) {
	r := row(t)
	for _, c := range []struct {
		field     string
		got, want []float64
		ok        bool
	}{
		{"v", []float64{11}, []float64{10}, true}, // rel outweighs abs
		{"v", []float64{11.01}, []float64{10}, false},
		{"v", []float64{math.NaN()}, []float64{10}, false},
		{"h", []float64{0.05}, []float64{359.9}, true}, // round the circle
		{"h", []float64{0.15}, []float64{359.9}, false},
		{"q", []float64{-0.5, 0.5}, []float64{0.5, -0.5}, true},
		{"q", []float64{-0.5, -0.5}, []float64{0.5, -0.5}, false}, // one sign for the whole list
		{"q", []float64{0.5}, []float64{0.5, -0.5}, false},
		{"e", []float64{3}, []float64{3}, true},
		{"e", []float64{math.Nextafter(3, 4)}, []float64{3}, false},
		{"p", []float64{1.5, 110}, []float64{1, 100}, true},
		{"p", []float64{1.6, 100}, []float64{1, 100}, false},
		{"other", []float64{1.05}, []float64{1}, true}, // by the default
		{"other", []float64{1.2}, []float64{1}, false},
	} {
		if err := r.compare(c.field, c.got, c.want); (err == nil) != c.ok {
			t.Errorf("%s: %v against %v: %v, want ok %v", c.field, c.got, c.want, err, c.ok)
		}
	}
	delete(r.Tolerance, "*")
	if err := r.compare("other", []float64{1}, []float64{1}); err == nil {
		t.Error("a field without any tolerance was accepted")
	}
}

func TestLeft(t *testing.T) {
	r := row(t)
	want := []string{"expected/e", "expected/h", "expected/n", "expected/p", "expected/q", "expected/s", "expected/v",
		"inputs/l", "inputs/s", "inputs/x",
		"tolerance/back", "tolerance/e", "tolerance/h", "tolerance/p", "tolerance/q", "tolerance/v"}
	if got := r.left(); !slices.Equal(got, want) {
		t.Errorf("left of an untouched row: %v, want %v", got, want)
	}
	_, _, _ = r.In(t, "x"), r.InList(t, "l"), r.InText(t, "s")
	r.Check(t, "v", 10)
	r.Check(t, "h", 0)
	r.Check(t, "q", -0.5, 0.5)
	r.Check(t, "e", 3)
	r.Check(t, "p", 1, 100)
	r.CheckText(t, "s", "ok")
	r.CheckText(t, "n", nil)
	r.CheckBack(t, "back", 3, 1)
	r.Done(t)
	if got := r.left(); len(got) != 0 {
		t.Errorf("left of a row that was used up: %v", got)
	}
}

func TestParseRefuses(t *testing.T) {
	for _, c := range []struct{ name, data, want string }{
		{"empty", "\n", "table: no rows"},
		{"unknown key", strings.Replace(line, `"case"`, `"kase"`, 1), `table:1: json: unknown field "kase"`},
		{"unknown tolerance", strings.Replace(line, `{"abs":2}`, `{"absolute":2}`, 1), `unknown field "absolute"`},
		{"unknown sign", strings.Replace(line, `"free"`, `"none"`, 1), `sign of q is "none", allowed: free`},
		{"no source", strings.Replace(line, "worked by hand", "", 1), "table:1: a-1 has no source"},
		{"twice", line + "\n" + line, `table:2: id is "a-1"`},
		{"no expectation", `{"id":"a","source":"s"}`, "lacks expected values"},
	} {
		if _, err := Parse("table", []byte(c.data)); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: error %v, want %q", c.name, err, c.want)
		}
	}
}
