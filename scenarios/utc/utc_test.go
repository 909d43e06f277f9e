package utc

import (
	"math"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"
)

func parse(t testing.TB, s string) Label {
	t.Helper()
	l, err := ParseLabel(s)
	if err != nil {
		t.Fatal(err)
	}
	return l
}

// Every half second from 2 s before to 2 s after each leap second of the table: the labels count up as TF.460 has them,
// and each leads back to its instant.
func TestCountsThroughEveryLeapSecond(t *testing.T) {
	table := Leaps
	if n := len(table.Insertions()); n != 27 {
		t.Fatalf("%d leap seconds, want the 27 from 1972 to 2016 (IERS Bulletin C)", n)
	}
	for _, in := range table.Insertions() {
		last := dayText(in.Day)
		first := dayText(in.Day + 1)
		want := []string{last + "T23:59:58Z", last + "T23:59:58.5Z", last + "T23:59:59Z", last + "T23:59:59.5Z", last + "T23:59:60Z",
			last + "T23:59:60.5Z", first + "T00:00:00Z", first + "T00:00:00.5Z", first + "T00:00:01Z"}
		g := table.GPS(parse(t, want[0]))
		for i, w := range want {
			at := g.Add(time.Duration(i) * time.Second / 2)
			l := table.Label(at)
			if l.String() != w || l != parse(t, w) || table.GPS(l) != at || table.Check(l) != nil {
				t.Errorf("%d half seconds on: %v (instant %d back as %d, %v), want %s", i, l, at, table.GPS(l), table.Check(l), w)
			}
			if off := table.GPSMinusUTC(at) + TAIMinusGPS; off != table.TAIMinusUTC(in.Day)+time.Duration(btoi(i >= 6))*time.Second {
				t.Errorf("TAI − UTC at %s is %v", w, off)
			}
		}
		if !table.Lengthened(in.Day) || table.Lengthened(in.Day+1) || table.Lengthened(in.Day-1) {
			t.Errorf("the days about %s are not lengthened as they should be", last)
		}
	}
}

func btoi(b bool) int {
	if b {
		return 1
	}
	return 0
}

func TestWith(t *testing.T) {
	longer, err := Leaps.With(2027, time.June, 30, 1)
	if err != nil {
		t.Fatal(err)
	}
	shorter, err := longer.With(2028, time.December, 31, -1)
	if err != nil {
		t.Fatal(err)
	}
	var got []string
	for g, i := shorter.GPS(parse(t, "2027-06-30T23:59:59Z")), 0; i < 3; i++ {
		got = append(got, shorter.Label(g.Add(time.Duration(i)*time.Second)).String())
	}
	for g, i := shorter.GPS(parse(t, "2028-12-31T23:59:57Z")), 0; i < 3; i++ {
		got = append(got, shorter.Label(g.Add(time.Duration(i)*time.Second)).String())
	}
	want := "2027-06-30T23:59:59Z 2027-06-30T23:59:60Z 2027-07-01T00:00:00Z 2028-12-31T23:59:57Z 2028-12-31T23:59:58Z 2029-01-01T00:00:00Z"
	if s := strings.Join(got, " "); s != want {
		t.Errorf("labels are\n%s\nwant\n%s", s, want)
	}
	if d := shorter.Elapsed(parse(t, "2027-06-30T12:00:00Z"), parse(t, "2027-07-01T12:00:00Z")); d != 86401*time.Second {
		t.Errorf("noon to noon over the inserted second lasts %v", d)
	}
	if d := shorter.Elapsed(parse(t, "2028-12-31T12:00:00Z"), parse(t, "2029-01-01T12:00:00Z")); d != 86399*time.Second {
		t.Errorf("noon to noon over the second left out lasts %v", d)
	}
	if _, err := Leaps.With(2271, time.December, 31, 1); err != nil { // the last there can be
		t.Error(err)
	}
	if len(Leaps.Insertions()) != 27 || len(longer.Insertions()) != 28 {
		t.Error("With has changed the table it was called on")
	}
	for _, c := range []struct {
		year, month, day, sign int
		want                   string
	}{
		{2027, 6, 29, 1, "utc: a leap second at the end of 2027-06-29 is within a month; allowed: the last day of a month"},
		{2027, 2, 29, 1, "utc: 2027-02-29 is no day of the calendar; allowed: the last day of a month, such as 2027-06-30"},
		{2027, 6, 30, 2, "utc: sign of a leap second is 2; allowed: 1 to insert one, -1 to leave one out"},
		{2027, 13, 31, 1, "utc: 2027-13-31 is no day of the calendar; allowed: the last day of a month, such as 2027-06-30"},
		{2272, 1, 31, 1, "utc: a leap second at the end of 2272-01-31; the table has them to 2017-01-01 already; allowed: from then on to the year 2271"},
		{2015, 6, 30, 1, "utc: a leap second at the end of 2015-06-30; the table has them to 2017-01-01 already; allowed: from then on to the year 2271"},
		{9999, 12, 31, 1, "utc: a leap second at the end of 9999-12-31; the table has them to 2017-01-01 already; allowed: from then on to the year 2271"},
	} {
		if _, err := Leaps.With(c.year, time.Month(c.month), c.day, c.sign); err == nil || err.Error() != c.want {
			t.Errorf("error is %v, want %s", err, c.want)
		}
	}
}

