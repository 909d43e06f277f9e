package nmea0183

import (
	"strings"
	"testing"
	"time"

	"swellbench/emulator/wire"
	"swellbench/scenarios/opt"
	"swellbench/scenarios/utc"
)

// stamped is the sentence of that kind for a reading with no more than a stamp, field by field.
func stamped(t *testing.T, kind string, decimals int, r *wire.Reading) []string {
	t.Helper()
	e, err := New(kind, Options{Decimals: map[string]int{"seconds": decimals}})
	if err != nil {
		t.Fatal(err)
	}
	b, err := e.Append(nil, r)
	if err != nil {
		t.Fatal(err)
	}
	return strings.Split(string(b), ",")
}

// TestStampVectors: a reading stamped with the label of each row is written with the time and date of its sentence, and
// read back it is that label.
func TestStampVectors(t *testing.T) {
	for _, v := range vectors(t, "time_sentences.jsonl") {
		if v.Inputs.Sentence == "" {
			continue
		}
		t.Run(v.ID, func(t *testing.T) {
			l, err := utc.ParseLabel(expect[struct{ UTC string }](t, v).UTC + "Z")
			if err != nil {
				t.Fatal(err)
			}
			var r wire.Reading
			r.Stamp(l, utc.Leaps.Lengthened(l.Day))
			if back, ok := r.Label().Value(); !ok || back != l {
				t.Errorf("the reading keeps %v, want %v", back, l)
			}
			want := strings.Split(v.Inputs.Sentence, ",")
			zda, rmc, gga := stamped(t, "ZDA", 2, &r), stamped(t, "RMC", 2, &r), stamped(t, "GGA", 2, &r)
			if zda[1] != want[1] || rmc[1] != want[1] || gga[1] != want[1] {
				t.Errorf("times are %s, %s, %s, want %s", zda[1], rmc[1], gga[1], want[1])
			}
			date := strings.Join(zda[2:5], " ")
			short := zda[2] + zda[3] + zda[4][2:]
			if rmc[9] != short {
				t.Errorf("RMC has the date %s, ZDA %s", rmc[9], date)
			}
			if len(want) == 7 && date != strings.Join(want[2:5], " ") || len(want) > 7 && short != want[9] {
				t.Errorf("date is %s, want that of %s", date, v.Inputs.Sentence)
			}
			s, err := Parse([]byte(strings.Join(zda, ",")))
			if err != nil {
				t.Fatal(err)
			}
			d, _ := s.(*ZDA).Date.Value()
			if back := (utc.Label{Day: utc.DayOf(d.Year, time.Month(d.Month), d.Day), OfDay: s.(*ZDA).Time.Or(-1)}); back != l {
				t.Errorf("read back as %v, want %v", back, l)
			}
		})
	}
}

// TestRoundingAtTheLeapSecond: what is rounded up lands in the second that follows, the sixtieth where there is one.
func TestRoundingAtTheLeapSecond(t *testing.T) {
	for _, c := range []struct {
		label    string
		ahead    bool
		decimals int
		want     string // time and date of RMC
	}{
		{"2016-12-31T23:59:59.994Z", true, 2, "235959.99 311216"},
		{"2016-12-31T23:59:59.995Z", true, 2, "235960.00 311216"},
		{"2016-12-31T23:59:59.5Z", true, 0, "235960 311216"},
		{"2016-12-31T23:59:59.999999999Z", true, 9, "235959.999999999 311216"},
		{"2016-12-31T23:59:59.9999999Z", true, 6, "235960.000000 311216"},
		{"2016-12-31T23:59:60.994Z", true, 2, "235960.99 311216"},
		{"2016-12-31T23:59:60.995Z", true, 2, "000000.00 010117"},
		{"2016-12-31T23:59:59.995Z", false, 2, "000000.00 010117"}, // a clock that knows of no leap second
		{"2016-12-31T23:59:58.995Z", true, 2, "235959.00 311216"},
		{"2016-12-31T22:59:59.995Z", true, 2, "230000.00 311216"},
		{"2017-01-01T00:00:00Z", true, 2, "000000.00 010117"},
	} {
		l, err := utc.ParseLabel(c.label)
		if err != nil {
			t.Fatal(err)
		}
		var r wire.Reading
		r.Stamp(l, c.ahead)
		f := stamped(t, "RMC", c.decimals, &r)
		if got := f[1] + " " + f[9]; got != c.want {
			t.Errorf("%s with %d decimals is %s, want %s", c.label, c.decimals, got, c.want)
		}
		if g := stamped(t, "GGA", c.decimals, &r)[1]; g != f[1] {
			t.Errorf("%s with %d decimals is %s in GGA", c.label, c.decimals, g)
		}
	}
}

// TestMisplacedLeap: a reading that claims a leap second where none can be is written as it stands.
func TestMisplacedLeap(t *testing.T) {
	r := wire.Reading{UTC: opt.Of(time.Date(2016, 12, 31, 12, 0, 0, 0, time.UTC)), Leap: wire.LeapNow}
	if f := stamped(t, "ZDA", 2, &r); f[1] != "120000.00" || f[2] != "31" {
		t.Errorf("written as %v", f)
	}
	if l, _ := r.Label().Value(); l.String() != "2016-12-31T12:00:00Z" {
		t.Errorf("label is %v", l)
	}
	r = wire.Reading{Leap: wire.LeapNow}
	if f := stamped(t, "ZDA", 2, &r); f[1] != "" || f[2] != "" || r.Label().Has() {
		t.Errorf("without a stamp: %v, label %v", f, r.Label())
	}
}
