package consumer

import (
	"bytes"
	"math"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"gonum.org/v1/gonum/spatial/r3"

	"swellbench/scenarios/installation"
)

// Each row has what a reader needs, and names are lasting words.
func TestDefectsTable(t *testing.T) {
	seen := map[string]bool{}
	for _, d := range AllDefects() {
		if d.Name == "" || seen[d.Name] || strings.ToLower(d.Name) != d.Name || strings.ContainsAny(d.Name, " _") {
			t.Errorf("name %q: want one of its own, lower-case words joined by hyphens", d.Name)
		}
		seen[d.Name] = true
		if d.What == "" || d.Stage == "" || d.seed == nil {
			t.Errorf("%s: a part of the row is missing: %+v", d.Name, d)
		}
		if area, rest, ok := strings.Cut(d.Expect, "."); !ok || rest == "" || !strings.Contains("parse time offset outage line", area) {
			t.Errorf("%s: expects check %q", d.Name, d.Expect)
		}
	}
	_, err := seeded([]string{"roll-sign", "no-such"})
	if want := `consumer: unknown defect "no-such", known: rest-of-read-lost, burst-overruns-buffer, `; err == nil || !strings.HasPrefix(err.Error(), want) {
		t.Errorf("error %v, want it to begin %s", err, want)
	}
}

// The boat of the defect tests: nothing is entered, so the consumer has all to do. No two numbers are alike.
var defectBoat = map[string]r3.Vec{
	"sensor": {X: 0.35, Y: -1.8, Z: 0.6}, "antenna-primary": {X: -0.9, Y: -3.1, Z: 6.2}, "antenna-secondary": {X: 1.1, Y: -2.7, Z: 6.2},
	"sonar": {Y: 2.4, Z: -1.65},
}

// Each defect changes what it is to change, by as much as it should, and nothing else. A device mounted straight, one
// epoch in the north-west, heading 137.5.
func TestDefects(t *testing.T) {
	s := &sheet{points: map[string]vec{"reference": {}}, expected: "sonar"}
	for name, p := range defectBoat {
		s.points[name] = vec{p.X, p.Y, p.Z}
	}
	s.resolve()
	q := pose{at: [3]float64{54.3217, -7.6543, 51}, h: 137.5, p: -4, r: 7, heave: 0.4}
	stream := s.report(q, "120000.00")
	in := s.installation(t)
	right := one(t, in, stream)
	s.check(t, right, q)

	// east, north, up from the right position to the wrong one
	offset := func(o observed) vec {
		const m = 111.3e3 // per degree, roughly
		return vec{
			(o.num(t, "lon") - right.num(t, "lon")) * m * math.Cos(54.3217*math.Pi/180),
			(o.num(t, "lat") - right.num(t, "lat")) * m,
			o.num(t, "height") - right.num(t, "height"),
		}
	}
	nearVec := func(got, want vec, tol float64) {
		t.Helper()
		for i := range 3 {
			if math.Abs(got[i]-want[i]) > tol {
				t.Errorf("moved by %v, want %v within %g", got, want, tol)
				return
			}
		}
	}
	c := dcm(q.h, q.p, q.r)
	arm := s.points["sonar"].sub(s.points["antenna-primary"])
	same := func(o observed, names string) {
		t.Helper()
		for name := range strings.FieldsSeq(names) {
			if o[name] != right[name] {
				t.Errorf("%s is %v, want %v as without the defect", name, o[name], right[name])
			}
		}
	}

	run := func(name string, f func(o observed)) {
		t.Run(name, func(t *testing.T) { f(one(t, in, stream, name)) })
	}
	run("roll-sign", func(o observed) {
		o.near(t, "roll", -7, angleTol)
		same(o, "pitch time")
	})
	run("pitch-roll-swapped", func(o observed) {
		o.near(t, "roll", -4, angleTol)
		o.near(t, "pitch", 7, angleTol)
	})
	run("minutes-as-decimal-degrees", func(o observed) {
		// 0.3217 degrees are 19.302 minutes, taken for 0.19302 degrees; the position on the wire is some metres away.
		o.near(t, "lat", 54.19302, 1e-4)
		o.near(t, "lon", -7-0.6543*0.6, 1e-4)
		same(o, "heading pitch roll heave time")
	})
	run("west-as-east", func(o observed) {
		o.near(t, "lon", 7.6543, 2e-4)
		o.near(t, "lat", right.num(t, "lat"), 1e-4)
	})
	run("lever-arm-order", func(o observed) {
		nearVec(offset(o), c.apply(vec{arm[1], arm[0], arm[2]}).sub(c.apply(arm)), 0.02)
		same(o, "heading pitch roll heave time")
	})
	run("lever-arm-not-rotated", func(o observed) {
		nearVec(offset(o), arm.sub(c.apply(arm)), 0.02)
		same(o, "heading pitch roll heave time")
	})
	run("lever-arm-twice", func(o observed) {
		nearVec(offset(o), c.apply(arm), 0.02)
		same(o, "heading pitch roll heave time")
	})
	run("mounting-subtracted", func(o observed) { // nothing is mounted at an angle: no harm done
		same(o, "lat lon height heading pitch roll heave time")
	})
	run("stale-for-null", func(o observed) { same(o, "lat lon height heading pitch roll heave time") })
}

