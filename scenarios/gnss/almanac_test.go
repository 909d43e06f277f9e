package gnss

import (
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"
	"testing/fstest"
	"time"

	"gonum.org/v1/gonum/spatial/r3"

	"swellbench/scenarios/utc"
)

// yumaText is an almanac of invented satellites in the form.
const yumaText = `******** Week 375 almanac for PRN-03 ********
ID:                         03
Health:                     000
Eccentricity:               0.5218982697E-002
Time of Applicability(s):  405504.0000
Orbital Inclination(rad):   0.9690316574
Rate of Right Ascen(r/s):  -0.8048906698E-008
SQRT(A)  (m 1/2):           5153.587402
Right Ascen at Week(rad):  -0.2180100689E+001
Argument of Perigee(rad):   0.891373078
Mean Anom(rad):            -0.2534523487E+001
Af0(s):                     0.4577636719E-004
Af1(s/s):                  -0.3637978807E-011
week:                        375

******** Week 375 almanac for PRN-21 ********
ID:                         21
Health:                     063
Eccentricity:               0.2396392822E-001
Time of Applicability(s):  405504.0000
Orbital Inclination(rad):   0.9424777961
Rate of Right Ascen(r/s):  -0.7851755745E-008
SQRT(A)  (m 1/2):           5153.666992
Right Ascen at Week(rad):   0.1047197551E+001
Argument of Perigee(rad):  -0.1570796327E+001
Mean Anom(rad):             0.3141592654E+000
Af0(s):                     0.0000000000E+000
Af1(s/s):                   0.0000000000E+000
week:                        375
`

// semText are the same two satellites: angles over π, inclination less 0.30 semicircles.
func semText() string {
	semi := func(rad float64) string { return fmt.Sprintf("%.14E", rad/math.Pi) }
	return "2 INVENTED.ALM\n 375 405504\n\n" +
		"3\n69\n0\n 5.218982697E-03 " + semi(0.9690316574-0.3*math.Pi) + " " + semi(-0.8048906698e-8) + "\n" +
		" 5153.587402 " + semi(-2.180100689) + " " + semi(0.891373078) + "\n" +
		semi(-2.534523487) + " 4.577636719E-05 -3.637978807E-12\n0\n11\n\n" +
		"21\n45\n0\n 2.396392822E-02 " + semi(0.9424777961-0.3*math.Pi) + " " + semi(-0.7851755745e-8) + "\n" +
		" 5153.666992 " + semi(1.047197551) + " " + semi(-1.570796327) + "\n" +
		semi(0.3141592654) + " 0 0\n63\n11\n"
}

func TestAlmanacFormsAgree(t *testing.T) {
	y, err := ReadAlmanac(YUMA, yumaText)
	if err != nil {
		t.Fatal(err)
	}
	s, err := ReadAlmanac(SEM, strings.ReplaceAll(semText(), "\n", "\r\n"))
	if err != nil {
		t.Fatal(err)
	}
	if len(y) != 2 || len(s) != 2 || y[0].PRN != 3 || y[1].Health != 63 || y[0].Week != 375 || y[0].Af0 != 0.4577636719e-4 || y[0].Line != 2 {
		t.Fatalf("read %+v and %+v", y, s)
	}
	about := time.Date(2026, time.June, 18, 0, 0, 0, 0, time.UTC)
	a, b := Satellites(y, about), Satellites(s, about)
	for i := range a {
		if d := r3.Norm(r3.Sub(a[i].Position(about), b[i].Position(about))); d > 0.01 || a[i].PRN != b[i].PRN || a[i].Healthy != b[i].Healthy {
			t.Errorf("PRN %d: the two forms are %g m apart", a[i].PRN, d)
		}
	}
	if !a[0].Healthy || a[1].Healthy {
		t.Error("health 0 is healthy, 63 is not")
	}
}

