package layout

import (
	"strconv"
	"strings"

	"swellbench/scenarios/strictyaml"
)

// coding works out how a field is written, and how long it is.
func (c *compiler) coding(f *field) {
	s := f.spec
	as := string(s.As)
	order := s.ByteOrder
	if order == "" {
		order = c.file.ByteOrder
	}
	f.little = order == "little"
	f.decimals, f.width, f.lower, f.pad = s.Decimals, s.Width, s.Lower, 'z'
	negatives := map[Negative]negative{"": unsigned, "none": unsigned, "twos-complement": twosComplement,
		"ones-complement": onesComplement, "sign-bit": signBit, "half-range": halfRange}
	f.negative = negatives[s.Negative]
	if s.Width < 0 || s.Width > 256 {
		c.fail(f.path+".width", "width is %d; allowed: 1 to 256", s.Width)
		return
	}
	switch {
	case as == "float32" || as == "float64":
		n, _ := strconv.Atoi(as[5:])
		f.coding, f.nbits, f.nbytes = codeFloat, uint(n), n/8
	case as == "bits":
		c.bits(f)
	case as == "bcd":
		f.coding, f.digits = codeBCD, s.Width
		if s.Width < 1 || s.Width > 16 {
			c.fail(f.path+".width", "width is %d; allowed: 1 to 16 digits, two a byte", s.Width)
			return
		}
		if f.negative != unsigned && f.negative != signBit {
			c.fail(f.path+".negative", "negative is %s; allowed for bcd: none, sign-bit", s.Negative)
		}
		f.nbits, f.nbytes = uint(4*s.Width), (s.Width+1)/2
	case as == "decimal":
		f.coding = codeDecimal
		f.plus = map[Plus]byte{"plus": '+', "space": ' '}[s.Plus]
		if s.Pad != "" {
			f.pad = map[Pad]byte{"zeros": 'z', "spaces": 's', "spaces-after": 'a'}[s.Pad]
		}
		if s.Decimals < 0 || s.Decimals > 15 {
			c.fail(f.path+".decimals", "decimals is %d; allowed: 0 to 15", s.Decimals)
			return
		}
		least := 1
		if s.Decimals > 0 {
			least = s.Decimals + 2
		}
		if s.Width > 0 && s.Width < least {
			c.fail(f.path+".width", "width is %d, and a number with %d decimals has %d characters at least; allowed: %d to 256", s.Width, s.Decimals, least, least)
		}
		if s.Pad != "" && s.Width == 0 {
			c.fail(f.path+".pad", "pad is %s, but there is no width to fill; add one", s.Pad)
		}
		f.size, f.most = -1, max(20, s.Decimals+4)+2
		if s.Width > 0 {
			f.size, f.most = s.Width, s.Width
		}
	case as == "hex":
		f.coding, f.nbits = codeHex, uint(4*s.Width)
		if s.Width < 1 || s.Width > 16 {
			c.fail(f.path+".width", "width is %d; allowed for hex: 1 to 16 digits", s.Width)
			return
		}
		f.size, f.most = s.Width, s.Width
	case as == "text":
		f.coding = codeText
		c.text(f)
	default: // intN and uintN
		n, _ := strconv.Atoi(strings.TrimLeft(as, "uint"))
		f.coding, f.nbits, f.nbytes = codeInt, uint(n), n/8
		if as[0] == 'i' {
			if s.Negative == "" {
				f.negative = twosComplement
			} else if s.Negative == "none" {
				c.fail(f.path+".negative", "negative is none, but %s has numbers below zero; take u%s", as, as)
			}
		} else if s.Negative != "" && s.Negative != "none" {
			c.fail(f.path+".negative", "negative is %s, but %s has no numbers below zero; take %s", s.Negative, as, as[1:])
		}
	}
	if !f.coding.ascii() {
		f.size, f.most = f.nbytes, f.nbytes
		f.part = f.nbits != uint(8*f.nbytes)
	}
	if f.nbits > 0 {
		f.mask = ^uint64(0) >> (64 - f.nbits)
	}
	c.unused(f, as)
}

