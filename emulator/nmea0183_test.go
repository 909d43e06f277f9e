package emulator_test

import (
	"bytes"
	"fmt"
	"regexp"
	"strings"
	"testing"
	"time"

	"swellbench/emulator"
	"swellbench/emulator/line"
	"swellbench/emulator/wire"
	"swellbench/emulator/wire/mixed"
	"swellbench/emulator/wire/nmea0183"
	"swellbench/scenarios"
)

// nmeaScenario is one with all sentences, and the choices of the stream.
func nmeaScenario(choices string) string {
	before, _, _ := strings.Cut(head, "streams:")
	text := before + "streams:\n  - format: nmea0183\n    line: {baud: 115200}\n"
	if choices != "" {
		text += "    nmea0183: {" + choices + "}\n"
	}
	text += "    messages:\n"
	for _, kind := range nmea0183.Kinds() {
		text += fmt.Sprintf("      - {type: %s, rate: 1 Hz}\n", kind)
	}
	return text + points
}

func nmeaLines(t *testing.T, text string) []string {
	t.Helper()
	var out bytes.Buffer
	if err := emulator.Render(device(t, text), 0, &out, nil); err != nil {
		t.Fatal(err)
	}
	return strings.Split(strings.TrimSuffix(out.String(), "\r\n"), "\r\n")
}

// first is the first sentence of a type, with its TAG block.
func first(lines []string, kind string) string {
	for _, l := range lines {
		if _, s, _ := strings.Cut(l, "$"); len(s) > 5 && s[2:5] == kind {
			return l
		}
	}
	return ""
}

// The choices of a stream reach the wire.
func TestNMEA0183Choices(t *testing.T) {
	commas := func(s string) int { return strings.Count(s, ",") }
	old := nmeaLines(t, nmeaScenario(`version: 2.3`))
	usual := nmeaLines(t, nmeaScenario(""))
	newest := nmeaLines(t, nmeaScenario(`version: "4.11"`))
	// Fields by edition: the table of version differences of the reference page.
	for _, x := range []struct {
		kind               string
		old, usual, newest int
	}{{"RMC", 12, 13, 13}, {"GLL", 7, 7, 7}, {"VTG", 9, 9, 9}, {"GGA", 14, 14, 14}, {"GNS", 12, 13, 13}, {"GSA", 17, 18, 18}, {"GBS", 8, 10, 10}, {"VBW", 6, 10, 10}} {
		if a, b, c := commas(first(old, x.kind)), commas(first(usual, x.kind)), commas(first(newest, x.kind)); a != x.old || b != x.usual || c != x.newest {
			t.Errorf("%s has %d, %d, %d fields; want %d, %d, %d", x.kind, a, b, c, x.old, x.usual, x.newest)
		}
	}
	if a, b := commas(first(old, "GSV")), commas(first(usual, "GSV")); a%4 != 3 || b%4 != 0 {
		t.Errorf("GSV has %d and %d fields", a, b)
	}
	if !strings.Contains(first(newest, "XDR"), ",Pitch,") || !strings.Contains(first(usual, "XDR"), ",PITCH,") {
		t.Errorf("%s, %s", first(newest, "XDR"), first(usual, "XDR"))
	}
	simulated := nmeaLines(t, nmeaScenario("simulated: true, version: 4.10"))
	for kind, want := range map[string]string{"GGA": `,[EW],8,`, "RMC": `,V,.*,S,V\*`, "GNS": `,SNNN,`, "GLL": `,V,S\*`, "VTG": `,S\*`, "THS": `,S\*`} {
		if s := first(simulated, kind); !regexp.MustCompile(want).MatchString(s) {
			t.Errorf("%s is no simulator's", s)
		}
	}
	tagged := nmeaLines(t, nmeaScenario("tag-block: {source: SB0001, time: milliseconds, count: true, group: true}"))
	hdt, parts := first(tagged, "HDT"), 0
	if !strings.HasPrefix(hdt, `\s:SB0001,n:`) || !strings.Contains(hdt, ",c:1780315200000*") { // 2026-06-01T12:00:00Z
		t.Errorf("%s", hdt)
	}
	for _, l := range tagged {
		s, err := nmea0183.Parse([]byte(l))
		if err != nil {
			t.Fatalf("%s: %v", l, err)
		}
		if g, ok := s.(*nmea0183.GSV); ok && g.Total > 1 {
			parts++
			if !strings.HasPrefix(l, fmt.Sprintf(`\g:%d-%d-`, g.Number, g.Total)) {
				t.Errorf("%s", l)
			}
		}
	}
	if parts == 0 {
		t.Error("no group of sentences")
	}
}

