package layout

import (
	"fmt"
	"math"
	"math/big"
	"slices"
	"strconv"
	"strings"

	"swellbench/scenarios/strictyaml"
)

// meaning works out what a field carries.
func (c *compiler) meaning(m *message, i int) {
	f := &m.fields[i]
	s := f.spec
	before := len(c.problems)
	var roles []string
	for _, r := range []struct {
		key string
		has bool
	}{{"quantity", s.Quantity != ""}, {"fixed", s.Fixed != nil}, {"checksum", s.Checksum != nil}, {"counts-bytes", s.Counts != nil}, {"sign-of", s.SignOf != ""}} {
		if r.has {
			roles = append(roles, r.key)
		}
	}
	switch len(roles) {
	case 0:
		c.fail(f.path, "%s carries nothing; add one of quantity, fixed, checksum, counts-bytes, sign-of", f.name)
		return
	case 1:
	default:
		c.fail(f.path, "%s has %s; allowed: one of them", f.name, strings.Join(roles, " and "))
		return
	}
	if f.coding.ascii() && f.coding != codeText && s.Absent != nil {
		c.width(f, "absent", s.Absent.text)
	}
	switch roles[0] {
	case "fixed":
		f.role = roleFixed
		c.fixed(f)
	case "checksum":
		f.role = roleSum
		c.checksum(f)
	case "counts-bytes":
		f.role = roleLength
		f.extra = s.Extra
		if f.coding == codeText || f.coding == codeFloat || f.size < 0 {
			c.fail(f.path+".as", "as is %s; allowed for a number of bytes: whole numbers, and decimal with a width or hex", s.As)
		}
	case "sign-of":
		f.role = roleSign
		f.signOf = slices.IndexFunc(m.fields, func(o field) bool { return o.name == s.SignOf })
		if f.signOf < 0 {
			c.fail(f.path+".sign-of", "there is no field %s; %s", strictyaml.Quote(s.SignOf), strictyaml.Allowed(s.SignOf, m.names()))
			return
		}
		if o := m.fields[f.signOf].spec; !o.Magnitude {
			c.fail(f.path+".sign-of", "%s has its sign itself; add magnitude: true to it", s.SignOf)
			return
		}
		c.states(f, []string{"plus", "minus"})
		c.absent(f)
	default:
		c.quantity(f)
	}
	if len(c.problems) == before {
		c.foreignKeys(f)
	}
}

// foreignKeys refuses keys that mean nothing for what the field carries.
func (c *compiler) foreignKeys(f *field) {
	s := f.spec
	number := f.role == roleNumber
	count := f.role == roleCount || f.role == roleTime
	for _, k := range []struct {
		key       string
		set, okay bool
	}{
		{"unit", s.Unit != "", number || f.role == roleTime}, {"scale", s.Scale != nil, number || count},
		{"offset", s.Offset != nil, number || count}, {"positive", s.Positive != "", number}, {"zero", s.Zero != "", number}, {"circle", s.Circle != "", number},
		{"magnitude", s.Magnitude, number && f.coding != codeFloat}, {"modulo", s.Modulo != nil, count}, {"beyond", s.Beyond != "", number},
		{"states", s.States != nil, f.role == roleStatus || f.role == roleSign}, {"counts-extra", s.Extra != 0, f.role == roleLength},
		{"absent", s.Absent != nil, number || f.role == roleTime || f.role == roleSign},
	} {
		if k.set && !k.okay {
			c.fail(f.path+"."+k.key, "%s means nothing for what %s carries; leave it out", k.key, f.name)
		}
	}
}

func (m *message) names() (all []string) {
	for i := range m.fields {
		all = append(all, m.fields[i].name)
	}
	return all
}

// count reads a raw count, in any of the bases of YAML.
func parseRaw(text string) (num, bool) {
	digits, neg := strings.CutPrefix(text, "-")
	digits = strings.TrimPrefix(digits, "+")
	base := 10
	if h, ok := strings.CutPrefix(digits, "0x"); ok {
		digits, base = h, 16
	} else if o, ok := strings.CutPrefix(digits, "0o"); ok {
		digits, base = o, 8
	}
	v, err := strconv.ParseUint(digits, base, 64)
	return num{neg && v != 0, v}, err == nil
}

// rawBits reads a raw value of a binary field: the bits as they are, or a count below zero. For bcd 0x99 is the nibbles.
func (f *field) rawBits(text string) (uint64, bool) {
	n, ok := parseRaw(text)
	if !ok {
		return 0, false
	}
	if f.coding == codeBCD && !strings.Contains(text, "x") && !n.neg {
		n.mag = toBCD(n.mag % 1e16)
	}
	lo, _ := f.limits()
	if n.neg {
		return f.bitsOf(n), !n.less(lo)
	}
	return n.mag, n.mag&^f.mask == 0
}

