package crc

import (
	"errors"
	"fmt"
	"math/bits"
)

// The widths that a CRC may have.
const (
	MinWidth = 8
	MaxWidth = 64
)

// Params are the parameters of a CRC, as the public catalogue has them: Poly without its highest term and written for
// bits sent highest first, also where RefIn is set; Init and XorOut likewise.
type Params struct {
	Width      int    // bits
	Poly, Init uint64 // 0 to 2^Width − 1
	RefIn      bool   // bytes go in lowest bit first
	RefOut     bool   // the register is turned round before XorOut
	XorOut     uint64
}

// Validate says all that is wrong with the parameters.
func (p Params) Validate() error {
	if p.Width < MinWidth || p.Width > MaxWidth {
		return fmt.Errorf("crc: width is %d, allowed: %d to %d", p.Width, MinWidth, MaxWidth)
	}
	var errs []error
	for _, v := range []struct {
		name string
		v    uint64
	}{{"poly", p.Poly}, {"init", p.Init}, {"xorout", p.XorOut}} {
		if v.v&^mask(p.Width) != 0 {
			errs = append(errs, fmt.Errorf("crc: %s is 0x%X, allowed: at most 0x%X, which are %d bits", v.name, v.v, mask(p.Width), p.Width))
		}
	}
	if p.Poly&1 == 0 && len(errs) == 0 {
		errs = append(errs, fmt.Errorf("crc: poly is 0x%X, allowed: an odd number, without the term x^%d", p.Poly, p.Width))
	}
	return errors.Join(errs...)
}

func mask(width int) uint64 { return ^uint64(0) >> (64 - width) }

// reflect turns the lowest width bits round.
func reflect(v uint64, width int) uint64 { return bits.Reverse64(v) >> (64 - width) }

// New makes the CRC of the parameters. Its tables are worked out once, 16 KiB.
//
// The register of a CRC that takes bytes highest bit first is kept at the upper end of 64 bits, that of the other kind
// turned round at the lower end; so one loop does for each kind, whatever the width.
func New(p Params) (*Sum, error) {
	if err := p.Validate(); err != nil {
		return nil, err
	}
	s := &Sum{width: p.Width, params: p, table: new([8][256]uint64)}
	up := 64 - p.Width
	if p.RefIn {
		s.start.a, s.update, s.finish = reflect(p.Init, p.Width), lowFirst, finishLow
		poly := reflect(p.Poly, p.Width)
		for i := range 256 {
			v := uint64(i)
			for range 8 {
				v = v>>1 ^ poly&-(v&1)
			}
			s.table[0][i] = v
		}
		for k := 1; k < 8; k++ {
			for i, v := range s.table[k-1] {
				s.table[k][i] = v>>8 ^ s.table[0][v&0xFF]
			}
		}
		return s, nil
	}
	s.start.a, s.update, s.finish = p.Init<<up, highFirst, finishHigh
	poly := p.Poly << up
	for i := range 256 {
		v := uint64(i) << 56
		for range 8 {
			v = v<<1 ^ poly&-(v>>63)
		}
		s.table[0][i] = v
	}
	for k := 1; k < 8; k++ {
		for i, v := range s.table[k-1] {
			s.table[k][i] = v<<8 ^ s.table[0][v>>56]
		}
	}
	return s, nil
}

// lowFirst takes eight bytes a step: the tables say what a byte does that seven more follow.
func lowFirst(s *Sum, st State, p []byte) State {
	r, t := st.a, s.table
	for ; len(p) >= 8; p = p[8:] {
		r ^= uint64(p[0]) | uint64(p[1])<<8 | uint64(p[2])<<16 | uint64(p[3])<<24 |
			uint64(p[4])<<32 | uint64(p[5])<<40 | uint64(p[6])<<48 | uint64(p[7])<<56
		r = t[7][r&0xFF] ^ t[6][r>>8&0xFF] ^ t[5][r>>16&0xFF] ^ t[4][r>>24&0xFF] ^
			t[3][r>>32&0xFF] ^ t[2][r>>40&0xFF] ^ t[1][r>>48&0xFF] ^ t[0][r>>56]
	}
	for _, c := range p {
		r = r>>8 ^ t[0][byte(r)^c]
	}
	st.a = r
	return st
}

func highFirst(s *Sum, st State, p []byte) State {
	r, t := st.a, s.table
	for ; len(p) >= 8; p = p[8:] {
		r ^= uint64(p[7]) | uint64(p[6])<<8 | uint64(p[5])<<16 | uint64(p[4])<<24 |
			uint64(p[3])<<32 | uint64(p[2])<<40 | uint64(p[1])<<48 | uint64(p[0])<<56
		r = t[7][r>>56] ^ t[6][r>>48&0xFF] ^ t[5][r>>40&0xFF] ^ t[4][r>>32&0xFF] ^
			t[3][r>>24&0xFF] ^ t[2][r>>16&0xFF] ^ t[1][r>>8&0xFF] ^ t[0][r&0xFF]
	}
	for _, c := range p {
		r = r<<8 ^ t[0][byte(r>>56)^c]
	}
	st.a = r
	return st
}

func finishLow(s *Sum, st State) uint64 {
	r := st.a
	if !s.params.RefOut {
		r = reflect(r, s.width)
	}
	return r ^ s.params.XorOut
}

func finishHigh(s *Sum, st State) uint64 {
	r := st.a >> (64 - s.width)
	if s.params.RefOut {
		r = reflect(r, s.width)
	}
	return r ^ s.params.XorOut
}
