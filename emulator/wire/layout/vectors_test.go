package layout

import (
	"bufio"
	"encoding/hex"
	"encoding/json"
	"math"
	"os"
	"strings"
	"testing"
	"time"

	"swellbench/emulator/wire"
	"swellbench/scenarios/opt"
)

// Open formats, described as a person would describe a format of their own, give what other programs give for them. The
// vectors and their sources: testdata/*.jsonl. Payloads of NMEA 2000 have a byte of their own before them here.
const open2000 = `name: open
byte-order: little
messages:
- {name: "h", start: {hex: 01}, fields: [{name: sid, as: uint8, quantity: count, modulo: 253}, {name: v, as: uint16, quantity: heading, unit: rad, scale: 1e-4, absent: 0xFFFF},
   {name: deviation, as: uint16, fixed: 0x7FFF}, {name: variation, as: uint16, fixed: 0x7FFF}, {name: ref, as: bits, bits: 2, fixed: 0}, {name: rest, as: bits, bits: 6, first-bit: 2, at: 8, fixed: 0x3F}]}
- {name: "t", start: {hex: 02}, fill: 0xFF, length: 9, fields: [{name: sid, as: uint8, quantity: count, modulo: 253}, {name: v, as: int32, quantity: rate-of-turn, unit: rad/s, scale: 1/32000000, absent: 0x7FFFFFFF}]}
- {name: "v", start: {hex: 03}, fill: 0xFF, length: 9, fields: [{name: sid, as: uint8, quantity: count, modulo: 253}, {name: v, as: int16, quantity: heave, unit: cm, absent: 0x7FFF}]}
- {name: "a", start: {hex: 04}, fill: 0xFF, length: 9, fields: [{name: sid, as: uint8, quantity: count, modulo: 253}, {name: v, as: int16, quantity: yaw, unit: rad, scale: 1e-4, circle: halves, absent: 0x7FFF},
   {name: p, as: int16, quantity: pitch, unit: rad, scale: 0.0001, absent: 0x7FFF}, {name: r, as: int16, quantity: roll, unit: rad, scale: 1/10000, absent: 0x7FFF}]}
- {name: "p", start: {hex: 05}, fields: [{name: lat, as: int32, quantity: latitude, unit: deg, scale: 1e-7, absent: 0x7FFFFFFF}, {name: lon, as: int32, quantity: longitude, unit: deg, scale: 1e-7, absent: 0x7FFFFFFF}]}
`

const open0183 = `name: open-text
messages:
- {name: HDT, start: "$", end: "\r\n", separator: ",", fields: [{name: id, as: text, fixed: TALKHDT}, {name: v, as: decimal, decimals: 2, quantity: heading, unit: deg}, {name: t, as: text, fixed: T},
   {name: sum, before: "*", as: hex, width: 2, checksum: {method: XOR-8}}]}
- {name: GLL, start: "$", end: "\r\n", separator: ",", fields: [{name: id, as: text, fixed: TALKGLL}, {name: lat, as: decimal, LAT, quantity: latitude, unit: deg-min, magnitude: true}, {name: ns, sign-of: lat, as: text, states: {plus: N, minus: S}},
   {name: lon, as: decimal, LON, quantity: longitude, unit: deg-min, magnitude: true}, {name: ew, sign-of: lon, as: text, states: {plus: E, minus: W}},
   {name: utc, as: decimal, TIME, quantity: time-of-day, unit: hour-min-sec}, {name: ok, as: text, quantity: position-valid, states: {yes: A, no: V}},
   {name: mode, as: text, quantity: fix, states: {none: N, autonomous: A, differential: D, estimated: E, rtk-float: F, rtk-fixed: R, simulated: S, manual: M, other: A}},
   {name: sum, before: "*", as: hex, width: 2, checksum: {method: XOR-8}}]}
- {name: ZDA, start: "$", end: "\r\n", separator: ",", fields: [{name: id, as: text, fixed: TALKZDA}, {name: utc, as: decimal, width: 9, decimals: 2, quantity: time-of-day, unit: hour-min-sec}, {name: d, as: decimal, width: 2, quantity: day},
   {name: m, as: decimal, width: 2, quantity: month}, {name: y, as: decimal, width: 4, quantity: year}, {name: zone, as: text, fixed: ","}, {name: sum, before: "*", as: hex, width: 2, checksum: {method: XOR-8}}]}
`

