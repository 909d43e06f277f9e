package consumer

import (
	"bufio"
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"strings"
	"testing"
	"time"

	"gonum.org/v1/gonum/spatial/r3"

	"swellbench/scenarios/installation"
	"swellbench/scenarios/units"
)

// Sentences are written here by hand from the field tables, with an exclusive-or of its own: nothing of the encoders
// is used.

func sentence(format string, a ...any) string {
	body := fmt.Sprintf(format, a...)
	var sum byte
	for i := range len(body) {
		sum ^= body[i]
	}
	return fmt.Sprintf("$%s*%02X\r\n", body, sum)
}

// packed writes degrees as degrees and minutes with nine decimals (2e-11 degrees).
func packed(deg float64, width int, letters string) string {
	const perDegree = 60 * 1_000_000_000
	n := int64(math.Round(math.Abs(deg) * perDegree))
	letter := letters[0]
	if deg < 0 {
		letter = letters[1]
	}
	m := n % perDegree
	return fmt.Sprintf("%0*d%02d.%09d,%c", width, n/perDegree, m/1e9, m%1e9, letter)
}

func gga(clock string, lat, lon, height, undulation float64, quality int) string {
	return sentence("GNGGA,%s,%s,%s,%d,12,0.8,%.6f,M,%.6f,M,,", clock, packed(lat, 2, "NS"), packed(lon, 3, "EW"), quality, height-undulation, undulation)
}

func hdt(deg float64) string { return sentence("HEHDT,%.11f,T", deg) }

func xdr(pitch, roll, heave float64) string {
	return sentence("YXXDR,A,%.11f,D,PITCH,A,%.11f,D,ROLL,D,%.9f,M,HEAVE", pitch, roll, heave)
}

// An observed is one line of output, null as nil.
type observed map[string]any

func (o observed) num(t testing.TB, name string) float64 {
	t.Helper()
	x, ok := o[name].(float64)
	if !ok {
		t.Fatalf("%s is %v, want a number; the observation is %v", name, o[name], o)
	}
	return x
}

// near fails unless a value is within tol of want, round the circle for angles.
func (o observed) near(t testing.TB, name string, want, tol float64) {
	t.Helper()
	d := o.num(t, name) - want
	switch name {
	case "lon", "heading", "roll", "course":
		d = math.Remainder(d, 360)
	}
	if !(math.Abs(d) <= tol) {
		t.Errorf("%s is %.10f, want %.10f within %g", name, o[name], want, tol)
	}
}

func decodeLines(t testing.TB, out []byte) (all []observed) {
	t.Helper()
	sc := bufio.NewScanner(bytes.NewReader(out))
	sc.Buffer(nil, 1<<20)
	for sc.Scan() {
		var o observed
		if err := json.Unmarshal(sc.Bytes(), &o); err != nil {
			t.Fatalf("output line %q: %v", sc.Text(), err)
		}
		all = append(all, o)
	}
	return all
}

// observe runs the consumer over a stream that lies ready as a whole, as in a file.
func observe(t testing.TB, in *installation.Installation, stream string, defects ...string) []observed {
	t.Helper()
	var out bytes.Buffer
	if err := Run(t.Context(), Config{Installation: in, Defects: defects}, strings.NewReader(stream), &out); err != nil {
		t.Fatal(err)
	}
	return decodeLines(t, out.Bytes())
}

// one is observe for a stream of one epoch.
func one(t testing.TB, in *installation.Installation, stream string, defects ...string) observed {
	t.Helper()
	all := observe(t, in, stream, defects...)
	if len(all) != 1 {
		t.Fatalf("%d observations of one epoch: %v", len(all), all)
	}
	return all[0]
}

// boat is an installation of one or two antennas; out names the output point.
func boat(out string, points map[string]r3.Vec) *installation.Installation {
	in := &installation.Installation{Points: map[string]installation.Vector{}}
	for _, required := range []string{installation.Sensor, installation.AntennaPrimary} {
		in.Points[required] = installation.Vector{}
	}
	for name, v := range points {
		in.Points[name] = installation.VectorOf(v)
	}
	in.Expected.OutputPoint = out
	return in
}

func mountingDeg(h, p, r float64) installation.Mounting {
	return installation.Mounting{Heading: units.Angle(h * math.Pi / 180), Pitch: units.Angle(p * math.Pi / 180), Roll: units.Angle(r * math.Pi / 180)}
}

// A row is one line of a table of check values.
type row struct {
	ID       string         `json:"id"`
	Case     string         `json:"case"`
	Kind     string         `json:"kind"`
	Encoding string         `json:"encoding"`
	Input    string         `json:"input"`
	In       map[string]any `json:"inputs"`
	Expected map[string]any `json:"expected"`
	Source   string         `json:"source"`
}

func (r row) in(t testing.TB, name string) float64 { return pick(t, r.ID, r.In, name) }
func (r row) want(t testing.TB, name string) float64 {
	return pick(t, r.ID, r.Expected, name)
}

func pick(t testing.TB, id string, m map[string]any, name string) float64 {
	t.Helper()
	x, ok := m[name].(float64)
	if !ok {
		t.Fatalf("%s: no number %s", id, name)
	}
	return x
}

func rows(t testing.TB, name string) (all []row) {
	t.Helper()
	data, err := os.ReadFile("testdata/" + name)
	if err != nil {
		t.Fatal(err)
	}
	for line := range bytes.Lines(data) {
		var r row
		if err := json.Unmarshal(line, &r); err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		if r.Source == "" {
			t.Fatalf("%s: %s has no source", name, r.ID)
		}
		all = append(all, r)
	}
	if len(all) == 0 {
		t.Fatalf("%s is empty", name)
	}
	return all
}

func stampOf(t testing.TB, o observed) time.Time {
	t.Helper()
	s, _ := o["time"].(string)
	at, err := time.Parse(time.RFC3339Nano, s)
	if err != nil {
		t.Fatal(err)
	}
	return at
}
