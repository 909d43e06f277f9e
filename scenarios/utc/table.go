package utc

import (
	"fmt"
	"math"
	"slices"
	"time"
)

// A row says how far TAI is ahead of UTC from the beginning of a UTC day on.
type row struct {
	day   int   // since 1970-01-01
	tai   int64 // TAI − UTC, s
	start GPS   // the instant at which the day begins
}

// A Table is a list of leap seconds. It is never changed once made, so that several goroutines may share it.
type Table struct{ rows []row }

// Leaps is the table of all leap seconds that IERS Bulletin C has announced since UTC began with whole seconds in 1972,
// through the one at the end of 2016: the first day, and TAI − UTC in s from then on. After the last row no leap second
// is assumed: it holds until a new bulletin says otherwise. The variable is not to be set.
//
// Source: IERS Bulletin C, as the check values time_leap_seconds have it from ERFA's table.
var Leaps = newTable([]date{
	{1972, 1, 1, 10}, {1972, 7, 1, 11}, {1973, 1, 1, 12}, {1974, 1, 1, 13}, {1975, 1, 1, 14}, {1976, 1, 1, 15}, {1977, 1, 1, 16},
	{1978, 1, 1, 17}, {1979, 1, 1, 18}, {1980, 1, 1, 19}, {1981, 7, 1, 20}, {1982, 7, 1, 21}, {1983, 7, 1, 22}, {1985, 7, 1, 23},
	{1988, 1, 1, 24}, {1990, 1, 1, 25}, {1991, 1, 1, 26}, {1992, 7, 1, 27}, {1993, 7, 1, 28}, {1994, 7, 1, 29}, {1996, 1, 1, 30},
	{1997, 7, 1, 31}, {1999, 1, 1, 32}, {2006, 1, 1, 33}, {2009, 1, 1, 34}, {2012, 7, 1, 35}, {2015, 7, 1, 36}, {2017, 1, 1, 37},
})

type date struct {
	year, month, day int
	tai              int64
}

func newTable(dates []date) *Table {
	t := &Table{}
	for _, d := range dates {
		t.rows = append(t.rows, newRow(DayOf(d.year, time.Month(d.month), d.day), d.tai))
	}
	return t
}

func newRow(day int, tai int64) row {
	return row{day, tai, gpsAt(day, 0, tai)}
}

// An Insertion is the end of a UTC day at which the count of seconds changes.
type Insertion struct {
	Day  int // the UTC day that is longer or shorter, since 1970-01-01
	Sign int // 1 for a second 23:59:60, -1 where 23:59:59 is left out
}

// With returns a table with one more leap second at the end of a UTC day, which sign 1 makes a second longer, and sign
// −1 a second shorter. The day is the last one of a month after those that the table has.
//
// Source: ITU-R TF.460: a leap second is inserted or left out at the end of a month, first of all of December and
// June (from memory). None has ever been left out.
func (t *Table) With(year int, month time.Month, day, sign int) (*Table, error) {
	text := fmt.Sprintf("%04d-%02d-%02d", year, int(month), day)
	last := t.rows[len(t.rows)-1]
	d := DayOf(year, month, day)
	switch y, m, dd := dateOf(d); {
	case sign != 1 && sign != -1:
		return nil, fmt.Errorf("utc: sign of a leap second is %d; allowed: 1 to insert one, -1 to leave one out", sign)
	case y != year || m != month || dd != day:
		return nil, fmt.Errorf("utc: %s is no day of the calendar; allowed: the last day of a month, such as 2027-06-30", text)
	}
	switch _, _, first := dateOf(d + 1); {
	case first != 1:
		return nil, fmt.Errorf("utc: a leap second at the end of %s is within a month; allowed: the last day of a month", text)
	case d < last.day || year > lastYear:
		return nil, fmt.Errorf("utc: a leap second at the end of %s; the table has them to %s already; allowed: from then on to the year %d",
			text, dayText(last.day), lastYear)
	}
	return &Table{rows: append(slices.Clone(t.rows), newRow(d+1, last.tai+int64(sign)))}, nil
}