type vector struct {
	ID, Input string
	Expected  struct {
		Name, Talker, Type, Payload string
		Fields                      map[string]any
	}
}

func vectors(t *testing.T, name string) (all []vector) {
	t.Helper()
	f, err := os.Open("testdata/" + name)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	sc := bufio.NewScanner(f)
	sc.Buffer(nil, 1<<20)
	for sc.Scan() {
		var v vector
		if err := json.Unmarshal(sc.Bytes(), &v); err != nil {
			t.Fatal(err)
		}
		all = append(all, v)
	}
	if len(all) == 0 {
		t.Fatal("no vectors")
	}
	return all
}

// value gives a number of a vector, absent where it is null.
func (v vector) value(key string, unit float64) opt.Opt[float64] {
	if x, ok := v.Expected.Fields[key].(float64); ok {
		return opt.Of(x * unit)
	}
	return opt.None[float64]()
}

func TestNMEA2000(t *testing.T) {
	l, err := Parse("open.yaml", []byte(open2000))
	if err != nil {
		t.Fatal(err)
	}
	for _, v := range vectors(t, "nmea2000.jsonl") {
		payload, _ := hex.DecodeString(v.Expected.Payload)
		if strings.HasPrefix(v.ID, "n2k-heading") && v.Expected.Fields["deviation_rad"] != nil || v.ID == "n2k-attitude-all-not-available" {
			continue // our description has no deviation, and a counter is always known
		}
		kind := map[string]string{"Vessel Heading": "h", "Rate of Turn": "t", "Heave": "v", "Attitude": "a", "Position, Rapid Update": "p"}[v.Expected.Name]
		enc, err := l.New(kind)
		if err != nil {
			t.Fatal(err)
		}
		r := wire.Reading{Heading: v.value("heading_rad", 1), RateOfTurn: v.value("rate_rad_s", 1), HeaveM: v.value("heave_m", 1),
			Yaw: v.value("yaw_rad", 1), Pitch: v.value("pitch_rad", 1), Roll: v.value("roll_rad", 1), Count: uint32(v.value("sid", 1).Or(0))}
		if lat, ok := v.value("latitude_deg", math.Pi/180).Value(); ok {
			p := Sample().Position.Or(zeroPosition)
			p.Lat, p.Lon = lat, v.value("longitude_deg", math.Pi/180).Or(0)
			r.Position = opt.Of(p)
			if v.ID == "n2k-position-antimeridian-pole" { // -180° and 180° are one meridian; we write the latter
				payload, _ = hex.DecodeString("00e9a43500d2496b")
			}
		}
		got, err := enc.Append(nil, &r)
		if want := append([]byte{map[string]byte{"h": 1, "t": 2, "v": 3, "a": 4, "p": 5}[kind]}, payload...); err != nil || string(got) != string(want) {
			t.Errorf("%s: % X, %v; want % X", v.ID, got, err, want)
			continue
		}
		var back wire.Reading
		if k, _, err := l.Read(got, &back); k != kind || err != nil {
			t.Fatalf("%s: %s, %v", v.ID, k, err)
		}
		for i, pair := range [][2]opt.Opt[float64]{{r.Heading, back.Heading}, {r.RateOfTurn, back.RateOfTurn}, {r.HeaveM, back.HeaveM}, {r.Pitch, back.Pitch}, {r.Roll, back.Roll}} {
			a, ok := pair[0].Value()
			if b, has := pair[1].Value(); ok != has || math.Abs(a-b) > 1e-12 {
				t.Errorf("%s: quantity %d is %v, read %v", v.ID, i, pair[0], pair[1])
			}
		}
		if back.Count != r.Count {
			t.Errorf("%s: sid %d", v.ID, back.Count)
		}
	}
}

