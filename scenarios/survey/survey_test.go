package survey

import (
	"bytes"
	"encoding/json"
	"flag"
	"math"
	"os"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"swellbench/scenarios/frame"
	"swellbench/scenarios/installation"
	"swellbench/scenarios/internal/vectors"
	"swellbench/scenarios/strictyaml"
)

var update = flag.Bool("update", false, "write the schema and golden files anew")

func golden(t *testing.T, name string, got []byte) {
	t.Helper()
	if *update {
		if err := os.WriteFile(name, got, 0o666); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(got, want) {
		t.Errorf("%s is not current; run go test ./scenarios/survey -update and read what changed", name)
	}
}

func TestSchemaIsCurrent(t *testing.T) {
	b, err := strictyaml.Schema(Sheet{}, "Swellbench installation sheet")
	if err != nil {
		t.Fatal(err)
	}
	golden(t, "schema/sheet.schema.json", b)
	var walk func(at string, v any)
	walk = func(at string, v any) {
		switch x := v.(type) {
		case map[string]any:
			if properties, ok := x["properties"].(map[string]any); ok {
				for key, p := range properties {
					if described, _ := p.(map[string]any); described["description"] == nil {
						t.Errorf("%s.%s has no description; give its field a doc tag", at, key)
					}
				}
			}
			for key, y := range x {
				walk(at+"."+key, y)
			}
		case []any:
			for _, y := range x {
				walk(at, y)
			}
		}
	}
	var s any
	if err := json.Unmarshal(b, &s); err != nil {
		t.Fatal(err)
	}
	walk("", s)
}

func TestExampleText(t *testing.T) {
	var b bytes.Buffer
	if err := example(t).Report().Text(&b); err != nil {
		t.Fatal(err)
	}
	golden(t, "testdata/example.txt", b.Bytes())
	for _, line := range strings.Split(b.String(), "\n") {
		if strings.Contains(line, "-0.000 ") || strings.Contains(line, "NaN") {
			t.Errorf("%q", line)
		}
	}
}

// The example's measurements were drawn, with the standard deviations it states, about an installation that is told
// elsewhere: scenarios/library/installations. It must come back within four standard deviations.
func TestExampleFindsTheInstallation(t *testing.T) {
	want, err := installation.Load("../library/installations/launch-raw.yaml")
	if err != nil {
		t.Fatal(err)
	}
	v := example(t)
	for _, p := range v.Report().Points {
		at, ok := want.Point(p.Name)
		if !ok {
			t.Errorf("there is no point %s", p.Name)
		}
		for i, x := range []float64{at.X, at.Y, at.Z} {
			if math.Abs(p.Position[i].Value-x) > 4*p.Position[i].Sigma {
				t.Errorf("%s: %v, want %g", p.Name, p.Position[i], x)
			}
		}
	}
	m, a := v.Report().Mounting, want.MountingRotation().Attitude()
	for i, x := range []float64{a.Heading, a.Pitch, a.Roll} {
		if got := []Value{m.Heading, m.Pitch, m.Roll}[i]; math.Abs(frame.Deg(frame.AngleDiff(frame.Rad(got.Value), x))) > 4*got.Sigma {
			t.Errorf("angle %d: %v, want %g", i, got, frame.Deg(x))
		}
	}
}

func TestInstallationFile(t *testing.T) {
	v := example(t)
	text := v.Installation().Append(nil)
	in, err := installation.Parse("written.yaml", text)
	if err != nil {
		t.Fatalf("%v\n%s", err, text)
	}
	if again := in.Append(nil); !bytes.Equal(again, text) {
		t.Errorf("it reads back as\n%s", again)
	}
	for _, hidden := range []string{"bow-stud", "case-a", "reference"} {
		if _, ok := in.Points[hidden]; ok {
			t.Errorf("%s is in the file", hidden)
		}
	}
	for _, p := range v.Report().Points {
		at, ok := in.Point(p.Name)
		if !ok || r3.Norm(r3.Sub(at, r3.Vec{X: p.Position[0].Value, Y: p.Position[1].Value, Z: p.Position[2].Value})) > 1e-4 {
			t.Errorf("%s is at %v, want %v", p.Name, at, p.Position)
		}
	}
	if in.Entered.Mounting == nil || in.Expected.OutputPoint != "sonar" || in.Vessel.Length != 18.5 {
		t.Errorf("%+v", in)
	}
}

// Every wording of axes brings the same place home.
func TestAxes(t *testing.T) {
	signed := map[string]float64{"right": 1, "left": -1, "forward": 2, "aft": -2, "up": 3, "down": -3,
		"east": 1, "west": -1, "north": 2, "south": -2}
	n := 0
	for _, words := range allAxes() {
		l, ok := Axes(words).layout()
		if !ok {
			t.Fatalf("%s is refused", words)
		}
		var a Axes
		if err := a.UnmarshalText([]byte(words)); err != nil || string(a) != words {
			t.Errorf("%s: %v", words, err)
		}
		if l.free {
			continue
		}
		n++
		var v [3]float64
		for i, w := range strings.Split(words, "-") {
			v[i] = signed[w] // the coordinate of the point 1 right, 2 forward, 3 up
		}
		if got := l.vec(v); got != (r3.Vec{X: 1, Y: 2, Z: 3}) {
			t.Errorf("%s: %v is %v", words, v, got)
		}
	}
	if n != 96 {
		t.Errorf("%d wordings", n)
	}
	for _, bad := range []string{"", "right-forward", "right-left-up", "forward-forward-up", "right-north-up", "Right-forward-up", "right-forward-up-down", "starboard-bow-up"} {
		var a Axes
		if err := a.UnmarshalText([]byte(bad)); err == nil || !strings.Contains(err.Error(), "allowed: three directions") {
			t.Errorf("%q: %v", bad, err)
		}
	}
}

// The other conventions stand for the same rotation. The tables give the matrix of forward-right-down axes and the
// roll-first angles; forward-left-up is worked out here from its own definition, Rz(yaw)·Ry(pitch)·Rx(roll).
func TestConventions(t *testing.T) {
	zyx := func(y, p, r float64) []float64 {
		sy, cy := math.Sincos(y)
		sp, cp := math.Sincos(p)
		sr, cr := math.Sincos(r)
		return []float64{cy * cp, cy*sp*sr - sy*cr, cy*sp*cr + sy*sr, sy * cp, sy*sp*sr + cy*cr, sy*sp*cr - cy*sr, -sp, cp * sr, cp * cr}
	}
	for _, row := range vectors.Load(t, "../frame/testdata/attitude_conventions.jsonl") {
		m := matrix(row.In(t, "heading_deg"), row.In(t, "pitch_deg"), row.In(t, "roll_deg"))
		rot := frame.FromMatrix([9]float64(m))
		cs := conventions(rot)
		if math.Abs(math.Abs(cs[0].Deg[1])-90) < 1e-6 {
			continue
		}
		row.Check(t, "ned_frd_dcm_rowmajor", zyx(frame.Rad(cs[0].Deg[0]), frame.Rad(cs[0].Deg[1]), frame.Rad(cs[0].Deg[2]))...)
		row.Check(t, "roll_first_heading_deg", cs[2].Deg[0])
		row.Check(t, "roll_first_roll_deg", cs[2].Deg[1])
		row.Check(t, "roll_first_pitch_deg", cs[2].Deg[2])
		// A vector given forward, left, up, turned, must be what the same vector right, forward, up is turned into.
		flu := zyx(frame.Rad(cs[1].Deg[0]), frame.Rad(cs[1].Deg[1]), frame.Rad(cs[1].Deg[2]))
		in := r3.Vec{X: 0.3, Y: -1.2, Z: 0.7}
		a, b := times(m, in), times(flu, r3.Vec{X: in.Y, Y: -in.X, Z: in.Z})
		if d := r3.Norm(r3.Sub(r3.Vec{X: -b.Y, Y: b.X, Z: b.Z}, a)); d > 1e-12 {
			t.Errorf("%s: forward-left-up is %g off", row.ID, d)
		}
		back := frame.Attitude{Heading: frame.Rad(cs[3].Deg[0]), Pitch: frame.Rad(cs[3].Deg[1]), Roll: frame.Rad(cs[3].Deg[2])}.Rotation()
		if x := back.Mul(rot).AngleTo(frame.Rotation{}); x > 1e-7 {
			t.Errorf("%s: the turn back is %g rad off", row.ID, x)
		}
	}
}

func TestPoses(t *testing.T) {
	got, err := ParsePoses([]string{"127.6,0.4,-1.2", " 0 , 0, 0"})
	if err != nil || len(got) != 2 || math.Abs(frame.Deg(float64(got[0].Roll))+1.2) > 1e-12 {
		t.Errorf("%v, %v", got, err)
	}
	for bad, want := range map[string]string{
		"127.6": "is no pose; allowed: heading,pitch,roll", "1,2,x": "is no pose", "1,2,NaN": "is no pose", "1,2,3,4": "is no pose",
		"10,95,0": "pitch: the angle is 95 deg; allowed: -90 deg to 90 deg", "400,0,0": "heading: the angle is 400 deg",
	} {
		if _, err := ParsePoses([]string{bad}); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q: %v, want %q", bad, err, want)
		}
	}
}

func FuzzParse(f *testing.F) {
	f.Add(Example)
	f.Add([]byte("sets: [{axes: free, sigma: 1 mm, points: {sensor: [1 m, 2 m, 3 m]}}]"))
	f.Add([]byte("sets: [{axes: aft-left-down, sigma: [1 mm, 0 m, 1 mm], origin: sensor, points: {a: [1 m, 2 m, 3 m]}}]"))
	f.Fuzz(func(t *testing.T, data []byte) {
		v, err := Parse("fuzz.yaml", data)
		if err != nil {
			return
		}
		r := v.Report()
		if _, err := json.Marshal(r); err != nil {
			t.Error(err)
		}
		var b bytes.Buffer
		if err := r.Text(&b); err != nil {
			t.Error(err)
		}
		if _, err := installation.Parse("written.yaml", v.Installation().Append(nil)); err != nil {
			t.Errorf("what is written is refused: %v", err)
		}
	})
}
