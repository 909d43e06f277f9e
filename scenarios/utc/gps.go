package utc

import "time"

// A GPS is an instant: SI nanoseconds since GPS time began at 1980-01-06 00:00:00 UTC. Range: 1688 to 2271; dates beyond
// become the first or the last of it.
//
// Source: IS-GPS-200, 3.3.4 and 6.2.4: weeks of 604800 s from midnight of 5 to 6 January 1980, without leap seconds.
type GPS int64

// Offsets that never change.
const (
	TAIMinusGPS = 19 * time.Second // TAI − UTC when GPS time began; IERS Bulletin C of 1980
	GPSMinusBDT = 14 * time.Second // GPS − UTC on 2006-01-01, when BeiDou time began (interface document, from memory)
)

// Week is the length of a GPS week.
const Week = 7 * day

// Rollover is how many weeks the ten bits of the navigation message count. IS-GPS-200, 3.3.4.
const Rollover = 1024

const (
	day      = 24 * time.Hour
	epochDay = 3657              // 1980-01-06 since 1970-01-01
	maxDay   = epochDay + 106700 // what 63 bits of nanoseconds hold, less a little: 292 years
	minDay   = epochDay - 106700
	lastYear = 2271 // the last in full
)

// GPSOf is the instant of a week, counted in full since 1980, and the time since it began.
func GPSOf(week int, ofWeek time.Duration) GPS {
	const most = 15249 // weeks that 63 bits of nanoseconds hold
	return GPS(min(max(week, -most), most))*GPS(Week) + GPS(ofWeek)
}

// Week is the number of the week in full, and the time since it began on Sunday at 00:00:00 GPS time.
func (g GPS) Week() (week int, ofWeek time.Duration) {
	q, r := floorDiv(int64(g), int64(Week))
	return int(q), time.Duration(r)
}

// Weekday is the day of the week of GPS time.
func (g GPS) Weekday() time.Weekday {
	_, s := g.Week()
	return time.Weekday(s / day)
}

// Add moves the instant.
func (g GPS) Add(d time.Duration) GPS { return g + GPS(d) }

// Sub is the time from h to g, leap seconds counted.
func (g GPS) Sub(h GPS) time.Duration { return time.Duration(g - h) }

// Civil is what a clock shows that is behind GPS time by a whole number of seconds and knows no leap seconds: with 0 one
// on GPS time, with −19 s one on TAI.
func (g GPS) Civil(behind time.Duration) Label { return civil(g, int64(behind/time.Second)) }

func civil(g GPS, behindS int64) Label {
	sec, ns := floorDiv(int64(g), int64(time.Second))
	days, s := floorDiv(sec-behindS, 86400)
	return Label{Day: int(days) + epochDay, OfDay: time.Duration(s)*time.Second + time.Duration(ns)}
}

// GPS is the instant at which a clock on GPS time shows the label.
func (l Label) GPS() GPS { return gpsAt(l.Day, l.OfDay, int64(TAIMinusGPS/time.Second)) }

// Ten is the number that the ten bits of the navigation message give for a week.
func Ten(week int) int {
	_, r := floorDiv(int64(week), Rollover)
	return int(r)
}

// Rollovers is how often the ten bits have begun again before a week.
func Rollovers(week int) int {
	q, _ := floorDiv(int64(week), Rollover)
	return int(q)
}

// NearestWeek is the week in full that ten bits stand for, the nearest to a week known otherwise. Of two as near it is
// the earlier.
func NearestWeek(ten, about int) int { return WeekFrom(ten, about-Rollover/2) }

// WeekFrom is the week in full that ten bits stand for, of the 1024 weeks from base on: what a receiver takes which
// knows nothing but that it was built in the week base.
func WeekFrom(ten, base int) int { return base + Ten(ten-base) }

func floorDiv(a, b int64) (q, r int64) {
	q, r = a/b, a%b
	if r < 0 {
		q, r = q-1, r+b
	}
	return q, r
}
