package mavlink

import (
	"errors"
	"fmt"
	"strconv"
	"strings"
	"sync/atomic"

	"swellbench/emulator/wire"
	"swellbench/scenarios/geo"
)

// Options are the choices of one stream. All messages of a stream come from one sender: the sequence number counts them.
type Options struct {
	Version   int // 1 or 2; 0 is 2
	System    int // 1 to 255; 0 is 1
	Component int // 1 to 255; 0 is 1, the component that speaks for the vehicle
}

// An OptionError reports an option that a message cannot follow.
type OptionError struct {
	Message string // its type, if that is known
	Option  string
	Found   string
	Allowed string
}

// Error says what was found and what is allowed.
func (e *OptionError) Error() string {
	if e.Message == "" {
		return fmt.Sprintf("mavlink: %s is %q, allowed: %s", e.Option, e.Found, e.Allowed)
	}
	return fmt.Sprintf("mavlink: %s: %s is %q, allowed: %s", e.Message, e.Option, e.Found, e.Allowed)
}

// Validate says all that is wrong with the options, as [*OptionError].
func (o Options) Validate() error {
	var errs []error
	if o.Version < 0 || o.Version > 2 {
		errs = append(errs, &OptionError{Option: "version", Found: strconv.Itoa(o.Version), Allowed: "1 or 2"})
	}
	for _, id := range []struct {
		name string
		v    int
	}{{"system", o.System}, {"component", o.Component}} {
		if id.v < 0 || id.v > 255 {
			errs = append(errs, &OptionError{Option: id.name, Found: strconv.Itoa(id.v), Allowed: "1 to 255"})
		}
	}
	return errors.Join(errs...)
}

// An encoder is one row with the choices of a stream. It may be shared.
type encoder struct {
	row    *Row
	header Header
	local  atomic.Pointer[located] // of the last origin
}

// A located is a local frame with what it was made of.
type located struct {
	at geo.Position
	geo.Local
}

// localAt is the frame at p, which hardly ever changes.
func (e *encoder) localAt(p geo.Position) *located {
	l := e.local.Load()
	if l == nil || l.at != p {
		l = &located{p, geo.LocalAt(p)}
		e.local.Store(l)
	}
	return l
}

// New makes the encoder of a type of [Messages].
func New(kind string, o Options) (wire.Encoder, error) {
	row, ok := RowOf(kind)
	if !ok {
		return nil, &OptionError{Option: "type", Found: kind, Allowed: strings.Join(Kinds(), ", ")}
	}
	if err := o.Validate(); err != nil {
		return nil, err
	}
	or := func(n, other int) int {
		if n == 0 {
			return other
		}
		return n
	}
	return &encoder{row: &row, header: Header{
		Version: Version(or(o.Version, 2)), System: uint8(or(o.System, 1)), Component: uint8(or(o.Component, 1)),
	}}, nil
}

// Append writes the frame. Where the message cannot say that something is not known, and it is not, it adds nothing.
func (e *encoder) Append(dst []byte, r *wire.Reading) ([]byte, error) {
	h := e.header
	h.Sequence = uint8(r.Series)
	from := len(dst)
	out, p := room(dst, h.Version, e.row.Definition)
	if sent, err := e.row.append(e, p, r); err != nil || !sent {
		return dst, err
	}
	return finish(out, from, &h, e.row.Definition), nil
}

// Kind is the name of the message.
func (e *encoder) Kind() string { return e.row.Type }

// Resolutions says how finely the message carries what it carries. Version 1 has no extension fields.
func (e *encoder) Resolutions() []wire.Resolution {
	var out []wire.Resolution
	for _, r := range e.row.resolutions {
		if e.header.Version == V1 && e.row.Full > e.row.Base && r.Quantity == wire.Heading && strings.HasPrefix(e.row.Type, "GPS") {
			continue // the yaw of a GNSS fix is an extension field
		}
		out = append(out, r)
	}
	return out
}
