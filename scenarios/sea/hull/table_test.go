package hull

import (
	"errors"
	"fmt"
	"math"
	"math/cmplx"
	"strings"
	"testing"
	"testing/fstest"

	"swellbench/scenarios/installation"
	"swellbench/scenarios/strictyaml"
)

const header = "frequency [rad/s],direction [deg],surge [m/m],surge phase [deg],sway [m/m],sway phase [deg],heave [m/m],heave phase [deg]," +
	"roll [deg/m],roll phase [deg],pitch [deg/m],pitch phase [deg],yaw [deg/m],yaw phase [deg]\n"

// tabulate writes the responses of a hull in waves from the directions in deg.
func tabulate(h *Hull, directions, omegas []float64) string {
	var b strings.Builder
	b.WriteString(header)
	for _, d := range directions {
		for _, w := range omegas {
			fmt.Fprintf(&b, "%.17g,%.17g", w, d)
			for n, r := range h.At(w, deep(w, gravity), 0, d*degree) {
				amplitude := cmplx.Abs(r)
				if n >= Roll {
					amplitude /= degree
				}
				fmt.Fprintf(&b, ",%.17g,%.17g", amplitude, Lead(r)/degree)
			}
			b.WriteByte('\n')
		}
	}
	return b.String()
}

func steps(from, to, step float64) (s []float64) {
	for i := range int(math.Round((to-from)/step)) + 1 {
		s = append(s, from+float64(i)*step)
	}
	return s
}

func read(t testing.TB, text string) *Table {
	t.Helper()
	table, err := ReadTable(strings.NewReader(text), "raos.csv")
	if err != nil {
		t.Fatal(err)
	}
	return table
}

// dense is a hull by a table of another.
func dense(t testing.TB, h *Hull) *Hull {
	t.Helper()
	made, err := New(Spec{RAOTable: "raos.csv", Table: read(t, tabulate(h, steps(0, 180, 10), steps(0.1, 2, 0.02)))}, installation.Vessel{})
	if err != nil {
		t.Fatal(err)
	}
	return made
}

// A table of half the directions says the same as the hull that it was written of, on both sides, at its points exactly,
// and in between nearly.
func TestTableOfAHull(t *testing.T) {
	h := named(t, "A")
	table := dense(t, h)
	for beta := -180.0; beta <= 540; beta += 5 {
		for omega := 0.1; omega < 2; omega += 0.01 {
			k := deep(omega, gravity)
			want, got := h.At(omega, k, 0, beta*degree), table.At(omega, k, 0, beta*degree)
			for n := range want {
				allowed := 0.04
				if n >= Roll { // 3 % of the largest roll, of which the peak of resonance loses most between its points
					allowed = 0.03 * 14 * degree
				}
				if cmplx.Abs(got[n]-want[n]) > allowed {
					t.Errorf("%g rad/s, beta %g: %s is %v, want %v", omega, beta, Names[n], got[n], want[n])
				}
			}
		}
	}
	for _, beta := range []float64{0, 10, 90, 180, 190, 270, -10, -90} {
		omega := 0.1 + 0.02*17
		want, got := h.At(omega, deep(omega, gravity), 0, beta*degree), table.At(omega, 0.1, 4, beta*degree)
		for n := range want {
			if cmplx.Abs(got[n]-want[n]) > 1e-12 {
				t.Errorf("beta %g: %s is %v, want %v", beta, Names[n], got[n], want[n])
			}
		}
	}
}

