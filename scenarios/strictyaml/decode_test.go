package strictyaml

import (
	"errors"
	"math"
	"reflect"
	"strings"
	"testing"
	"time"

	"swellbench/scenarios/units"
)

func TestDecode(t *testing.T) {
	const text = `# a comment
name: "south # run"
start: now
arrival: 2026-06-01T14:00:00.5+02:00
speed: 8 kn
seed: 18446744073709551615
offset: -128
factor: 1e-3
loud: true
flag: green
crew: {count: 0x10, boss: {count: 0o17, boss: ~}}
legs:
- to: pier
  pause: 250 ms
-
  to: "12"
  sub: [{to: quay}]
box: [1 m, -2.5 m,
  30 cm]
marks: {north: 1, "south west": .5}
chart: {file: a.png, scale: 20000}
notes:
  - |
    two
    lines
  - >-
    one
    line
  - it's plain
port: bay
`
	var got voyage
	got.Computed = 7
	doc, err := DecodeBytes("v.yaml", []byte(text), &got)
	if err != nil {
		t.Fatal(err)
	}
	want := voyage{
		Name: "south # run", Start: moment{now: true}, Arrival: time.Date(2026, 6, 1, 12, 0, 0, 5e8, time.UTC),
		Speed: units.Speed(8 * 1852.0 / 3600), Seed: math.MaxUint64, Offset: -128, Factor: 0.001, Loud: true, Flag: "green",
		Crew: &crew{Count: 16, Boss: &crew{Count: 15}},
		Legs: []leg{{To: "pier", Pause: 0.25}, {To: "12", Sub: []leg{{To: "quay"}}}}, Box: [3]units.Length{1, -2.5, 0.3},
		Marks: map[string]float64{"north": 1, "south west": 0.5}, Chart: chart{"a.png", 20000},
		Notes: []string{"two\nlines\n", "one line", "it's plain"}, common: common{Port: "bay"}, Computed: 7,
	}
	if !reflect.DeepEqual(got, want) {
		t.Errorf("got  %+v\nwant %+v", got, want)
	}
	for _, r := range []struct {
		path      string
		line, col int
	}{
		{"", 2, 1}, {"name", 2, 7}, {"crew", 11, 7}, {"crew.boss.count", 11, 35}, {"legs", 12, 1}, {"legs[0]", 13, 3},
		{"legs[0].pause", 14, 10}, {"legs[1]", 16, 3}, {"legs[1].sub[0].to", 17, 14}, {"box[2]", 19, 3}, {"notes[0]", 23, 5},
		{`marks["south west"]`, 20, 33}, {"marks.south west", 20, 33}, {"port", 30, 7},
		// What is not there is where its parent is.
		{"nothing", 2, 1}, {"legs[2]", 12, 1}, {"legs[1].pause.deeper", 16, 3}, {"crew.boss.boss.count", 11, 47}, {"legs.to", 12, 1}, {"name[0]", 2, 7},
		{"legs[99999999999999999999]", 12, 1}, {"[", 2, 1}, {`["`, 2, 1}, {"...", 2, 1}, {"legs[-1]", 12, 1},
	} {
		file, line, col := doc.Locate(r.path)
		if file != "v.yaml" || line != r.line || col != r.col {
			t.Errorf("%q is located at %s:%d:%d, want v.yaml:%d:%d", r.path, file, line, col, r.line, r.col)
		}
	}
}

// The tag resolution of YAML 1.2.2, section 10.3.2, and its example 10.9; from memory.
func TestPlainScalars(t *testing.T) {
	for kind, list := range map[Kind]string{
		Null:   "null Null NULL ~",
		Bool:   "true True TRUE false False FALSE",
		Int:    "0 0o7 0x3A -19 +3 007",
		Float:  "0. -0.0 .5 +12e03 -2E+05 .inf -.Inf +.INF .NAN 1e3",
		String: "yes no on off nULL tRUE 0b11 1_000 0xG 0o8 1e . -. 12:30 2026-06-01 .Nan inf NaN 8kn",
	} {
		for _, s := range strings.Fields(list) {
			if got := plainKind(s); got != kind {
				t.Errorf("%s is %v, want %v", s, got, kind)
			}
		}
	}
}