func TestCheck(t *testing.T) {
	shorter, err := Leaps.With(2028, time.December, 31, -1)
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		label Label
		want  string
	}{
		{parse(t, "2016-12-31T23:59:60.999999999Z"), ""},
		{parse(t, "2016-12-30T23:59:60Z"), "utc: 2016-12-30T23:59:60Z is in a leap second, and the day has none; allowed: up to 23:59:59"},
		{parse(t, "2028-12-31T23:59:60Z"), "utc: 2028-12-31T23:59:60Z is in a leap second, and the day has none; allowed: up to 23:59:59"},
		{parse(t, "2028-12-31T23:59:59Z"), "utc: 2028-12-31T23:59:59Z is in the second that was left out; allowed: up to 23:59:58"},
		{parse(t, "2028-12-31T23:59:58.9Z"), ""},
		{Label{Day: 1, OfDay: -1}, "utc: time of day is -1ns; allowed: 0 s to less than 24h0m0s"},
		{Label{Day: 1, OfDay: 86401 * time.Second}, "utc: time of day is 24h0m1s; allowed: 0 s to less than 24h0m0s"},
	} {
		got := ""
		if err := shorter.Check(c.label); err != nil {
			got = err.Error()
		}
		if got != c.want {
			t.Errorf("%v: %q, want %q", c.label, got, c.want)
		}
	}
}

func TestParseLabel(t *testing.T) {
	for _, s := range []string{"", "Z", "2016-12-31T23:59:61Z", "2016-12-31T22:59:60Z", "2016-12-31T23:58:60Z", "2016-12-31T24:00:00Z", "2015-02-29T00:00:00Z",
		"2016-13-01T00:00:00Z", "2016-00-01T00:00:00Z", "2016-12-31 23:59:59Z", "2016-12-31T23:59:59", "2016-12-31T23:59:59.Z", "2016-12-31T23:59:59,5Z",
		"2016-12-31T23:59:59.5xZ", "2016-12-31T23:60:00Z", "16-12-31T23:59:59Z", "2016-12-31T23:59:5Z", "2016-12-31T23:59:59+00:00Z"} {
		if l, err := ParseLabel(s); err == nil {
			t.Errorf("%q is read as %v", s, l)
		}
	}
	l := parse(t, "2016-12-31T23:59:60.1234567899Z")
	if h, m, s, ns := l.Clock(); h != 23 || m != 59 || s != 60 || ns != 123456789 || !l.Leap() {
		t.Errorf("clock is %d:%d:%d.%09d", h, m, s, ns)
	}
	if got := string(l.Append(nil, 11)); got != "2016-12-31T23:59:60.12345678900Z" {
		t.Errorf("written as %s", got)
	}
	if got, want := l.Time(), time.Date(2017, 1, 1, 0, 0, 0, 123456789, time.UTC); got != want {
		t.Errorf("instant is %v, want %v", got, want)
	}
}

