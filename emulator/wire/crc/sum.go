package crc

import (
	"fmt"
	"strings"
)

// A State is what a sum knows of the bytes so far. It is a value: keep it to go on from there once more.
type State struct {
	a, b uint64
	odd  bool // Fletcher-32: a has the low half of a word whose high half has not come
}

// A Sum is one way to take a checksum. It is never changed, so that several goroutines may share it. Allocation free.
type Sum struct {
	width  int
	start  State
	update func(*Sum, State, []byte) State
	finish func(*Sum, State) uint64
	params Params
	table  *[8][256]uint64 // of CRCs
}

// Width is how many bits the sum has.
func (s *Sum) Width() int { return s.width }

// Bytes is how many bytes hold the sum.
func (s *Sum) Bytes() int { return (s.width + 7) / 8 }

// Start is the state before the first byte.
func (s *Sum) Start() State { return s.start }

// Update takes the next bytes; the message may be cut anywhere.
func (s *Sum) Update(st State, p []byte) State { return s.update(s, st, p) }

// Finish is the sum of the bytes so far. Range: 0 to 2^Width − 1.
func (s *Sum) Finish(st State) uint64 { return s.finish(s, st) }

// Of is the sum of p.
func (s *Sum) Of(p []byte) uint64 { return s.Finish(s.Update(s.start, p)) }

// A Row is a sum with a name.
type Row struct {
	Name   string
	Check  uint64 // the sum of the nine characters 123456789
	Params Params // of a CRC; Width 0 for the simple sums
	simple *Sum
}

// Sum makes the sum of the row.
func (r Row) Sum() *Sum {
	if r.simple != nil {
		return r.simple
	}
	s, err := New(r.Params)
	if err != nil { // the table's test makes all rows
		panic(err)
	}
	return s
}

// Named is the table of sums that have a name. Several different CRCs go by names such as "CRC-CCITT": the check value
// tells them apart.
var Named = []Row{
	{"CRC-8/SMBUS", 0xF4, Params{8, 0x07, 0x00, false, false, 0x00}, nil},
	{"CRC-8/NRSC-5", 0xF7, Params{8, 0x31, 0xFF, false, false, 0x00}, nil},
	{"CRC-15/CAN", 0x059E, Params{15, 0x4599, 0x0000, false, false, 0x0000}, nil},
	{"CRC-16/ARC", 0xBB3D, Params{16, 0x8005, 0x0000, true, true, 0x0000}, nil},
	{"CRC-16/MODBUS", 0x4B37, Params{16, 0x8005, 0xFFFF, true, true, 0x0000}, nil},
	{"CRC-16/IBM-3740", 0x29B1, Params{16, 0x1021, 0xFFFF, false, false, 0x0000}, nil},
	{"CRC-16/XMODEM", 0x31C3, Params{16, 0x1021, 0x0000, false, false, 0x0000}, nil},
	{"CRC-16/KERMIT", 0x2189, Params{16, 0x1021, 0x0000, true, true, 0x0000}, nil},
	{"CRC-16/MCRF4XX", 0x6F91, Params{16, 0x1021, 0xFFFF, true, true, 0x0000}, nil},
	{"CRC-16/IBM-SDLC", 0x906E, Params{16, 0x1021, 0xFFFF, true, true, 0xFFFF}, nil},
	{"CRC-16/GENIBUS", 0xD64E, Params{16, 0x1021, 0xFFFF, false, false, 0xFFFF}, nil},
	{"CRC-24/LTE-A", 0xCDE703, Params{24, 0x864CFB, 0x000000, false, false, 0x000000}, nil},
	{"CRC-24/OPENPGP", 0x21CF02, Params{24, 0x864CFB, 0xB704CE, false, false, 0x000000}, nil},
	{"CRC-32/ISO-HDLC", 0xCBF43926, Params{32, 0x04C11DB7, 0xFFFFFFFF, true, true, 0xFFFFFFFF}, nil},
	{"CRC-32/ISCSI", 0xE3069283, Params{32, 0x1EDC6F41, 0xFFFFFFFF, true, true, 0xFFFFFFFF}, nil},
	{"CRC-32/MPEG-2", 0x0376E6E7, Params{32, 0x04C11DB7, 0xFFFFFFFF, false, false, 0x00000000}, nil},
	{"CRC-32/BZIP2", 0xFC891918, Params{32, 0x04C11DB7, 0xFFFFFFFF, false, false, 0xFFFFFFFF}, nil},
	{"XOR-8", 0x31, Params{}, xor8},
	{"SUM-8", 0xDD, Params{}, sum8},
	{"SUM-8/ONES-COMPLEMENT", 0x22, Params{}, sum8Ones},
	{"SUM-8/TWOS-COMPLEMENT", 0x23, Params{}, sum8Twos},
	{"SUM-16", 0x01DD, Params{}, sum16},
	{"SUM-16/ONES-COMPLEMENT", 0xFE22, Params{}, sum16Ones},
	{"SUM-16/TWOS-COMPLEMENT", 0xFE23, Params{}, sum16Twos},
	{"FLETCHER-16", 0x1EDE, Params{}, fletcher16},
	{"FLETCHER-16/MOD-256", 0x15DD, Params{}, fletcher16Mod256},
	{"FLETCHER-32", 0xDF09D509, Params{}, fletcher32},
	{"ADLER-32", 0x091E01DE, Params{}, adler},
}

// Names lists the names of the table.
func Names() []string {
	var all []string
	for _, r := range Named {
		all = append(all, r.Name)
	}
	return all
}

// Lookup finds a named sum; capital and small letters are the same.
func Lookup(name string) (*Sum, error) {
	for _, r := range Named {
		if strings.EqualFold(r.Name, name) {
			return r.Sum(), nil
		}
	}
	return nil, fmt.Errorf("crc: there is no sum %q, allowed: %s", name, strings.Join(Names(), ", "))
}
