package observe

import (
	"errors"
	"fmt"

	"swellbench/emulator/wire"
	"swellbench/emulator/wire/nmea0183"
	"swellbench/scenarios/geo"
)

// An nmeaParser reads the sentences that a program sends on: what one says is an observation. A sentence without a time of
// its own is stamped with the last time before it, as its listener would; one with a time of day alone is of the day nearest
// to the stamp before. Until a sentence has told the date there is no time.
type nmeaParser struct {
	m       *Map
	reading wire.Reading
	carries map[string][]wire.Quantity // by type
	words   parser
}

func newNMEAParser(m *Map) *nmeaParser {
	return &nmeaParser{m: m, carries: map[string][]wire.Quantity{}}
}

func (p *nmeaParser) parse(line []byte, _ *Stats, _ int64) (o Observation, skip bool, refusal *Refusal) {
	kind, carries, err := nmea0183.Family.Read(line, &p.reading)
	var reject *nmea0183.RejectError
	switch {
	case errors.As(err, &reject):
		return o, false, &Refusal{WrongForm, "no NMEA 0183 sentence: " + string(reject.Reason)}
	case err != nil:
		return o, false, &Refusal{WrongType, err.Error()}
	case !carries:
		return o, true, nil // a sentence that says nothing of what is judged
	}
	quantities := p.quantities(kind)
	if len(quantities) == 0 {
		return o, true, nil
	}
	at, ok := p.reading.UTC.Value()
	if !ok {
		return o, false, &Refusal{NoTime, fmt.Sprintf("no sentence before %s has told date and time", kind)}
	}
	o.Time, o.Source, o.Point = at, p.words.intern([]byte(kind)), p.m.Point
	said := false
	for _, q := range quantities {
		said = p.put(&o, q) || said
	}
	return o, !said, nil
}

// quantities is what sentences of a kind carry.
func (p *nmeaParser) quantities(kind string) []wire.Quantity {
	if len(kind) < 3 {
		return nil
	}
	kind = kind[len(kind)-3:]
	if list, ok := p.carries[kind]; ok {
		return list
	}
	var list []wire.Quantity
	if enc, err := nmea0183.New(kind, nmea0183.Options{}); err == nil {
		for _, r := range enc.Resolutions() {
			list = append(list, r.Quantity)
		}
	}
	p.carries[kind] = list
	return list
}

// put takes a quantity over from the reading; it is null where the sentence says that it has none. It is false for what an
// observation has no field for.
func (p *nmeaParser) put(o *Observation, q wire.Quantity) bool {
	r := &p.reading
	field := func(v float64, ok bool) Field[float64] {
		if !ok {
			return Null[float64]()
		}
		return Of(v)
	}
	at, fixed := geo.Position{}, false
	if q == wire.Latitude || q == wire.Longitude || q == wire.Height {
		at, fixed = r.Position.Value()
	}
	switch q {
	case wire.Latitude:
		o.LatRad = field(at.Lat, fixed)
	case wire.Longitude:
		o.LonRad = field(at.Lon, fixed)
	case wire.Height:
		o.HeightM = field(at.Height, fixed)
	case wire.Speed:
		o.SpeedMS = field(r.SpeedMS.Value())
	case wire.Course:
		o.CourseRad = field(r.CourseRad.Value())
	case wire.Heading:
		o.HeadingRad = field(r.Heading.Value())
	case wire.Pitch:
		o.PitchRad = field(r.Pitch.Value())
	case wire.Roll:
		o.RollRad = field(r.Roll.Value())
	case wire.Heave:
		o.HeaveM = field(r.HeaveM.Value())
	case wire.RateOfTurn:
		o.RateOfTurnRadS = field(r.RateOfTurn.Value())
	case wire.FixState:
		o.Fix = Of(r.Fix)
	default:
		return false
	}
	return true
}