// Labels of days without leap seconds are the standard library's, in text and in date, and come back.
func TestLabelAgainstTime(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		at := time.Unix(rapid.Int64Range(-62135596800, 253402300799).Draw(t, "s"), rapid.Int64Range(0, 999999999).Draw(t, "ns")).UTC()
		l := LabelOf(at)
		if l.String() != at.Format(time.RFC3339Nano) || l.Time() != at || l.YearDay() != at.YearDay() || l.Weekday() != at.Weekday() {
			t.Errorf("%v is labelled %v, day %d of the year, a %v", at, l, l.YearDay(), l.Weekday())
		}
		if back, err := ParseLabel(l.String()); err != nil || back != l {
			t.Errorf("%v came back as %v, %v", l, back, err)
		}
	})
}

// Any instant of the range has one label, which leads back to it; labels never go back.
func TestInstantsRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		g := GPS(rapid.Int64Range(int64(gpsAt(minDay+2, 0, 0)), int64(gpsAt(maxDay-2, 0, 0))).Draw(t, "ns"))
		if rapid.Bool().Draw(t, "near a leap second") {
			in := rapid.SampledFrom(Leaps.Insertions()).Draw(t, "leap second")
			g = Leaps.GPS(Label{Day: in.Day + 1}).Add(time.Duration(rapid.Int64Range(-3e9, 3e9).Draw(t, "off")))
		}
		l := Leaps.Label(g)
		if back := Leaps.GPS(l); back != g || Leaps.Check(l) != nil {
			t.Errorf("%d is %v, which is %d", g, l, back)
		}
		if next := Leaps.Label(g + 1); next.Day < l.Day || next.Day == l.Day && next.OfDay != l.OfDay+1 || next.Day > l.Day && next.OfDay != 0 {
			t.Errorf("%v is followed by %v", l, next)
		}
		week, ofWeek := g.Week()
		if GPSOf(week, ofWeek) != g || ofWeek < 0 || ofWeek >= Week {
			t.Errorf("%d is week %d and %v", g, week, ofWeek)
		}
		if g.Civil(0).GPS() != g {
			t.Errorf("%d on GPS time is %v", g, g.Civil(0))
		}
	})
}

func TestTAI(t *testing.T) {
	// 2017-01-01T00:00:00 UTC is 00:00:37 TAI and 00:00:18 GPS time (IERS Bulletin C 52).
	g := Leaps.GPS(parse(t, "2017-01-01T00:00:00Z"))
	if got := g.Civil(-TAIMinusGPS).String(); got != "2017-01-01T00:00:37Z" {
		t.Errorf("TAI is %s", got)
	}
	if got := g.Civil(0).String(); got != "2017-01-01T00:00:18Z" {
		t.Errorf("GPS time is %s", got)
	}
}

func TestWeeks(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		week, base := rapid.IntRange(-3000, 9000).Draw(t, "week"), rapid.IntRange(-3000, 9000).Draw(t, "base")
		got := WeekFrom(Ten(week), base)
		if got < base || got >= base+Rollover || (got-week)%Rollover != 0 {
			t.Errorf("week %d from base %d on is %d", week, base, got)
		}
		near := NearestWeek(Ten(week), base)
		if off := near - base; off < -Rollover/2 || off >= Rollover/2 || (near-week)%Rollover != 0 {
			t.Errorf("week %d near %d is %d", week, base, near)
		}
		if Rollovers(week)*Rollover+Ten(week) != week {
			t.Errorf("week %d has %d rollovers and is %d in ten bits", week, Rollovers(week), Ten(week))
		}
	})
}

