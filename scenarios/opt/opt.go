// Package opt holds values that may be absent. Absent is not zero: without a fix a
// latitude is [None], never 0.0, all the way from the truth to the comparison.
package opt

// An Opt is a value of type T or its absence. The zero Opt is absent.
type Opt[T any] struct {
	value T
	has   bool
}

// Of returns a present value.
func Of[T any](v T) Opt[T] { return Opt[T]{value: v, has: true} }

// None returns the absent value.
func None[T any]() Opt[T] { return Opt[T]{} }

// Has tells whether there is a value.
func (o Opt[T]) Has() bool { return o.has }

// Value returns the value, or the zero T and false where it is absent.
func (o Opt[T]) Value() (T, bool) { return o.value, o.has }

// Or returns the value, or def where it is absent.
func (o Opt[T]) Or(def T) T {
	if o.has {
		return o.value
	}
	return def
}
