package nmea0183

import "encoding/binary"

// checksum is the exclusive-or of all bytes of b, in one pass of eight bytes at a time.
func checksum(b []byte) byte {
	var x uint64
	for len(b) >= 8 {
		x ^= binary.LittleEndian.Uint64(b)
		b = b[8:]
	}
	if len(b) >= 4 {
		x ^= uint64(binary.LittleEndian.Uint32(b))
		b = b[4:]
	}
	for _, c := range b {
		x ^= uint64(c)
	}
	return fold(x)
}

// fold is the exclusive-or of the eight bytes of x.
func fold(x uint64) byte {
	x ^= x >> 32
	x ^= x >> 16
	return byte(x ^ x>>8)
}

const (
	lows  = 0x0101010101010101
	highs = 0x8080808080808080
)

// plain is the exclusive-or of b, and whether every byte may stand in the data of a sentence: printable, and none of
// $ ! \ * ~. It looks at eight bytes at a time; the borrow of one byte can only mark a neighbour of a byte that is
// marked anyway.
func plain(b []byte) (sum byte, ok bool) {
	var x, bad uint64
	for len(b) >= 8 {
		v := binary.LittleEndian.Uint64(b)
		b = b[8:]
		x ^= v
		bad |= marks(v)
	}
	if len(b) > 0 {
		var v uint64
		for i, c := range b {
			v |= uint64(c) << (8 * i)
		}
		pad := ^uint64(0) << (8 * len(b)) & (lows * 'A') // A is harmless, and taken out of the sum again
		x ^= v
		bad |= marks(v | pad)
	}
	return fold(x), bad&highs == 0
}

// marks sets the high bit of each byte of v that may not stand in the data of a sentence.
func marks(v uint64) uint64 {
	return v | (v + lows*2) | (v - lows*' ') | // above }, or below a blank
		zeros(v^lows*'$') | zeros(v^lows*'!') | zeros(v^lows*'\\') | zeros(v^lows*'*')
}

// zeros sets the high bit of each byte of v that is zero.
func zeros(v uint64) uint64 { return (v - lows) &^ v }