// The nearest of two weeks that share ten bits, at the ends of what is nearest.
func TestNearestWeek(t *testing.T) {
	for _, c := range []struct{ week, about, want int }{
		{2048 + 511, 2048, 2048 + 511}, {2048 + 512, 2048, 2048 - 512}, {2048 - 512, 2048, 2048 - 512}, {2048 - 513, 2048, 2048 + 511}, {2423, 2423, 2423},
	} {
		if got := NearestWeek(Ten(c.week), c.about); got != c.want {
			t.Errorf("the ten bits of week %d near %d are week %d, want %d", c.week, c.about, got, c.want)
		}
	}
}

// Every second of a day and its neighbours have the clock that package time gives them.
func TestClock(t *testing.T) {
	midnight := time.Date(2026, 6, 1, 0, 0, 0, 0, time.UTC)
	for s := range 86400 {
		at := midnight.Add(time.Duration(s) * time.Second)
		h, m, sec, ns := LabelOf(at).Clock()
		if h != at.Hour() || m != at.Minute() || sec != at.Second() || ns != 0 {
			t.Fatalf("%v is %d:%d:%d", at, h, m, sec)
		}
	}
}

// The ends of what four digits of a year can say, and beyond.
func TestYears(t *testing.T) {
	for _, c := range []struct {
		year int
		want string
	}{{0, "0000-06-01T00:00:00Z"}, {1, "0001-06-01T00:00:00Z"}, {9999, "9999-06-01T00:00:00Z"}, {10000, "10000-06-01T00:00:00Z"}, {-1, "-1-06-01T00:00:00Z"}} {
		l := Label{Day: DayOf(c.year, time.June, 1)}
		if got := l.String(); got != c.want {
			t.Errorf("year %d is %s, want %s", c.year, got, c.want)
		}
		if back, err := ParseLabel(c.want); len(c.want) == 20 && (err != nil || back != l) {
			t.Errorf("%s is read as %v, %v", c.want, back, err)
		}
	}
}

func TestBefore1972(t *testing.T) {
	for _, s := range []string{"1970-01-01T00:00:00Z", "1971-12-31T23:59:59Z", "1972-01-01T00:00:00Z"} {
		l := parse(t, s)
		if g := Leaps.GPS(l); Leaps.TAIMinusUTC(l.Day) != 10*time.Second || Leaps.Label(g) != l || Leaps.GPSMinusUTC(g) != -9*time.Second {
			t.Errorf("%s: TAI − UTC is %v, the label came back as %v", s, Leaps.TAIMinusUTC(l.Day), Leaps.Label(g))
		}
		if Leaps.Lengthened(l.Day) {
			t.Errorf("the day of %s is lengthened", s)
		}
	}
}

func TestFullYear(t *testing.T) {
	for _, c := range []struct{ yy, about, want int }{
		{99, 2026, 1999}, {80, 2026, 1980}, {26, 2026, 2026}, {75, 2026, 2075}, {76, 2026, 1976}, {0, 1999, 2000}, {99, 2100, 2099}, {0, 2099, 2100}, {38, 2030, 2038},
	} {
		if got := FullYear(c.yy, c.about); got != c.want {
			t.Errorf("'%02d near %d is %d, want %d", c.yy, c.about, got, c.want)
		}
	}
}

func TestStepBack(t *testing.T) {
	// A late sentence of the old day, and the leap second that a late sentence still was in.
	for _, c := range []struct {
		first, second, elapsed time.Duration
		days                   int
	}{
		{0, day - time.Second, -time.Second, -1},
		{0, day + time.Second/2, -time.Second / 2, -1},
		{day, 0, time.Second, 1}, // 23:59:60 to midnight
		{0, day, -time.Second, -1},
		{6 * time.Hour, 18 * time.Hour, 12 * time.Hour, 0},
		{18 * time.Hour, 6 * time.Hour, -12 * time.Hour, 0},
	} {
		if e, d := Step(c.first, c.second); e != c.elapsed || d != c.days {
			t.Errorf("%v to %v: %v and %d days, want %v and %d", c.first, c.second, e, d, c.elapsed, c.days)
		}
	}
}