func (f *field) rawAllowed() string {
	if f.coding == codeBCD {
		return fmt.Sprintf("a number of up to %d digits, or 0x and %d hexadecimal digits", f.digits, f.digits)
	}
	if lo, _ := f.limits(); lo.neg {
		return fmt.Sprintf("a whole number of %d bits, -%d to 0x%X", f.nbits, lo.mag, f.mask)
	}
	return fmt.Sprintf("a whole number of %d bits, 0 to 0x%X", f.nbits, f.mask)
}

func (c *compiler) width(f *field, key, text string) {
	if f.size >= 0 && len(text) != f.size {
		c.fail(f.path+"."+key, "%s is %q, which has %d characters; allowed: %d, as wide as the field", key, text, len(text), f.size)
	}
	f.most = max(f.most, len(text))
}

// fixed is a field that is always the same.
func (c *compiler) fixed(f *field) {
	text := f.spec.Fixed.text
	switch {
	case f.coding == codeFloat:
		c.fail(f.path+".as", "as is %s; allowed for a fixed field: whole numbers, bits, bcd, decimal, hex, text", f.spec.As)
	case f.coding.ascii():
		if f.coding != codeText {
			c.width(f, "fixed", text)
		}
		f.size, f.most, f.text = len(text), len(text), []byte(text)
		if f.coding == codeText && f.spec.Width > 0 {
			f.text = pad(text, f.spec.Width)
			f.size, f.most = len(f.text), len(f.text)
		}
	default:
		raw, ok := f.rawBits(text)
		if !ok {
			c.fail(f.path+".fixed", "fixed is %s; allowed: %s", strictyaml.Quote(text), f.rawAllowed())
		}
		f.raw2 = raw
	}
}

func pad(text string, width int) []byte {
	return []byte(text + strings.Repeat(" ", max(width-len(text), 0)))
}

// absent is what is sent for what is not known. An empty field of varying length says it by itself.
func (c *compiler) absent(f *field) {
	a := f.spec.Absent
	if a == nil {
		f.hasNone = f.size < 0
		return
	}
	f.hasNone = true
	switch {
	case f.coding == codeText:
		f.noneT = pad(a.text, f.spec.Width)
	case f.coding.ascii():
		f.noneT = []byte(a.text)
	case f.coding == codeFloat:
		x, err := strconv.ParseFloat(strings.TrimPrefix(a.text, "."), 64)
		if err != nil || math.IsInf(x, 0) {
			c.fail(f.path+".absent", "absent is %s; allowed: nan, or a number", strictyaml.Quote(a.text))
		}
		if f.nbytes == 4 {
			x = float64(float32(x))
		}
		f.noneF = x
	default:
		raw, ok := f.rawBits(a.text)
		if !ok {
			c.fail(f.path+".absent", "absent is %s; allowed: %s", strictyaml.Quote(a.text), f.rawAllowed())
		}
		f.none = raw
	}
}

// noneOf works out which count the text for absent would be read as.
func (f *field) noneOf() {
	if !f.hasNone || f.coding != codeDecimal && f.coding != codeHex {
		return
	}
	if f.coding == codeDecimal {
		f.noneN, f.noneCounts = f.parseDecimal(f.noneT)
	} else if raw, ok := parseHex(f.noneT); ok {
		f.noneN, f.noneCounts = f.numOf(raw)
	}
}

// quantity is a field that carries something of the reading.
func (c *compiler) quantity(f *field) {
	s := f.spec
	if q := findQuantity(s.Quantity); q != nil {
		f.role, f.q = roleNumber, q
		c.number(f)
		return
	}
	if st := findStatus(s.Quantity); st != nil {
		f.role, f.st = roleStatus, st
		c.states(f, st.words)
		return
	}
	if s.Quantity == "count" || s.Quantity == "series" {
		f.role, f.series = roleCount, s.Quantity == "series"
		c.counter(f)
		return
	}
	for _, t := range times {
		if t.name == s.Quantity {
			f.role, f.part2 = roleTime, t.part
			c.time(f, t.modulo)
			return
		}
	}
	c.fail(f.path+".quantity", "quantity is %s; %s", strictyaml.Quote(s.Quantity), strictyaml.Allowed(s.Quantity, quantityNames()))
}

