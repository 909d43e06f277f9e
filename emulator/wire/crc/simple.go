package crc

// The simple sums. Sources: XOR-8 as in NMEA 0183; Fletcher, An Arithmetic Checksum for Serial Transmissions, IEEE Trans.
// Comm. 30 (1982) 247; Adler-32 RFC 1950. The complements are those of the sum: 2^width − 1 − sum, and 2^width − sum.
var (
	xor8 = &Sum{width: 8, update: func(_ *Sum, st State, p []byte) State {
		x := byte(st.a)
		for _, c := range p {
			x ^= c
		}
		st.a = uint64(x)
		return st
	}, finish: func(_ *Sum, st State) uint64 { return st.a }}

	sum8      = plain(8, func(a uint64) uint64 { return a })
	sum8Ones  = plain(8, func(a uint64) uint64 { return ^a })
	sum8Twos  = plain(8, func(a uint64) uint64 { return -a })
	sum16     = plain(16, func(a uint64) uint64 { return a })
	sum16Ones = plain(16, func(a uint64) uint64 { return ^a })
	sum16Twos = plain(16, func(a uint64) uint64 { return -a })

	fletcher16       = pair(16, 255, State{})
	fletcher16Mod256 = pair(16, 256, State{})
	adler            = pair(32, 65521, State{a: 1})
	fletcher32       = &Sum{width: 32, update: words, finish: func(_ *Sum, st State) uint64 {
		if st.odd { // the last word is padded with 0
			st = word(st, st.a>>32)
		}
		return st.b<<16 | st.a&0xFFFFFFFF
	}}
)

// plain is the sum of all bytes, finished in some way.
func plain(width int, finish func(uint64) uint64) *Sum {
	return &Sum{width: width, update: func(_ *Sum, st State, p []byte) State {
		for _, c := range p {
			st.a += uint64(c)
		}
		return st
	}, finish: func(s *Sum, st State) uint64 { return finish(st.a) & mask(s.width) }}
}

// pair is two sums, of the bytes and of the first sum after each of them, the second one in the upper half.
func pair(width int, modulus uint64, start State) *Sum {
	return &Sum{width: width, start: start, update: func(_ *Sum, st State, p []byte) State {
		a, b := st.a, st.b
		for len(p) > 0 {
			n := min(len(p), 4096) // far from where 64 bits overflow
			for _, c := range p[:n] {
				a += uint64(c)
				b += a
			}
			a, b, p = a%modulus, b%modulus, p[n:]
		}
		st.a, st.b = a, b
		return st
	}, finish: func(s *Sum, st State) uint64 { return st.b<<(s.width/2) | st.a }}
}

// words is Fletcher's sum of words of two bytes, low byte first. The low byte of a word not yet complete waits above the
// first sum.
func words(_ *Sum, st State, p []byte) State {
	for _, c := range p {
		if st.odd {
			st = word(st, st.a>>32|uint64(c)<<8)
			continue
		}
		st.a |= uint64(c) << 32
		st.odd = true
	}
	return st
}

func word(st State, w uint64) State {
	a := (st.a&0xFFFFFFFF + w) % 65535
	return State{a: a, b: (st.b + a) % 65535}
}