// The week modulo 1024 is the nearest one, and the epoch is the time of applicability in GPS time: week 2423 began on
// Sunday 2026-06-14 at 00:00:00 GPS time, 18 s before that by UTC (2423 = 2·1024 + 375; GPS week 0 began 1980-01-06).
func TestAlmanacEpoch(t *testing.T) {
	entries, err := ReadAlmanac(YUMA, yumaText)
	if err != nil {
		t.Fatal(err)
	}
	want := time.Date(2026, time.June, 14, 0, 0, 0, 0, time.UTC).Add(405504*time.Second - 18*time.Second)
	for _, about := range []time.Time{want, want.AddDate(-9, 0, 0), want.AddDate(9, 0, 0)} {
		if about.Year() < 2017 {
			continue
		}
		if got := Satellites(entries, about)[0].Orbit.EpochUnix; got != float64(want.Unix()) {
			t.Errorf("asked in %d: epoch %v, want %v", about.Year(), time.Unix(int64(got), 0).UTC(), want)
		}
	}
	if week, _ := utc.LabelOf(want).GPS().Week(); week != 2423 {
		t.Errorf("the test's own week is %d", week)
	}
	entries[0].Week = 2423 - 1024 // written in full
	if got := Satellites(entries, want)[0].Orbit.EpochUnix; got != float64(want.Unix())-1024*604800 {
		t.Errorf("a week in full: epoch %v", got)
	}
}

// The user algorithm against the equations of motion: the orbit, seen from the stars with its node held still, must
// obey r” = −μ r/|r|³. A fourth-order Runge–Kutta integration over one revolution, started from position and velocity
// at perigee (vis-viva), knows nothing of anomalies.
func TestOrbitAgainstIntegration(t *testing.T) {
	o := Orbit{SemiMajorM: 26560e3, Eccentricity: 0.02, Inclination: 0.96, NodeLongitude: 1.1, Perigee: -0.7, EpochUnix: 5}
	o.MeanMotion = math.Sqrt(gravitationalGPS / (o.SemiMajorM * o.SemiMajorM * o.SemiMajorM))
	acc := func(p r3.Vec) r3.Vec { r := r3.Norm(p); return r3.Scale(-gravitationalGPS/(r*r*r), p) }
	// perigee: direction by the angles, speed by the energy
	dir := func(u float64) r3.Vec { // in the plane, at the argument of latitude u, by spherical trigonometry
		lat := math.Asin(math.Sin(o.Inclination) * math.Sin(u))
		lon := o.NodeLongitude + math.Atan2(math.Cos(o.Inclination)*math.Sin(u), math.Cos(u))
		return r3.Vec{X: math.Cos(lat) * math.Cos(lon), Y: math.Cos(lat) * math.Sin(lon), Z: math.Sin(lat)}
	}
	rp := o.SemiMajorM * (1 - o.Eccentricity)
	p := r3.Scale(rp, dir(o.Perigee))
	v := r3.Scale(math.Sqrt(gravitationalGPS*(2/rp-1/o.SemiMajorM)), dir(o.Perigee+math.Pi/2))
	const h, steps = 10.0, 4320
	worst := 0.0
	for i := range steps {
		if d := r3.Norm(r3.Sub(p, o.At(o.EpochUnix+h*float64(i)))); d > worst {
			worst = d
		}
		k1v, k1p := acc(p), v
		k2v, k2p := acc(r3.Add(p, r3.Scale(h/2, k1p))), r3.Add(v, r3.Scale(h/2, k1v))
		k3v, k3p := acc(r3.Add(p, r3.Scale(h/2, k2p))), r3.Add(v, r3.Scale(h/2, k2v))
		k4v, k4p := acc(r3.Add(p, r3.Scale(h, k3p))), r3.Add(v, r3.Scale(h, k3v))
		p = r3.Add(p, r3.Scale(h/6, r3.Add(r3.Add(k1p, r3.Scale(2, k2p)), r3.Add(r3.Scale(2, k3p), k4p))))
		v = r3.Add(v, r3.Scale(h/6, r3.Add(r3.Add(k1v, r3.Scale(2, k2v)), r3.Add(r3.Scale(2, k3v), k4v))))
	}
	if worst > 0.1 {
		t.Errorf("the orbit leaves the equations of motion by %g m", worst)
	}
}