func TestNMEA0183(t *testing.T) {
	for _, v := range vectors(t, "nmea0183.jsonl") {
		f := strings.Split(v.Input, ",")
		decimals := func(s string) string {
			_, frac, _ := strings.Cut(s, ".")
			n := len(frac)
			whole := len(s) - n
			if whole == 0 {
				return "decimals: 4"
			}
			if n == 0 {
				return "decimals: 0"
			}
			return "decimals: " + string('0'+byte(n))
		}
		text := strings.ReplaceAll(open0183, "TALK", v.Expected.Talker)
		width := func(s string) string {
			if s == "" {
				return ""
			}
			return ", width: " + string('0'+byte(len(s)/10)) + string('0'+byte(len(s)%10))
		}
		lat, lon, tod := "", "", ""
		if v.Expected.Type == "GLL" {
			lat, lon, tod = f[1], f[3], f[5]
		}
		text = strings.ReplaceAll(text, "LAT", decimals(lat)+strings.ReplaceAll(width(lat), "width: 0", "width: "))
		text = strings.ReplaceAll(text, "LON", decimals(lon)+strings.ReplaceAll(width(lon), "width: 0", "width: "))
		text = strings.ReplaceAll(text, "TIME", decimals(tod)+strings.ReplaceAll(width(tod), "width: 0", "width: "))
		if lat == "" { // the letter goes with it
			text = strings.ReplaceAll(text, "as: text, states: {plus: N, minus: S}", `as: text, absent: "", states: {plus: N, minus: S}`)
			text = strings.ReplaceAll(text, "as: text, states: {plus: E, minus: W}", `as: text, absent: "", states: {plus: E, minus: W}`)
		}
		l, err := Parse("open.yaml", []byte(text))
		if err != nil {
			t.Fatalf("%s: %v\n%s", v.ID, err, text)
		}
		enc, err := l.New(v.Expected.Type)
		if err != nil {
			t.Fatal(err)
		}
		r := wire.Reading{Heading: v.value("heading_true_deg", math.Pi/180)}
		if x, ok := v.value("lat", math.Pi/180).Value(); ok {
			p := zeroPosition
			p.Lat, p.Lon = x, v.value("lon", math.Pi/180).Or(0)
			r.Position = opt.Of(p)
		}
		if m, ok := v.Expected.Fields["mode"].(string); ok {
			r.Fix = map[string]wire.Fix{"A": wire.FixAutonomous, "D": wire.FixDifferential, "N": wire.FixNone}[m]
		}
		if s, ok := v.value("time_s", 1).Value(); ok {
			y, m, d := int(v.value("year", 1).Or(2026)), int(v.value("month", 1).Or(1)), int(v.value("day", 1).Or(1))
			r.UTC = opt.Of(time.Date(y, time.Month(m), d, 0, 0, 0, 0, time.UTC).Add(time.Duration(math.Round(s*1e9/1e6)) * 1e6))
		}
		got, err := enc.Append(nil, &r)
		if want := v.Input + "\r\n"; err != nil || string(got) != want {
			t.Errorf("%s: %q, %v; want %q", v.ID, got, err, want)
			continue
		}
		back := wire.Reading{UTC: r.UTC}
		if k, _, err := l.Read(got, &back); k != v.Expected.Type || err != nil {
			t.Fatalf("%s: %s, %v", v.ID, k, err)
		}
		if back.UTC != r.UTC || back.Fix != r.Fix || back.Position.Has() != r.Position.Has() || math.Abs(back.Position.Or(zeroPosition).Lon-r.Position.Or(zeroPosition).Lon) > 1e-11 {
			t.Errorf("%s: sent %+v\nread %+v", v.ID, r, back)
		}
	}
}
