package nmea2000

import (
	"time"

	"swellbench/emulator/wire"
	"swellbench/scenarios/opt"
	"swellbench/scenarios/utc"
)

// 126992, System Time: date and time of day in UTC. In a leap second the time goes on past 86400 s.
//
// Source: canboat PGN database; NMEA2000 C++ library.
var (
	timeSource = Field{Name: "source", Bit: 8, Width: 4, Type: Lookup,
		Words: []string{"GPS", "GLONASS", "radio station", "caesium clock", "rubidium clock", "crystal clock"}}
	timeDate  = Field{Name: "date", Bit: 16, Width: 16, Unit: "d"}
	timeOfDay = Field{Name: "time", Bit: 32, Width: 32, Decimals: 4, Unit: "s"}

	timeFields = []Field{sid, timeSource, reserved(12, 4), timeDate, timeOfDay}
)

func packTime(e *encoder, r *wire.Reading) (uint64, error) {
	day, ticks, err := e.label(r, &timeDate)
	if err != nil {
		return 0, err
	}
	return e.sidOf(r) | e.timeSource<<8 | 0xF<<12 | day<<16 | ticks<<32, nil
}

func readTime(p []byte, r *wire.Reading) { readLabel(p, &timeDate, &timeOfDay, r) }

func timeResolutions(*encoder) []wire.Resolution {
	return []wire.Resolution{timeOfDay.resolution(wire.Time)}
}

// Time of day counts in steps of 0.1 ms.
const (
	tick      = 100 * time.Microsecond
	dayTicks  = uint64(24 * time.Hour / tick)
	leapTicks = dayTicks + uint64(time.Second/tick)
)

// label is the stamp of the reading as day and time of day, rounded to the tick: into the next day at the end of this,
// into 23:59:60 where that follows.
func (e *encoder) label(r *wire.Reading, date *Field) (day, ticks uint64, err error) {
	l, ok := r.Label().Value()
	if !ok {
		return 0xFFFF, 0xFFFFFFFF, nil
	}
	ticks = uint64((l.OfDay + tick/2) / tick)
	if end := dayTicks; ticks >= end && r.Leap != wire.LeapAhead {
		if l.OfDay >= 24*time.Hour {
			end = leapTicks
		}
		if ticks >= end {
			ticks, l.Day = 0, l.Day+1
		}
	}
	if _, hi := date.Limits(); l.Day < 0 || int64(l.Day) > hi {
		return 0, 0, e.tooLarge(date, opt.Of(float64(l.Day)))
	}
	return uint64(l.Day), ticks, nil
}

// readLabel sets the stamp. A time without its date is none, and so is one past the end of a leap second.
func readLabel(p []byte, date, ofDay *Field, r *wire.Reading) {
	r.UTC, r.Leap = opt.None[time.Time](), wire.NoLeap
	day, s := date.Raw(p)
	ticks, t := ofDay.Raw(p)
	if s != Known || t != Known || uint64(ticks) >= leapTicks {
		return
	}
	r.Stamp(utc.Label{Day: int(day), OfDay: time.Duration(ticks) * tick}, false)
}