// bits is a field of some bits of some bytes.
func (c *compiler) bits(f *field) {
	s := f.spec
	f.coding = codeInt
	if s.Bits < 1 || s.Bits > 64 {
		c.fail(f.path+".bits", "bits is %d; allowed: 1 to 64", s.Bits)
		return
	}
	if s.FirstBit < 0 || s.FirstBit > 63 {
		c.fail(f.path+".first-bit", "first-bit is %d; allowed: 0 to 63", s.FirstBit)
		return
	}
	if s.Bytes < 0 || s.Bytes > 8 {
		c.fail(f.path+".bytes", "bytes is %d; allowed: 1 to 8", s.Bytes)
		return
	}
	need := (s.FirstBit + s.Bits + 7) / 8
	f.nbits, f.nbytes = uint(s.Bits), need
	if s.Bytes > 0 {
		f.nbytes = s.Bytes
	}
	switch {
	case need > 8:
		c.fail(f.path+".bits", "%d bits from bit %d on need %d bytes; allowed: at most 8 bytes; let the field begin at a later byte", s.Bits, s.FirstBit, need)
	case need > f.nbytes:
		c.fail(f.path+".bytes", "%d bits from bit %d on need %d bytes, and bytes is %d; make bytes larger, or leave it out", s.Bits, s.FirstBit, need, s.Bytes)
	}
	f.shift = uint(s.FirstBit)
	if s.BitZero == "high" {
		f.shift = uint(8*f.nbytes - s.FirstBit - s.Bits)
	}
}

// text is a field of words: one that is always the same, or one for each state.
func (c *compiler) text(f *field) {
	s := f.spec
	var all []string
	if s.Fixed != nil {
		all = append(all, s.Fixed.text)
	}
	if s.States != nil {
		for _, r := range s.States.raw {
			all = append(all, r.text)
		}
	}
	if s.Absent != nil {
		all = append(all, s.Absent.text)
	}
	if len(all) == 0 {
		return // meaning tells what is missing
	}
	same := true
	for _, t := range all {
		f.most = max(f.most, len(t))
		same = same && len(t) == len(all[0])
		for i := range len(t) {
			if t[i] < 0x20 || t[i] > 0x7E {
				c.fail(f.path, "%s holds a character that is no printable ASCII; allowed in fields of text: space to ~; put others into start, end or before", f.name)
				return
			}
		}
	}
	switch {
	case s.Width > 0 && f.most > s.Width:
		c.fail(f.path+".width", "width is %d, and one of its texts has %d characters; allowed: %d to 256", s.Width, f.most, f.most)
	case s.Width > 0:
		f.size, f.most = s.Width, s.Width
	case same:
		f.size = f.most
		f.width = f.most
	default:
		f.size = -1
	}
}

// unused refuses keys that mean nothing for the coding, so that none is given in vain.
func (c *compiler) unused(f *field, as string) {
	s := f.spec
	number := f.coding != codeText
	for _, k := range []struct {
		key  string
		set  bool
		okay bool
	}{
		{"bits", s.Bits != 0, as == "bits"},
		{"first-bit", s.FirstBit != 0, as == "bits"},
		{"bit-0", s.BitZero != "", as == "bits"},
		{"bytes", s.Bytes != 0, as == "bits"},
		{"width", s.Width != 0, f.coding.ascii() || as == "bcd"},
		{"decimals", s.Decimals != 0, as == "decimal"},
		{"plus", s.Plus != "", as == "decimal"},
		{"pad", s.Pad != "", as == "decimal"},
		{"small-letters", s.Lower, as == "hex"},
		{"negative", s.Negative != "", number && as != "decimal" && f.coding != codeFloat},
		{"byte-order", s.ByteOrder != "", !f.coding.ascii()},
		{"scale", s.Scale != nil, number},
		{"offset", s.Offset != nil, number},
		{"modulo", s.Modulo != nil, number && f.coding != codeFloat},
	} {
		if k.set && !k.okay {
			c.fail(f.path+"."+k.key, "%s means nothing for a field written as %s; leave it out", k.key, strictyaml.Quote(as))
		}
	}
}