// At the time of applicability the node stands at Ω0 − Ω̇e·toa from Greenwich: where the satellite crosses the equator
// northward. And the ground track comes back a sidereal day later (Ω̇ moves it by under 0.05°).
func TestAlmanacNode(t *testing.T) {
	e := Entry{PRN: 1, Week: 375, Applicable: 405504, Inclination: 0.96, NodeRate: -8e-9, RootAxis: 5153.6, Node: 1.25}
	about := time.Date(2026, time.June, 18, 0, 0, 0, 0, time.UTC)
	s := Satellites([]Entry{e}, about)[0]
	v := s.Orbit.At(s.Orbit.EpochUnix)
	lon := math.Mod(1.25-7.2921151467e-5*405504, 2*math.Pi)
	if d := math.Remainder(math.Atan2(v.Y, v.X)-lon, 2*math.Pi); math.Abs(d) > 1e-10 || math.Abs(v.Z) > 1e-3 {
		t.Errorf("node at %v, off by %g rad", v, d)
	}
	if next := s.Orbit.At(s.Orbit.EpochUnix + 1); !(next.Z > 0) {
		t.Error("the satellite does not go north at its ascending node")
	}
}

// The nominal slots written as an almanac stand where they stood: circular formula and user algorithm agree, but for
// the two values of μ (7e-8 of the motion: 10 m in six hours).
func TestNominalAsAlmanac(t *testing.T) {
	var text strings.Builder
	epoch := time.Date(2026, time.June, 18, 0, 0, 0, 0, time.UTC)
	week, of := utc.LabelOf(epoch).GPS().Week()
	toa := of.Seconds() + 18
	for _, s := range Nominal() {
		dt := unixSeconds(epoch) - s.Orbit.EpochUnix
		node := s.Orbit.NodeLongitude + s.Orbit.NodeRate*dt + 7.2921151467e-5*toa
		fmt.Fprintf(&text, "ID: %d\nHealth: 0\nEccentricity: 0\nTime of Applicability(s): %g\nOrbital Inclination(rad): %.15g\n"+
			"Rate of Right Ascen(r/s): 0\nSQRT(A) (m 1/2): %.15g\nRight Ascen at Week(rad): %.15g\nArgument of Perigee(rad): 0\n"+
			"Mean Anom(rad): %.15g\nAf0(s): 0\nAf1(s/s): 0\nweek: %d\n",
			s.PRN, toa, s.Orbit.Inclination, math.Sqrt(s.Orbit.SemiMajorM), math.Remainder(node, 2*math.Pi),
			math.Remainder(s.Orbit.MeanAnomaly+s.Orbit.MeanMotion*dt, 2*math.Pi), week%1024)
	}
	entries, err := ReadAlmanac(YUMA, text.String())
	if err != nil {
		t.Fatal(err)
	}
	for i, s := range Satellites(entries, epoch) {
		at := epoch.Add(5 * time.Hour)
		if d := r3.Norm(r3.Sub(s.Position(at), Nominal()[i].Position(at))); d > 15 {
			t.Errorf("PRN %d: %g m apart", s.PRN, d)
		}
	}
}

