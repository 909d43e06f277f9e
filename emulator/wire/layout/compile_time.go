package layout

import (
	"math/big"
	"slices"
	"strings"

	"swellbench/scenarios/strictyaml"
)

// time is a field that carries a part of the stamp.
func (c *compiler) time(f *field, mayBegin bool) {
	s := f.spec
	if f.coding == codeText {
		c.fail(f.path+".as", "as is text, but %s is a number; allowed: %s", s.Quantity, strings.Join(codings()[:len(codings())-1], ", "))
		return
	}
	scale, offset, ok := c.scale(f)
	if !ok {
		return
	}
	if !f.part2.counts() {
		if s.Unit != "" {
			c.fail(f.path+".unit", "unit is %s, but %s is a whole number; leave it out", strictyaml.Quote(s.Unit), s.Quantity)
		}
		if scale.Cmp(big.NewRat(1, 1)) != 0 || f.coding == codeFloat {
			c.fail(f.path, "%s is a whole number; allowed: without scale and decimals, and not as float", s.Quantity)
			return
		}
		f.tick = tick{1, 1}
	} else {
		symbol := s.Unit
		if symbol == "" {
			c.fail(f.path, "%s is a time and has no unit; add unit: with one of %s", f.name, duration.list())
			return
		}
		u, ok := duration.find(symbol)
		if !ok {
			c.fail(f.path+".unit", "unit is %s, but %s is a time; %s", strictyaml.Quote(symbol), s.Quantity, strictyaml.Allowed(symbol, duration.symbols()))
			return
		}
		if u.runs > 0 && (f.coding != codeDecimal || f.part2 != ofDay || s.Scale != nil || s.Offset != nil) {
			c.fail(f.path+".unit", "unit is %s; allowed only for time-of-day as: decimal, without scale and offset", symbol)
			return
		}
		f.runs, f.unit = u.runs, symbol
		if f.coding == codeFloat {
			f.conv = newConv(u, scale, offset, false, straight)
			f.tick = tick{1e9, 1}
		} else {
			scale.Mul(scale, big.NewRat(u.num, u.den))
			offset.Mul(new(big.Rat).Set(offset), big.NewRat(u.num, u.den))
			per := new(big.Rat).Inv(scale)
			switch {
			case scale.Sign() > 0 && per.IsInt() && per.Num().IsInt64() && per.Num().Int64() <= 1<<40:
				f.tick = tick{per.Num().Uint64(), 1}
			case scale.Sign() > 0 && scale.IsInt() && scale.Num().IsInt64() && scale.Num().Int64() <= 1e9:
				f.tick = tick{1, scale.Num().Uint64()}
			default:
				c.fail(f.path, "a count of %s is %s s; allowed: a whole part of a second, such as 0.001 s or 1/256 s, or whole seconds", f.name, scale.RatString())
				return
			}
		}
	}
	if f.coding != codeFloat {
		if !offset.IsInt() || !offset.Num().IsInt64() || offset.Num().Int64() > maxSeconds || offset.Num().Int64() < -maxSeconds {
			c.fail(f.path+".offset", "offset is %s; allowed: whole seconds, of years, weeks and the like whole numbers", s.Offset.text)
			return
		}
		f.offset = offset.Num().Int64()
		f.limited = f.coding != codeDecimal
		if f.limited {
			f.lo, f.hi = f.limits()
		}
		switch {
		case s.Modulo == nil:
		case !mayBegin:
			c.fail(f.path+".modulo", "modulo means nothing for %s; leave it out", s.Quantity)
		case f.coding == codeDecimal && f.width == 0:
			c.fail(f.path+".modulo", "modulo is %d, but the field has no width; add one", *s.Modulo)
		default:
			c.modulo(f, false)
		}
	}
	c.absent(f)
}

// states gives each state what it is sent as.
func (c *compiler) states(f *field, words []string) {
	s := f.spec
	path := f.path + ".states"
	if f.coding == codeFloat {
		c.fail(f.path+".as", "as is %s; allowed for states: whole numbers, bits, bcd, decimal, hex, text", s.As)
		return
	}
	if s.States == nil {
		c.fail(f.path, "%s has no states; add states: with what each of %s is sent as", f.name, strings.Join(words, ", "))
		return
	}
	f.codes, f.words, f.sent = make([]uint64, len(words)), make([][]byte, len(words)), make([]bool, len(words))
	put := func(i int, r Raw, at string) bool {
		if f.coding.ascii() {
			if f.coding != codeText {
				c.width(f, at, r.text)
			}
			if f.words[i] = []byte(r.text); f.coding == codeText {
				f.words[i] = pad(r.text, s.Width)
			}
			return true
		}
		raw, ok := f.rawBits(r.text)
		if !ok {
			c.fail(f.path+"."+at, "%s is %s; allowed: %s", at, strictyaml.Quote(r.text), f.rawAllowed())
		}
		f.codes[i] = raw
		return ok
	}
	var other *Raw
	for k, name := range s.States.names {
		at := strictyaml.JoinPath("states", name)
		if name == "other" {
			other = &s.States.raw[k]
			continue
		}
		i := slices.Index(words, name)
		if i < 0 {
			c.fail(f.path+"."+at, "the state %s is not known; %s", strictyaml.Quote(name), strictyaml.Allowed(name, append(slices.Clone(words), "other")))
			continue
		}
		f.sent[i] = put(i, s.States.raw[k], at)
	}
	var missing []string
	for i, name := range words {
		if f.sent[i] {
			continue
		}
		if other == nil {
			missing = append(missing, name)
			continue
		}
		put(i, *other, "states.other")
	}
	if len(missing) > 0 {
		c.fail(path, "%s has no code for %s; add them, or other: for all that are not named", f.name, strings.Join(missing, ", "))
	}
	if s.Absent == nil && f.size < 0 && f.role == roleStatus {
		f.hasNone = false
	}
}
