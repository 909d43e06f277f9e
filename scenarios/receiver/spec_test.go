package receiver

import (
	"fmt"
	"math"
	"strings"
	"testing"
	"time"

	"swellbench/scenarios/strictyaml"
	"swellbench/scenarios/units"
)

var standIn = time.Date(2026, time.June, 1, 12, 0, 0, 0, time.UTC)

const everything = `starts:
  - {at: 0 s, time-after: 4 s, offset-after: 12.5 min, assumed-offset: 17 s}
leap-second: {shown: missed, noticed-after: 30 s, insert: 2027-06-30}
week-base: 1024
steps: [{at: 10 s, by: -1 s, until: 20 s}]
drift: [{rate: 20 ppm, from: 5 s, until: 15 s, keep: true}, {rate: -50 ppb}]
out-of-order: [{share: 0.1, by: 250 ms, from: 3 s, until: 9 s}]
`

func TestDecode(t *testing.T) {
	var s Spec
	if _, err := strictyaml.DecodeBytes("clock.yaml", []byte(everything), &s); err != nil {
		t.Fatal(err)
	}
	base := 1024
	want := Spec{
		Starts:     []StartUp{{TimeAfter: 4, OffsetAfter: 750, AssumedOffset: 17}},
		LeapSecond: LeapSecond{Shown: Missed, NoticedAfter: 30, Insert: Day{true, 2027, 6, 30}},
		WeekBase:   &base,
		Steps:      []Step{{At: 10, By: -1, Until: 20}},
		Drift:      []Drift{{Rate: 20e-6, From: 5, Until: 15, Keep: true}, {Rate: -50e-9}},
		OutOfOrder: []Held{{Share: 0.1, By: 0.25, From: 3, Until: 9}},
	}
	if *s.WeekBase != base {
		t.Errorf("week base is %d", *s.WeekBase)
	}
	s.WeekBase, want.WeekBase = nil, nil
	if a, b := fmt.Sprintf("%+v", s), fmt.Sprintf("%+v", want); a != b {
		t.Errorf("got  %s\nwant %s", a, b)
	}
	if ps := s.Validate(3600); len(ps) > 0 {
		t.Errorf("problems: %v", ps)
	}
	for text, want := range map[string]string{
		"leap-second: {shown: seconds-60}":   "did you mean second-60?",
		"leap-second: {insert: 2027-06-31}":  `"2027-06-31" is no day; allowed: a day such as 2027-06-30`,
		"drift: [{rate: 20}]":                "20 ppm",
		"drift: [{rate: 20 ppt}]":            `"20 ppt" is no rate; allowed: a number and ppm or ppb, such as 20 ppm`,
		"drift: [{from: 1 s}]":               "drift[0] lacks rate",
		"starts: [{assumed-offset: 17}]":     "assumed-offset",
		"out-of-order: [{share: 1, by: 1m}]": "1 m is a length",
	} {
		var s Spec
		_, err := strictyaml.DecodeBytes("c.yaml", []byte(text), &s)
		if err == nil || !strings.HasPrefix(err.Error(), "c.yaml:1:") || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: error %v, want %s", text, err, want)
		}
	}
}

func TestRateText(t *testing.T) {
	for _, text := range []string{"20 ppm", "-0.05 ppm", "3.3 ppm", "1e-07 ppm"} {
		var r, back Rate
		if err := r.UnmarshalText([]byte(text)); err != nil || r.String() != text {
			t.Errorf("%s came back as %v, %v", text, r, err)
		}
		if err := back.UnmarshalText([]byte(r.String())); err != nil || back != r {
			t.Errorf("%v came back as %v, %v", r, back, err)
		}
	}
	for _, text := range []string{"", "ppm", "20", "20ppm", "NaN ppm", "Inf ppm", "20 ppm x", "20 %"} {
		r := Rate(1)
		if err := r.UnmarshalText([]byte(text)); err == nil || r != 1 {
			t.Errorf("%q is read as %v", text, r)
		}
	}
}

