package layout

import (
	"testing"
	"time"

	"swellbench/emulator/wire"
	"swellbench/scenarios/opt"
	"swellbench/scenarios/utc"
)

func label(t *testing.T, s string) utc.Label {
	t.Helper()
	l, err := utc.ParseLabel(s)
	if err != nil {
		t.Fatal(err)
	}
	return l
}

const clockLayout = `name: clock
messages:
- name: CLOCK
  start: "$"
  fields:
  - {name: y, quantity: year, as: decimal, width: 4}
  - {name: mo, quantity: month, as: decimal, width: 2}
  - {name: d, quantity: day, as: decimal, width: 2}
  - {name: h, quantity: hour, as: decimal, width: 2}
  - {name: mi, quantity: minute, as: decimal, width: 2}
  - {name: s, quantity: second, unit: s, as: decimal, width: 2}
  - {name: ms, quantity: fraction-of-second, unit: ms, as: decimal, width: 3}
- name: DAY
  start: "%"
  fields:
  - {name: tod, quantity: time-of-day, unit: hour-min-sec, as: decimal, width: 10, decimals: 3}
- name: WEEK
  start: "&"
  fields:
  - {name: w, quantity: gps-week, modulo: 1024, as: decimal, width: 4}
  - {name: s, quantity: gps-time-of-week, unit: s, as: decimal, width: 10, decimals: 3}
- name: SHORT
  start: "#"
  fields:
  - {name: s, quantity: unix-time, unit: s, modulo: 65536, as: uint16}
  - {name: f, quantity: fraction-of-second, unit: s, scale: 2^-16, as: uint16}
`

// All parts of a time carry over together, into the leap second where there is one (2016-12-31, IERS Bulletin C 52), and
// are read again.
func TestTimeParts(t *testing.T) {
	l, err := Parse("clock.yaml", []byte(clockLayout))
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		kind, utc string
		ahead     bool
		want      string
		read      string // "" if it is as the text says, to the millisecond
	}{
		{"CLOCK", "2026-06-01T12:34:56.789Z", false, "$20260601123456789", ""},
		{"CLOCK", "2026-12-31T23:59:59.9996Z", false, "$20270101000000000", "2027-01-01T00:00:00Z"},
		{"CLOCK", "2016-12-31T23:59:59.9996Z", true, "$20161231235960000", "2016-12-31T23:59:60Z"},
		{"CLOCK", "2016-12-31T23:59:60.5Z", true, "$20161231235960500", ""},
		{"CLOCK", "2016-12-31T23:59:60.9999Z", true, "$20170101000000000", "2017-01-01T00:00:00Z"},
		{"DAY", "2026-06-01T23:59:59.9994Z", false, "%235959.999", "2026-06-01T23:59:59.999Z"},
		{"DAY", "2026-06-01T23:59:59.9995Z", false, "%000000.000", "2026-06-02T00:00:00Z"},
		{"DAY", "2016-12-31T23:59:60.25Z", true, "%235960.250", ""},
		// Saturday to Sunday GPS time, 18 s before midnight UTC: week 2421 is 373 of the third 1024.
		{"WEEK", "2026-05-30T23:59:41.9996Z", false, "&0373000000.000", "2026-05-30T23:59:42Z"},
		{"WEEK", "2026-05-30T23:59:41.999Z", false, "&0372604799.999", ""},
		{"WEEK", "2016-12-31T23:59:60.5Z", true, "&0906" + "000017.500", ""}, // week 1930
		{"SHORT", "2026-06-01T12:34:56.75Z", false, "#\x7c\x70\xc0\x00", ""}, // 1780317296 − 27165 × 65536 = 31856
	} {
		r := wire.Reading{}
		r.Stamp(label(t, c.utc), c.ahead)
		b, err := encoder(t, l, c.kind).Append(nil, &r)
		if err != nil || string(b) != c.want {
			t.Errorf("%s: %q, %v; want %q", c.utc, b, err, c.want)
			continue
		}
		got := wire.Reading{UTC: opt.Of(label(t, c.utc).Time().Add(-time.Minute))} // what was known a minute ago
		if _, _, err := l.Read(b, &got); err != nil {
			t.Fatal(err)
		}
		want := c.read
		if want == "" {
			want = c.utc
		}
		if g, ok := got.Label().Value(); !ok || g != label(t, want) {
			t.Errorf("%s is read as %v, want %s", b, g, want)
		}
	}
	// Nothing is known of the day: 1970.
	var got wire.Reading
	if _, _, err := l.Read([]byte("%010203.000"), &got); err != nil || got.UTC.Or(time.Time{}) != time.Date(1970, 1, 1, 1, 2, 3, 0, time.UTC) {
		t.Errorf("%v, %v", got.UTC, err)
	}
	// Impossible times are not known.
	for _, s := range []string{"%240000.000", "%256000.000", "$20260601246000000", "$20260601126100000"} {
		got := wire.Reading{UTC: opt.Of(time.Unix(0, 0))}
		if _, _, err := l.Read([]byte(s), &got); err == nil && got.UTC.Has() {
			t.Errorf("%s is read as %v", s, got.UTC)
		}
	}
}