func TestDecodeErrors(t *testing.T) {
	const ok = "name: x\nspeed: 8 kn\n"
	for _, r := range []struct{ name, text, want string }{
		{"empty", "", "v.yaml:1:1: the file is empty; allowed: a mapping with the keys name, start, arrival, speed, seed, offset, factor, loud, flag, crew, legs, box, marks, chart, notes, port"},
		{"only a comment", "# nothing\n", "v.yaml:1:1: the file is empty; allowed: a mapping with the keys name, start, arrival, speed, seed, offset, factor, loud, flag, crew, legs, box, marks, chart, notes, port"},
		{"text", "just text", "v.yaml:1:1: the file is the text just text; allowed: a mapping with the keys name, start, arrival, speed, seed, offset, factor, loud, flag, crew, legs, box, marks, chart, notes, port"},
		{"missing", "{}", "v.yaml:1:1: the file lacks name, speed; add name: (text) and speed: (a value such as 8 kn)"},
		{"null is missing", "name: x\nspeed:\n", "v.yaml:1:1: the file lacks speed; add speed: (a value such as 8 kn)"},
		{"missing below a key", ok + "crew:\n  boss: {count: 1}\n", "v.yaml:3:1: crew lacks count; add count: (a whole number)"},
		{"missing in a list", ok + "legs:\n  - to: a\n  - pause: 1 s\n", "v.yaml:5:5: legs[1] lacks to; add to: (text)"},
		{"unknown key", ok + "crew: {count: 1, bos: {count: 2}}\n", "v.yaml:3:18: the key bos is not known here; did you mean boss? allowed: count, boss"},
		{"unknown key, nothing like it", ok + "crew: {count: 1, zebra: 1}\n", "v.yaml:3:18: the key zebra is not known here; allowed: count, boss"},
		{"duplicate key", ok + "seed: 1\nloud: true\nseed: 2\n", "v.yaml:5:1: the key seed is there twice, first in line 3; leave one out"},
		{"duplicate key in a map", ok + "marks: {a: 1, b: 2, a: 3}\n", "v.yaml:3:21: the key a is there twice, first in line 3; leave one out"},
		{"no unit", "name: x\nspeed: 8\n", "v.yaml:2:8: speed: 8 has no unit; write 8 kn, 8 m/s or 8 km/h"},
		{"wrong unit", ok + "box: [1 m, 2 kn, 3 m]\n", "v.yaml:3:12: box[1]: 2 kn is a speed, not a length; allowed units: m, mm, cm, km, ft, NM"},
		{"list for a unit", "name: x\nspeed: [8 kn]\n", "v.yaml:2:8: speed is a list; allowed: a value such as 8 kn"},
		{"mapping for a unit", "name: x\nspeed:\n  kn: 8\n", "v.yaml:2:1: speed is a mapping; allowed: a value such as 8 kn"},
		{"enumeration", ok + "flag: gren\n", "v.yaml:3:7: flag is gren; did you mean green? allowed: red, green, white"},
		{"enumeration, number", ok + "flag: 1\n", "v.yaml:3:7: flag is the whole number 1; allowed: one of red, green, white"},
		{"number for text", "name: 12\nspeed: 8 kn\n", "v.yaml:1:7: name is the whole number 12; allowed: text; if it is meant as text, put it in quotes"},
		{"truth for text", "name: true\nspeed: 8 kn\n", "v.yaml:1:7: name is true; allowed: text; if it is meant as text, put it in quotes"},
		{"text for a number", ok + "factor: lots\n", "v.yaml:3:9: factor is the text lots; allowed: a number"},
		{"quoted number", ok + "factor: \"5\"\n", "v.yaml:3:9: factor is the text 5; allowed: a number"},
		{"infinite", ok + "factor: .inf\n", "v.yaml:3:9: factor is .inf; allowed: a number that is neither infinite nor too large"},
		{"not a number", ok + "factor: .nan\n", "v.yaml:3:9: factor is .nan; allowed: a number that is neither infinite nor too large"},
		{"too large", ok + "factor: 1e999\n", "v.yaml:3:9: factor is 1e999; allowed: a number that is neither infinite nor too large"},
		{"too large for int8", ok + "offset: 128\n", "v.yaml:3:9: offset is 128; allowed: -128 to 127"},
		{"too small for int8", ok + "offset: -129\n", "v.yaml:3:9: offset is -129; allowed: -128 to 127"},
		{"negative", ok + "seed: -1\n", "v.yaml:3:7: seed is -1; allowed: 0 to 18446744073709551615"},
		{"too large for uint64", ok + "seed: 18446744073709551616\n", "v.yaml:3:7: seed is 18446744073709551616; allowed: 0 to 18446744073709551615"},
		{"fraction", ok + "seed: 1.5\n", "v.yaml:3:7: seed is the number 1.5; allowed: a whole number"},
		{"truth", ok + "loud: yes\n", "v.yaml:3:7: loud is the text yes; allowed: true or false"},
		{"instant", ok + "arrival: 2026-06-01\n", "v.yaml:3:10: arrival: 2026-06-01 is no instant; write UTC such as 2026-06-01T12:00:00Z"},
		{"array length", ok + "box: [1 m, 2 m]\n", "v.yaml:3:6: box has 2 entries; allowed: a list of 3"},
		{"hole in a list", ok + "box:\n- 1 m\n-\n- 2 m\n", "v.yaml:5:2: box[1] is empty; allowed: a value such as 1.2 m"},
		{"mapping for a list", ok + "legs: {to: x}\n", "v.yaml:3:7: legs is a mapping; allowed: a list"},
		{"list for a mapping", ok + "crew:\n  - count: 1\n", "v.yaml:3:1: crew is a list; allowed: a mapping with the keys count, boss"},
		{"list for a map", ok + "marks: [1]\n", "v.yaml:3:8: marks is a list; allowed: a mapping of names"},
		{"self-reading, plain error", ok + "start: [now]\n", "v.yaml:3:8: start: no word"},
		{"self-reading, located error", ok + "start: soon\n", "v.yaml:3:8: start: soon is no instant; write UTC such as 2026-06-01T12:00:00Z"},
		{"include from bytes", ok + "crew: {file: c.yaml}\n", "v.yaml:3:14: no file can be pulled in here; write the part out"},
		{"key is no text", ok + "? [a]\n: 1\n", "v.yaml:3:1: there is a key marked with ?; write key: value"},
		{"null key", ok + "marks: {~: 1}\n", "v.yaml:3:9: a key is nothing; a key is a word, followed by a colon"},
		{"anchor", "name: &a x\nspeed: 8 kn\n", "v.yaml:1:7: there is an anchor (&); write the part out, or pull it in from another file with {file: other.yaml}"},
		{"alias", "name: *a\nspeed: 8 kn\n", "v.yaml:1:7: there is an alias (*); write the part out, or pull it in from another file with {file: other.yaml}; quote a text that begins with *"},
		{"merge", ok + "<<: {seed: 1}\n", "v.yaml:3:1: there is a merge key (<<); write the part out, or pull it in from another file with {file: other.yaml}"},
		{"tag", "name: !!str x\nspeed: 8 kn\n", "v.yaml:1:7: there is a tag (!); leave it out; quote a text that begins with !"},
		{"directive", "%YAML 1.2\n---\n" + ok, "v.yaml:1:1: there is a directive (%); leave it out; quote a text that begins with %"},
		{"two documents", ok + "---\n" + ok, "v.yaml:3:1: a second document begins here; one file holds one; move it to a file of its own"},
		{"after the end", ok + "...\nseed: 1\n", "v.yaml:4:1: there is something after the end of the document (...); one file holds one; move it to a file of its own"},
		{"tab", "crew:\n\tcount: 1\n", "v.yaml:2:1: a tab stands where YAML wants spaces; indent with spaces"},
		{"colon", "name: a: b\n", "v.yaml:1:7: a colon is not allowed here; keys of one mapping begin in the same column; quote a text that contains a colon and a space"},
		{"open list", "box: [1 m, 2 m\nname: x\n", "v.yaml:2:1: a list [...] is not closed, or lacks a comma; separate entries by commas and end with ]"},
		{"open mapping", "crew: {count: 1\n", "v.yaml:1:7: a mapping {...} is not closed; end it with }"},
		{"no comma in a mapping", ok + "crew: {count: 1 boss: 2}\n", "v.yaml:3:15: count is the text 1 boss: 2; allowed: a whole number"},
		{"empty entry", "box: [1 m,,2 m]\n", "v.yaml:1:11: there is nothing between two commas or after a bracket; write the value there, or leave the comma out"},
		{"stray bracket", "name: x\nbox: ]\n", "v.yaml:2:6: a ] closes no list; leave it out, or open the list with ["},
		{"stray brace", ok + "box: }\n", "v.yaml:3:6: box is the text }; allowed: a list of 3"},
		{"open quote", "name: 'x\n", "v.yaml:1:7: a quoted text is not closed; end it with the quote it began with"},
		{"reserved", "name: @x\n", "v.yaml:1:7: a text begins with a character that YAML reserves; put the text in quotes"},
		{"no UTF-8", "name: x\nport: a\xff\n", "v.yaml:2:8: the byte 0xff is no UTF-8; write plain text in UTF-8, with lines that end in LF or CR LF"},
		{"control character", "name: x\x1b[31m\n", "v.yaml:1:8: there is the control character 0x1b; write plain text in UTF-8, with lines that end in LF or CR LF"},
		{"carriage return", "name: x\rspeed: 8 kn\n", "v.yaml:1:8: there is a carriage return without a line feed; write plain text in UTF-8, with lines that end in LF or CR LF"},
		{"escaped control character", "name: x\nspeed: \"\\x1b[31m\"\n", `v.yaml:2:8: speed: "\x1b[31m" is no number with a unit; write a speed such as 8 kn`},
		{"deep", strings.Repeat("[", 65), "v.yaml:1:65: parts are nested more than 64 deep; no file needs that; check brackets and indentation"},
		{"deep block", strings.Repeat("- ", 65), "v.yaml:1:129: parts are nested more than 64 deep; no file needs that; check brackets and indentation"},
		{"all at once, sorted", "speed: 8\nseed: -1\nlegs:\n  - {to: a, pause: 1}\n  - {pause: 2 kn}\nnamme: x\n", `v.yaml:1:1: the file lacks name; add name: (text)
v.yaml:1:8: speed: 8 has no unit; write 8 kn, 8 m/s or 8 km/h
v.yaml:2:7: seed is -1; allowed: 0 to 18446744073709551615
v.yaml:4:20: pause: 1 has no unit; write 1 s, 1 ms or 1 us
v.yaml:5:5: legs[1] lacks to; add to: (text)
v.yaml:5:13: pause: 2 kn is a speed, not a duration; allowed units: s, ms, us, min, h
v.yaml:6:1: the key namme is not known here; did you mean name? allowed: name, start, arrival, speed, seed, offset, factor, loud, flag, crew, legs, box, marks, chart, notes, port`},
	} {
		t.Run(r.name, func(t *testing.T) {
			var v voyage
			doc, err := DecodeBytes("v.yaml", []byte(r.text), &v)
			if doc == nil {
				t.Error("no Doc")
			}
			if err == nil || err.Error() != r.want {
				t.Errorf("error %v\nwant  %s", err, r.want)
			}
		})
	}
}

