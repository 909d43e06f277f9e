// Package utc keeps the time scales apart: UTC with its leap seconds, GPS time and TAI without.
//
// A [GPS] is an instant, a count of SI seconds that has no gap and no repetition: intervals are taken there. A [Label] is
// what a clock shows at an instant, a day and a time of day; it can say 23:59:60. A [Table] of leap seconds leads
// from one to the other, and a [Timeline] from the time of a scenario to both. A [time.Time] knows no leap second:
// [Label.Time] gives the first second of the next day for 23:59:60, so that two instants share one value.
//
// Read table.go first. To add a leap second that the next IERS Bulletin C announces, add a row to the table there;
// to try one that nobody announced, use [Table.With].
package utc