// The same table however it is written: units, lags for phases, order of rows and columns, all directions.
func TestWaysToWrite(t *testing.T) {
	h := named(t, "A")
	plain := read(t, tabulate(h, steps(0, 180, 30), steps(0.2, 1.4, 0.2)))
	full := read(t, tabulate(h, steps(-150, 180, 30), steps(0.2, 1.4, 0.2)))
	port := read(t, tabulate(h, steps(180, 360, 30), steps(0.2, 1.4, 0.2)))
	var b strings.Builder
	b.WriteString("\ufeff# made up for a test\n HEAVE lag [rad] , heave [m/m],period [s],direction [rad],surge [m/m],surge phase [deg],sway [m/m],sway phase [deg]," +
		"yaw [rad/m],yaw phase [deg],pitch [rad/m],pitch phase [deg],roll [ Rad/m ],roll phase [deg]\r\n")
	for _, omega := range steps(0.2, 1.4, 0.2) {
		for _, d := range steps(0, 180, 30) {
			r := h.At(omega, deep(omega, gravity), 0, d*degree)
			fmt.Fprintf(&b, "%.17g, %.17g, %.17g, %.17g", -Lead(r[Heave]), cmplx.Abs(r[Heave]), 2*math.Pi/omega, d*degree)
			for _, n := range []int{Surge, Sway, Yaw, Pitch, Roll} {
				fmt.Fprintf(&b, ",%.17g,%.17g", cmplx.Abs(r[n]), Lead(r[n])/degree+360)
			}
			b.WriteString("\r\n")
		}
	}
	other := read(t, b.String())
	hertz := read(t, strings.Replace(tabulate(h, steps(0, 180, 30), steps(0.2, 1.4, 0.2)), "rad/s", "Hz", 1))
	for beta := -3.1; beta < 3.2; beta += 0.1 {
		for omega := 0.1; omega < 2; omega += 0.03 {
			want := plain.At(omega, beta)
			for name, got := range map[string]Response{"full": full.At(omega, beta), "port": port.At(omega, beta), "other": other.At(omega, beta), "hertz": hertz.At(omega*2*math.Pi, beta)} {
				for n := range want {
					if cmplx.Abs(got[n]-want[n]) > 1e-9 {
						t.Errorf("%s, %g rad/s, beta %g: %s is %v, want %v", name, omega, beta, Names[n], got[n], want[n])
					}
				}
			}
		}
	}
}

// line writes a row of heave only.
func line(omega, direction, heave, phase float64) string {
	return fmt.Sprintf("%g,%g,0,0,0,0,%g,%g,0,0,0,0,0,0\n", omega, direction, heave, phase)
}

// Values in between, worked by hand.
func TestInBetween(t *testing.T) {
	table := read(t, header+
		line(0.5, 0, 1, 170)+line(1, 0, 1, -170)+ // round ±180°
		line(0.5, 90, 2, 0)+line(1, 90, 1, 180)+ // through zero, at 2/3 of the way
		line(0.5, 180, 1, 0)+line(1, 180, 1, 0)+
		line(0.5, 270, 4, 0)+line(1, 270, 4, 0))
	for _, c := range []struct {
		omega, beta float64
		want        complex128
	}{
		{0.5, 0, ofLead(1, 170*degree)},
		{0.75, 0, complex(-math.Cos(10*degree), 0)},
		{0.5 + 0.5*2/3, 90, 0},
		{0.5, 45, (ofLead(1, 170*degree) + 2) / 2},
		{0.5, 315, (ofLead(1, 170*degree) + 4) / 2}, // between the last direction and the first
		{0.5, -18, 0.2*4 + 0.8*ofLead(1, 170*degree)},
		{0.75, 225, 2.5},
		{0.25, 180, 1}, {0.25, 270, 1 + 3.0/4}, {0, 0, 0}, // towards heave 1 with the square
		{2, 270, 4.0 / 16}, {100, 270, 4e-8},
	} {
		if got := table.At(c.omega, c.beta*degree)[Heave]; cmplx.Abs(got-c.want) > 1e-12 {
			t.Errorf("%g rad/s, beta %g: heave is %v, want %v", c.omega, c.beta, got, c.want)
		}
	}
	low := table.At(1e-9, 30*degree) // below the table: on the surface, with the water's orbit
	want := Response{Surge: complex(0, math.Cos(30*degree)), Sway: complex(0, -0.5), Heave: 1}
	for n := range want {
		if cmplx.Abs(low[n]-want[n]) > 1e-12 {
			t.Errorf("in long waves %s is %v, want %v", Names[n], low[n], want[n])
		}
	}
	if low, high := table.Range(); low != 0.5 || high != 1 {
		t.Errorf("from %g to %g", low, high)
	}
	for _, c := range [][2]float64{{math.NaN(), 0}, {math.Inf(1), 0}, {-1, 0}, {1, math.NaN()}, {1, math.Inf(-1)}} {
		if got := table.At(c[0], c[1]); got != (Response{}) {
			t.Errorf("%v: %v, want nothing", c, got)
		}
	}
}

