package layout

import (
	"math"
	"math/bits"
	"time"

	"swellbench/emulator/wire"
	"swellbench/scenarios/opt"
	"swellbench/scenarios/utc"
)

// A timePart is a part of the stamp of validity.
type timePart uint8

const (
	ofDay timePart = iota
	unixTime
	gpsTime
	gpsOfWeek
	second
	fraction
	gpsWeek // from here on whole numbers
	year
	month
	dayOfMonth
	dayOfYear
	hour
	minute
	gpsAhead
	timeParts
)

// counts tells whether the part counts time in some unit; the others are whole numbers.
func (p timePart) counts() bool { return p < gpsWeek }

// times is the table of them. UTC, but for those of GPS. modulo is where a part may begin again, 0 where it may not.
var times = []struct {
	name, what string
	part       timePart
	modulo     bool
}{
	{"time-of-day", "time since midnight UTC", ofDay, false},
	{"unix-time", "time since 1970-01-01 UTC, leap seconds not counted", unixTime, true},
	{"gps-time", "time since 1980-01-06, leap seconds counted", gpsTime, true},
	{"gps-week", "number of the GPS week since 1980", gpsWeek, true},
	{"gps-time-of-week", "time since the GPS week began on Sunday", gpsOfWeek, false},
	{"year", "year UTC; with modulo 100 its last two digits", year, true},
	{"month", "month UTC, 1 to 12", month, false},
	{"day", "day of the month UTC, 1 to 31", dayOfMonth, false},
	{"day-of-year", "day of the year UTC, 1 to 366", dayOfYear, false},
	{"hour", "hour UTC, 0 to 23", hour, false},
	{"minute", "minute UTC, 0 to 59", minute, false},
	{"second", "second of the minute UTC, 0 to 60", second, false},
	{"fraction-of-second", "what is over a whole second", fraction, false},
	{"gps-minus-utc", "seconds that GPS time is ahead of UTC", gpsAhead, false},
}

// A tick is how finely a field counts time: perSecond ticks a second, or one every seconds. One of the two is 1.
type tick struct{ perSecond, seconds uint64 }

func (t tick) finer(o tick) bool {
	return t.perSecond > o.perSecond || t.perSecond == o.perSecond && t.seconds < o.seconds
}

// s is the length of a tick.
func (t tick) s() float64 { return float64(t.seconds) / float64(t.perSecond) }

// An instant is the stamp of validity, rounded once to the finest tick of the message.
type instant struct {
	ok   bool
	day  int
	sec  int64  // of the day; from 86400 on in a leap second
	frac uint64 // ticks
	tick tick
}

// instantOf rounds the stamp of a reading, a half upwards. A time that would be rounded to midnight of a day that ends
// with a leap second is the beginning of that.
func instantOf(r *wire.Reading, t tick) instant {
	l, ok := r.Label().Value()
	if !ok {
		return instant{}
	}
	in := instant{ok: true, day: l.Day, tick: t}
	if t.perSecond > 1 {
		hi, lo := bits.Mul64(uint64(l.OfDay), t.perSecond)
		lo, carry := bits.Add64(lo, 5e8, 0)
		n, _ := bits.Div64(hi+carry, lo, 1e9)
		in.sec, in.frac = int64(n/t.perSecond), n%t.perSecond
	} else {
		in.sec = (int64(l.OfDay) + int64(t.seconds)*5e8) / (int64(t.seconds) * 1e9) * int64(t.seconds)
	}
	length := int64(86400)
	if r.Leap == wire.LeapAhead || l.Leap() {
		length = 86401
	}
	if in.sec >= length {
		in.sec -= length
		in.day++
	}
	return in
}

// part gives one part of the instant as a count of the field's own tick, what is over cut off.
func (in *instant) part(p timePart, t tick) int64 {
	switch p {
	case ofDay:
		return in.scaled(in.sec, t)
	case unixTime:
		return in.scaled(int64(in.day)*86400+in.sec, t)
	case gpsTime:
		return in.scaled(int64(in.gps()/1e9), t)
	case gpsOfWeek:
		_, of := in.gps().Week()
		return in.scaled(int64(of/1e9), t)
	case gpsWeek:
		week, _ := in.gps().Week()
		return int64(week)
	case gpsAhead:
		return int64(utc.Leaps.GPSMinusUTC(in.gps()) / 1e9)
	}
	l := utc.Label{Day: in.day, OfDay: time.Duration(in.sec) * time.Second}
	if p == dayOfYear {
		return int64(l.YearDay())
	}
	if p == year || p == month || p == dayOfMonth {
		y, m, d := l.Date()
		return [...]int64{int64(y), int64(m), int64(d)}[p-year]
	}
	s := min(in.sec, 86399)
	switch p {
	case hour:
		return s / 3600
	case minute:
		return s / 60 % 60
	case second:
		return in.scaled(s%60+in.sec-s, t)
	}
	return in.scaled(0, t)
}

