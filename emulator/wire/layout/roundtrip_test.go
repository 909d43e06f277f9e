package layout

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"swellbench/emulator/wire"
	"swellbench/scenarios/opt"
	"swellbench/scenarios/utc"
)

// A gen writes random layout files.
type gen struct {
	*rapid.T
	used map[string]bool
	text bool
}

func (g gen) pick(name string, of ...string) string { return rapid.SampledFrom(of).Draw(g.T, name) }
func (g gen) n(name string, lo, hi int) int         { return rapid.IntRange(lo, hi).Draw(g.T, name) }
func (g gen) yes(name string) bool                  { return rapid.Bool().Draw(g.T, name) }

// exclusive are quantities that speak of the same field of a reading.
var exclusive = [][]string{{"height", "altitude"}, {"roll", "inclination-right", "attitude-valid"}, {"heading", "magnetic-heading", "heading-valid"},
	{"yaw", "magnetic-yaw"}, {"course", "magnetic-course"}, {"magnetic-variation", "magnetic-heading", "magnetic-yaw", "magnetic-course"}, {"altitude", "undulation"},
	{"pitch", "inclination-right", "attitude-valid"}}

func (g gen) quantity() *quantity {
	for {
		q := findQuantity(g.pick("quantity", numbersOnly...))
		taken := g.used[q.name]
		for _, e := range exclusive {
			if slices.Contains(e, q.name) {
				for _, o := range e {
					taken = taken || g.used[o]
				}
			}
		}
		if !taken {
			g.used[q.name] = true
			return q
		}
	}
}

var numbersOnly = func() (all []string) {
	for _, n := range quantityNames() {
		if findQuantity(n) != nil && n != "latitude" && n != "longitude" { // those go together
			all = append(all, n)
		}
	}
	return all
}()

// coding writes how a field is written; wide is for what must not be cut short.
func (g gen) coding(integer bool) string {
	neg := func(of ...string) string {
		if g.yes("negative") {
			return ", negative: " + g.pick("how", of...)
		}
		return ""
	}
	kinds := []string{"decimal", "hex"}
	if !g.text {
		kinds = append(kinds, "int", "uint", "bits", "bcd", "float32", "float64")
		if integer {
			kinds = kinds[:6]
		}
	}
	switch k := g.pick("coding", kinds...); k {
	case "decimal":
		s := fmt.Sprintf("as: decimal, decimals: %d", g.n("decimals", 0, 6))
		if integer {
			s = "as: decimal"
		}
		if !g.text || g.yes("width") {
			s += fmt.Sprintf(", width: %d, pad: %s", g.n("width", 10, 20), g.pick("pad", "zeros", "spaces", "spaces-after"))
		}
		return s + ", plus: " + g.pick("plus", "none", "plus", "space")
	case "hex":
		return fmt.Sprintf("as: hex, width: %d", g.n("width", 3, 16)) + neg("twos-complement", "ones-complement", "sign-bit", "half-range")
	case "int", "uint":
		return fmt.Sprintf("as: %s%d, byte-order: %s", k, 8*g.n("bytes", 2, 8), g.pick("order", "big", "little"))
	case "bits":
		bits, first := g.n("bits", 9, 48), g.n("first", 0, 15)
		s := fmt.Sprintf("as: bits, bits: %d, first-bit: %d, bit-0: %s, byte-order: %s", bits, first, g.pick("zero", "low", "high"), g.pick("order", "big", "little"))
		if g.yes("bytes") {
			s += ", bytes: 8"
		}
		return s + neg("twos-complement", "ones-complement", "sign-bit", "half-range")
	case "bcd":
		return fmt.Sprintf("as: bcd, width: %d, byte-order: %s", g.n("digits", 3, 16), g.pick("order", "big", "little")) + neg("sign-bit")
	default:
		return "as: " + k + ", byte-order: " + g.pick("order", "big", "little")
	}
}

