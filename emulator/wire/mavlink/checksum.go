package mavlink

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
	t := &crcTables
	for ; len(p) >= 8; p = p[8:] {
		q := (*[8]byte)(p)
		ahead := t[5][q[2]] ^ t[4][q[3]] ^ t[3][q[4]] ^ t[2][q[5]] ^ t[1][q[6]] ^ t[0][q[7]]
		c = t[7][byte(c)^q[0]] ^ t[6][byte(c>>8)^q[1]] ^ ahead // only this waits for c
	}
	if len(p) >= 4 {
		q := (*[4]byte)(p)
		c = t[3][byte(c)^q[0]] ^ t[2][byte(c>>8)^q[1]] ^ t[1][q[2]] ^ t[0][q[3]]
		p = p[4:]
	}
	for _, b := range p {
		c = c>>8 ^ t[0][byte(c)^b]
	}
	return c
}