func TestTimeline(t *testing.T) {
	l := NewTimeline(nil, time.Date(2016, 12, 31, 23, 59, 58, 5e8, time.UTC))
	for _, c := range []struct {
		t    float64
		want string
	}{{0, "2016-12-31T23:59:58.5Z"}, {1.5, "2016-12-31T23:59:60Z"}, {2.25, "2016-12-31T23:59:60.75Z"}, {2.5, "2017-01-01T00:00:00Z"}, {-1, "2016-12-31T23:59:57.5Z"}} {
		if got := l.Label(c.t); got.String() != c.want || l.Since(got) != c.t {
			t.Errorf("%g s is %v and back %g s, want %s", c.t, got, l.Since(got), c.want)
		}
	}
	if a, b := l.Time(1.75), l.Time(2.75); a != b || !a.Equal(time.Date(2017, 1, 1, 0, 0, 0, 25e7, time.UTC)) {
		t.Errorf("the leap second is %v, the second after it %v; want both the first of the next day", a, b)
	}
	// A year on, less the inserted second, to the 4 ns that a float64 holds of its seconds.
	if got, want := l.Time(366*86400+0.123456789), time.Date(2018, 1, 1, 23, 59, 57, 623456789, time.UTC); got.Sub(want).Abs() > 4 {
		t.Errorf("a year on it is %v, want %v", got, want)
	}
	if got := l.Label(math.NaN()); got != l.Label(0) {
		t.Errorf("no time at all is %v", got)
	}
	if zero := (Timeline{}); zero.Table() != Leaps || zero.Label(1).String() != "1980-01-06T00:00:01Z" || l.Table() != Leaps {
		t.Errorf("the zero timeline begins at %v", zero.Label(0))
	}
	mine, err := Leaps.With(2030, time.June, 30, 1)
	if err != nil {
		t.Fatal(err)
	}
	if k := NewTimeline(mine, time.Date(2030, 6, 30, 23, 59, 59, 0, time.UTC)); k.Table() != mine || k.Label(1).String() != "2030-06-30T23:59:60Z" {
		t.Errorf("a table of one's own gives %v", k.Label(1))
	}
	for _, bad := range []float64{math.NaN(), math.Inf(1), math.Inf(-1), 1e300} {
		_ = l.Label(bad).String() // must not panic
	}
}

func TestFarAway(t *testing.T) {
	for _, c := range []struct {
		l    Label
		want GPS
	}{{Label{Day: math.MaxInt}, math.MaxInt64}, {Label{Day: math.MinInt}, math.MinInt64}, {Label{Day: DayOf(9999, 12, 31)}, math.MaxInt64}} {
		if g := Leaps.GPS(c.l); g != c.want {
			t.Errorf("day %d is the instant %d, want %d", c.l.Day, g, c.want)
		}
	}
	if a, b := GPSOf(math.MaxInt, 0), GPSOf(math.MinInt, 0); a <= 0 || b >= 0 {
		t.Errorf("weeks far away are the instants %d and %d", a, b)
	}
	for _, s := range []string{Label{Day: math.MaxInt32}.String(), Label{Day: math.MinInt32}.String()} {
		if s == "" {
			t.Error("no text")
		}
	}
}

func TestNoAllocation(t *testing.T) {
	l := NewTimeline(nil, time.Date(2016, 12, 31, 23, 59, 58, 0, time.UTC))
	buf := make([]byte, 0, 64)
	if n := testing.AllocsPerRun(100, func() {
		at := l.Label(2.25)
		buf = at.Append(buf[:0], 3)
		_ = at.Time()
		_ = l.Since(at)
	}); n != 0 {
		t.Errorf("%v allocations, want 0", n)
	}
}

func FuzzParseLabel(f *testing.F) {
	f.Add("2016-12-31T23:59:60.5Z")
	f.Add("1980-01-06T00:00:00Z")
	f.Fuzz(func(t *testing.T, s string) {
		l, err := ParseLabel(s)
		if err != nil {
			return
		}
		if back, err := ParseLabel(l.String()); err != nil || back != l {
			t.Errorf("%q is %v and came back as %v, %v", s, l, back, err)
		}
	})
}
