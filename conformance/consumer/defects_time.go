package consumer

import (
	"time"

	"swellbench/emulator/wire/nmea0183"
	"swellbench/scenarios/opt"
)

// timeDefects are those of the time of an epoch.
var timeDefects = []Defect{
	{"arrival-stamp", "stamps with the host's clock when the last line of the epoch is complete", Stamp, "time.arrival", "arrival-stamped-as-measured", arrivalStamp},
	{"seconds-cut", "cuts the fraction of the second in the message", Read, "time.validity", "fraction-of-second-dropped", secondsCut},
	{"seconds-rounded", "rounds the time in the message to whole seconds", Stamp, "time.validity", "fraction-of-second-dropped", secondsRounded},
	{"second-sixty", "rounds the second to hundredths after the minute is split off, so that 59.996 falls back by a minute", Stamp, "time.validity", "rounding-makes-second-sixty", secondSixty},
	{"delay-added", "adds the delay of the device, 60 ms, where the stamp is right already", Stamp, "time.validity", "stamp-shifted latency-correction-reversed", shifted(60 * time.Millisecond)},
	{"epoch-behind", "publishes an epoch with the time of the one before", Stamp, "time.validity", "epochs-mixed", epochBehind},
	{"position-averaged", "shows the mean of the last five positions", Publish, "time.validity", "values-smoothed", positionAveraged},
	{"gps-for-utc", "takes UTC for GPS time: leap seconds are taken off again", Stamp, "time.leap-second", "leap-seconds-missing-or-stale", shifted(-18 * time.Second)},
	{"leap-seconds-missing", "publishes GPS time as UTC", Stamp, "time.leap-second", "leap-seconds-missing-or-stale", shifted(18 * time.Second)},
	{"leap-seconds-stale", "knows the leap seconds of some years ago", Stamp, "time.leap-second", "leap-seconds-missing-or-stale", shifted(3 * time.Second)},
	{"local-zone", "takes UTC for the local time of its computer, which is at UTC+5:45", Stamp, "time.zone", "local-zone-applied", shifted(-(5*time.Hour + 45*time.Minute))},
	{"week-wrapped", "counts weeks from a base that has gone by: 1024 weeks early", Stamp, "time.date", "week-counter-wrapped", shifted(-7168 * 24 * time.Hour)},
	{"year-of-last-century", "reads a year of two digits as one of the last century", Say, "time.date", "two-digit-year", yearOfLastCentury},
	{"day-and-month-swapped", "takes the month for the day and the day for the month", Say, "time.date", "day-and-month-exchanged", dayAndMonthSwapped},
	{"host-date", "joins the time of day with the date of its computer", Stamp, "time.date", "host-date-on-time-only-fix", hostDate},
	{"date-kept", "keeps the first date it has heard through midnight", Stamp, "time.midnight", "host-date-on-time-only-fix", dateKept},
	{"late-is-midnight", "takes a time of day that steps back for a new day", Stamp, "time.order", "late-epoch-taken-for-midnight", lateIsMidnight},
	{"stamps-counted", "stamps by counting epochs from the first", Stamp, "time.order", "late-epoch-restamped", stampsCounted},
	{"stamps-pushed-on", "moves a stamp that steps back to just after the last one", Stamp, "time.order", "late-epoch-restamped", stampsPushedOn},
}

// stamping wraps the stage that stamps.
func stamping(s *stages, f func(e *epoch, valid time.Time) time.Time) {
	stamp := s.stamp
	s.stamp = func(e *epoch, valid time.Time) time.Time { return f(e, stamp(e, valid)) }
}

func shifted(by time.Duration) func(*stages) {
	return func(s *stages) {
		stamping(s, func(_ *epoch, valid time.Time) time.Time { return valid.Add(by) })
	}
}

func arrivalStamp(s *stages) {
	s.stamp = func(e *epoch, _ time.Time) time.Time { return e.last }
}

func secondsCut(s *stages) {
	reading(s, func(m *message) {
		if t, ok := m.time.Value(); ok {
			m.time = opt.Of(t.Truncate(time.Second))
		}
	})
}

func secondsRounded(s *stages) {
	stamping(s, func(_ *epoch, valid time.Time) time.Time { return valid.Round(time.Second) })
}

func secondSixty(s *stages) {
	stamping(s, func(_ *epoch, valid time.Time) time.Time {
		minute := valid.Truncate(time.Minute)
		return minute.Add(valid.Sub(minute).Round(10*time.Millisecond) % time.Minute)
	})
}

func epochBehind(s *stages) {
	var last time.Time
	stamping(s, func(e *epoch, valid time.Time) time.Time {
		if !e.time.Has() {
			return valid
		}
		behind := last
		if last = valid; behind.IsZero() {
			return valid
		}
		return behind
	})
}

func positionAveraged(s *stages) {
	var lat, lon, height mean
	publishing(s, func(o *observation) {
		for v, m := range map[*value]*mean{&o.lat: &lat, &o.lon: &lon, &o.height: &height} {
			if v.known {
				v.x = m.with(v.x)
			}
		}
	})
}

// A mean is that of the last five values.
type mean []float64

func (m *mean) with(x float64) float64 {
	if *m = append(*m, x); len(*m) > 5 {
		*m = (*m)[1:]
	}
	sum := 0.0
	for _, x := range *m {
		sum += x - (*m)[0]
	}
	return (*m)[0] + sum/float64(len(*m))
}

func yearOfLastCentury(s *stages) {
	saying(s, func(m *message, x nmea0183.Sentence) {
		if rmc, ok := x.(*nmea0183.RMC); ok {
			if d, ok := rmc.Date.Value(); ok {
				d.Year -= 100
				m.date = opt.Of(d.Time(0))
			}
		}
	})
}

func dayAndMonthSwapped(s *stages) {
	saying(s, func(m *message, _ nmea0183.Sentence) {
		if d, ok := m.date.Value(); ok && d.Day() <= 12 {
			m.date = opt.Of(time.Date(d.Year(), time.Month(d.Day()), int(d.Month()), 0, 0, 0, 0, time.UTC))
		}
	})
}

func hostDate(s *stages) {
	stamping(s, func(e *epoch, valid time.Time) time.Time { return onDay(valid, e.last) })
}

func dateKept(s *stages) {
	var first time.Time
	stamping(s, func(_ *epoch, valid time.Time) time.Time {
		if first.IsZero() {
			first = valid
		}
		return onDay(valid, first)
	})
}

// onDay is the time of day of t on the day of d.
func onDay(t, d time.Time) time.Time {
	const day = 24 * time.Hour
	return d.UTC().Truncate(day).Add(t.Sub(t.UTC().Truncate(day)))
}

func lateIsMidnight(s *stages) {
	var last time.Time
	days := time.Duration(0)
	stamping(s, func(_ *epoch, valid time.Time) time.Time {
		if valid.Before(last) {
			days++
		}
		last = valid
		return valid.Add(days * 24 * time.Hour)
	})
}

func stampsCounted(s *stages) {
	var first, second time.Time
	n := time.Duration(0)
	stamping(s, func(e *epoch, valid time.Time) time.Time {
		switch {
		case !e.time.Has():
			return valid
		case n == 0:
			first = valid
		case n == 1:
			second = valid
		}
		n++
		return first.Add((n - 1) * second.Sub(first))
	})
}

func stampsPushedOn(s *stages) {
	var last time.Time
	stamping(s, func(_ *epoch, valid time.Time) time.Time {
		if !valid.After(last) {
			valid = last.Add(time.Millisecond)
		}
		last = valid
		return valid
	})
}
