package observe

import (
	"time"

	"swellbench/emulator/wire"
)

// A Field is one field of an observation: absent (the consumer says nothing of it), null (it knows that it has no
// value), or a value. The zero Field is absent.
type Field[T any] struct {
	value T
	state state
}

type state uint8

const (
	absent state = iota
	null
	present
)

// Of returns a field with a value.
func Of[T any](v T) Field[T] { return Field[T]{v, present} }

// Null returns the field of a consumer that knows it has no value.
func Null[T any]() Field[T] { return Field[T]{state: null} }

// Value returns the value, or the zero T and false where there is none.
func (f Field[T]) Value() (T, bool) { return f.value, f.state == present }

// IsNull tells whether the consumer said that it has no value.
func (f Field[T]) IsNull() bool { return f.state == null }

// Said tells whether the consumer said anything: a value or null.
func (f Field[T]) Said() bool { return f.state != absent }

// An Observation is what a consumer says it understood: a time, and values. Units SI and rad, axes and signs of
// package frame. Numbers are finite and otherwise as the consumer gave them, inside their usual range or not.
type Observation struct {
	Time    time.Time // as the consumer stamped it, UTC
	Arrival time.Time // when we had read the line; zero if it was read from a file
	Line    int64     // of the input, counted from 1
	Point   string    // of the vessel; "" is the expected output point
	Source  string    // the message it came from, in the consumer's words; "" if not said

	LatRad, LonRad Field[float64]
	HeightM        Field[float64] // above the ellipsoid
	SpeedMS        Field[float64] // over ground
	CourseRad      Field[float64] // over ground, true
	HeadingRad     Field[float64] // true
	PitchRad       Field[float64] // bow up
	RollRad        Field[float64] // starboard down
	HeaveM         Field[float64] // up
	RateOfTurnRadS Field[float64] // to starboard
	Fix            Field[wire.Fix]
	HeadingValid   Field[bool]
}

// Number returns the field of a numeric quantity; absent for one that an observation does not have.
func (o *Observation) Number(q wire.Quantity) Field[float64] {
	switch q {
	case wire.Latitude:
		return o.LatRad
	case wire.Longitude:
		return o.LonRad
	case wire.Height:
		return o.HeightM
	case wire.Speed:
		return o.SpeedMS
	case wire.Course:
		return o.CourseRad
	case wire.Heading:
		return o.HeadingRad
	case wire.Pitch:
		return o.PitchRad
	case wire.Roll:
		return o.RollRad
	case wire.Heave:
		return o.HeaveM
	case wire.RateOfTurn:
		return o.RateOfTurnRadS
	}
	return Field[float64]{}
}
