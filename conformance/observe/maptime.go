package observe

import (
	"bytes"
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"

	"swellbench/scenarios/utc"
)

var timeUnits = map[string]float64{"s": 1e9, "ms": 1e6, "us": 1e3, "ns": 1}

func (t *MapTime) validate(add func(string, string, ...any), word func(string, string, ...string)) {
	if len(t.Columns) == 0 {
		add("time.columns", "there is no column for the time; a record without its time cannot be judged")
	}
	word("time.unit", t.Unit, "s", "ms", "us", "ns")
	word("time.base", t.Base, "utc", "gps")
	pattern, dated, sound := false, true, true
	switch t.Layout {
	case "", "rfc3339", "unix":
	case "seconds-of-day":
		dated = false
	case "week-and-seconds":
		if len(t.Columns) != 2 {
			add("time.columns", "week-and-seconds has %d columns; allowed: 2, the GPS week in full and the seconds of the week", len(t.Columns))
		}
	default:
		pattern = true
		var why string
		if dated, why = checkPattern(t.Layout); why != "" {
			sound = false
			add("time.layout", "layout %q %s; allowed: rfc3339, unix, seconds-of-day, week-and-seconds, or a pattern of YYYY, YY, MM, DD, DDD, hh, mm, ss", t.Layout, why)
		}
	}
	if pattern || t.Layout == "" || t.Layout == "rfc3339" {
		if t.Unit != "" {
			add("time.unit", "a unit is of unix, seconds-of-day and week-and-seconds only; leave it out")
		}
	}
	if !dated && sound {
		if _, err := time.Parse(time.DateOnly, t.Date); err != nil {
			add("time.date", "date is %q; a layout without a day needs that of the first record, such as 2026-06-01", t.Date)
		}
	} else if t.Date != "" && sound {
		add("time.date", "the layout has a day of its own; leave the date out")
	}
	if _, ok := zoneSeconds(t.Zone); !ok {
		add("time.zone", "zone is %q; allowed: an offset such as +02:00", t.Zone)
	}
}

func zoneSeconds(zone string) (int, bool) {
	if zone == "" {
		return 0, true
	}
	return zoneOf([]byte(zone))
}

// patternWords are the words of a pattern, longest first where one begins another.
var patternWords = []string{"YYYY", "YY", "MM", "DDD", "DD", "hh", "mm", "ss"}

// nextWord cuts a word or one other character off a pattern.
func nextWord(layout string) (word, rest string) {
	for _, w := range patternWords {
		if strings.HasPrefix(layout, w) {
			return w, layout[len(w):]
		}
	}
	return layout[:1], layout[1:]
}

// checkPattern tells whether a pattern has a day, and what is wrong with it.
func checkPattern(layout string) (dated bool, why string) {
	seen := map[string]bool{}
	for word, rest := "", layout; rest != ""; {
		word, rest = nextWord(rest)
		if len(word) > 1 && seen[word] {
			return false, "has " + word + " twice"
		}
		seen[word] = true
	}
	year := seen["YYYY"] || seen["YY"]
	day := seen["DDD"] || seen["MM"] && seen["DD"]
	switch {
	case !seen["hh"] || !seen["mm"] || !seen["ss"]:
		return false, "lacks hh, mm or ss"
	case seen["YYYY"] && seen["YY"]:
		return false, "has the year twice"
	case year != day || !day && (seen["MM"] || seen["DD"]):
		return false, "has a part of a date only"
	}
	return day, ""
}

// A stamper reads the stamps of records, one after another.
type stamper struct {
	t       MapTime
	columns []int
	comma   bool
	zone    time.Duration
	unit    float64
	gps     bool
	buf     []byte
	cache   timeCache

	day  time.Time // of a layout without one
	last time.Duration
	any  bool
}

func newStamper(t MapTime, comma bool) stamper {
	zone, _ := zoneSeconds(t.Zone)
	s := stamper{t: t, comma: comma, zone: time.Duration(zone) * time.Second, gps: t.Base == "gps" || t.Base == "" && t.Layout == "week-and-seconds"}
	unit := t.Unit
	if unit == "" {
		unit = "s"
	}
	s.unit = timeUnits[unit]
	s.day, _ = time.Parse(time.DateOnly, t.Date)
	return s
}

// time reads the stamp of a record.
func (s *stamper) time(fields [][]byte) (time.Time, *Refusal) {
	s.buf = s.buf[:0]
	for i, c := range s.columns {
		if c < 0 || c >= len(fields) || len(fields[c]) == 0 {
			return time.Time{}, &Refusal{NoTime, fmt.Sprintf("the column %q of the time is empty or missing", s.t.Columns[i])}
		}
		if i > 0 {
			s.buf = append(s.buf, ' ')
		}
		s.buf = append(s.buf, fields[c]...)
	}
	t, why := s.parse(s.buf)
	if why != "" {
		layout := s.t.Layout
		if layout == "" {
			layout = "rfc3339"
		}
		return time.Time{}, &Refusal{BadTime, fmt.Sprintf("%q %s; the map says %s", printable(s.buf, 60), why, layout)}
	}
	t = t.Add(-s.zone)
	if s.gps { // a date on a clock without leap seconds, or weeks of it
		t = utc.Leaps.Label(utc.GPS(t.Sub(gpsEpoch))).Time()
	}
	return t, nil
}