func TestTableErrors(t *testing.T) {
	rows := line(0.5, 0, 1, 0) + line(1, 0, 1, 0) + line(0.5, 90, 1, 0) + line(1, 90, 1, 0) + line(0.5, 180, 1, 0) + line(1, 180, 1, 0)
	cut := func(old, new string) string { return strings.Replace(header+rows, old, new, 1) }
	for _, c := range []struct{ name, text, want string }{
		{"empty", "", "raos.csv:1:1: the table is empty; its first line names the columns, such as frequency [rad/s], direction [deg], heave [m/m], heave phase [deg]"},
		{"no unit", cut("heave [m/m]", "heave"), "raos.csv:1:93: column heave has no unit; write it in brackets, such as heave [m/m]\n" +
			"raos.csv:1:1: there is no column heave; add one such as heave [m/m]"},
		{"unit", cut("roll [deg/m]", "roll [ft/m]"), "raos.csv:1:123: the unit of roll is ft/m; allowed: deg/m, rad/m\n" +
			"raos.csv:1:1: there is no column roll; add one such as roll [deg/m]"},
		{"unknown", cut("yaw phase", "yaw fase"), `raos.csv:1:197: there is a column yaw fase; did you mean yaw phase? allowed: frequency, period, direction, surge, surge phase, surge lag, ` +
			`sway, sway phase, sway lag, heave, heave phase, heave lag, roll, roll phase, roll lag, pitch, pitch phase, pitch lag, yaw, yaw phase, yaw lag` + "\n" +
			"raos.csv:1:1: there is no column yaw phase; add one such as yaw phase [deg]"},
		{"twice", cut("direction [deg]", "period [s]"), "raos.csv:1:19: column period [s] says the same as frequency [rad/s]; leave one out\n" +
			"raos.csv:1:1: there is no column direction; add one such as direction [deg]"},
		{"no number", cut("0.5,90,0,0", "0.5,90,O,0x1p-2"), "raos.csv:4:8: surge is O; allowed: a number in m/m, with a decimal point"},
		{"not finite", cut("0.5,90,0,0", "0.5,90,NaN,inf"), "raos.csv:4:8: surge is NaN; allowed: a number in m/m, with a decimal point\n" +
			"raos.csv:4:12: surge phase is inf; allowed: a number in deg, with a decimal point"},
		{"negative", cut("0.5,90,0,0", "0.5,90,-1,0"), "raos.csv:4:8: surge is -1 m/m; allowed: 0 m/m to 1000 m/m"},
		{"frequency", cut("0.5,90,0,0", "0,90,0,0"), "raos.csv:4:1: frequency is 0 rad/s; allowed: 0.0001 rad/s to 100 rad/s"},
		{"direction", cut("0.5,90,0,0", "0.5,900,0,0"), "raos.csv:4:5: direction is 900 deg; allowed: -360 deg to 360 deg"},
		{"phase", cut("0.5,90,0,0", "0.5,90,0,2000"), "raos.csv:4:10: surge phase is 2000 deg; allowed: -1000 deg to 1000 deg"},
		{"fields", header + "0.5,90\n", "raos.csv:2:1: the line has 2 fields; the header has 14"},
		{"quote", header + "0.5,\"90\n", `raos.csv:2:9: the table is no CSV here: extraneous or missing " in quoted-field`},
		{"missing", header + strings.Replace(rows, line(1, 90, 1, 0), "", 1), "raos.csv:6:1: direction 90 deg at 1 rad/s is missing; each frequency must be there in each direction"},
		{"double", header + rows + line(1, 90, 1, 0), "raos.csv:8:1: direction 90 deg at 1 rad/s is here and in line 5; leave one out"},
		{"round the circle", header + rows + line(1, -270, 1, 0), "raos.csv:8:1: direction 90 deg at 1 rad/s is here and in line 5; leave one out"},
		{"gap", header + line(0.5, 0, 1, 0) + line(1, 0, 1, 0) + line(0.5, 180, 1, 0) + line(1, 180, 1, 0),
			"raos.csv:5:1: there is no direction between 0 and 180 deg; allowed: gaps of at most 90 deg, 30 or less are better\n" +
				"raos.csv:5:1: there is no direction between 180 and 0 deg; allowed: gaps of at most 90 deg, 30 or less are better"},
		{"no rows", header, "raos.csv:1:1: the table has 0 frequencies; allowed: two or more"},
		{"one frequency", header + line(0.5, 0, 1, 0), "raos.csv:1:1: the table has 1 frequencies; allowed: two or more"},
	} {
		_, err := ReadTable(strings.NewReader(c.text), "raos.csv")
		if err == nil || err.Error() != c.want {
			t.Errorf("%s:\n%v\nwant:\n%s", c.name, err, c.want)
		}
		if _, ok := errors.AsType[*strictyaml.Error](err); !ok {
			t.Errorf("%s: error is no strictyaml.Error", c.name)
		}
	}
}

