package receiver

import (
	"encoding"
	"fmt"
	"time"

	"swellbench/scenarios/units"
	"swellbench/scenarios/utc"
)

// A Spec is the `clock:` section of a scenario file. Its zero value is a receiver that knows UTC at once, keeps it, and
// shows leap seconds as 23:59:60.
type Spec struct {
	Starts     []StartUp  `yaml:"starts" doc:"when the receiver starts up and has yet to learn the time. Default: it has been running"`
	LeapSecond LeapSecond `yaml:"leap-second" doc:"leap seconds, and how the receiver shows them"`
	WeekBase   *int       `yaml:"week-base" doc:"first GPS week that the receiver can tell: of weeks more than 1023 later it shows a date 1024 weeks early. Default: it always knows"`
	Steps      []Step     `yaml:"steps" doc:"sudden errors of the clock"`
	Drift      []Drift    `yaml:"drift" doc:"errors that grow"`
	OutOfOrder []Held     `yaml:"out-of-order" doc:"epochs that go out after later ones"`
}

// A StartUp is a start of the receiver during the run, or right before it.
type StartUp struct {
	At            units.Duration `yaml:"at" doc:"scenario time of the start. Default: 0 s"`
	TimeAfter     units.Duration `yaml:"time-after" doc:"how long after that it has no time at all"`
	OffsetAfter   units.Duration `yaml:"offset-after" doc:"how long after the start the navigation message has told GPS - UTC; up to 12.5 min"`
	AssumedOffset units.Duration `yaml:"assumed-offset" doc:"GPS - UTC that is taken until then, in whole seconds, such as the previous one kept in memory. Default: 0 s, which shows GPS time as UTC"`
}

// LeapSecond is what there is of leap seconds, and how the receiver shows them.
type LeapSecond struct {
	Shown        Shown          `yaml:"shown" doc:"what the receiver shows during the inserted second. Default: second-60"`
	NoticedAfter units.Duration `yaml:"noticed-after" doc:"with missed: how long after the leap second the receiver takes it in. Default: never"`
	Insert       Day            `yaml:"insert" doc:"UTC day at whose end one is inserted beside those of the past: the last of a month"`
	LeaveOut     Day            `yaml:"leave-out" doc:"UTC day at whose end the second 23:59:59 is left out: the last of a month. It has never happened"`
}

// Shown is the word for what a receiver shows during an inserted second. The zero value is [Second60].
type Shown string

// The ways.
const (
	Second60      Shown = "second-60"       // 23:59:60, as ITU-R TF.460 has it
	Second59Twice Shown = "second-59-twice" // 23:59:59 again
	Second00Twice Shown = "second-00-twice" // 00:00:00 of the next day, and then again
	Missed        Shown = "missed"          // 00:00:00, and a second ahead from then on
)

// SchemaEnum lists the words.
func (Shown) SchemaEnum() []string {
	return []string{string(Second60), string(Second59Twice), string(Second00Twice), string(Missed)}
}

// A Step is a sudden error of the clock.
type Step struct {
	At    units.Duration `yaml:"at" doc:"scenario time of the step. Default: 0 s"`
	By    units.Duration `yaml:"by,required" doc:"positive: the clock jumps ahead"`
	Until units.Duration `yaml:"until" doc:"scenario time when the clock is set right. Default: never"`
}

// A Drift is an error of the clock that grows in proportion to time.
type Drift struct {
	Rate  Rate           `yaml:"rate,required" doc:"positive: the clock runs fast"`
	From  units.Duration `yaml:"from" doc:"scenario time when it begins. Default: 0 s"`
	Until units.Duration `yaml:"until" doc:"scenario time when it ends. Default: the end of the run"`
	Keep  bool           `yaml:"keep" doc:"keep the error that has grown by then, instead of setting the clock right"`
}

// Held is a share of epochs that go out late, so that later ones overtake them.
type Held struct {
	Share float64        `yaml:"share,required" doc:"of the epochs, drawn from the seed: more than 0, at most 1"`
	By    units.Duration `yaml:"by,required" doc:"how much later they go out; what takes less than that from one epoch to the next overtakes them"`
	From  units.Duration `yaml:"from" doc:"scenario time of the first epoch that may be held. Default: 0 s"`
	Until units.Duration `yaml:"until" doc:"scenario time from which no epoch is held. Default: the end of the run"`
}

// A Day is a day in UTC; the zero Day is none.
type Day struct {
	Set              bool
	Year, Month, Day int
}

var _ encoding.TextUnmarshaler = (*Day)(nil)

// UnmarshalText reads a day such as 2027-06-30.
func (d *Day) UnmarshalText(b []byte) error {
	l, err := utc.ParseLabel(string(b) + "T00:00:00Z")
	if err != nil {
		return fmt.Errorf("%.20q is no day; allowed: a day such as 2027-06-30", b)
	}
	y, m, dd := l.Date()
	*d = Day{true, y, int(m), dd}
	return nil
}

// String is the day as 2027-06-30, or nothing.
func (d Day) String() string {
	if !d.Set {
		return ""
	}
	return fmt.Sprintf("%04d-%02d-%02d", d.Year, d.Month, d.Day)
}

// SchemaPattern describes the text form.
func (Day) SchemaPattern() (pattern string, examples []string) {
	return `^[0-9]{4}-(0[1-9]|1[0-2])-(0[1-9]|[12][0-9]|3[01])$`, []string{"2027-06-30"}
}

// Table is the table of leap seconds of the world of the scenario.
func (s Spec) Table() (*utc.Table, error) {
	t := utc.Leaps
	l := s.LeapSecond
	for _, c := range [...]struct {
		day  Day
		sign int
	}{{l.Insert, 1}, {l.LeaveOut, -1}} {
		if !c.day.Set {
			continue
		}
		var err error
		if t, err = t.With(c.day.Year, time.Month(c.day.Month), c.day.Day, c.sign); err != nil {
			return nil, err
		}
	}
	return t, nil
}