// What subtracting does is in the table: naive_* is its error. Source: see the rows.
func TestMountingSubtracted(t *testing.T) {
	const name = "mounting-subtracted"
	var worst float64
	for _, r := range rows(t, "attitude_mounting.jsonl") {
		if math.Abs(r.want(t, "device_pitch_deg")) > 89.999 {
			continue
		}
		in := boat("reference", nil)
		in.Mounting = mountingDeg(r.in(t, "mount_heading_deg"), r.in(t, "mount_pitch_deg"), r.in(t, "mount_roll_deg"))
		if a := in.MountingRotation().Attitude(); math.Abs(a.Pitch*180/math.Pi-r.in(t, "mount_pitch_deg")) > 1e-9 {
			continue // the same mounting has two sets of angles; the program subtracts the other one
		}
		stream := gga("120000.00", 50, 4, 60, 47, 4) + hdt(r.want(t, "device_heading_deg")) + xdr(r.want(t, "device_pitch_deg"), r.want(t, "device_roll_deg"), 0)
		o := one(t, in, stream, name)
		for _, f := range []struct{ name, truth, err string }{
			{"heading", "vessel_heading_deg", "naive_heading_error_deg"},
			{"pitch", "vessel_pitch_deg", "naive_pitch_error_deg"},
			{"roll", "vessel_roll_deg", "naive_roll_error_deg"},
		} {
			want := r.in(t, f.truth) + r.want(t, f.err)
			if d := math.Remainder(o.num(t, f.name)-want, 360); math.Abs(d) > 2e-6 {
				t.Errorf("%s: %s is %v, want %v", r.ID, f.name, o[f.name], want)
			}
			worst = max(worst, math.Abs(math.Remainder(r.want(t, f.err), 360)))
		}
	}
	if worst < 10 {
		t.Errorf("the worst error is %g degrees: the table tells nothing", worst)
	}
}

func TestStaleForNull(t *testing.T) {
	in := boat("sonar", map[string]r3.Vec{"antenna-primary": {X: 1, Y: -2, Z: 3}, "sonar": {Y: 4}})
	stream := burst(t, "Z1 G1 H1 X1 T1") +
		sentence("GNGGA,120002.00,,,,,0,00,99.9,,M,,M,,") + sentence("HEHDT,,T") + sentence("YXXDR,A,,D,PITCH,A,,D,ROLL,D,,M,HEAVE") + sentence("TIROT,,V") +
		burst(t, "G3 H3")
	all := observe(t, in, stream, "stale-for-null")
	if len(all) != 3 {
		t.Fatalf("%d observations: %v", len(all), all)
	}
	for _, name := range strings.Fields("lat lon height heading pitch roll heave rate_of_turn") {
		if all[1][name] != all[0][name] || all[0][name] == nil {
			t.Errorf("%s is %v, want the last value %v", name, all[1][name], all[0][name])
		}
	}
	if all[1]["fix"] != "none" {
		t.Errorf("fix is %v, want none", all[1]["fix"])
	}
	if _, said := all[2]["pitch"]; said {
		t.Errorf("pitch is %v in an epoch in which nobody speaks of it", all[2]["pitch"])
	}
	for _, name := range strings.Fields("lat lon height heading pitch roll heave rate_of_turn") {
		if v := observe(t, in, stream)[1][name]; v != nil {
			t.Errorf("without the defect %s is %v, want null", name, v)
		}
	}
}

func TestArrivalStamp(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		in := boat(installation.AntennaPrimary, nil)
		start := time.Now()
		bursts := []timedBurst{{0, burst(t, "Z1 G1 H1")}, {time.Second, burst(t, "G2 H2")}}
		all, _ := played(t, Config{Installation: in, Baud: 4800, Defects: []string{"arrival-stamp"}}, bursts)
		for k, o := range all {
			want := start.Add(bursts[k].at + time.Duration(len(bursts[k].stream))*10*time.Second/4800)
			if d := stampOf(t, o).Sub(want).Abs(); d > time.Millisecond {
				t.Errorf("stamped %v, want %v, when the last line was complete", o["time"], want)
			}
		}
	})
}

// Two at once do what each does.
func TestPairOfDefects(t *testing.T) {
	in := boat(installation.AntennaPrimary, nil)
	o := one(t, in, gga("120000.00", 50.5, -4.5, 60, 47, 4)+hdt(10)+xdr(1, 2, 0), "west-as-east", "roll-sign")
	o.near(t, "lon", 4.5, 1e-9)
	o.near(t, "roll", -2, angleTol)
	// The order does not matter where the stages differ.
	p := one(t, in, gga("120000.00", 50.5, -4.5, 60, 47, 4)+hdt(10)+xdr(1, 2, 0), "roll-sign", "west-as-east")
	if o["lon"] != p["lon"] || o["roll"] != p["roll"] {
		t.Errorf("in the other order %v, want %v", p, o)
	}
	var out bytes.Buffer
	if err := Run(t.Context(), Config{Installation: in, Defects: []string{"none-such"}}, strings.NewReader(""), &out); err == nil {
		t.Error("an unknown defect is accepted")
	}
}