func (g gen) number(i int) string {
	q := g.quantity()
	units := q.dim.symbols()
	units = slices.DeleteFunc(units, func(s string) bool { u, _ := q.dim.find(s); return u.runs > 0 })
	s := fmt.Sprintf("{name: f%d, quantity: %s, unit: %s, %s", i, q.name, g.pick("unit", units...), g.coding(false))
	if q.ways[0] != "" && g.yes("positive") {
		s += ", positive: " + g.pick("way", q.ways[:]...)
	}
	if q.north && g.yes("zero") {
		s += ", zero: " + g.pick("zero at", "north", "east", "south", "west")
	}
	if q.turn != straight && g.yes("circle") {
		s += ", circle: " + g.pick("circle how", "whole", "halves")
	}
	if g.yes("scale") {
		s += ", scale: " + g.pick("by", "0.01", "-0.05", "1/3", "360/2^16", "2^-11", "1e-3", "-1/7", "25")
	}
	if g.yes("offset") && q.turn == straight {
		s += ", offset: " + g.pick("off", "-100", "0.5", "1/3", "12.25")
	}
	return s + "}"
}

var methods = []string{"{method: XOR-8}", "{method: SUM-16/TWOS-COMPLEMENT}", "{method: FLETCHER-16}", "{method: crc, width: 24, poly: 0x864CFB}", "{method: CRC-32/ISCSI}",
	"{method: crc, width: 16, poly: 0x1021, init: 0xFFFF, over: [{from: f0, to: f0}, {from: start, to: before-field}]}"}

// file writes a layout file with one message, and positions and times in it.
func (g gen) file() string {
	var fs []string
	i := 0
	add := func(f string) { fs = append(fs, f); i++ }
	for range g.n("numbers", 1, 6) {
		add(g.number(i))
	}
	if g.yes("position") {
		for _, q := range []string{"latitude", "longitude"} {
			c := g.pick("how", "unit: deg-min, as: decimal, decimals: 5, width: 12", "unit: deg-min-sec, as: decimal, decimals: 3, width: 12", "unit: deg, as: decimal, decimals: 7, width: 14")
			if !g.text {
				c = g.pick("how binary", c, "unit: semicircle, scale: 2^-31, as: int32", "unit: deg, scale: 1e-7, as: int32, byte-order: little", "unit: rad, as: float64")
			}
			add(fmt.Sprintf("{name: f%d, quantity: %s, %s}", i, q, c))
		}
	}
	switch g.pick("time", "none", "unix", "gps", "clock", "of day") {
	case "unix":
		add(fmt.Sprintf("{name: f%d, quantity: unix-time, unit: %s, as: hex, width: 16}", i, g.pick("unit", "s", "ms", "us", "ns")))
	case "gps":
		add(fmt.Sprintf("{name: f%d, quantity: gps-week, as: hex, width: 3, modulo: 1024}", i))
		add(fmt.Sprintf("{name: f%d, quantity: gps-time-of-week, unit: s, scale: %s, as: hex, width: 12}", i, g.pick("scale", "1", "0.001", "1/256", "2^-20")))
	case "clock":
		for _, p := range []string{"hour", "minute", "day", "month"} {
			add(fmt.Sprintf("{name: f%d, quantity: %s, as: decimal, width: 2}", i, p))
		}
		add(fmt.Sprintf("{name: f%d, quantity: second, unit: s, as: decimal, decimals: %d, width: 13}", i, g.n("decimals", 0, 9)))
		add(fmt.Sprintf("{name: f%d, quantity: year, as: decimal, width: 2, modulo: 100}", i))
	case "of day":
		add(fmt.Sprintf("{name: f%d, quantity: time-of-day, unit: ms, as: hex, width: 8}", i))
	}
	if g.yes("fix") {
		add(fmt.Sprintf("{name: f%d, quantity: fix, as: hex, width: 1, states: {none: 0, estimated: 1, autonomous: 2, differential: 3, rtk-float: 4, rtk-fixed: 5, precise: 6, manual: 7, simulated: 8}}", i))
	}
	add(fmt.Sprintf("{name: f%d, quantity: %s, as: hex, width: 8}", i, g.pick("counter", "count", "series")))
	for range g.n("sums", 0, 2) {
		add(fmt.Sprintf("{name: f%d, as: hex, width: 8, checksum: %s}", i, g.pick("method", methods...)))
	}
	head := "- name: M\n  start: {hex: A5 C3}\n"
	if g.text {
		head = "- name: M\n  start: \"$M\"\n  separator: \",\"\n  end: \"\\r\\n\"\n"
	}
	return "name: any\nmessages:\n" + head + "  fields:\n  - " + strings.Join(fs, "\n  - ") + "\n"
}