func TestValidate(t *testing.T) {
	week := func(n int) *int { return &n }
	nan := units.Duration(math.NaN())
	for _, c := range []struct {
		spec Spec
		want string // all problems, path: text
	}{
		{Spec{}, ""},
		{Spec{Starts: []StartUp{{At: -1}}}, "starts[0].at: start is at -1 s, before the run; allowed: 0 s or later"},
		{Spec{Starts: []StartUp{{At: 60}}}, "starts[0].at: start is at 60 s, after the run, which lasts 60 s"},
		{Spec{Starts: []StartUp{{At: 5}, {At: 5}}}, "starts[1].at: start at 5 s is not after the one before it, at 5 s; put them in order of time"},
		{Spec{Starts: []StartUp{{TimeAfter: -1, OffsetAfter: nan}}}, "starts[0].time-after: the time is known after -1 s; allowed: 0 s to 24 h\n" +
			"starts[0].offset-after: the offset is known after NaN s; allowed: 0 s to 12.5 min, and to 24 h if the message is missed"},
		{Spec{Starts: []StartUp{{TimeAfter: 9, OffsetAfter: 4}}}, "starts[0].offset-after: the offset is known after 4 s, before the time itself, after 9 s; swap the two"},
		{Spec{Starts: []StartUp{{OffsetAfter: 4, AssumedOffset: 17.5}}}, "starts[0].assumed-offset: assumed offset is 17.5 s; allowed: whole seconds from -60 s to 60 s, such as 18 s"},
		{Spec{Starts: []StartUp{{AssumedOffset: 17}}}, "starts[0].assumed-offset: the offset is known at once, so that none is assumed; give it an offset-after, or remove this"},
		{Spec{WeekBase: week(-1)}, "week-base: week base is -1; allowed: 0 to 8191, such as 2048 for a receiver built after April 2019"},
		{Spec{WeekBase: week(8192)}, "week-base: week base is 8192; allowed: 0 to 8191, such as 2048 for a receiver built after April 2019"},
		{Spec{LeapSecond: LeapSecond{NoticedAfter: 3}}, "leap-second.noticed-after: the leap second is not missed; make shown: missed, or remove this"},
		{Spec{LeapSecond: LeapSecond{Shown: Missed, NoticedAfter: -3}}, "leap-second.noticed-after: the leap second is noticed after -3 s; allowed: 0 s to 8784 h"},
		{Spec{LeapSecond: LeapSecond{Insert: Day{true, 2027, 6, 29}}}, "leap-second.insert: utc: a leap second at the end of 2027-06-29 is within a month; allowed: the last day of a month"},
		{Spec{LeapSecond: LeapSecond{Insert: Day{true, 2012, 6, 30}}}, "leap-second.insert: utc: a leap second at the end of 2012-06-30; the table has them to 2017-01-01 already; allowed: from then on to the year 2271"},
		{Spec{LeapSecond: LeapSecond{Insert: Day{true, 2027, 6, 30}, LeaveOut: Day{true, 2028, 6, 30}}}, "leap-second.leave-out: a second is inserted and another left out; keep one of the two"},
		{Spec{Steps: []Step{{}}}, "steps[0].by: step is 0 s; allowed: other than 0 s, and at most 8784 h either way"},
		{Spec{Steps: []Step{{By: nan, At: 70}}}, "steps[0].at: the step begins at 70 s, after the run, which lasts 60 s\nsteps[0].by: step is NaN s; allowed: other than 0 s, and at most 8784 h either way"},
		{Spec{Steps: []Step{{By: 1, At: 20, Until: 10}}}, "steps[0].until: the step ends at 10 s and begins at 20 s; give it an end after its beginning"},
		{Spec{Drift: []Drift{{Rate: 0.02}}}, "drift[0].rate: rate is 20000 ppm; allowed: other than 0 ppm, and at most 10000 ppm either way"},
		{Spec{Drift: []Drift{{Rate: 1e-6, Keep: true}}}, "drift[0].keep: the drift has no end, after which its error could be kept; give it an until, or remove keep"},
		{Spec{Drift: []Drift{{Rate: 1e-6, Until: 61}}}, "drift[0].until: the drift ends at 61 s, after the run, which lasts 60 s"},
		{Spec{OutOfOrder: []Held{{Share: 2, By: 0, From: -1}}}, "out-of-order[0].from: it begins at -1 s, before the run; allowed: 0 s or later\n" +
			"out-of-order[0].share: share is 2; allowed: more than 0, at most 1, and 0.1 holds one epoch in ten\nout-of-order[0].by: epochs are held by 0 s; allowed: more than 0 s, at most 60 s"},
		{Spec{Steps: make([]Step, 27)}, "steps: there are 27 steps; allowed: at most 26"},
	} {
		var got []string
		for _, p := range c.spec.Validate(60) {
			if len(c.spec.Steps) > 26 && p.Path != "steps" {
				continue
			}
			got = append(got, p.Path+": "+p.Text)
		}
		if s := strings.Join(got, "\n"); s != c.want {
			t.Errorf("%+v\ngot  %s\nwant %s", c.spec, s, c.want)
		}
		if len(got) > 0 && c.spec.Validate(0) != nil {
			if _, err := New(c.spec, standIn, 1); err == nil {
				t.Errorf("%+v makes a clock", c.spec)
			}
		}
	}
}

