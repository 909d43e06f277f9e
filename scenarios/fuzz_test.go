package scenarios

import (
	"math"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"
)

// Whatever the bytes, the loader says what is wrong, naming the file, or gives a scenario that is sound: valid when
// asked again, its truth finite at any time of the run, its clock within the years it allows.
func FuzzParse(f *testing.F) {
	f.Add([]byte(good))
	files, err := filepath.Glob("library/*.yaml")
	if err != nil || len(files) == 0 {
		f.Fatalf("no seeds in library/: %v", err)
	}
	installation, err := os.ReadFile("library/installations/launch-raw.yaml")
	if err != nil {
		f.Fatal(err)
	}
	points, err := os.ReadFile("library/installations/launch-points.yaml")
	if err != nil {
		f.Fatal(err)
	}
	// A seed is one file, so what the library pulls in is put in its place.
	indent := func(b []byte, by string) string {
		return "\n" + by + strings.ReplaceAll(strings.TrimSpace(string(b)), "\n", "\n"+by)
	}
	whole := strings.ReplaceAll(string(installation), " {file: launch-points.yaml}", indent(points, "  "))
	for _, name := range files {
		b, err := os.ReadFile(name)
		if err != nil {
			f.Fatal(err)
		}
		if strings.Contains(string(b), ": files/") {
			continue // what it names beside itself cannot be put in its place
		}
		b = regexp.MustCompile(` \{file: installations/[a-z-]+\.yaml\}`).ReplaceAll(b, []byte(indent([]byte(whole), "  ")))
		if _, err := Parse("seed.yaml", b); err != nil {
			f.Fatalf("%s: %v", name, err)
		}
		f.Add(b)
	}
	f.Fuzz(func(t *testing.T, data []byte) { checkSound(t, data) })
}

// Any number of the good file may be any number at all.
func TestExtremeNumbers(t *testing.T) {
	loaded, refused := 0, 0
	for _, at := range regexp.MustCompile(`-?\b[0-9]+(\.[0-9]+)?\b`).FindAllStringIndex(good, -1) {
		for _, x := range []string{"0", "-0", "1", "-1", "1e-300", "1e300", "-1e300", "1e999", ".nan", ".inf", "-.inf", "nan",
			"90", "-90", "180", "360", "1000", "9223372036854775808", "0x7f"} {
			if checkSound(t, []byte(good[:at[0]]+x+good[at[1]:])) {
				loaded++
			} else {
				refused++
			}
		}
	}
	if loaded < 100 || refused < 100 {
		t.Errorf("%d loaded, %d refused; the test tests little", loaded, refused)
	}
}

// checkSound parses the bytes and ends the test where the result is not sound. It tells whether they were a scenario.
func checkSound(t *testing.T, data []byte) bool {
	t.Helper()
	s, err := Parse("fuzz.yaml", data)
	if err != nil {
		for _, line := range strings.Split(err.Error(), "\n") {
			if !strings.HasPrefix(line, "fuzz.yaml") && !strings.HasPrefix(line, "and ") {
				t.Fatalf("an error does not say where: %q", line)
			}
		}
		return false
	}
	if ps := s.Validate(); len(ps) > 0 {
		t.Fatalf("loaded, but not valid: %v", ps)
	}
	truth, err := s.Truth()
	if err != nil {
		t.Fatalf("loaded, but without a truth: %v", err)
	}
	d := float64(s.Duration)
	for _, at := range []float64{0, d / 3, d} {
		checkFinite(t, s.Name, truth.At(at), s)
		if u := s.UTC(at); u.Year() < firstYear || u.Year() > lastYear+2 || u.Location() != time.UTC {
			t.Fatalf("at %g s it is %v", at, u)
		}
	}
	return true
}

// checkFinite ends the test where any number of the state, or of any point of the installation, is not finite.
func checkFinite(t *testing.T, name string, st State, s *Scenario) {
	t.Helper()
	e := st.EulerRates()
	numbers := []float64{st.Position.Lat, st.Position.Lon, st.Position.Height, st.Velocity.X, st.Velocity.Y, st.Velocity.Z,
		st.Acceleration.X, st.Acceleration.Y, st.Acceleration.Z, st.Attitude.Heading, st.Attitude.Pitch, st.Attitude.Roll,
		st.Rate.X, st.Rate.Y, st.Rate.Z, st.RateDot.X, st.RateDot.Y, st.RateDot.Z, st.HeaveM, st.SurgeM, st.SwayM,
		e.Heading, e.Pitch, e.Roll}
	for _, point := range s.pointNames() {
		l, _ := s.Installation.Point(point)
		p := st.Point(l)
		numbers = append(numbers, p.Position.Lat, p.Position.Lon, p.Position.Height, p.Velocity.X, p.Velocity.Y, p.Velocity.Z,
			p.Acceleration.X, p.Acceleration.Y, p.Acceleration.Z, p.HeaveM)
	}
	for _, x := range numbers {
		if math.IsNaN(x) || math.IsInf(x, 0) {
			t.Fatalf("%s at %g s: %+v", name, st.T, st)
		}
	}
}