// reading draws a reading whose values fit the fields, near their ends too.
func (g gen) reading(m *message) (wire.Reading, bool) {
	r := Sample()
	r.Variation = opt.Of(0.0)
	d := draft{r: &r}
	for i := range m.fields {
		f := &m.fields[i]
		if f.role != roleNumber {
			continue
		}
		top := f.q.top
		if f.q.turn == halves {
			top = math.Pi
		}
		lo, hi := -top, top
		switch {
		case f.q.turn == whole:
			lo, hi = 0, 2*math.Pi
		case f.q.dim == pure || f.q.name == "inclination-right" || f.q.name == "running-time" || strings.Contains(f.q.name, "sigma"):
			lo = 0
		}
		if f.limited {
			a, b := f.conv.value(f.lo), f.conv.value(f.hi)
			a, b = min(a, b), max(a, b)
			half := math.Abs(f.conv.u)
			if f.conv.turn == straight {
				lo, hi = max(lo, a), min(hi, b)
			} else if f.conv.from != 0 && b-a+2*half < 2*math.Pi {
				return r, false // the part that fits is not worked out here
			} else if b-a+2*half < 2*math.Pi || f.conv.turn != f.q.turn && !(a <= half && b >= 2*math.Pi-2*half) && !(a <= -math.Pi+2*half && b >= math.Pi-2*half) {
				// Only a part of the circle fits: keep to it.
				lo, hi = max(a, 0), min(b, math.Pi)
				if f.conv.flip {
					lo, hi = max(a, -math.Pi), min(b, 0)
				}
			}
		}
		if !(lo < hi) {
			return r, false
		}
		v := rapid.Float64Range(lo, hi).Draw(g.T, f.q.name)
		switch g.pick("where", "any", "any", "low", "high") {
		case "low":
			v = lo + (v-lo)*1e-9
		case "high":
			v = hi - (hi-v)*1e-9
		}
		if f.q.name == "satellites" || f.q.name == "correction-station" {
			v = math.Round(v)
		}
		v = f.q.turn.normal(v)
		f.q.put(&d, min(max(v, lo), hi), true)
	}
	d.hasInclination = 0
	for i := range m.fields {
		if m.fields[i].role == roleNumber && m.fields[i].q.name == "inclination-right" {
			d.hasInclination = 1
		}
	}
	d.finish()
	ns := rapid.Int64Range(0, 86400e9-1).Draw(g.T, "of day")
	if g.yes("late") {
		ns = 86400e9 - 1 - ns%2e9
	}
	l := utc.Label{Day: rapid.IntRange(utc.DayOf(2027, 1, 1), utc.DayOf(2033, 12, 31)).Draw(g.T, "day"), OfDay: time.Duration(ns)}
	r.Stamp(l, false)
	r.Fix = wire.Fix(g.n("fix", 0, 8))
	r.Count, r.Series = rapid.Uint32().Draw(g.T, "count"), rapid.Uint32().Draw(g.T, "series")
	return r, true
}

