package nmea0183

import (
	"time"

	"swellbench/emulator/wire"
	"swellbench/scenarios/opt"
)

const day = 24 * time.Hour

var (
	timeSpan  = span{field: "time of day", allowed: "0 s ≤ time < 86401 s (the last second only in a leap second)", lo: 0, hi: 86401, open: true}
	monthSpan = span{field: "month", allowed: "1 to 12", lo: 1, hi: 12}
	daySpan   = span{field: "day", allowed: "a day of its month", lo: 1, hi: 31}
	yearSpan  = span{field: "year", allowed: "1 to 9999", lo: 1, hi: 9999}
	// No satellite told the date before GPS time began in 1980, so that two digits from 80 on are of that century.
	shortYearSpan = span{field: "year", allowed: "1980 to 2079, as two digits are sent", lo: 1980, hi: 2079}
)

// A Date is a day in UTC. The year has its century.
type Date struct{ Year, Month, Day int }

// Time is the instant d, since the midnight that begins the date, into it. In a leap second, from 24 h on, it is
// the first second of the next day, since [time.Time] knows none.
func (d Date) Time(sinceMidnight time.Duration) time.Time {
	return time.Date(d.Year, time.Month(d.Month), d.Day, 0, 0, 0, 0, time.UTC).Add(sinceMidnight)
}

func (d Date) next() Date {
	d.Day++
	if d.Day > daysIn(d.Year, d.Month) {
		d.Day = 1
		d.Month++
		if d.Month > 12 {
			d.Month = 1
			d.Year++
		}
	}
	return d
}

func daysIn(year, month int) int {
	if month == 2 && (year%4 == 0 && year%100 != 0 || year%400 == 0) {
		return 29
	}
	return [...]int{31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31}[month-1]
}

// stamp is the date and the time of day of a reading in UTC, 24 h and more within a leap second.
func stamp(r *wire.Reading, f *Format) (opt.Opt[Date], opt.Opt[time.Duration]) {
	t, ok := r.UTC.Value()
	if !ok {
		return opt.None[Date](), opt.None[time.Duration]()
	}
	days, tod := split86400(t, r.Leap, f)
	return opt.Of(dateOf(days)), opt.Of(tod)
}

// sinceMidnight is the time of day of a reading in UTC, 24 h and more within a leap second.
func sinceMidnight(r *wire.Reading, f *Format) opt.Opt[time.Duration] {
	t, ok := r.UTC.Value()
	if !ok {
		return opt.None[time.Duration]()
	}
	_, tod := split86400(t, r.Leap, f)
	return opt.Of(tod)
}

// split86400 splits an instant into the days since 1970-01-01 and the time since midnight. Where a leap second follows,
// a time that would be rounded to 24 h is the beginning of the leap second, and not the midnight after it.
func split86400(t time.Time, leap wire.Leap, f *Format) (days int64, tod time.Duration) {
	days, sec := floorDiv(t.Unix(), 86400)
	tod = time.Duration(sec)*time.Second + time.Duration(t.Nanosecond())
	switch {
	case leap == wire.LeapNow && sec == 0: // elsewhere it would be a mistake of the caller
		return days - 1, tod + day
	case leap == wire.LeapAhead && sec == 86399:
		if dec := int(f.Digits[Seconds].Decimals); roundNanoseconds(uint64(tod), dec) >= roundNanoseconds(uint64(day), dec) {
			return days, day
		}
	}
	return days, tod
}

func floorDiv(a, b int64) (q, r int64) {
	q, r = a/b, a%b
	if r < 0 {
		q, r = q-1, r+b
	}
	return q, r
}

// dateOf is the Gregorian date of the days since 1970-01-01: counted from 1 March of year 0, a day number fixes the
// 400-year era, the year of the era and the day of the year by divisions alone.
func dateOf(days int64) Date {
	era, dayOfEra := floorDiv(days+719468, 146097)
	yearOfEra := (dayOfEra - dayOfEra/1460 + dayOfEra/36524 - dayOfEra/146096) / 365
	dayOfYear := dayOfEra - (365*yearOfEra + yearOfEra/4 - yearOfEra/100)
	m := (5*dayOfYear + 2) / 153 // months from March
	d := Date{Year: int(yearOfEra + era*400), Month: int(m) + 3, Day: int(dayOfYear-(153*m+2)/5) + 1}
	if d.Month > 12 {
		d.Month -= 12
		d.Year++
	}
	return d
}

// time writes hhmmss.ss and tells whether rounding carried it into the next day. Second 60 is written only for a
// time of 24 h and more, in a leap second.
func (w *writer) time(v opt.Opt[time.Duration]) (nextDay bool) {
	w.b = append(w.b, ',')
	t, ok := v.Value()
	if !ok {
		return false
	}
	if t < 0 || t >= day+time.Second {
		w.outOfRange(&timeSpan, t.Seconds())
		return false
	}
	dec := int(w.f.Digits[Seconds].Decimals)
	n := roundNanoseconds(uint64(t), dec)
	size := 6
	if dec > 0 {
		size += 1 + dec
	}
	i := len(w.b)
	w.b = append(w.b, "                "[:size]...)
	b := w.b[i:]
	if dec > 0 {
		n = putDigits(b[7:], n, dec)
		b[6] = '.'
	}
	sec := uint32(n)
	if leap := t >= day; leap && sec == 86400 {
		copy(b, "235960")
		return false
	}
	if sec >= 86400 {
		nextDay, sec = true, 0 // what is left of the second was zero
	}
	h, m := sec/3600, sec/60%60
	putDigits(b, uint64(h*10000+m*100+sec%60), 6)
	return nextDay
}