// scale gives the units a count; false where it was wrong.
func (c *compiler) scale(f *field) (scale, offset *big.Rat, ok bool) {
	s := f.spec
	scale, offset = big.NewRat(1, 1), new(big.Rat)
	if f.coding == codeDecimal && f.decimals > 0 {
		scale.Quo(scale, new(big.Rat).SetInt(new(big.Int).SetUint64(pow10(f.decimals))))
	}
	if s.Scale != nil {
		if s.Scale.rat.Sign() == 0 {
			c.fail(f.path+".scale", "scale is 0: every value would be the same; allowed: any number but 0")
			return nil, nil, false
		}
		scale.Mul(scale, s.Scale.rat) // of a decimal number: of its value
	}
	if s.Offset != nil {
		offset = s.Offset.rat
	}
	return scale, offset, true
}

func (c *compiler) number(f *field) {
	s, q := f.spec, f.q
	if f.coding == codeText {
		c.fail(f.path+".as", "as is text, but %s is a number; allowed: %s", q.name, strings.Join(codings()[:len(codings())-1], ", "))
		return
	}
	symbol := s.Unit
	if symbol == "" {
		if q.dim != pure {
			c.fail(f.path, "%s is %s and has no unit; add unit: with one of %s", f.name, q.dim.name, q.dim.list())
			return
		}
		symbol = "none"
	}
	u, ok := q.dim.find(symbol)
	if !ok {
		c.fail(f.path+".unit", "unit is %s, but %s is %s; %s", strictyaml.Quote(symbol), q.name, q.dim.name, strictyaml.Allowed(symbol, q.dim.symbols()))
		return
	}
	if u.runs > 0 && f.coding != codeDecimal {
		c.fail(f.path+".unit", "unit is %s, but the field is written as %s; allowed: as: decimal, in which degrees and minutes run together", u.symbol, s.As)
		return
	}
	if u.runs > 0 && (s.Scale != nil || s.Offset != nil) {
		c.fail(f.path+".unit", "unit is %s and has no scale nor offset; leave them out", u.symbol)
		return
	}
	f.runs, f.unit = u.runs, u.symbol
	flip := false
	if s.Positive != "" {
		i := slices.Index(q.ways[:], s.Positive)
		switch {
		case q.ways[0] == "":
			c.fail(f.path+".positive", "positive is %s, but %s has no direction; leave it out", strictyaml.Quote(s.Positive), q.name)
		case i < 0:
			c.fail(f.path+".positive", "positive is %s; %s", strictyaml.Quote(s.Positive), strictyaml.Allowed(s.Positive, q.ways[:]))
		}
		flip = i == 1
	}
	turn := q.turn
	if s.Circle != "" {
		if turn == straight {
			c.fail(f.path+".circle", "circle is %s, but %s does not go round; leave it out", s.Circle, q.name)
		}
		turn = map[Circle]turnKind{"whole": whole, "halves": halves}[s.Circle]
	}
	f.beyond, f.magnitude = s.Beyond, s.Magnitude
	scale, offset, ok := c.scale(f)
	if !ok {
		return
	}
	if f.negative == unsigned && turn == halves && s.Circle == "" && !s.Magnitude && f.coding != codeDecimal && f.coding != codeFloat && offset.Sign() == 0 {
		turn = whole // there is no other way to write it
	}
	f.conv = newConv(u, scale, offset, flip, turn)
	if s.Zero != "" {
		if !q.north {
			c.fail(f.path+".zero", "zero is %s, but %s is no direction; leave it out", s.Zero, q.name)
		}
		f.conv.from = float64(slices.Index(s.Zero.SchemaEnum(), string(s.Zero))) * math.Pi / 2
	}
	f.limited = f.coding != codeFloat && f.coding != codeDecimal
	if f.limited {
		f.lo, f.hi = f.limits()
		if f.magnitude {
			f.lo = num{}
		}
	}
	if f.conv.circle > 0 && turn == halves {
		half := num{false, uint64(f.conv.circle / 2)}
		f.conv.halfFits = !f.limited || !f.hi.less(half)
	}
	c.absent(f)
	if f.beyond == "absent" && !f.hasNone {
		c.fail(f.path+".beyond", "beyond is absent, but nothing says how that is sent; add absent:")
	}
	if f.beyond == "limit" && f.coding == codeDecimal && (f.width == 0 || f.runs > 0) {
		c.fail(f.path+".beyond", "beyond is limit, but the field has none; give it a width, or leave it out")
	}
	if f.coding == codeDecimal && f.width > 0 && f.runs == 0 {
		digits := func(sign int) uint64 {
			n := f.width - sign
			if f.decimals > 0 {
				n--
			}
			if n <= f.decimals {
				return 0 // there is always a digit before the point
			}
			return pow10(min(n, 19)) - 1
		}
		plus := 0
		if f.plus != 0 {
			plus = 1
		}
		f.lo, f.hi, f.limited = num{true, digits(1)}, num{false, digits(plus)}, true
		if f.magnitude || f.lo.mag == 0 {
			f.lo = num{}
		}
	}
}

type turnKind = turn