// Insertions lists the leap seconds of the table, oldest first.
func (t *Table) Insertions() []Insertion {
	var all []Insertion
	for i, r := range t.rows[1:] {
		all = append(all, Insertion{Day: r.day - 1, Sign: int(r.tai - t.rows[i].tai)})
	}
	return all
}

// leapAfter is the change of TAI − UTC at the end of a day: 1, 0 or −1.
func (t *Table) leapAfter(day int) int64 {
	for i := len(t.rows) - 1; i > 0 && t.rows[i].day > day; i-- {
		if t.rows[i].day == day+1 {
			return t.rows[i].tai - t.rows[i-1].tai
		}
	}
	return 0
}

// Lengthened tells whether a UTC day ends with the second 23:59:60.
func (t *Table) Lengthened(day int) bool { return t.leapAfter(day) > 0 }

// TAIMinusUTC is how far TAI is ahead of UTC on a UTC day, its leap second included. Before 1972 it is 10 s, as in
// 1972: the fractions of a second that UTC had then are not kept here.
func (t *Table) TAIMinusUTC(day int) time.Duration {
	return time.Duration(t.onDay(day)) * time.Second
}

// GPSMinusUTC is how far GPS time is ahead of UTC at an instant. A leap second belongs to what was before.
func (t *Table) GPSMinusUTC(g GPS) time.Duration {
	return time.Duration(t.at(g).tai)*time.Second - TAIMinusGPS
}

func (t *Table) onDay(day int) int64 {
	for i := len(t.rows) - 1; i > 0; i-- {
		if t.rows[i].day <= day {
			return t.rows[i].tai
		}
	}
	return t.rows[0].tai
}

// at is the row in force at an instant: recent ones are found first.
func (t *Table) at(g GPS) *row {
	i := len(t.rows) - 1
	for i > 0 && t.rows[i].start > g {
		i--
	}
	return &t.rows[i]
}

// GPS is the instant at which a clock on UTC shows the label. A label that no clock shows, in a leap second that was
// not inserted or in a second that was left out, counts on from the second before. Range: see [GPS].
func (t *Table) GPS(l Label) GPS { return gpsAt(l.Day, l.OfDay, t.onDay(l.Day)) }

// Label is what a clock on UTC shows at an instant.
func (t *Table) Label(g GPS) Label {
	r := t.at(g)
	l := civil(g, r.tai-int64(TAIMinusGPS/time.Second))
	// Over midnight before the new count holds: the clock is in the inserted second.
	if r.day < l.Day && t.leapAfter(l.Day-1) > 0 {
		return Label{Day: l.Day - 1, OfDay: day + l.OfDay}
	}
	return l
}

// Check says what is wrong with a label as a time in UTC; nil if a clock on UTC shows it once.
func (t *Table) Check(l Label) error {
	end := day + time.Duration(t.leapAfter(l.Day))*time.Second
	switch {
	case l.OfDay < 0 || l.OfDay >= day+time.Second:
		return fmt.Errorf("utc: time of day is %v; allowed: 0 s to less than %v", l.OfDay, end)
	case l.OfDay >= day && end <= day:
		return fmt.Errorf("utc: %v is in a leap second, and the day has none; allowed: up to 23:59:59", l)
	case l.OfDay >= end:
		return fmt.Errorf("utc: %v is in the second that was left out; allowed: up to 23:59:58", l)
	}
	return nil
}

// gpsAt is the instant of a day and a time of it where TAI is ahead by tai, in s; far away it is the nearest there is.
func gpsAt(day int, ofDay time.Duration, tai int64) GPS {
	s := (int64(day)-epochDay)*86400 + tai - int64(TAIMinusGPS/time.Second)
	switch {
	case day > maxDay:
		return math.MaxInt64
	case day < minDay:
		return math.MinInt64
	}
	return GPS(s*int64(time.Second) + int64(ofDay))
}