// What a stream sends is what the device reports, message by message.
func TestNMEA0183Stream(t *testing.T) {
	d := device(t, nmeaScenario("tag-block: {source: SB0001, time: milliseconds, group: true}"))
	var out bytes.Buffer
	var kinds []string
	if err := emulator.Render(d, 0, &out, func(s line.Sent) {
		for range bytes.Count(s.Bytes, []byte("\n")) {
			kinds = append(kinds, s.Kind)
		}
	}); err != nil {
		t.Fatal(err)
	}
	s := mixed.New(nmea0183.Family)
	s.Push(out.Bytes())
	s.Flush()
	n := 0
	var r wire.Reading
	for e, ok := s.Next(); ok; e, ok = s.Next() {
		if e.Kind != mixed.Message {
			t.Fatalf("%v at %d: %s", e.Kind, e.Offset, e.Why)
		}
		kind, _, err := e.Family.Read(e.Bytes, &r)
		if err != nil || kind != kinds[n] {
			t.Fatalf("%q is %s, %v; sent as %s", e.Bytes, kind, err, kinds[n])
		}
		n++
	}
	if n != len(kinds) {
		t.Errorf("%d sentences of %d", n, len(kinds))
	}
	want := d.Ideal(9)
	p, ok := r.Position.Value()
	q, ok2 := want.Position.Value()
	if !ok || !ok2 || !(abs(p.Lat-q.Lat) < 1e-8 && abs(p.Lon-q.Lon) < 1e-8 && abs(p.Height-q.Height) < 0.5) || len(r.Sky) == 0 || r.Fix != want.Fix {
		t.Errorf("%+v\nwant %+v", r, want)
	}
}

func abs(x float64) float64 { return max(x, -x) }

func TestNMEA0183Problems(t *testing.T) {
	for _, c := range []struct{ choices, want string }{
		{"version: 5.0", `5.0 is no edition; allowed: 2.3, 3.01, 4.10, 4.11`},
		{"version: 2.3, tag-block: {source: X}", "it came with 4.00"},
		{"tag-block: {}", "the TAG block says nothing"},
		{"tag-block: {source: far-too-long-a-name}", "up to 15 printable characters"},
		{"tag-block: {source: 'a,b'}", "up to 15 printable characters"},
		{"tag-block: {time: minutes}", `time is minutes; allowed: seconds, milliseconds`},
		{"long-sentences: maybe", `long-sentences is maybe; allowed: refused, allowed`},
		{"colour: red", "colour"},
	} {
		sc, err := scenarios.Parse("test.yaml", []byte(nmeaScenario(c.choices)))
		if err == nil {
			_, err = emulator.New(sc)
		}
		if err == nil || !strings.Contains(err.Error(), c.want) || !strings.Contains(err.Error(), "test.yaml:") {
			t.Errorf("%s: error %v, want %q in it", c.choices, err, c.want)
		}
	}
	for old, new := range map[string]string{"{type: HDT, rate: 1 Hz}": "{type: HDT, rate: 1 Hz, text: hello}", "{type: TXT, rate: 1 Hz}": "{type: TXT, rate: 1 Hz, text-id: 100}",
		"{type: GGA, rate: 1 Hz}": "{type: GGA, rate: 1 Hz, decimals: {minutes: 9, altitude: 4}}", "format: nmea0183": "format: mavlink"} {
		sc, err := scenarios.Parse("test.yaml", []byte(strings.Replace(nmeaScenario("long-sentences: refused"), old, new, 1)))
		if err == nil {
			_, err = emulator.New(sc)
		}
		if err == nil || !strings.Contains(err.Error(), "test.yaml:") {
			t.Errorf("%s: error %v", new, err)
		}
	}
}

// People type queries in small letters; the talker that is asked decides between two.
func TestQueryTyped(t *testing.T) {
	text := strings.Replace(head, "{type: HDT, rate: 10 Hz}", "{type: GGA, rate: 1 Hz, talker: GP}", 1)
	text = strings.Replace(text, "streams:", "device: {start-up: {streaming: when-asked}}\nstreams:", 1) + points
	lines, _ := hear(t, text, map[time.Duration]string{time.Second: "$ccGPQ,GGA*2B\r\n", 2 * time.Second: "$CCGNQ,GGA*35\r\n", 3 * time.Second: "$ccGPQ,GSV*28\r\n"})
	if len(lines) < 3 || !strings.HasPrefix(lines[0], "$GPGGA,120001.00") || !strings.HasPrefix(lines[1], "$GNGGA,120002.00") || !strings.HasPrefix(lines[2], "$GPGSV,") {
		t.Errorf("%q", lines)
	}
}
