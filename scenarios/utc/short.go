package utc

import "time"

// FullYear is the year that two digits stand for, the one nearest to a year known otherwise: from 50 before it to 49
// after. With 2030 they are read as 1980 to 2079, which is right for all of GPS time so far.
func FullYear(twoDigits, about int) int {
	_, r := floorDiv(int64(twoDigits)-int64(about)+50, 100)
	return about - 50 + int(r)
}

// Step is the time between two sentences that have a time of day but no date, and by how many days the date moves on: a
// step back by more than half a day is a new day, a step ahead by more than half a day an old one that came late. Steps
// of more than half a day cannot be told.
//
// Times from 24 h on are in a leap second, which shows that its day has 86401 s. Where no sentence falls into the leap
// second, the step over midnight is counted a second too short.
func Step(first, second time.Duration) (elapsed time.Duration, days int) {
	elapsed = second - first
	length := day
	if first >= day || second >= day {
		length += time.Second
	}
	switch {
	case elapsed < -day/2:
		return elapsed + length, 1
	case elapsed > day/2:
		return elapsed - length, -1
	}
	return elapsed, 0
}

// Elapsed is the time from a to b, two labels in UTC, leap seconds counted.
func (t *Table) Elapsed(a, b Label) time.Duration { return t.GPS(b).Sub(t.GPS(a)) }