// What would take all memory is refused, and a file full of errors tells of some.
func TestTableIsBounded(t *testing.T) {
	var b strings.Builder
	b.WriteString(header)
	for i := range 1000 {
		b.WriteString(line(0.5+float64(i)*1e-3, float64(i)*0.3, 1, 0))
	}
	if _, err := ReadTable(strings.NewReader(b.String()), "raos.csv"); err == nil || !strings.Contains(err.Error(), "1000 frequencies and 1000 directions; allowed: each frequency in each direction, 50000 rows at most") {
		t.Errorf("a diagonal: %v", err)
	}
	if _, err := ReadTable(strings.NewReader(header+strings.Repeat("x\n", 100)), "raos.csv"); err == nil || !strings.HasSuffix(err.Error(), "\nand 80 more") {
		t.Errorf("100 errors: %v", err)
	}
	if _, err := ReadTable(strings.NewReader(header+strings.Repeat(line(1, 0, 1, 0), maxTableRows+1)), "raos.csv"); err == nil || err.Error() != "raos.csv:50002:1: the table has more than 50000 rows" {
		t.Errorf("too many rows: %v", err)
	}
	if _, err := ReadTable(strings.NewReader(strings.Repeat("#\n", maxTableBytes)), "raos.csv"); err == nil || err.Error() != "raos.csv: the table of responses is too large; allowed: 8 MiB" {
		t.Errorf("too large: %v", err)
	}
}

func TestTableWarnings(t *testing.T) {
	grid := func(f func(omega, direction float64) string) string {
		var b strings.Builder
		b.WriteString(header)
		for _, d := range steps(0, 180, 30) {
			for _, w := range steps(0.2, 1, 0.2) {
				b.WriteString(f(w, d))
			}
		}
		return b.String()
	}
	for _, c := range []struct {
		name string
		f    func(omega, direction float64) string
		want string
	}{
		{"sound", func(w, d float64) string { return line(w, d, 1-0.5*w, -60*w) }, ""},
		{"coarse in frequency", func(w, d float64) string { return line(w, d, 1, 1000*(w-0.2)) },
			"the phase of heave turns by more than 90 deg between 0.2 and 0.4 rad/s, from direction 0 deg; in between it is a guess: a finer table is better"},
		{"coarse in direction", func(w, d float64) string { return line(w, d, 1, 4*d*(w-0.2)) },
			"the phase of heave turns by more than 90 deg between directions 0 and 30 deg, at 1 rad/s; in between it is a guess: a finer table is better"},
		{"turned over", func(w, d float64) string { return line(w, d, 1, 180) },
			"heave at the lowest frequency, from direction 0 deg, is 1 m/m leading by 180 deg; in long waves any vessel follows the surface, 1 m/m and 0 deg: see the sign of the phases and where they refer to"},
		{"rolls in head seas", func(w, d float64) string { return fmt.Sprintf("%g,%g,0,0,0,0,1,0,3,0,0,0,0,0\n", w, d) },
			"roll is not zero in a wave from direction 0 deg, along the vessel (at 0.2 rad/s)"},
	} {
		got := strings.Join(read(t, grid(c.f)).Warnings(), "\n")
		if c.want == "" && got != "" || !strings.Contains(got, c.want) {
			t.Errorf("%s:\n%s\nwant:\n%s", c.name, got, c.want)
		}
	}
}

