package layout

// counter is a field that counts messages.
func (c *compiler) counter(f *field) {
	s := f.spec
	if f.coding == codeText || f.coding == codeFloat || f.size < 0 {
		c.fail(f.path+".as", "as is %s; allowed for a counter: whole numbers, bits, bcd, hex, and decimal with a width", s.As)
		return
	}
	if s.Scale != nil {
		c.fail(f.path+".scale", "scale means nothing for a counter; leave it out")
	}
	c.modulo(f, true)
	if s.Offset != nil {
		if !s.Offset.rat.IsInt() || !s.Offset.rat.Num().IsInt64() || s.Offset.rat.Sign() < 0 {
			c.fail(f.path+".offset", "offset is %s; allowed for a counter: a whole number, with which it begins", s.Offset.text)
			return
		}
		f.offset = s.Offset.rat.Num().Int64()
	}
}

// modulo is where a counter begins again: where the file says, at the latest where the field is full.
func (c *compiler) modulo(f *field, always bool) {
	full := uint64(0) // 2^64
	switch {
	case f.coding == codeDecimal || f.coding == codeBCD:
		w := f.width
		if f.decimals > 0 || f.plus != 0 {
			w -= 1 + f.decimals
		}
		full = pow10(min(w, 19))
	default:
		_, hi := f.limits()
		full = hi.mag + 1
	}
	if f.spec.Modulo == nil {
		if always {
			f.modulo = full
		}
		return
	}
	if n := *f.spec.Modulo; n < 2 || full != 0 && n > full {
		c.fail(f.path+".modulo", "modulo is %d; allowed: 2 to %d, as much as the field holds", n, full)
		return
	}
	f.modulo = *f.spec.Modulo
}
