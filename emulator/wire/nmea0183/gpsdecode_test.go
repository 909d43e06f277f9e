package nmea0183

import (
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
	"swellbench/scenarios/frame"
	"swellbench/scenarios/geo"
	"swellbench/scenarios/opt"
)

// TestGpsdecodeAgrees: gpsd's own decoder finds in each epoch of a long run what the device reported.
func TestGpsdecodeAgrees(t *testing.T) {
	program, err := exec.LookPath("gpsdecode")
	if err != nil {
		t.Skip("no gpsdecode (Debian: gpsd-clients)")
	}
	rng := rand.New(rand.NewPCG(7, 7))
	between := func(lo, hi float64) float64 { return lo + rng.Float64()*(hi-lo) }
	n := 500
	byTime := map[string]*wire.Reading{}
	var stream []byte
	var es []wire.Encoder
	for _, k := range []string{"GGA", "RMC", "GSA", "GSV", "GST", "HDT"} {
		talker := "GP" // gpsd 3.22 drops those of HE
		e, err := New(k, Options{Talker: talker})
		if err != nil {
			t.Fatal(err)
		}
		es = append(es, e)
	}
	for i := range n {
		r := reading()
		at := time.Date(2026, 6, 14, 23, 55, 0, 0, time.UTC).Add(time.Duration(i) * time.Second)
		r.UTC, r.Fix = opt.Of(at), []wire.Fix{wire.FixAutonomous, wire.FixDifferential, wire.FixRTKFloat, wire.FixRTKFixed}[rng.IntN(4)]
		r.Position = opt.Of(geo.Position{Lat: between(-89, 89) * degree, Lon: between(-179, 179) * degree, Height: between(-90, 2000)})
		r.Undulation, r.Variation = opt.Of(between(-100, 80)), opt.Of(between(-30, 30)*degree)
		r.SpeedMS, r.CourseRad, r.Heading = opt.Of(between(1, 20)), opt.Of(between(0, 2*math.Pi)), opt.Of(between(0, 2*math.Pi))
		r.Sigma, r.SigmaEN = opt.Of(r3.Vec{X: between(0.1, 9), Y: between(0.1, 9), Z: between(0.1, 9)}), 0
		r.PDOP, r.HDOP, r.VDOP = opt.Of(between(1, 9)), opt.Of(between(0.7, 5)), opt.Of(between(1, 5))
		r.Sky = nil
		for k := range 5 + rng.IntN(15) {
			r.Sky = append(r.Sky, wire.Satellite{Number: k + 1, Elevation: between(0.1, math.Pi/2), Azimuth: between(0, 2*math.Pi), SNR: opt.Of(between(20, 50)), Used: k < 10})
		}
		byTime[at.Format("2006-01-02T15:04:05.000Z")] = r
		for _, e := range es {
			if stream, err = e.Append(stream, r); err != nil {
				t.Fatal(err)
			}
		}
	}
	cmd := exec.Command(program, "-j")
	cmd.Stdin = bytes.NewReader(stream)
	out, err := cmd.Output()
	if err != nil {
		t.Fatal(err)
	}
	seen := map[string]int{}
	var sky []any
	for line := range strings.Lines(string(out)) {
		var m map[string]any
		if strings.HasPrefix(line, `{"class":"ATT"`) { // 3.22 writes that one with two commas too many or too few
			_, heading, ok := strings.Cut(line, `"heading":`)
			_, at, ok2 := strings.Cut(line, `"time":"`)
			if !ok || !ok2 {
				continue
			}
			heading, _, _ = strings.Cut(heading, ",")
			at, _, _ = strings.Cut(at, `"`)
			m = map[string]any{"class": "ATT", "time": at}
			if h, err := strconv.ParseFloat(heading, 64); err == nil {
				m["heading"] = h
			}
		} else if err := json.Unmarshal([]byte(line), &m); err != nil {
			t.Fatalf("%v: %s", err, line)
		}
		class, _ := m["class"].(string)
		at, _ := m["time"].(string)
		r := byTime[at]
		if class == "SKY" { // without a time; it comes with the GSV that ends the group, before the GST of its epoch
			sky, _ = m["satellites"].([]any)
			continue
		}
		if r == nil {
			t.Fatalf("an epoch that never was: %s", line)
		}
		expect := func(name string, want, within float64) {
			t.Helper()
			x, ok := m[name].(float64)
			off := math.Abs(x - want)
			if name == "track" || name == "heading" {
				off = min(off, 360-off)
			}
			if !ok || !(off <= within*(1+1e-6)+1e-9) {
				t.Errorf("%s at %s is %v, want %v ± %g", name, at, m[name], want, within)
			}
		}
		p, _ := r.Position.Value()
		s, _ := r.Sigma.Value()
		switch class {
		case "TPV":
			expect("lat", p.Lat*180/math.Pi, 0.5e-5/60+0.5e-9)
			expect("lon", p.Lon*180/math.Pi, 0.5e-5/60+0.5e-9)
			expect("altMSL", p.Height-r.Undulation.Or(0), 0.005)
			expect("altHAE", p.Height, 0.01)
			expect("geoidSep", r.Undulation.Or(0), 0.005)
			expect("speed", r.SpeedMS.Or(0), 0.005*1852/3600+0.0005)
			expect("track", r.CourseRad.Or(0)*180/math.Pi, 0.005)
			expect("magvar", frame.Deg(r.Variation.Or(0)), 0.05)
			if r.Fix != wire.FixAutonomous { // of which it says nothing
				expect("status", map[wire.Fix]float64{wire.FixDifferential: 2, wire.FixRTKFixed: 3, wire.FixRTKFloat: 4}[r.Fix], 0)
			}
		case "GST":
			if sky != nil {
				if bad := skyClaims(sky, r.Sky); bad != "" {
					t.Errorf("sky at %s: %s", at, bad)
				}
				sky = nil
				seen["SKY"]++
			}
			expect("lat", s.Y, 0.0005)
			expect("lon", s.X, 0.0005)
			expect("alt", s.Z, 0.0005)
			expect("major", math.Max(s.X, s.Y), 0.0005)
			expect("minor", math.Min(s.X, s.Y), 0.0005)
		case "ATT":
			expect("heading", r.Heading.Or(0)*180/math.Pi, 0.005+0.0005)
		}
		seen[class]++
		if t.Failed() {
			t.Fatal(line)
		}
	}
	for _, class := range []string{"TPV", "GST", "ATT", "SKY"} {
		if seen[class] < n*9/10 {
			t.Errorf("only %d of %d epochs gave a %s", seen[class], n, class)
		}
	}
}

// skyClaims says how satellites found differ from those sent.
func skyClaims(found []any, sent []wire.Satellite) string {
	if len(found) != len(sent) {
		return fmt.Sprintf("%d satellites, want %d", len(found), len(sent))
	}
	for i, x := range found {
		g, _ := x.(map[string]any)
		s := sent[i]
		num := func(key string) float64 {
			v, ok := g[key].(float64)
			if !ok {
				return math.NaN()
			}
			return v
		}
		az := math.Abs(num("az") - s.Azimuth*180/math.Pi)
		if num("PRN") != float64(s.Number) || g["used"] != s.Used || !(math.Abs(num("el")-s.Elevation*180/math.Pi) <= 0.5+1e-9) || !(min(az, 360-az) <= 0.5+1e-9) ||
			!(math.Abs(num("ss")-s.SNR.Or(0)) <= 0.5+1e-9) {
			return fmt.Sprintf("%v, want %+v", g, s)
		}
	}
	return ""
}