func TestReadTableBesideTheScenario(t *testing.T) {
	files := fstest.MapFS{"sub/raos.csv": {Data: []byte(tabulate(named(t, "A"), steps(0, 180, 30), steps(0.2, 1.4, 0.2)))}, "sub/bad.csv": {Data: []byte("x")}}
	s := Spec{RAOTable: "raos.csv"}
	if _, err := New(s, installation.Vessel{}); err == nil || err.Error() != "hull: rao-table: raos.csv has not been read; call ReadTable first" {
		t.Errorf("unread: %v", err)
	}
	if err := s.ReadTable(files, "sub/scenario.yaml"); err != nil || s.Table == nil {
		t.Fatalf("%v", err)
	}
	if h, err := New(s, installation.Vessel{}); err != nil || h.At(0.5, 0.025, 0, 0)[Heave] == 0 {
		t.Errorf("%v", err)
	}
	for name, want := range map[string]string{
		"none.csv":    "sub/none.csv: the table of responses cannot be opened: open sub/none.csv: file does not exist",
		"../raos.csv": "sub/scenario.yaml: rao-table is ../raos.csv; allowed: the name of a CSV file beside this one or below",
		"/raos.csv":   "sub/scenario.yaml: rao-table is /raos.csv; allowed: the name of a CSV file beside this one or below",
		"bad.csv":     "sub/bad.csv:1:1: column x has no unit; write it in brackets, such as heave [m/m]",
	} {
		s := Spec{RAOTable: name}
		if err := s.ReadTable(files, "sub/scenario.yaml"); err == nil || !strings.HasPrefix(err.Error(), want) || s.Table != nil {
			t.Errorf("%s: %v, want %s", name, err, want)
		}
	}
	if err := new(Spec).ReadTable(files, "scenario.yaml"); err != nil {
		t.Errorf("no table: %v", err)
	}
}

// Whatever the file, there is an error or a table that gives numbers no larger than its own.
func FuzzReadTable(f *testing.F) {
	f.Add(header + line(0.5, 0, 1, 0) + line(1, 0, 1, 0) + line(0.5, 90, 1, 0) + line(1, 90, 1, 0) + line(0.5, 180, 1, 0) + line(1, 180, 1, 0))
	f.Add("a,\"b\n")
	f.Add(strings.Replace(header, "frequency [rad/s]", "period [s]", 1) + line(0.5, 0, 1, 0) + line(1, 360, 1, 0))
	f.Fuzz(func(t *testing.T, text string) {
		table, err := ReadTable(strings.NewReader(text), "raos.csv")
		if (table == nil) == (err == nil) {
			t.Fatalf("table %v, error %v", table, err)
		}
		if err != nil {
			return
		}
		most := table.most()
		for _, omega := range []float64{1e-3, 0.3, 0.77, 1, 5, 200} {
			for beta := -7.0; beta < 7; beta += 0.31 {
				for n, r := range table.At(omega, beta) {
					if a := cmplx.Abs(r); !(a <= max(most[n], 1)*(1+1e-9)) {
						t.Fatalf("%s is %v at %g rad/s, beta %g; the table's largest is %g", Names[n], r, omega, beta, most[n])
					}
				}
			}
		}
	})
}