func TestByteOrderMarkAndLineEnds(t *testing.T) {
	var v voyage
	if _, err := DecodeBytes("v.yaml", []byte("\ufeffname: x\r\nspeed: 8 kn\r\n"), &v); err != nil || v.Name != "x" {
		t.Errorf("name %q, error %v", v.Name, err)
	}
	_, err := DecodeBytes("v.yaml", []byte("\ufeffname: x\r\nspeed: 8\r\n"), &v)
	if want := "v.yaml:2:8: speed: 8 has no unit; write 8 kn, 8 m/s or 8 km/h"; err == nil || err.Error() != want {
		t.Errorf("error %v\nwant  %s", err, want)
	}
}

// What v held stays where the file says nothing, and where the file is wrong.
func TestDefaults(t *testing.T) {
	v := voyage{Seed: 5, Factor: 2, Box: [3]units.Length{1, 2, 3}}
	_, err := DecodeBytes("v.yaml", []byte("name: x\nspeed: 8 kn\nseed:\nfactor: lots\n"), &v)
	if err == nil || v.Name != "x" || v.Seed != 5 || v.Factor != 2 || v.Box[2] != 3 {
		t.Errorf("%+v, error %v", v, err)
	}
}

func TestManyErrors(t *testing.T) {
	var v struct {
		A string `yaml:"a"`
	}
	var text strings.Builder
	for i := range 250 {
		text.WriteString(strings.Repeat("x", i+3) + ": 1\n")
	}
	_, err := DecodeBytes("v.yaml", []byte(text.String()), &v)
	all := flatten(err)
	if len(all) != maxErrors+1 || all[maxErrors].Error() != "and 150 more" {
		t.Errorf("%d errors, the last %v", len(all), all[len(all)-1])
	}
	if e, ok := errors.AsType[*Error](err); !ok || e.Line != 1 || e.Path != "xxx" {
		t.Errorf("the first is %+v", e)
	}
}