func (in *instant) gps() utc.GPS {
	return utc.Leaps.GPS(utc.Label{Day: in.day, OfDay: time.Duration(in.sec) * time.Second})
}

// scaled is so many seconds and the fraction as a count of ticks.
func (in *instant) scaled(s int64, t tick) int64 {
	if t.perSecond == 1 {
		n := s / int64(t.seconds)
		if s%int64(t.seconds) < 0 {
			n--
		}
		return n
	}
	hi, lo := bits.Mul64(in.frac, t.perSecond)
	n, _ := bits.Div64(hi, lo, in.tick.perSecond) // frac is less than a second: no overflow
	return s*int64(t.perSecond) + int64(n)
}

// A timeDraft is a stamp in the making.
type timeDraft struct {
	has     uint32 // bit by part
	absent  bool
	sec     [timeParts]int64
	ns      [timeParts]int64 // 0 to 1e9
	modulo  [timeParts]int64
	leap    wire.Leap
	hasLeap bool
}

func (d *timeDraft) put(p timePart, sec, ns, modulo int64) {
	d.has |= 1 << p
	d.sec[p], d.ns[p], d.modulo[p] = sec, ns, modulo
}

// count puts n ticks.
func (d *timeDraft) count(p timePart, n int64, t tick, modulo int64) {
	s, ns := n*int64(t.seconds), int64(0)
	if t.perSecond > 1 {
		per := int64(t.perSecond)
		s = n / per
		if n %= per; n < 0 {
			s--
			n += per
		}
		hi, lo := bits.Mul64(uint64(n), 1e9)
		lo, carry := bits.Add64(lo, t.perSecond/2, 0)
		q, _ := bits.Div64(hi+carry, lo, t.perSecond)
		ns = int64(q)
	}
	d.put(p, s, ns, modulo)
}

// float puts seconds of a floating field.
func (d *timeDraft) float(p timePart, s float64) {
	if !(math.Abs(s) < 1<<53) {
		d.absent = true
		return
	}
	whole := math.Floor(s)
	d.put(p, int64(whole), int64(math.Round((s-whole)*1e9)), 0)
}

func (d *timeDraft) got(p timePart) bool { return d.has&(1<<p) != 0 }

// at is the part as a duration; callers know that it is not long.
func (d *timeDraft) at(p timePart) time.Duration {
	return time.Duration(d.sec[p])*time.Second + time.Duration(d.ns[p])
}

// maxSeconds bounds stamps to what years of four digits can say.
const maxSeconds = 253402300800

// finish puts the stamp together. A message without a date is of the day that brings it nearest to what was known before,
// of 1970-01-01 if nothing was. A week or year that begins again is the nearest to what was known before, or to 2030.
func (d *timeDraft) finish(r *wire.Reading, void bool) {
	if d.absent || void {
		r.UTC, r.Leap = opt.None[time.Time](), wire.NoLeap
		return
	}
	if d.has&^(1<<gpsAhead) == 0 {
		if d.hasLeap {
			r.Leap = d.leap
		}
		return
	}
	before, known := r.UTC.Value()
	about := utc.Label{Day: utc.DayOf(2030, 1, 1)}
	if known {
		about = utc.LabelOf(before)
	}
	l, full := d.full(about)
	tod, timed := d.timeOfDay()
	switch {
	case !full && !timed:
		return
	case !full && !known:
		l = utc.Label{OfDay: tod}
	case !full:
		l = nearest(about, tod)
	case timed && !d.dated():
		l = nearest(l, tod)
	case timed:
		l.OfDay = tod
	}
	if l.OfDay < 0 || l.OfDay >= 86401*time.Second || l.Day < -720000 || l.Day > maxSeconds/86400 {
		r.UTC, r.Leap = opt.None[time.Time](), wire.NoLeap
		return
	}
	if d.hasLeap && d.leap == wire.LeapNow && l.OfDay < time.Second {
		l.Day, l.OfDay = l.Day-1, l.OfDay+24*time.Hour
	}
	r.Stamp(l, d.hasLeap && d.leap == wire.LeapAhead)
}