// roundNanoseconds is t in units of 10^-dec s, a half rounded up. Divisions by constants are the fast ones.
func roundNanoseconds(t uint64, dec int) uint64 {
	switch dec {
	case 0:
		return (t + 5e8) / 1e9
	case 1:
		return (t + 5e7) / 1e8
	case 2:
		return (t + 5e6) / 1e7
	case 3:
		return (t + 5e5) / 1e6
	case 9:
		return t
	}
	unit := pow10[9-dec]
	return (t + unit/2) / unit
}

// carried is the date to be written if the time was carried into the next day.
func (w *writer) carried(d Date, nextDay bool, years *span) (Date, bool) {
	ok := w.checkDate(d, years)
	if ok && nextDay {
		d = d.next()
		ok = w.checkDate(d, years)
	}
	return d, ok
}

func (w *writer) checkDate(d Date, years *span) bool {
	switch {
	case !monthSpan.has(float64(d.Month)):
		w.outOfRange(&monthSpan, float64(d.Month))
	case !years.has(float64(d.Year)):
		w.outOfRange(years, float64(d.Year))
	case d.Day < 1 || d.Day > daysIn(d.Year, d.Month):
		w.outOfRange(&daySpan, float64(d.Day))
	default:
		return true
	}
	return false
}

// shortDate writes ddmmyy.
func (w *writer) shortDate(v opt.Opt[Date], nextDay bool) {
	w.b = append(w.b, ',')
	d, ok := v.Value()
	if !ok {
		return
	}
	if d, ok = w.carried(d, nextDay, &shortYearSpan); ok {
		w.b = appendDigits(w.b, uint64(d.Day*10000+d.Month*100+d.Year%100), 6)
	}
}

// longDate writes dd,mm,yyyy.
func (w *writer) longDate(v opt.Opt[Date], nextDay bool) {
	d, ok := v.Value()
	if !ok {
		w.b = append(w.b, ",,,"...)
		return
	}
	if d, ok = w.carried(d, nextDay, &yearSpan); ok {
		w.b = appendDigits(append(w.b, ','), uint64(d.Day), 2)
		w.b = appendDigits(append(w.b, ','), uint64(d.Month), 2)
		w.b = appendDigits(append(w.b, ','), uint64(d.Year), 4)
	}
}

// time reads hhmmss with any number of decimals, to the nanosecond. Second 60 is legal at the end of a UTC day.
func (c *cursor) time() opt.Opt[time.Duration] {
	b := c.next()
	if len(b) == 0 {
		return opt.None[time.Duration]()
	}
	t, ok := parseTime(b)
	if !ok {
		c.fail("time", b, "hhmmss.ss from 000000 to 235959, or 235960 in a leap second")
		return opt.None[time.Duration]()
	}
	return opt.Of(t)
}

func parseTime(b []byte) (time.Duration, bool) {
	if len(b) < 6 || len(b) > 6 && b[6] != '.' {
		return 0, false
	}
	n, ok := decimalInt(b[:6])
	if !ok {
		return 0, false
	}
	h, m, s := n/10000, n/100%100, n%100
	if h > 23 || m > 59 || s > 59 && n != 235960 {
		return 0, false
	}
	t := time.Duration(h*3600+m*60+s) * time.Second
	unit := 100 * time.Millisecond
	for i := 7; i < len(b); i++ {
		if !isDigit(b[i]) {
			return 0, false
		}
		t += time.Duration(b[i]-'0') * unit // digits beyond the nanosecond fall away
		unit /= 10
	}
	return t, true
}

// shortDate reads ddmmyy.
func (c *cursor) shortDate() opt.Opt[Date] {
	b := c.next()
	if len(b) == 0 {
		return opt.None[Date]()
	}
	if n, ok := decimalInt(b); ok && len(b) == 6 {
		d := Date{Year: 2000 + n%100, Month: n / 100 % 100, Day: n / 10000}
		if d.Year > 2079 {
			d.Year -= 100
		}
		if d.valid() {
			return opt.Of(d)
		}
	}
	c.fail("date", b, "ddmmyy, a day of the calendar")
	return opt.None[Date]()
}

func (d Date) valid() bool {
	return d.Month >= 1 && d.Month <= 12 && d.Day >= 1 && d.Day <= daysIn(d.Year, d.Month)
}

// longDate reads dd,mm,yyyy. A date that is not complete is none.
func (c *cursor) longDate() opt.Opt[Date] {
	dd, mm, yy := c.integer(&daySpan), c.integer(&monthSpan), c.integer(&yearSpan)
	d := Date{Year: yy.Or(0), Month: mm.Or(0), Day: dd.Or(0)}
	if !dd.Has() || !mm.Has() || !yy.Has() {
		return opt.None[Date]()
	}
	if !d.valid() {
		c.fail("date", nil, "a day of the calendar")
		return opt.None[Date]()
	}
	return opt.Of(d)
}
