package consumer

import (
	"bytes"
	"encoding/json"
	"math/rand/v2"
	"strings"
	"testing"
	"testing/iotest"
	"time"

	"gonum.org/v1/gonum/spatial/r3"
)

// FuzzRun feeds any bytes, with any defects, as a file and as a line. It never panics, and each line it writes is an
// observation: a time, and values within their ranges.
func FuzzRun(f *testing.F) {
	for _, name := range []string{"nmea0183-sentences.jsonl", "nmea0183-edge.jsonl", "nmea0183-reject.jsonl"} {
		for _, r := range rows(f, name) {
			f.Add([]byte(r.Input+"\r\n"), uint16(0), 0)
		}
	}
	f.Add([]byte(burst(f, "Z1 G1 H1 X1 T1 R1 G2 H2 X2 G3")), uint16(0xffff), 4800)
	f.Add([]byte(burst(f, "H1 X1 H1 H1 G1 ?1 G86399 Z2 X3")), uint16(1), 115200)
	in := boat("sonar", map[string]r3.Vec{"antenna-primary": {X: 1, Y: -2, Z: 3}, "antenna-secondary": {X: 3, Y: -2, Z: 3}, "sonar": {Y: 4}})
	in.Mounting = mountingDeg(90, 10, 20)
	f.Fuzz(func(t *testing.T, stream []byte, defects uint16, baud int) {
		cfg := Config{Installation: in, Baud: baud & 0xfffff, Clock: func() time.Time { return time.Unix(1e9, 0) }}
		for i, d := range Defects {
			if defects>>i&1 == 1 {
				cfg.Defects = append(cfg.Defects, d.Name)
			}
		}
		var out, again bytes.Buffer
		if err := Run(t.Context(), cfg, bytes.NewReader(stream), &out); err != nil {
			t.Fatal(err)
		}
		for line := range bytes.Lines(out.Bytes()) {
			checkLine(t, line)
		}
		if err := Run(t.Context(), cfg, iotest.HalfReader(bytes.NewReader(stream)), &again); err != nil {
			t.Fatal(err)
		}
		if !bytes.Equal(out.Bytes(), again.Bytes()) {
			t.Fatalf("in one piece %s\nin many %s", out.Bytes(), again.Bytes())
		}
	})
}

func checkLine(t *testing.T, line []byte) {
	t.Helper()
	var o struct {
		Time                       time.Time
		Point, Source              string
		Lat, Lon, Heading, Course  *float64
		Pitch, Roll, Height, Heave *float64
		HeadingValid               *bool `json:"heading_valid"`
		Speed                      *float64
		RateOfTurn                 *float64 `json:"rate_of_turn"`
		Fix, Note                  string
	}
	d := json.NewDecoder(bytes.NewReader(line))
	d.DisallowUnknownFields()
	if err := d.Decode(&o); err != nil {
		t.Fatalf("%q: %v", line, err)
	}
	if o.Point == "" || o.Source == "" {
		t.Fatalf("%q: no point or no source", line)
	}
	for _, r := range []struct {
		v      *float64
		lo, hi float64
	}{{o.Lat, -90, 90}, {o.Lon, -180, 180}, {o.Heading, 0, 359.999999}, {o.Course, 0, 359.999999}} {
		if r.v != nil && !(*r.v >= r.lo && *r.v <= r.hi) {
			t.Fatalf("%q: %v is not in %v to %v", line, *r.v, r.lo, r.hi)
		}
	}
}

// Damage to single bytes of a long stream in a file: each heading that comes out is that of its epoch. (Where a whole
// period of bytes is missing, the rest of two epochs may look like one.)
func TestDamage(t *testing.T) {
	in := boat("antenna-primary", nil)
	var clean strings.Builder
	for k := range 60 {
		clean.WriteString(burst(t, strings.ReplaceAll("Z# G# H# X#", "#", string(rune('0'+k/10))+string(rune('0'+k%10)))))
	}
	whole := len(burst(t, "Z0 G0 H0 X0")) // the first burst says in which order they come
	n := 0
	for seed := range uint64(200) {
		rng := rand.New(rand.NewPCG(seed, 3))
		b := []byte(clean.String())
		for range 12 {
			i := whole + rng.IntN(len(b)-whole)
			switch rng.IntN(3) {
			case 0: // a bit
				b[i] ^= 1 << rng.IntN(8)
			case 1: // a byte lost
				b = append(b[:i], b[i+1:]...)
			case 2: // a byte too many
				b = append(b[:i], append([]byte{byte(rng.IntN(256))}, b[i:]...)...)
			}
		}
		for _, o := range observe(t, in, string(b)) {
			h, ok := o["heading"].(float64)
			if !ok {
				continue
			}
			n++
			if sec := stampOf(t, o).Second(); h != float64(sec) {
				t.Errorf("seed %d: heading %v in the epoch of second %d", seed, h, sec)
			}
		}
	}
	if n < 200*50 {
		t.Errorf("%d headings of 12000 came out: 12 hurt sentences of 240 cost more than themselves", n)
	}
}
