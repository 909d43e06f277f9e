package layout

import (
	"flag"
	"os"
	"strings"
	"testing"
)

var update = flag.Bool("update", false, "write the golden files anew")

// bad is a layout file with something wrong: the fields of a message, in a file of which all else is right.
const goodHead = "name: x\nmessages:\n- name: M\n  start: \"$\"\n"

// TestBadFiles compares the whole text of each refusal with testdata/bad.txt, which is read before it is committed.
func TestBadFiles(t *testing.T) {
	bin := func(fields ...string) string {
		return goodHead + "  length: 12\n  fields:\n  - " + strings.Join(fields, "\n  - ") + "\n"
	}
	text := func(fields ...string) string {
		return goodHead + "  separator: \",\"\n  end: \"\\r\\n\"\n  fields:\n  - " + strings.Join(fields, "\n  - ") + "\n"
	}
	if l, err := Parse("own.yaml", []byte(goodHead+"  fields: [{name: a, as: uint8, fixed: 1}, {name: b, before: {hex: 55}, as: uint8, fixed: 2}]\n")); err != nil || l.messages[0].size != 4 {
		t.Fatal(err)
	}
	roll := "{name: a, at: 1, quantity: roll, unit: deg, as: int16}"
	cases := []struct{ name, text string }{
		{"empty", ""},
		{"no messages", "name: x\nmessages: []\n"},
		{"bad names", "name: X Y\nmessages:\n- {name: 1st, start: a, fields: [{name: \"a b\", as: uint8, fixed: 1}, {name: end, as: uint8, fixed: 2}, {name: end, as: uint8, fixed: 2}]}\n"},
		{"unknown key", bin("{name: a, as: int16, quantty: roll}")},
		{"unknown coding", bin("{name: a, as: int12, quantity: roll, unit: deg}")},
		{"overlap", bin(roll, "{name: b, at: 2, quantity: pitch, unit: deg, as: int16}")},
		{"overlap of bits", bin("{name: a, at: 1, as: bits, bits: 5, first-bit: 2, fixed: 1}", "{name: b, at: 1, as: bits, bits: 3, first-bit: 6, bytes: 2, byte-order: little, fixed: 1}")},
		{"bits that do not overlap", bin("{name: a, at: 1, as: bits, bits: 4, first-bit: 4, bit-0: high, fixed: 1}", "{name: b, at: 1, as: bits, bits: 4, first-bit: 4, bit-0: low, fixed: 1}")},
		{"overlaps the start", bin("{name: a, at: 0, quantity: roll, unit: deg, as: int16}")},
		{"overlaps the end", "name: x\nmessages:\n- name: M\n  start: a\n  end: \"\\n\"\n  length: 3\n  fields:\n  - {name: a, at: 1, quantity: roll, unit: deg, as: int16}\n"},
		{"outside of the length", bin("{name: a, at: 11, quantity: roll, unit: deg, as: int16}")},
		{"negative place", bin("{name: a, at: -1, quantity: roll, unit: deg, as: int16}")},
		{"start longer than the message", "name: x\nmessages:\n- name: M\n  start: {hex: 01 02 03 04}\n  length: 3\n  fields:\n  - {name: a, at: 1, as: uint8, fixed: 1}\n"},
		{"start holds the end", "name: x\nmessages:\n- name: M\n  start: \"a\\nb\"\n  end: \"\\n\"\n  fields:\n  - {name: a, quantity: roll, unit: deg, as: decimal}\n"},
		{"nothing to begin with", "name: x\nmessages:\n- name: M\n  fields:\n  - {name: a, quantity: roll, unit: deg, as: int16}\n"},
		{"nothing to begin with, text", "name: x\nmessages:\n- name: M\n  end: \"\\n\"\n  fields:\n  - {name: a, quantity: roll, unit: deg, as: decimal}\n"},
		{"impossible widths", bin("{name: a, as: bits, bits: 65, fixed: 1}", "{name: b, as: bits, bits: 60, first-bit: 7, fixed: 1}", "{name: c, as: bits, bits: 9, bytes: 1, fixed: 1}", "{name: d, as: bcd, width: 17, fixed: 1}",
			"{name: e, as: hex, width: 17, fixed: \"1\"}", "{name: f, as: decimal, width: 4, decimals: 3, quantity: heave, unit: m}", "{name: g, as: decimal, width: -1, quantity: sway, unit: m}", "{name: h, as: decimal, decimals: 16, quantity: surge, unit: m}",
			"{name: i, as: bits, bits: 0, fixed: 1}", "{name: j, as: bits, bits: 3, first-bit: 64, fixed: 1}", "{name: k, as: bits, bits: 3, bytes: 9, fixed: 1}")},
		{"scale 0", bin("{name: a, quantity: roll, unit: deg, as: int16, scale: 0}", "{name: b, quantity: pitch, unit: deg, as: int16, scale: 0/5}")},
		{"scale no number", bin("{name: a, quantity: roll, unit: deg, as: int16, scale: 1/0}", "{name: b, quantity: pitch, unit: deg, as: int16, scale: big}", "{name: c, quantity: heave, unit: m, as: int16, scale: 1e99}")},
		{"unknown quantity", bin("{name: a, quantity: rol, unit: deg, as: int16}")},
		{"unit of another dimension", bin("{name: a, quantity: roll, unit: m, as: int16}")},
		{"no unit", bin("{name: a, quantity: heave, as: int16}")},
		{"wrong way", bin("{name: a, quantity: roll, unit: deg, as: int16, positive: bow-up}", "{name: b, quantity: hdop, as: int16, positive: up}")},
		{"circle of what does not go round", bin("{name: a, quantity: heave, unit: m, as: int16, circle: halves}")},
		{"carries nothing, or two things", bin("{name: a, as: int16}", "{name: b, as: int16, fixed: 1, quantity: roll, unit: deg}")},
		{"fixed does not fit", bin("{name: a, as: uint8, fixed: 256}", "{name: b, as: int8, fixed: -129}", "{name: c, as: bits, bits: 3, fixed: 8}", "{name: d, as: uint8, fixed: x}", "{name: e, as: float32, fixed: 1}")},
		{"absent does not fit", bin("{name: a, quantity: roll, unit: deg, as: int16, absent: 0x10000}", "{name: b, quantity: heave, unit: m, as: float32, absent: none}", "{name: c, quantity: pitch, unit: deg, as: decimal, width: 4, absent: \"---\"}")},
		{"states", bin("{name: a, quantity: fix, as: uint8, states: {none: 0, rtk: 1}}", "{name: b, quantity: heading-valid, as: uint8}", "{name: c, quantity: heave-valid, as: bits, bits: 1, states: {yes: 2, no: 0}}", "{name: d, quantity: roll, unit: deg, as: int8, states: {yes: 1}}")},
		{"sign", bin("{name: a, quantity: roll, unit: deg, as: uint8}", "{name: s, sign-of: a, as: uint8, states: {plus: 0, minus: 1}}", "{name: u, sign-of: z, as: uint8, states: {plus: 0, minus: 1}}")},
		{"sum outside of the message", bin(roll, "{name: c, at: 10, as: uint16, checksum: {method: XOR-8, over: [{from: 0, to: 12}]}}")},
		{"sum of itself", bin(roll, "{name: c, at: 10, as: uint16, checksum: {method: XOR-8, over: [{from: 0, to: 10}]}}")},
		{"sum of a later sum", bin(roll, "{name: c, at: 8, as: uint8, checksum: {method: XOR-8, over: [{from: 0, to: 7}, {from: d, to: d}]}}", "{name: d, at: 9, as: uint8, checksum: {method: SUM-8, over: [{from: 0, to: 8}]}}")},
		{"sum backwards", bin(roll, "{name: c, at: 10, as: uint16, checksum: {method: XOR-8, over: [{from: 5, to: 2}]}}")},
		{"sum of a field that is not there", bin(roll, "{name: c, at: 10, as: uint16, checksum: {method: XOR-8, over: [{from: rol, to: a}]}}")},
		{"sum of bytes of a varying message", text("{name: a, quantity: roll, unit: deg, as: decimal}", "{name: c, as: hex, width: 2, checksum: {method: XOR-8, over: [{from: 1, to: a}]}}")},
		{"sum too wide", bin("{name: c, as: uint8, checksum: {method: CRC-16/MODBUS}}", "{name: d, as: decimal, width: 2, checksum: {method: XOR-8}}", "{name: e, as: int16, checksum: {method: SUM-16}}")},
		{"unknown sum", bin("{name: c, as: uint8, checksum: {method: CRC-CCITT}}")},
		{"crc parameters", bin("{name: c, as: uint64, checksum: {method: crc, width: 65, poly: 3}}", "{name: d, as: uint16, checksum: {method: crc, width: 16, poly: 0x11021}}", "{name: e, as: uint8, checksum: {method: XOR-8, init: 1}}")},
		{"crc of another check value", bin("{name: c, as: uint16, checksum: {method: crc, width: 16, poly: 0x1021, check: 0x29B1}}")},
		{"keys in vain", bin("{name: a, quantity: roll, unit: deg, as: int16, bits: 3, decimals: 2, modulo: 5}", "{name: b, as: uint8, fixed: 1, scale: 2, unit: m}", "{name: c, as: uint8, quantity: count, absent: 255}")},
		{"nothing between", "name: x\nmessages:\n- name: M\n  start: \"$\"\n  end: \"\\n\"\n  fields:\n  - {name: a, quantity: roll, unit: deg, as: decimal}\n  - {name: b, quantity: pitch, unit: deg, as: decimal}\n"},
		{"nothing ends it", "name: x\nmessages:\n- name: M\n  start: \"$\"\n  fields:\n  - {name: a, quantity: roll, unit: deg, as: decimal}\n"},
		{"separator that numbers hold", "name: x\nmessages:\n- name: M\n  start: \"$\"\n  separator: \"-\"\n  end: \"\\n\"\n  fields:\n  - {name: a, quantity: roll, unit: deg, as: decimal}\n  - {name: b, quantity: pitch, unit: deg, as: decimal}\n"},
		{"place in a varying message", text("{name: a, at: 3, quantity: roll, unit: deg, as: decimal}")},
		{"length of a varying message", "name: x\nmessages:\n- name: M\n  start: \"$\"\n  end: \"\\n\"\n  length: 10\n  fields:\n  - {name: a, quantity: roll, unit: deg, as: decimal}\n"},
		{"length too large", "name: x\nmessages:\n- name: M\n  start: \"$\"\n  length: 5000\n  fields:\n  - {name: a, quantity: roll, unit: deg, as: int16}\n"},
		{"times", bin("{name: a, quantity: unix-time, as: uint8}", "{name: b, quantity: year, unit: s, as: uint8}", "{name: c, quantity: time-of-day, unit: s, scale: 0.3, as: uint8}", "{name: d, quantity: month, as: uint8, modulo: 5}", "{name: e, quantity: unix-time, unit: s, as: uint8, modulo: 300}")},
		{"count of bytes does not fit", "name: x\nmessages:\n- name: M\n  start: \"$\"\n  length: 300\n  fields:\n  - {name: n, as: uint8, counts-bytes: {from: start, to: end}}\n"},
		{"not ASCII", "name: x\nmessages:\n- {name: M, start: é, fields: [{name: a, as: text, fixed: é}]}\n"},
		{"twins", "name: x\nmessages:\n- {name: A, start: \"$\", fields: [{name: a, quantity: roll, unit: deg, as: int8}]}\n- {name: B, start: \"$\", fields: [{name: a, quantity: pitch, unit: deg, as: int8}]}\n- {name: C, start: \"$A\", fields: [{name: a, quantity: roll, unit: deg, as: int8}]}\n"},
		{"zero of what is no direction", bin("{name: a, quantity: roll, unit: deg, as: int16, zero: east}")},
		{"bad hex", "name: x\nmessages:\n- {name: M, start: {hex: 1}, fields: [{name: a, as: uint8, fixed: 1}]}\n"},
		{"requests", goodHead + "  fields: [{name: a, as: uint8, fixed: 1}]\nrequests:\n- {name: a, bytes: [\"GO\"], reply: N}\n- {name: b, bytes: [\"GO1\"], streaming: start}\n- {name: c, bytes: [{any: 3}], streaming: begin}\n- {name: d, bytes: [\"x\"]}\n- {name: e, bytes: [{digits: 0}], answer: y}\n"},
	}
	var got strings.Builder
	for _, c := range cases {
		got.WriteString("## " + c.name + "\n")
		if _, err := Parse("own.yaml", []byte(c.text)); err != nil {
			got.WriteString(err.Error() + "\n\n")
		} else {
			got.WriteString("accepted\n\n")
		}
	}
	const file = "testdata/bad.txt"
	if *update {
		if err := os.WriteFile(file, []byte(got.String()), 0o666); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	a, b := strings.Split(got.String(), "\n\n"), strings.Split(string(want), "\n\n")
	for i := range max(len(a), len(b)) {
		if i >= len(a) || i >= len(b) || a[i] != b[i] {
			t.Fatalf("got\n%s\nwant\n%s", at(a, i), at(b, i))
		}
	}
}

func at(s []string, i int) string {
	if i < len(s) {
		return s[i]
	}
	return ""
}
