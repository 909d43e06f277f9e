package mavlink

import "encoding/binary"

// crcTables[k][b] is what the byte b does to the checksum when k more bytes follow it.
var crcTables = func() (t [8][256]uint16) {
	for b := range t[0] {
		c := uint16(b)
		for range 8 {
			if c&1 == 1 {
				c = c>>1 ^ 0x8408 // 0x1021 reflected
			} else {
				c >>= 1
			}
		}
		t[0][b] = c
	}
	for k := 1; k < len(t); k++ {
		for b := range t[k] {
			t[k][b] = t[k-1][b]>>8 ^ t[0][byte(t[k-1][b])]
		}
	}
	return t
}()

const crcStart = 0xFFFF

// crc adds the bytes p to the checksum c, which begins as crcStart.
//
// It is CRC-16/MCRF4XX: poly 0x1021 reflected, start 0xFFFF, no final inversion; over "123456789" it is 0x6F91. MAVLink
// calls it X.25, which inverts at the end. Source: MAVLink developer guide, packet serialization; catalogue of
// parametrised CRC algorithms, CRC-16/MCRF4XX. Eight bytes at a time, as in Kounavis & Berry, A Systematic Approach to
// Building High Performance Software-based CRC Generators, 2005 (from memory).
func crc(c uint16, p []byte) uint16 {
	for len(p) >= 8 {
		x := binary.LittleEndian.Uint64(p) ^ uint64(c)
		c = crcTables[5][byte(x>>16)] ^ crcTables[4][byte(x>>24)] ^ crcTables[3][byte(x>>32)] ^ crcTables[2][byte(x>>40)] ^
			crcTables[1][byte(x>>48)] ^ crcTables[0][byte(x>>56)] ^ (crcTables[7][byte(x)] ^ crcTables[6][byte(x>>8)]) // what waits for c comes last
		p = p[8:]
	}
	for _, b := range p {
		c = c>>8 ^ crcTables[0][byte(c)^b]
	}
	return c
}