// A mistake in the type is no error of the file.
func TestTypes(t *testing.T) {
	for _, r := range []struct {
		v    any
		want string
	}{
		{voyage{}, "strictyaml: decode into strictyaml.voyage; give a pointer to a variable"},
		{(*voyage)(nil), "strictyaml: decode into *strictyaml.voyage; give a pointer to a variable"},
		{nil, "strictyaml: decode into <nil>; give a pointer to a variable"},
		{&struct{ A int }{}, `strictyaml: field A of struct { A int } has no name in its tag; write yaml:"name" or yaml:"-"`},
		{&struct {
			A any `yaml:"a"`
		}{}, "strictyaml: a file cannot be read into interface {}"},
		{&struct {
			A map[int]int `yaml:"a"`
		}{}, "strictyaml: a file cannot be read into map[int]int"},
		{&struct {
			A time.Duration `yaml:"a"`
		}{}, "strictyaml: time.Duration has no unit in a file; use units.Duration"},
		{&struct {
			A int `yaml:"a,omitempty"`
		}{}, `strictyaml: field A of struct { A int "yaml:\"a,omitempty\"" } has the tag option "omitempty"; allowed: required, inline`},
		{&struct {
			A int `yaml:"a"`
			B int `yaml:"a"`
		}{}, `strictyaml: struct { A int "yaml:\"a\""; B int "yaml:\"a\"" } has two fields named a`},
	} {
		_, err := DecodeBytes("v.yaml", []byte("a: 1"), r.v)
		if err == nil || err.Error() != r.want {
			t.Errorf("error %v\nwant  %s", err, r.want)
		}
		if _, ok := errors.AsType[*Error](err); ok {
			t.Errorf("%v passes for an error of the file", err)
		}
	}
}
