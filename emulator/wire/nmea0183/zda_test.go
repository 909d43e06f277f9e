package nmea0183

import (
	"testing"
	"time"

	"swellbench/emulator/wire"
	"swellbench/scenarios/opt"
)

func buildZDA(f fields, in *Fields) (Sentence, Format) {
	form := form(in, map[int]Group{1: Seconds})
	form.Digits[Seconds].Whole = 0
	return &ZDA{Talker: in.Talker(), Time: f.time(), Date: opt.Of(Date{f.int("year").Or(0), f.int("month").Or(0), f.int("day").Or(0)}),
		ZoneMin: f.int("zone_offset_min")}, form
}

func TestZDAOfAReading(t *testing.T) {
	tests := []struct {
		name string
		o    Options
		at   opt.Opt[time.Time]
		want string
	}{
		{"a day", Options{}, opt.Of(time.Date(2026, 6, 14, 3, 4, 5, 670e6, time.UTC)), "GPZDA,030405.67,14,06,2026,00,00"},
		{"atomic", Options{Talker: "ZA", Decimals: map[string]int{"seconds": 9}}, opt.Of(time.Date(2026, 6, 14, 3, 4, 5, 123456789, time.UTC)), "ZAZDA,030405.123456789,14,06,2026,00,00"},
		{"no time", Options{}, opt.None[time.Time](), "GPZDA,,,,,00,00"},
		{"carries into the year", Options{Decimals: map[string]int{"seconds": 4}}, opt.Of(time.Date(1999, 12, 31, 23, 59, 59, 999950000, time.UTC)), "GPZDA,000000.0000,01,01,2000,00,00"},
		{"does not carry", Options{Decimals: map[string]int{"seconds": 4}}, opt.Of(time.Date(1999, 12, 31, 23, 59, 59, 999949999, time.UTC)), "GPZDA,235959.9999,31,12,1999,00,00"},
		{"no leap year", Options{Decimals: map[string]int{"seconds": 0}}, opt.Of(time.Date(2100, 2, 28, 23, 59, 59, 5e8, time.UTC)), "GPZDA,000000,01,03,2100,00,00"},
		{"before 1970", Options{}, opt.Of(time.Date(1969, 12, 31, 23, 59, 58, 0, time.UTC)), "GPZDA,235958.00,31,12,1969,00,00"},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			if got := encode(t, "ZDA", test.o, &wire.Reading{UTC: test.at}); got != sealed(test.want) {
				t.Errorf("got  %q\nwant %q", got, sealed(test.want))
			}
		})
	}
}

// TestLeapSecond: ITU-R TF.460 labels it 23:59:60. A time of 24 h and more is in it.
func TestLeapSecond(t *testing.T) {
	for at, want := range map[time.Duration]string{
		day:                        "GPZDA,235960.00,31,12,2016,,",
		day + 994*time.Millisecond: "GPZDA,235960.99,31,12,2016,,",
		day + 995*time.Millisecond: "GPZDA,000000.00,01,01,2017,,",
		day - time.Nanosecond:      "GPZDA,000000.00,01,01,2017,,",
	} {
		s := ZDA{Time: opt.Of(at), Date: opt.Of(Date{2016, 12, 31})}
		if got, err := s.Append(nil, nil); string(got) != sealed(want) {
			t.Errorf("%v: got %q, %v, want %q", at, got, err, sealed(want))
		}
	}
}

// TestDates holds the calendar against that of package time, over leap years, centuries and before 1970.
func TestDates(t *testing.T) {
	at := time.Date(-1, 1, 1, 12, 0, 0, 0, time.UTC)
	var last Date
	for at.Year() < 10001 {
		d, _ := stamp(&wire.Reading{UTC: opt.Of(at)}, &zdaFormat)
		want := Date{at.Year(), int(at.Month()), at.Day()}
		if d != opt.Of(want) {
			t.Fatalf("%v is %v", at, d)
		}
		if last != (Date{}) && last.next() != want {
			t.Fatalf("after %v comes %v, want %v", last, last.next(), want)
		}
		last = want
		at = at.AddDate(0, 0, 1)
	}
}

func TestZDARefuses(t *testing.T) {
	for want, s := range map[string]ZDA{
		"encode ZDA: zone is 840, allowed: -839 min ≤ zone ≤ 839 min": {ZoneMin: opt.Of(840)},
		"encode ZDA: year is 10000, allowed: 1 to 9999":               {Date: opt.Of(Date{10000, 1, 1})},
		"encode ZDA: day is 31, allowed: a day of its month":          {Date: opt.Of(Date{2026, 4, 31})},
	} {
		if got, err := s.Append([]byte("before"), nil); err == nil || err.Error() != want || string(got) != "before" {
			t.Errorf("got %q, error %v\nwant error %s", got, err, want)
		}
	}
	for body, want := range map[string]string{
		"GPZDA,000000.00,30,02,2026,00,00": `decode ZDA: date is "", allowed: a day of the calendar`,
		"GPZDA,000000.00,01,13,2026,00,00": `decode ZDA: month is "13", allowed: 1 to 12`,
		"GPZDA,000000.00,01,01,2026,14,00": `decode ZDA: zone hours is "14", allowed: -13 to 13`,
		"GPZDA,000000.00,01,01,2026,-,00":  `decode ZDA: zone hours is "-", allowed: -13 to 13`,
		"GPZDA,000000.00,01,01,2026,01,60": `decode ZDA: zone minutes is "60", allowed: 0 to 59`,
	} {
		if s, err := Parse([]byte(sealed(body))); err == nil || err.Error() != want || s != nil {
			t.Errorf("%s\ngot  %v\nwant %s", body, err, want)
		}
	}
	for body, want := range map[string]ZDA{
		"GPZDA":                         {},
		"GPZDA,,,,,,":                   {},
		"GPZDA,000001,01,,2026,00,":     {Time: opt.Of(time.Second), ZoneMin: opt.Of(0)},
		"GPZDA,,01,02,2026,-00,30":      {Date: opt.Of(Date{2026, 2, 1}), ZoneMin: opt.Of(-30)},
		"GPZDA,,01,02,2026,+05,30,more": {Date: opt.Of(Date{2026, 2, 1}), ZoneMin: opt.Of(330)},
	} {
		s, err := Parse([]byte(sealed(body)))
		if err != nil {
			t.Errorf("%s: %v", body, err)
			continue
		}
		want.Talker = Talker{'G', 'P'}
		if len(body) == 5 {
			want.Talker = s.(*ZDA).Talker
		}
		compare(t, s, &want)
	}
	// Minus no hours and half an hour keeps its sign.
	s := ZDA{ZoneMin: opt.Of(-30)}
	if got, _ := s.Append(nil, nil); string(got) != sealed("GPZDA,,,,,-00,30") {
		t.Errorf("got %q", got)
	}
}