func TestAlmanacRefuses(t *testing.T) {
	for _, c := range []struct {
		name string
		form AlmanacForm
		text string
		want string
	}{
		{"empty", YUMA, "", "yuma almanac, line 1: there is no satellite; allowed: an almanac with at least one"},
		{"twice", YUMA, yumaText + yumaText, "yuma almanac, line 31: PRN 3 stands on line 2 already; allowed: each satellite once"},
		{"a line missing", YUMA, strings.Replace(yumaText, "Mean Anom(rad):            -0.2534523487E+001\n", "", 1),
			`yuma almanac, line 2: PRN 3 has no line "mean anom"; allowed: all thirteen lines for each satellite`},
		{"a line twice", YUMA, strings.Replace(yumaText, "Health:", "Week: 1\nHealth:", 1), `yuma almanac, line 15: "week" stands on line 3 already; allowed: each line once for each satellite`},
		{"degrees", YUMA, strings.Replace(yumaText, "Orbital Inclination(rad)", "Orbital Inclination(deg)", 1), `yuma almanac, line 6: "orbital inclination" is in deg; allowed: no unit or rad`},
		{"unknown line", YUMA, strings.Replace(yumaText, "Eccentricity:", "Excentricity:", 1), `yuma almanac, line 4: unknown name Excentricity; did you mean eccentricity?`},
		{"no number", YUMA, strings.Replace(yumaText, "5153.587402", "5153,587402", 1), `yuma almanac, line 8: sqrt(a) is 5153,587402; allowed: a number such as 0.53E-02`},
		{"not a number", YUMA, strings.Replace(yumaText, "5153.587402", "NaN", 1), `yuma almanac, line 8: sqrt(a) is NaN; allowed: a number such as 0.53E-02`},
		{"too eccentric", YUMA, strings.Replace(yumaText, "0.5218982697E-002", "0.9", 1), "yuma almanac, line 2: PRN 3: eccentricity is 0.9; allowed: 0 to 0.5"},
		{"through the ground", YUMA, strings.NewReplacer("0.5218982697E-002", "0.4", "5153.587402", "2900").Replace(yumaText), "yuma almanac, line 2: PRN 3: the orbit of PRN 3 reaches down to 5046 km from the centre of the Earth; allowed: one above the ground"},
		{"no text", YUMA, "ID: 1\n\x00\n", "yuma almanac, line 2: the line is no text; allowed: a text file as the form has it"},
		{"endless line", YUMA, strings.Repeat("*", 500), "yuma almanac, line 1: the line has 500 bytes; allowed: at most 200"},
		{"endless file", YUMA, strings.Repeat("*\n", 600000), "yuma almanac, line 1: the text has 1200000 bytes; allowed: at most 1048576"},
		{"SEM as YUMA", YUMA, semText(), `yuma almanac, line 1: the line is 2 INVENTED.ALM; allowed: "name: value", or asterisks before a satellite`},
		{"YUMA as SEM", SEM, yumaText, `sem almanac, line 1: the number of satellites is ********; allowed: a whole number`},
		{"cut off", SEM, semText()[:strings.Index(semText(), "\n0\n11")], "sem almanac, line 9: the text ends where health should follow"},
		{"one more", SEM, semText() + "5\n", "sem almanac, line 21: more follows after the 2 satellites that line 1 announces; allowed: as many as announced"},
		{"one too many announced", SEM, "3" + semText()[1:], "sem almanac, line 20: the text ends where PRN should follow"},
		{"unknown form", "rinex", "", `unknown almanac form rinex; allowed: yuma, sem`},
	} {
		_, err := ReadAlmanac(c.form, c.text)
		if err == nil || !strings.HasPrefix(err.Error(), c.want) {
			t.Errorf("%s:\n%v\nwant\n%s", c.name, err, c.want)
		}
		if e, ok := errors.AsType[*AlmanacError](err); ok && e.Line < 1 {
			t.Errorf("%s: no line", c.name)
		}
	}
}

func TestReadAlmanacFile(t *testing.T) {
	fsys := fstest.MapFS{"week/june.alm": {Data: []byte(yumaText)}, "empty.alm": {}}
	s := Spec{Almanac: &Almanac{Form: YUMA, Path: "june.alm"}}
	before := s.Almanac
	if ps := s.ReadAlmanac(fsys, "week"); len(ps) > 0 || s.Almanac.Text != yumaText || before.Text != "" {
		t.Errorf("problems %v", ps)
	}
	if ps := s.Validate(0); len(ps) > 0 {
		t.Errorf("problems %v", ps)
	}
	for path, want := range map[string]string{
		"july.alm":  `the almanac july.alm cannot be read: file does not exist`,
		"empty.alm": `the almanac empty.alm is empty`,
		"../x":      `the almanac is ../x; allowed: a file in the same folder or below`,
		"/x":        `the almanac is /x; allowed: a file in the same folder or below`,
	} {
		s := Spec{Almanac: &Almanac{Form: YUMA, Path: path}}
		if ps := s.ReadAlmanac(fsys, "."); len(ps) != 1 || ps[0].Path != "almanac.path" || ps[0].Text != want {
			t.Errorf("%s: %v, want %s", path, ps, want)
		}
	}
}

// Whatever the text: no panic, and what is accepted is an orbit above the ground.
func FuzzAlmanac(f *testing.F) {
	f.Add(true, yumaText)
	f.Add(false, semText())
	f.Add(true, "ID:1\nID:2")
	f.Fuzz(func(t *testing.T, yuma bool, text string) {
		form := SEM
		if yuma {
			form = YUMA
		}
		entries, err := ReadAlmanac(form, text)
		if (err == nil) != (len(entries) > 0) {
			t.Fatalf("%d entries with error %v", len(entries), err)
		}
		if len(entries) > MaxSatellites {
			t.Fatalf("%d entries", len(entries))
		}
		for _, s := range Satellites(entries, testStart) {
			if r := r3.Norm(s.Position(testStart)); !(r > 6.3e6 && r < 1.1e8) {
				t.Fatalf("PRN %d stands %g m from the centre: %+v", s.PRN, r, s)
			}
		}
	})
}