func TestWarnings(t *testing.T) {
	week := func(n int) *int { return &n }
	eve := time.Date(2016, 12, 31, 23, 59, 50, 0, time.UTC)
	for _, c := range []struct {
		spec  Spec
		start time.Time
		want  string
	}{
		{Spec{}, standIn, ""},
		{Spec{Starts: []StartUp{{OffsetAfter: 750}}, WeekBase: week(1024), Drift: []Drift{{Rate: 1e-4}}}, standIn, ""},
		{Spec{Starts: []StartUp{{OffsetAfter: 800}}}, standIn, "starts[0].offset-after: the offset is known after 800 s; the navigation message, which carries it, takes 12.5 min to come once"},
		{Spec{Starts: []StartUp{{OffsetAfter: 80, AssumedOffset: 18}}}, standIn, "starts[0].assumed-offset: assumed offset is 18 s, which is the right one: nothing will be seen of it"},
		{Spec{Drift: []Drift{{Rate: 2e-4}}}, standIn, "drift[0].rate: rate is 200 ppm; a crystal keeps within 100 ppm"},
		{Spec{WeekBase: week(2048)}, standIn, "week-base: week base is 2048, and the run is in week 2421: the date will be right; a base of 1397 or less shows it 1024 weeks early"},
		{Spec{WeekBase: week(1397)}, standIn, ""},
		{leap(Second59Twice), standIn, "leap-second.shown: there is no leap second in the run, 2026-06-01T12:00:00Z to 2026-06-01T12:01:00Z; insert one, or start at 2016-12-31T23:59:50Z"},
		{leap(Second59Twice), eve, ""},
		{leap(Second59Twice), time.Time{}, ""}, // it starts now
		{Spec{LeapSecond: LeapSecond{Insert: Day{true, 2027, 6, 30}}}, standIn, "leap-second.insert: the run, 2026-06-01T12:00:00Z to 2026-06-01T12:01:00Z, does not go through the end of 2027-06-30"},
		{Spec{LeapSecond: LeapSecond{LeaveOut: Day{true, 2027, 6, 30}}}, standIn, "leap-second.leave-out: the run, 2026-06-01T12:00:00Z to 2026-06-01T12:01:00Z, does not go through the end of 2027-06-30"},
	} {
		var got []string
		for _, p := range c.spec.Warnings(c.start, 60) {
			got = append(got, p.Path+": "+p.Text)
		}
		if s := strings.Join(got, "\n"); s != c.want {
			t.Errorf("%+v\ngot  %s\nwant %s", c.spec, s, c.want)
		}
	}
}

func FuzzDecode(f *testing.F) {
	f.Add([]byte(everything))
	f.Add([]byte("week-base: 0\ndrift: [{rate: 1e3 ppb}]"))
	f.Fuzz(func(t *testing.T, b []byte) {
		var s Spec
		if _, err := strictyaml.DecodeBytes("c.yaml", b, &s); err != nil || s.Validate(0) != nil {
			return
		}
		_ = s.Warnings(standIn, 60)
		c, err := New(s, standIn, 1)
		if err != nil {
			t.Fatalf("valid, but %v", err)
		}
		for _, at := range []float64{0, 1, 59.9, 1e5} {
			if a, b := c.At(at), c.At(at); a != b {
				t.Errorf("at %g s: %v and %v", at, a, b)
			}
		}
	})
}