// gpsEpoch is when GPS time began: IS-GPS-200, 3.3.4.
var gpsEpoch = time.Date(1980, 1, 6, 0, 0, 0, 0, time.UTC)

// parse reads a stamp on the program's own clock. why is "" if it is understood.
func (s *stamper) parse(b []byte) (t time.Time, why string) {
	switch s.t.Layout {
	case "", "rfc3339":
		if len(b) > 10 && !bytes.ContainsAny(b[10:], "Zz+-") {
			b = append(b, 'Z') // the map's own zone says what it is
			s.buf = b
		}
		return s.cache.parse(b)
	case "unix":
		ns, ok := s.scaled(b)
		if !ok {
			return t, "is no number"
		}
		return time.Unix(ns/1e9, ns%1e9).UTC(), ""
	case "seconds-of-day":
		ns, ok := s.scaled(b)
		if !ok || ns < 0 || ns >= 86401*1e9 {
			return t, "is no time of day"
		}
		return s.ofDay(time.Duration(ns)), ""
	case "week-and-seconds":
		week, seconds, _ := bytes.Cut(b, []byte(" "))
		w, err := strconv.Atoi(string(week))
		ns, ok := s.scaled(seconds)
		if err != nil || !ok || w < 0 || w > 9999 || ns < 0 || ns > 7*86400*1e9 {
			return t, "is no GPS week and seconds of it"
		}
		return gpsEpoch.AddDate(0, 0, 7*w).Add(time.Duration(ns)), ""
	}
	return s.pattern(b)
}

// ofDay puts a time of day on its day: a step back of more than half a day is the next one.
func (s *stamper) ofDay(d time.Duration) time.Time {
	if s.any {
		if _, days := utc.Step(s.last, d); days != 0 {
			s.day = s.day.AddDate(0, 0, days)
		}
	}
	s.last, s.any = d, true
	return s.day.Add(d)
}

// scaled reads a number in the map's unit as nanoseconds, digit by digit: a float64 of a time since 1970 lies 240 ns apart.
func (s *stamper) scaled(b []byte) (int64, bool) {
	negative := false
	if len(b) > 0 && b[0] == '-' {
		negative, b = true, b[1:]
	}
	var v int64
	scale, digits, point := int64(s.unit), 0, false
	for _, c := range b {
		switch {
		case c >= '0' && c <= '9' && !point:
			if v > (math.MaxInt64/scale-9)/10 {
				return 0, false
			}
			v = 10*v + int64(c-'0')
			digits++
		case c >= '0' && c <= '9':
			digits++
			if scale /= 10; scale > 0 {
				v += int64(c-'0') * scale
			}
		case (c == '.' || c == ',' && s.comma) && !point:
			point = true
			v *= scale
		default:
			return 0, false
		}
	}
	if !point {
		v *= scale
	}
	if negative {
		v = -v
	}
	return v, digits > 0
}

// pattern reads a stamp by the map's pattern.
func (s *stamper) pattern(b []byte) (t time.Time, why string) {
	year, month, day, yearDay := 0, 1, 1, 0
	var ofDay time.Duration
	dated := false
	for word, rest := "", s.t.Layout; rest != ""; {
		word, rest = nextWord(rest)
		if len(word) == 1 {
			if len(b) == 0 || b[0] != word[0] {
				return t, fmt.Sprintf("has no %q where the pattern has one", word)
			}
			b = b[1:]
			continue
		}
		n := len(word)
		for n > 1 && (len(b) < n || !isDigit(b[n-1])) && word != "YYYY" && word != "YY" {
			n-- // 7 for 07
		}
		if len(b) < n {
			return t, "is shorter than the pattern"
		}
		v, ok := digits(b[:n])
		if !ok {
			return t, "has no digits for " + word
		}
		b = b[n:]
		switch word {
		case "YYYY":
			year, dated = v, true
		case "YY":
			year, dated = utc.FullYear(v, 2030), true
		case "MM":
			month = v
		case "DD":
			day = v
		case "DDD":
			yearDay = v
		case "hh":
			ofDay += time.Duration(v) * time.Hour
			ok = v < 24
		case "mm":
			ofDay += time.Duration(v) * time.Minute
			ok = v < 60
		case "ss":
			ofDay += time.Duration(v) * time.Second
			ok = v < 61
			if len(b) > 1 && (b[0] == '.' || b[0] == ',' && s.comma) && !strings.HasPrefix(rest, string(b[:1])) {
				scale := time.Second
				for b = b[1:]; len(b) > 0 && isDigit(b[0]); b = b[1:] {
					scale /= 10
					ofDay += time.Duration(b[0]-'0') * scale
				}
			}
		}
		if !ok {
			return t, "is no time of day"
		}
	}
	if len(b) > 0 {
		return t, "goes on behind the pattern"
	}
	if !dated {
		return s.ofDay(ofDay), ""
	}
	if yearDay > 0 {
		month, day = 1, yearDay
	}
	t = time.Date(year, time.Month(month), day, 0, 0, 0, 0, time.UTC)
	if yearDay == 0 && (t.Day() != day || t.Month() != time.Month(month)) || yearDay > 0 && t.Year() != year || yearDay == 0 && s.hasYearDay() {
		return t, "is a day that does not exist"
	}
	return t.Add(ofDay), ""
}

func (s *stamper) hasYearDay() bool { return strings.Contains(s.t.Layout, "DDD") }

func isDigit(c byte) bool { return c >= '0' && c <= '9' }