// nearest is the time of day on the day that brings it nearest to a label.
func nearest(about utc.Label, tod time.Duration) utc.Label {
	l := utc.Label{Day: about.Day, OfDay: tod}
	switch diff := tod - about.OfDay; {
	case diff > 12*time.Hour:
		l.Day--
	case diff < -12*time.Hour:
		l.Day++
	}
	return l
}

// dated tells whether there is a date of its own.
func (d *timeDraft) dated() bool { return d.got(year) }

// full is the stamp as far as one part alone, or a date, says it.
func (d *timeDraft) full(about utc.Label) (utc.Label, bool) {
	over := time.Duration(0)
	if d.got(fraction) {
		over = d.at(fraction)
	}
	switch {
	case d.dated():
		y := d.sec[year]
		if m := d.modulo[year]; m > 0 {
			y = nearestTo(y, m, int64(yearOf(about)))
		}
		if y < 0 || y > 9999 {
			return utc.Label{Day: 1 << 40}, true
		}
		if d.got(dayOfYear) {
			return utc.Label{Day: utc.DayOf(int(y), 1, int(clip(d.sec[dayOfYear], 1, 366)))}, true
		}
		m, dd := int64(1), int64(1)
		if d.got(month) {
			m = clip(d.sec[month], 1, 12)
		}
		if d.got(dayOfMonth) {
			dd = clip(d.sec[dayOfMonth], 1, 31)
		}
		return utc.Label{Day: utc.DayOf(int(y), time.Month(m), int(dd))}, true
	case d.got(unixTime):
		s := d.sec[unixTime]
		if m := d.modulo[unixTime]; m > 0 {
			s = nearestTo(s, m, int64(about.Day)*86400+int64(about.OfDay/1e9))
		}
		return unixLabel(s, time.Duration(d.ns[unixTime])+over), true
	case d.got(gpsTime):
		s := d.sec[gpsTime]
		if m := d.modulo[gpsTime]; m > 0 {
			s = nearestTo(s, m, int64(utc.Leaps.GPS(about)/1e9))
		}
		return gpsLabel(s, time.Duration(d.ns[gpsTime])+over), true
	case d.got(gpsOfWeek):
		week, _ := utc.Leaps.GPS(about).Week()
		w := int64(week)
		if d.got(gpsWeek) {
			w = d.sec[gpsWeek]
			if m := d.modulo[gpsWeek]; m > 0 {
				w = nearestTo(w, m, int64(week))
			}
		}
		if w < -100000 || w > 1000000 {
			return utc.Label{Day: 1 << 40}, true
		}
		return gpsLabel(w*604800+d.sec[gpsOfWeek], time.Duration(d.ns[gpsOfWeek])+over), true
	}
	return utc.Label{}, false
}

func clip(x, lo, hi int64) int64 { return min(max(x, lo), hi) }

func yearOf(l utc.Label) int { y, _, _ := l.Date(); return y }

func unixLabel(s int64, over time.Duration) utc.Label {
	if s < -maxSeconds || s > maxSeconds {
		return utc.Label{Day: 1 << 40}
	}
	s += int64(over / time.Second)
	day := s / 86400
	if s%86400 < 0 {
		day--
	}
	return utc.Label{Day: int(day), OfDay: time.Duration(s-day*86400)*time.Second + over%time.Second}
}

// gpsLabel keeps to the range of [utc.GPS].
func gpsLabel(s int64, over time.Duration) utc.Label {
	if s < -9e9 || s > 9e9 {
		return utc.Label{Day: 1 << 40}
	}
	return utc.Leaps.Label(utc.GPS(s * 1e9).Add(over))
}

// nearestTo is what n of m stands for, the nearest to about.
func nearestTo(n, m, about int64) int64 {
	k := about - m/2
	d := (n - k) % m
	if d < 0 {
		d += m
	}
	return k + d
}

// timeOfDay is the time of day where it is told on its own.
func (d *timeDraft) timeOfDay() (time.Duration, bool) {
	var t time.Duration
	switch {
	case d.got(ofDay):
		if d.sec[ofDay] < 0 || d.sec[ofDay] > 86400 {
			return -1, true
		}
		t = d.at(ofDay)
	case d.got(hour) || d.got(minute) || d.got(second):
		h, m, s := d.sec[hour], d.sec[minute], d.sec[second]
		if h < 0 || h > 23 || m < 0 || m > 59 || s < 0 || s > 60 {
			return -1, true
		}
		t = time.Duration(h*3600+m*60)*time.Second + d.at(second)
	default:
		return 0, false
	}
	if d.got(fraction) {
		t += d.at(fraction) % time.Second
	}
	return t, true
}
