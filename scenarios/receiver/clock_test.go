package receiver

import (
	"math"
	"strings"
	"testing"
	"time"

	"swellbench/scenarios/units"
	"swellbench/scenarios/utc"
)

func clock(t testing.TB, s Spec, start string) *Clock {
	t.Helper()
	at, err := time.Parse(time.RFC3339Nano, start)
	if err != nil {
		t.Fatal(err)
	}
	c, err := New(s, at, 7)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// shown is the stamp at t, "-" without one.
func shown(c *Clock, t float64) string {
	s, ok := c.At(t).Value()
	if !ok {
		return "-"
	}
	return s.Label.String()
}

func leap(s Shown) Spec { return Spec{LeapSecond: LeapSecond{Shown: s}} }

// The rows take dates and offsets from IERS Bulletin C and the weeks from the check values time_gps and
// time_leap_seconds; what a receiver without an offset or with a stale week makes of them is arithmetic.
func TestAt(t *testing.T) {
	base := func(w int) Spec { return Spec{WeekBase: &w} }
	min := func(m float64) units.Duration { return units.Duration(m * 60) }
	// Whole and half seconds from 23:59:59 before the leap second of 2016 on.
	const eve = "2016-12-31T23:59:59Z"
	for _, c := range []struct {
		name  string
		spec  Spec
		start string
		at    []float64
		want  string
	}{
		{"no error", Spec{}, "2026-06-01T12:00:00Z", []float64{0, 0.1, 3600}, "2026-06-01T12:00:00Z 2026-06-01T12:00:00.1Z 2026-06-01T13:00:00Z"},
		{"midnight and new year", Spec{}, "2026-12-31T23:59:59.9Z", []float64{0, 0.1}, "2026-12-31T23:59:59.9Z 2027-01-01T00:00:00Z"},
		{"leap day", Spec{}, "2028-02-28T23:59:59Z", []float64{1, 86401}, "2028-02-29T00:00:00Z 2028-03-01T00:00:00Z"},

		{"GPS time as UTC for 12.5 min", Spec{Starts: []StartUp{{OffsetAfter: min(12.5)}}}, "2026-06-01T12:00:00Z", []float64{0, 749.9, 750, 1e4},
			"2026-06-01T12:00:18Z 2026-06-01T12:12:47.9Z 2026-06-01T12:12:30Z 2026-06-01T14:46:40Z"},
		{"GPS time as UTC is already tomorrow", Spec{Starts: []StartUp{{OffsetAfter: 30}}}, "2026-12-31T23:59:45Z", []float64{0}, "2027-01-01T00:00:03Z"},
		{"previous offset, one behind", Spec{Starts: []StartUp{{OffsetAfter: 30, AssumedOffset: 17}}}, "2017-03-01T12:00:00Z", []float64{0, 29, 30},
			"2017-03-01T12:00:01Z 2017-03-01T12:00:30Z 2017-03-01T12:00:30Z"},
		{"no time at first, then no offset", Spec{Starts: []StartUp{{TimeAfter: 5, OffsetAfter: 8}}}, "2026-06-01T12:00:00Z", []float64{0, 4.9, 5, 8}, "- - 2026-06-01T12:00:23Z 2026-06-01T12:00:08Z"},
		{"restart", Spec{Starts: []StartUp{{At: 10, TimeAfter: 2, OffsetAfter: 3}, {At: 20, OffsetAfter: 1}}}, "2026-06-01T12:00:00Z", []float64{9, 10, 12, 13, 19, 20, 21},
			"2026-06-01T12:00:09Z - 2026-06-01T12:00:30Z 2026-06-01T12:00:13Z 2026-06-01T12:00:19Z 2026-06-01T12:00:38Z 2026-06-01T12:00:21Z"},
		{"no leap second in GPS time", Spec{Starts: []StartUp{{OffsetAfter: 60}}}, eve, []float64{0, 1, 2}, "2017-01-01T00:00:16Z 2017-01-01T00:00:17Z 2017-01-01T00:00:18Z"},

		{"second 60", leap(""), eve, []float64{0, .5, 1, 1.5, 2, 2.5}, "2016-12-31T23:59:59Z 2016-12-31T23:59:59.5Z 2016-12-31T23:59:60Z 2016-12-31T23:59:60.5Z 2017-01-01T00:00:00Z 2017-01-01T00:00:00.5Z"},
		{"second 59 twice", leap(Second59Twice), eve, []float64{0, .5, 1, 1.5, 2, 2.5}, "2016-12-31T23:59:59Z 2016-12-31T23:59:59.5Z 2016-12-31T23:59:59Z 2016-12-31T23:59:59.5Z 2017-01-01T00:00:00Z 2017-01-01T00:00:00.5Z"},
		{"second 00 twice", leap(Second00Twice), eve, []float64{0, .5, 1, 1.5, 2, 2.5}, "2016-12-31T23:59:59Z 2016-12-31T23:59:59.5Z 2017-01-01T00:00:00Z 2017-01-01T00:00:00.5Z 2017-01-01T00:00:00Z 2017-01-01T00:00:00.5Z"},
		{"missed", leap(Missed), eve, []float64{0, 1, 2, 3600, 1e6}, "2016-12-31T23:59:59Z 2017-01-01T00:00:00Z 2017-01-01T00:00:01Z 2017-01-01T00:59:59Z 2017-01-12T13:46:39Z"},
		{"missed and noticed", Spec{LeapSecond: LeapSecond{Shown: Missed, NoticedAfter: 3}}, eve, []float64{1, 2, 4.5, 5, 6}, "2017-01-01T00:00:00Z 2017-01-01T00:00:01Z 2017-01-01T00:00:03.5Z 2017-01-01T00:00:03Z 2017-01-01T00:00:04Z"},
		{"missed, then restarted", Spec{LeapSecond: LeapSecond{Shown: Missed}, Starts: []StartUp{{At: 10}}}, eve, []float64{9, 10}, "2017-01-01T00:00:08Z 2017-01-01T00:00:08Z"},
		{"inserted in a year to come", Spec{LeapSecond: LeapSecond{Insert: Day{true, 2030, 6, 30}}}, "2030-06-30T23:59:59Z", []float64{0, 1, 2}, "2030-06-30T23:59:59Z 2030-06-30T23:59:60Z 2030-07-01T00:00:00Z"},
		{"left out", Spec{LeapSecond: LeapSecond{LeaveOut: Day{true, 2030, 6, 30}}}, "2030-06-30T23:59:57Z", []float64{0, 1, 2}, "2030-06-30T23:59:57Z 2030-06-30T23:59:58Z 2030-07-01T00:00:00Z"},

		{"week base of 1999 goes over in 2019", base(1024), "2019-04-06T23:59:41Z", []float64{0, 0.5, 1, 19}, "2019-04-06T23:59:41Z 2019-04-06T23:59:41.5Z 1999-08-21T23:59:42Z 1999-08-22T00:00:00Z"},
		{"stale base, years on", base(1300), "2026-06-01T12:00:00Z", []float64{0}, "2006-10-16T12:00:00Z"}, // 7168 days before
		{"fresh base", base(2423), "2026-06-14T03:04:05.678Z", []float64{0}, "2026-06-14T03:04:05.678Z"},
		{"base in the future", base(2424), "2026-06-14T03:04:05.678Z", []float64{0}, "2046-01-28T03:04:05.678Z"},
		{"leap second with a stale base", base(1), eve, []float64{1}, "1997-05-17T23:59:60Z"},

		{"step ahead and set right", Spec{Steps: []Step{{At: 2, By: 1.5, Until: 4}}}, "2026-06-01T12:00:00Z", []float64{1, 2, 3, 4}, "2026-06-01T12:00:01Z 2026-06-01T12:00:03.5Z 2026-06-01T12:00:04.5Z 2026-06-01T12:00:04Z"},
		{"steps add up", Spec{Steps: []Step{{By: -1}, {At: 1, By: 0.25}}}, "2026-06-01T12:00:00Z", []float64{0, 1}, "2026-06-01T11:59:59Z 2026-06-01T12:00:00.25Z"},
		{"step into the leap second", Spec{Steps: []Step{{By: 1}}}, eve, []float64{0, 0.25, 1}, "2016-12-31T23:59:60Z 2016-12-31T23:59:60.25Z 2017-01-01T00:00:00Z"},
		{"drift", Spec{Drift: []Drift{{Rate: 20e-6, From: 10}}}, "2026-06-01T12:00:00Z", []float64{10, 60, 110}, "2026-06-01T12:00:10Z 2026-06-01T12:01:00.001Z 2026-06-01T12:01:50.002Z"},
		{"drift set right", Spec{Drift: []Drift{{Rate: -1e-3, Until: 10}}}, "2026-06-01T12:00:00Z", []float64{5, 10, 11}, "2026-06-01T12:00:04.995Z 2026-06-01T12:00:10Z 2026-06-01T12:00:11Z"},
		{"drift kept", Spec{Drift: []Drift{{Rate: -1e-3, From: 5, Until: 10, Keep: true}}}, "2026-06-01T12:00:00Z", []float64{4, 8, 10, 100}, "2026-06-01T12:00:04Z 2026-06-01T12:00:07.997Z 2026-06-01T12:00:09.995Z 2026-06-01T12:01:39.995Z"},
	} {
		t.Run(c.name, func(t *testing.T) {
			k := clock(t, c.spec, c.start)
			var got []string
			for _, at := range c.at {
				got = append(got, shown(k, at))
			}
			if s := strings.Join(got, " "); s != c.want {
				t.Errorf("stamps are\n%s\nwant\n%s", s, c.want)
			}
			for i := len(c.at) - 1; i >= 0; i-- { // in any order
				if again := shown(k, c.at[i]); again != got[i] {
					t.Errorf("at %g s: %s, and before %s", c.at[i], again, got[i])
				}
			}
		})
	}
}

func TestAhead(t *testing.T) {
	for _, c := range []struct {
		spec  Spec
		start string
		want  bool
	}{
		{Spec{}, "2016-12-31T12:00:00Z", true},
		{Spec{}, "2016-12-30T12:00:00Z", false},
		{Spec{}, "2017-01-01T00:00:00Z", false},
		{leap(Second59Twice), "2016-12-31T23:59:59Z", false},
		{leap(Missed), "2016-12-31T23:59:59Z", false},
		{Spec{Starts: []StartUp{{OffsetAfter: 9}}}, "2016-12-31T12:00:00Z", false}, // nothing has told it
		{Spec{LeapSecond: LeapSecond{Insert: Day{true, 2030, 6, 30}}}, "2030-06-30T01:00:00Z", true},
		{Spec{LeapSecond: LeapSecond{LeaveOut: Day{true, 2030, 6, 30}}}, "2030-06-30T01:00:00Z", false},
	} {
		if s, ok := clock(t, c.spec, c.start).At(0).Value(); !ok || s.Ahead != c.want {
			t.Errorf("%s, %+v: ahead is %v", c.start, c.spec, s.Ahead)
		}
	}
}

func TestErrorS(t *testing.T) {
	stale := 1024
	for _, c := range []struct {
		spec Spec
		at   float64
		want float64
	}{
		{Spec{}, 1.5, 0}, // in the leap second
		{leap(Second59Twice), 1.5, -1},
		{leap(Second00Twice), 1.5, 0},
		{leap(Missed), 1.5, 0},
		{leap(Missed), 2.5, 1},
		{Spec{Starts: []StartUp{{OffsetAfter: 9}}}, 0, 17},
		{Spec{WeekBase: &stale, Starts: []StartUp{{}}}, 0, 0},
		{Spec{Steps: []Step{{By: 0.25}}}, 5, 0.25},
	} {
		if got := clock(t, c.spec, "2016-12-31T23:59:59Z").ErrorS(c.at).Or(math.NaN()); got != c.want {
			t.Errorf("%+v at %g s: %g s, want %g s", c.spec, c.at, got, c.want)
		}
	}
	if got := clock(t, Spec{WeekBase: &stale}, "2026-06-01T12:00:00Z").ErrorS(0).Or(0); got != -1024*604800 {
		t.Errorf("stale week: %g s, want 1024 weeks early", got)
	}
	if clock(t, Spec{Starts: []StartUp{{TimeAfter: 1}}}, "2026-06-01T12:00:00Z").ErrorS(0).Has() {
		t.Error("an error without a stamp")
	}
}

// True time runs on whatever the clock does, with the leap second that the scenario puts in.
func TestTimelineIsTrue(t *testing.T) {
	stale := 1024
	c := clock(t, Spec{WeekBase: &stale, Steps: []Step{{By: 5}}, LeapSecond: LeapSecond{Shown: Missed, Insert: Day{true, 2030, 6, 30}}}, "2030-06-30T23:59:59Z")
	if got := c.Timeline().Label(1.5).String(); got != "2030-06-30T23:59:60.5Z" {
		t.Errorf("true time is %s", got)
	}
}

func TestOddTimes(t *testing.T) {
	c := clock(t, busy(), "2026-06-01T12:00:00Z")
	for _, at := range []float64{math.NaN(), math.Inf(1), math.Inf(-1), 1e300, -1e300, -5} {
		_ = shown(c, at) // must not panic
		_ = c.Held(at)
	}
}

// busy is a clock with all its errors.
func busy() Spec {
	base := 1024
	return Spec{Starts: []StartUp{{OffsetAfter: 30}, {At: 100, TimeAfter: 1, OffsetAfter: 2, AssumedOffset: 17}}, WeekBase: &base, LeapSecond: LeapSecond{Shown: Missed, NoticedAfter: 20},
		Steps: []Step{{At: 3, By: 1}}, Drift: []Drift{{Rate: 1e-5}}, OutOfOrder: []Held{{Share: 0.2, By: 0.25}, {Share: 0.1, By: 0.5}}}
}

func TestNoAllocation(t *testing.T) {
	for name, s := range map[string]Spec{"none": {}, "all": busy(), "59": leap(Second59Twice)} {
		c := clock(t, s, "2016-12-31T23:59:50Z")
		at := 0.0
		if n := testing.AllocsPerRun(200, func() {
			at += 0.1
			if s, ok := c.At(at).Value(); ok && s.Label == (utc.Label{}) {
				t.Error("1970")
			}
			_, _ = c.Held(at), c.ErrorS(at)
		}); n != 0 {
			t.Errorf("%s: %v allocations, want 0", name, n)
		}
	}
}

func BenchmarkAt(b *testing.B) {
	for name, s := range map[string]Spec{"no-error": {}, "all-errors": busy()} {
		b.Run(name, func(b *testing.B) {
			c := clock(b, s, "2026-06-01T12:00:00Z")
			b.ReportAllocs()
			for i := 0; b.Loop(); i++ {
				c.At(float64(i%1000) * 0.1)
			}
		})
	}
}
