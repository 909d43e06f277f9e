package utc

import (
	"math"
	"time"
)

// A Timeline is true time along a run: scenario time t, in s, is that many SI seconds after the start.
type Timeline struct {
	table *Table
	start GPS
}

// NewTimeline counts from an instant given in UTC. A nil table is [Leaps].
func NewTimeline(table *Table, start time.Time) Timeline {
	if table == nil {
		table = Leaps
	}
	return Timeline{table, table.GPS(LabelOf(start))}
}

// Table is the table of leap seconds.
func (l Timeline) Table() *Table {
	if l.table == nil {
		return Leaps
	}
	return l.table
}

// GPS is the instant of scenario time t, in s, to the nearest nanosecond.
func (l Timeline) GPS(t float64) GPS { return l.start.Add(nanoseconds(t)) }

// Label is UTC at scenario time t, in s.
func (l Timeline) Label(t float64) Label { return l.Table().Label(l.GPS(t)) }

// Time is UTC at scenario time t, in s, for what knows no leap seconds; see [Label.Time].
func (l Timeline) Time(t float64) time.Time { return l.Label(t).Time() }

// Since is the scenario time, in s, of a label in UTC.
func (l Timeline) Since(at Label) float64 { return l.Table().GPS(at).Sub(l.start).Seconds() }

// maxS, in s, is some 200 years: as far from the start as an instant is taken.
const maxS = 6e9

// nanoseconds is t, in s, to the nearest nanosecond; what is too far or no number is taken to the nearest end or to 0.
func nanoseconds(t float64) time.Duration {
	if math.IsNaN(t) {
		return 0
	}
	whole, frac := math.Modf(max(-maxS, min(maxS, t))) // so that a late t keeps its nanoseconds
	return time.Duration(whole)*time.Second + time.Duration(math.Round(frac*1e9))
}