// Whatever a file describes, what is written is found among other bytes and read again, within the resolution.
func TestAnyLayout(t *testing.T) {
	done := 0
	rapid.Check(t, func(t *rapid.T) {
		g := gen{t, map[string]bool{}, rapid.Bool().Draw(t, "text")}
		text := g.file()
		l, err := Parse("any.yaml", []byte(text))
		if err != nil {
			t.Fatalf("%s\n%v", text, err)
		}
		m := l.messages[0]
		r, ok := g.reading(m)
		if !ok {
			return
		}
		enc, err := l.New("M")
		if err != nil {
			t.Fatal(err)
		}
		b, err := enc.Append([]byte("before"), &r)
		if err != nil || len(b) == len("before") {
			return // does not fit, or is not known: TestLimits and TestAbsent know whether rightly
		}
		done++
		b = b[len("before"):]
		fam := l.Family()
		if len(b) > fam.Longest || !fam.Begins[b[0]] {
			t.Fatalf("%s\n%q has %d bytes, longest is %d", text, b, len(b), fam.Longest)
		}
		for n := 1; n < len(b); n++ {
			if p := fam.Probe(b[:n], false); p.Verdict != wire.Partial || p.Len <= n || p.Len > len(b) {
				t.Fatalf("%s\n%q: the first %d bytes of %d are %+v", text, b, n, len(b), p)
			}
		}
		for _, more := range []string{"", "xyz", "\xA5\xC3$M,"} {
			if p := fam.Probe(append(slices.Clone(b), more...), false); p.Verdict != wire.Whole || p.Len != len(b) {
				t.Fatalf("%s\n%q is %+v", text, b, p)
			}
		}
		got := wire.Reading{Variation: opt.Of(0.0), Undulation: r.Undulation, Pitch: r.Pitch, UTC: r.UTC, Position: r.Position}
		kind, carries, err := fam.Read(b, &got)
		if kind != "M" || !carries || err != nil {
			t.Fatalf("%s\n%q: %q, %v, %v", text, b, kind, carries, err)
		}
		for _, res := range enc.Resolutions() {
			if res.Quantity == wire.Time {
				a, _ := r.UTC.Value()
				z, ok := got.UTC.Value()
				if diff := math.Abs(z.Sub(a).Seconds()); !ok || diff > res.Half+1e-9 {
					t.Fatalf("%s\n%q: time is %v, read %v", text, b, a, z)
				}
			}
		}
		for i := range m.fields {
			f := &m.fields[i]
			switch f.role {
			case roleNumber:
				a, known := f.q.get(&r)
				z, ok := f.q.get(&got)
				if !known || a-a != 0 {
					if ok {
						t.Fatalf("%s\n%q: %s is not known, read %g", text, b, f.q.name, z)
					}
					continue
				}
				half := math.Abs(f.conv.u) / 2
				if f.coding == codeFloat {
					half = f.q.top * 0x1p-50
					if f.nbytes == 4 {
						half = (f.q.top + math.Abs(f.conv.o)) * 0x1p-23
					}
				}
				diff := math.Abs(a - z)
				if f.q.turn != straight {
					diff = math.Abs(math.Remainder(a-z, 2*math.Pi))
				}
				if f.q.name == "inclination-right" && half > 1e-6 {
					continue // asin there and back is not linear at the end
				}
				slack := half*1e-6 + (math.Abs(a)+math.Abs(f.conv.o)+1e-6)*1e-14
				if f.q.dim == pure && (f.q.name == "satellites" || f.q.name == "correction-station") {
					slack += 0.5
				}
				if f.conv.turn != straight && !f.conv.exact {
					slack += 2 * half // the end of a circle that is no whole number of counts
				}
				if f.q.name == "inclination-right" {
					slack = 1e-5
				}
				if !ok || diff > half+slack {
					t.Fatalf("%s\n%q: %s is %.12g, read %.12g, off by %g, half a count is %g", text, b, f.q.name, a, z, diff, half)
				}
			case roleCount:
				if f.series && got.Series != r.Series || !f.series && got.Count != r.Count {
					t.Fatalf("%s\n%q: count %d %d", text, b, got.Count, got.Series)
				}
			case roleStatus:
				if got.Fix != r.Fix {
					t.Fatalf("fix %v, read %v", r.Fix, got.Fix)
				}
			}
		}
		if _, fields := fam.Describe(b); len(fields) != len(m.fields) {
			t.Fatalf("%d fields described", len(fields))
		}
		if m.hasSum { // any byte changed is seen, if a sum is over it
			h := slices.Clone(b)
			k := g.n("hurt", len(m.start), len(b)-len(m.end)-1)
			h[k] ^= 1 << g.n("bit", 0, 6)
			if p := fam.Probe(h, true); p.Verdict == wire.Whole && len(m.sums) == 1 && p.Len == len(b) {
				f := &m.fields[m.sums[0]]
				if f.spec.Checksum.Over == nil && !strings.Contains(f.spec.Checksum.Method, "FLETCHER") && (k < m.place(f, len(b))-len(m.end)) && !m.letter(b, h, k) {
					t.Fatalf("%s\n%q with byte %d changed is still whole: %q", text, b, k, h)
				}
			}
		}
	})
	t.Logf("%d messages were tried", done)
	if !testing.Short() && done < 30 {
		t.Errorf("only %d messages were tried", done)
	}
}

// place is where the checksum begins at the earliest.
func (m *message) place(f *field, n int) int { return n - 9 - len(m.end) }

// letter tells whether only the case of a hexadecimal digit of the sum was changed.
func (m *message) letter(b, h []byte, k int) bool { return b[k]^h[k] == 0x20 && k > len(b)-12 }
