package layout

import (
	"fmt"
	"math"

	"swellbench/emulator/wire"
)

// outside is the error of a value that does not fit. Found is in the unit of the field.
func (f *field) outside(m *message, v float64) error {
	if f.role == roleNumber {
		if u, ok := f.q.dim.find(f.unit); ok {
			x, _ := u.factor().Float64()
			if u.runs > 0 {
				x = math.Pi / 180 // degrees, not the minutes or seconds that are counted
			}
			v = f.conv.window(v) / x
		}
	}
	return &wire.RangeError{Message: m.name, Field: f.name, Found: v, Allowed: f.allowed()}
}

// allowed says what fits.
func (f *field) allowed() string {
	text := "what its width holds"
	switch {
	case f.coding == codeFloat:
		text = "a number that fits"
	case f.limited && f.role == roleNumber:
		x := 1.0
		if u, ok := f.q.dim.find(f.unit); ok {
			x, _ = u.factor().Float64()
		}
		flip := 1.0
		if f.conv.flip {
			flip = -1
		}
		lo, hi := flip*(f.conv.value(f.lo)-f.conv.from)/x+0, flip*(f.conv.value(f.hi)-f.conv.from)/x+0 // never −0
		text = fmt.Sprintf("%g to %g %s", min(lo, hi), max(lo, hi), f.unit)
	case f.limited:
		text = fmt.Sprintf("%g to %g", f.lo.float(), f.hi.float())
	}
	switch {
	case !f.hasNone:
	case f.coding.ascii():
		text += fmt.Sprintf(", but for %q, which says that it is not known", f.noneT)
	case f.coding == codeFloat:
		text += fmt.Sprintf(", but for %g, which says that it is not known", f.noneF)
	default:
		text += fmt.Sprintf(", but for 0x%X on the wire, which says that it is not known", f.none)
	}
	return text
}
