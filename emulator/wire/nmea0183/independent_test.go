package nmea0183

import (
	"bufio"
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"
	"os/exec"
	"strconv"
	"strings"
	"testing"
	"time"

	"gonum.org/v1/gonum/spatial/r3"

	"swellbench/emulator/wire"
	"swellbench/scenarios/geo"
	"swellbench/scenarios/opt"
)

// pynmea2 finds an interpreter that has it.
func pynmea2(t testing.TB) string {
	t.Helper()
	var last string
	for _, name := range []string{"/usr/bin/python3", "python3"} {
		path, err := exec.LookPath(name)
		if err != nil {
			last = err.Error()
			continue
		}
		out, err := exec.Command(path, "-c", "import pynmea2").CombinedOutput()
		if err == nil {
			return path
		}
		last = strings.TrimSpace(string(out))
	}
	t.Skipf("no python3 with pynmea2 (Debian: python3-nmea2): %s", last)
	return ""
}

// longRun is a random run: epochs a fifth of a second apart, in which now and then something is not known.
func longRun(n int) []wire.Reading {
	rng := rand.New(rand.NewPCG(4, 19))
	maybe := func(x float64) opt.Opt[float64] {
		if rng.IntN(8) == 0 {
			return opt.None[float64]()
		}
		return opt.Of(x)
	}
	between := func(lo, hi float64) float64 { return lo + rng.Float64()*(hi-lo) }
	all := make([]wire.Reading, n)
	for i := range all {
		r := wire.Reading{Fix: wire.Fix(rng.IntN(9)), Undulation: maybe(between(-100, 80)), Variation: maybe(between(-30, 30) * degree), SpeedMS: maybe(between(0, 20)),
			CourseRad: maybe(between(0, 2*math.Pi)), HDOP: maybe(between(0.4, 20)), PDOP: maybe(between(0.5, 30)), VDOP: maybe(between(0.5, 30)), DiffAge: maybe(between(0, 60)),
			Heading: maybe(between(0, 2*math.Pi)), Pitch: maybe(between(-90, 90) * degree), Roll: maybe(between(-180, 180) * degree), HeaveM: maybe(between(-9, 9)),
			RateOfTurn: maybe(between(-600, 600) * degreeMinute), Series: uint32(i)}
		if rng.IntN(20) > 0 {
			r.UTC = opt.Of(time.Date(2026, 6, 14, 23, 50, 0, 0, time.UTC).Add(time.Duration(i)*200*time.Millisecond + time.Duration(rng.IntN(1e6))))
		}
		if rng.IntN(10) > 0 {
			r.Position = opt.Of(geo.Position{Lat: between(-90, 90) * degree, Lon: between(-180, 180) * degree, Height: between(-100, 3000)})
			r.Sigma = opt.Of(r3.Vec{X: between(0.01, 9), Y: between(0.01, 9), Z: between(0.01, 15)})
			v, _ := r.Sigma.Value()
			r.SigmaEN = v.X * v.Y * between(-0.9, 0.9)
		}
		if rng.IntN(5) > 0 {
			r.Satellites, r.DiffStation = opt.Of(rng.IntN(100)), opt.Of(rng.IntN(1024))
			r.WaterSpeed = opt.Of([2]float64{between(-5, 15), between(-3, 3)})
			r.VelocityEN = opt.Of([2]float64{between(-15, 15), between(-15, 15)})
		}
		for sys := range wire.NavIC {
			for k := range rng.IntN(11) {
				r.Sky = append(r.Sky, wire.Satellite{System: sys, Number: k + 1, Elevation: between(0, math.Pi/2), Azimuth: between(0, 2*math.Pi), SNR: maybe(between(0, 99)), Used: rng.IntN(2) == 0})
			}
		}
		all[i] = r
	}
	return all
}

