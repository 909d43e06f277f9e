package wire

import "fmt"

// A RangeError reports a value that does not fit the field meant to carry it. Found and Allowed are in the unit of
// that field.
type RangeError struct {
	Message, Field, Allowed string
	Found                   float64
}

// Error says what was found and what is allowed.
func (e *RangeError) Error() string {
	return fmt.Sprintf("encode %s: %s is %g, allowed: %s", e.Message, e.Field, e.Found, e.Allowed)
}

// A TextError reports a text or a letter that the field meant for it cannot carry.
type TextError struct {
	Message, Field, Found, Allowed string
}

// Error says what was found and what is allowed.
func (e *TextError) Error() string {
	return fmt.Sprintf("encode %s: %s is %q, allowed: %s", e.Message, e.Field, e.Found, e.Allowed)
}
