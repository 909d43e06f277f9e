package utc

import (
	"fmt"
	"time"
)

// A Label is what a clock shows: a day and a time of day. From 24 h on the time is in a leap second: 24 h is 23:59:60.
// Labels can be compared with ==. The zero Label is the beginning of 1970.
type Label struct {
	Day   int           // since 1970-01-01, Gregorian
	OfDay time.Duration // since midnight: 0 ≤ OfDay < 86401 s
}

// LabelOf is the label of an instant that knows no leap seconds, in UTC.
func LabelOf(t time.Time) Label {
	d, s := floorDiv(t.Unix(), 86400)
	return Label{Day: int(d), OfDay: time.Duration(s)*time.Second + time.Duration(t.Nanosecond())}
}

// DayOf is the number of the day since 1970-01-01. Days and months out of range count on, as with [time.Date].
func DayOf(year int, month time.Month, dd int) int {
	d, _ := floorDiv(time.Date(year, month, dd, 0, 0, 0, 0, time.UTC).Unix(), 86400)
	return int(d)
}

// Leap tells whether the label is in a leap second.
func (l Label) Leap() bool { return l.OfDay >= day }

// Time is the instant of the label for what knows no leap seconds; a leap second becomes the first second of the next
// day, as POSIX has it.
func (l Label) Time() time.Time {
	return time.Unix(int64(l.Day)*86400, 0).Add(l.OfDay).UTC()
}

// Date is the date of the day.
func (l Label) Date() (year int, month time.Month, dd int) { return dateOf(l.Day) }

// YearDay is the number of the day in its year, from 1 on.
func (l Label) YearDay() int {
	y, _, _ := dateOf(l.Day)
	return l.Day - DayOf(y, time.January, 1) + 1
}

// Weekday is the day of the week.
func (l Label) Weekday() time.Weekday {
	_, w := floorDiv(int64(l.Day)+int64(time.Thursday), 7)
	return time.Weekday(w)
}

// Clock is the time of day; the second is 60 in a leap second.
func (l Label) Clock() (hour, minute, second int, nanosecond time.Duration) {
	s, ns := int(l.OfDay/time.Second), l.OfDay%time.Second
	if l.Leap() {
		return 23, 59, s - 86400 + 60, ns
	}
	return s / 3600, s / 60 % 60, s % 60, ns
}

// Append writes the label as RFC 3339 has it, with that many decimals of the second, cut off and not rounded.
func (l Label) Append(b []byte, decimals int) []byte {
	y, m, d := dateOf(l.Day)
	b = append(appendDate(b, y, m, d), 'T')
	h, mi, s, ns := l.Clock()
	b = append(two(b, h), ':')
	b = append(two(b, mi), ':')
	b = two(b, s)
	if decimals > 0 {
		b = append(b, '.')
	}
	for unit := 100 * time.Millisecond; decimals > 0; decimals-- {
		if unit > 0 {
			b, ns, unit = append(b, '0'+byte(ns/unit%10)), ns%unit, unit/10
		} else {
			b = append(b, '0')
		}
	}
	return append(b, 'Z')
}

// String is the label to the nanosecond, without zeros at the end, such as 2016-12-31T23:59:60.5Z.
func (l Label) String() string {
	decimals := 9
	for ns := l.OfDay % time.Second; decimals > 0 && ns%10 == 0; ns /= 10 {
		decimals--
	}
	return string(l.Append(nil, decimals))
}

// ParseLabel reads a label in UTC as RFC 3339 has it, such as 2016-12-31T23:59:60.5Z, with or without decimals. Second
// 60 is read at 23:59 alone; whether there was one [Table.Check] tells.
func ParseLabel(s string) (Label, error) {
	const allowed = "allowed: an instant in UTC such as 2016-12-31T23:59:60.5Z"
	bad := func() (Label, error) { return Label{}, fmt.Errorf("utc: %.40q is no label; %s", s, allowed) }
	var n [6]int
	const layout = "0000-00-00T00:00:00"
	if len(s) <= len(layout) || s[len(s)-1] != 'Z' {
		return bad()
	}
	for i, k := 0, 0; i < len(layout); i++ {
		switch {
		case layout[i] != '0':
			if s[i] != layout[i] {
				return bad()
			}
			k++
		case s[i] < '0' || s[i] > '9':
			return bad()
		default:
			n[k] = n[k]*10 + int(s[i]-'0')
		}
	}
	l := Label{Day: DayOf(n[0], time.Month(n[1]), n[2])}
	if y, m, d := dateOf(l.Day); y != n[0] || int(m) != n[1] || d != n[2] {
		return bad()
	}
	if n[3] > 23 || n[4] > 59 || n[5] > 59 && (n[5] != 60 || n[3] != 23 || n[4] != 59) {
		return bad()
	}
	l.OfDay = time.Duration(n[3]*3600+n[4]*60+n[5]) * time.Second
	if frac := s[len(layout) : len(s)-1]; frac != "" {
		if frac[0] != '.' || len(frac) == 1 {
			return bad()
		}
		unit := 100 * time.Millisecond
		for i := 1; i < len(frac); i++ {
			if frac[i] < '0' || frac[i] > '9' {
				return bad()
			}
			l.OfDay += time.Duration(frac[i]-'0') * unit // digits beyond the nanosecond fall away
			unit /= 10
		}
	}
	return l, nil
}

// dayText is a day as 2016-12-31.
func dayText(d int) string {
	y, m, dd := dateOf(d)
	return string(appendDate(make([]byte, 0, 10), y, m, dd))
}

func dateOf(d int) (int, time.Month, int) { return time.Unix(int64(d)*86400, 0).UTC().Date() }

func appendDate(b []byte, y int, m time.Month, d int) []byte {
	if y < 0 || y > 9999 {
		return fmt.Appendf(b, "%d-%02d-%02d", y, int(m), d)
	}
	b = append(two(two(b, y/100), y%100), '-')
	b = append(two(b, int(m)), '-')
	return two(b, d)
}

func two(b []byte, n int) []byte { return append(b, '0'+byte(n/10%10), '0'+byte(n%10)) }