// TestPynmea2Agrees: pynmea2 finds in every sentence of a long random run, of the types that it knows, what the device
// reported; the claims are made from the readings, not from our own decoder.
func TestPynmea2Agrees(t *testing.T) {
	python := pynmea2(t)
	n := 2000
	if testing.Short() {
		n = 200
	}
	run := longRun(n)
	type sentence struct {
		kind, line string
		part       int
		r          *wire.Reading
	}
	var all []sentence
	var stream bytes.Buffer
	for i := range run {
		for _, e := range encoders(t) {
			text, err := e.Append(nil, &run[i])
			if err != nil {
				t.Fatal(err)
			}
			part := 0
			for l := range strings.Lines(string(text)) {
				stream.WriteString(l)
				all = append(all, sentence{e.Kind()[2:], strings.TrimSpace(l), part, &run[i]})
				part++
			}
		}
	}
	cmd := exec.Command(python, "testdata/pynmea2_decode.py")
	cmd.Stdin = &stream
	var stderr bytes.Buffer
	cmd.Stderr = &stderr
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("%v: %s", err, stderr.String())
	}
	lines := bufio.NewScanner(bytes.NewReader(out))
	checked := map[string]int{}
	for _, s := range all {
		if !lines.Scan() {
			t.Fatal("pynmea2 says less than it was asked")
		}
		var got struct {
			Error, Type, Talker string
			Fields              map[string]any
			Data                []string
		}
		if err := json.Unmarshal(lines.Bytes(), &got); err != nil {
			t.Fatal(err)
		}
		want := claims(s.kind, s.part, s.r)
		if want == nil { // THS: not known to pynmea2 1.15
			continue
		}
		if got.Error != "" || got.Type != s.kind || got.Talker != s.line[1:3] {
			t.Fatalf("%s: %+v", s.line, got)
		}
		for i, d := range got.Data {
			if got.Fields[fmt.Sprintf("data[%d]", i)] = any(d); d == "" {
				got.Fields[fmt.Sprintf("data[%d]", i)] = nil
			}
		}
		for _, c := range want {
			if bad := c.holds(got.Fields[c.name]); bad != "" {
				t.Errorf("%s: %s", s.line, bad)
			}
			checked[s.kind]++
		}
		if t.Failed() {
			return
		}
	}
	for _, k := range Kinds() {
		if k != "THS" && checked[k] < n {
			t.Errorf("of %s only %d fields were checked", k, checked[k])
		}
	}
}

// holds says what is wrong with what an independent reader found.
func (c claim) holds(found any) string {
	text, ok := found.(string)
	if c.text != "" {
		if !ok {
			text = "None"
		}
		if text != c.text {
			return fmt.Sprintf("%s is %s, want %s", c.name, text, c.text)
		}
		return ""
	}
	x, err := strconv.ParseFloat(text, 64)
	want, has := c.value.Value()
	off := math.Abs(x - want)
	if strings.Contains(c.name, "track") || strings.Contains(c.name, "course") || c.name == "heading" || strings.Contains(c.name, "azimuth") || c.name == "longitude" {
		off = min(off, 360-off)
	}
	if ok != has || has && (err != nil || !(off <= c.within*(1+1e-6)+1e-9)) {
		return fmt.Sprintf("%s is %v, want %v ± %g", c.name, found, c.value, c.within)
	}
	return ""
}

// TestFasterThanPynmea2: from bytes to numbers at least 15 times as fast, in the same run.
func TestFasterThanPynmea2(t *testing.T) {
	if testing.Short() {
		t.Skip("timing")
	}
	python := pynmea2(t)
	var stream []byte
	count := 0
	for _, k := range Kinds() {
		if k == "THS" { // it does not know it
			continue
		}
		e, err := New(k, Options{})
		if err != nil {
			t.Fatal(err)
		}
		for _, r := range readings() {
			if stream, err = e.Append(stream, &r); err != nil {
				t.Fatal(err)
			}
		}
	}
	count = bytes.Count(stream, []byte("\n"))
	cmd := exec.Command(python, "testdata/pynmea2_decode.py", "rate")
	cmd.Stdin = bytes.NewReader(stream)
	out, err := cmd.Output()
	if err != nil {
		t.Fatal(err)
	}
	theirs, err := strconv.ParseFloat(strings.TrimSpace(string(out)), 64)
	if err != nil {
		t.Fatal(err)
	}
	var d Decoder
	var p Parser
	best := 0.0
	for range 20 {
		start := time.Now()
		d.Push(stream)
		n := 0
		for ev, ok := d.Next(); ok; ev, ok = d.Next() {
			if _, err := p.Parse(&ev.Fields); err != nil {
				t.Fatal(err)
			}
			n++
		}
		if n != count {
			t.Fatalf("%d sentences of %d", n, count)
		}
		best = max(best, float64(n)/time.Since(start).Seconds())
	}
	t.Logf("%.0f sentences a second, pynmea2 %.0f: %.0f times", best, theirs, best/theirs)
	if best < 15*theirs {
		t.Errorf("%.0f sentences a second, pynmea2 %.0f: only %.1f times", best, theirs, best/theirs)
	}
}
