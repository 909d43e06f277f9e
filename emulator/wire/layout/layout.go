package layout

import (
	"fmt"
	"io/fs"
	"slices"
	"strings"

	"swellbench/emulator/wire"
	"swellbench/emulator/wire/crc"
	"swellbench/scenarios/strictyaml"
)

// A Layout is a message family that a file describes, both ways. It is never changed, so that several goroutines may
// share it.
type Layout struct {
	Name, About string
	messages    []*message
	requests    []request
	begins      [256]bool
	longest     int
}

// The bounds of a layout.
const (
	maxMessages = 64
	maxFields   = 128
	maxLength   = 4096 // bytes of a message
	maxRequests = 64
)

// A message is a compiled [Message].
type message struct {
	name, about string
	path        string
	start, end  []byte
	fields      []field
	fixed       bool // all its messages have the same length
	size        int  // of a message; of a varying one the most it can be
	least       int
	template    []byte // of a fixed message: what is always the same
	mask, want  []byte // of a fixed message: what tells it from others
	spans       []span // of a fixed message
	rest        []int  // of a varying message: the least bytes from each field on
	dynamic     []int  // fields that are written anew each time
	must        []int  // fields without which nothing is sent
	sums        []int  // fields with checksums, in order
	tick        tick
	timed       bool
	known       []string // quantities without which no message is sent
	hasSum      bool
}

// A span is where a field lies in a message: its bytes without what stands before them.
type span struct{ from, to int16 }

type coding uint8

const (
	codeInt coding = iota // whole numbers and bits
	codeFloat
	codeBCD
	codeDecimal
	codeHex
	codeText
)

// ascii tells whether the coding is one of text.
func (c coding) ascii() bool { return c >= codeDecimal }

type role uint8

const (
	roleFixed role = iota
	roleNumber
	roleTime
	roleCount
	roleStatus
	roleSign
	roleSum
	roleLength
)

type negative uint8

const (
	unsigned negative = iota
	twosComplement
	onesComplement
	signBit
	halfRange
)

// A field is a compiled [Field].
type field struct {
	name, path string
	spec       *Field
	coding     coding
	role       role
	at         int // of the first byte; -1 where that varies
	size       int // bytes; -1 where that varies
	most       int // bytes at most
	before     []byte

	nbytes, digits int // binary
	little, part   bool
	shift, nbits   uint
	mask           uint64
	negative       negative

	width, decimals, runs int // text
	plus, pad             byte
	lower                 bool
	stop                  byte // of a varying field: the byte that ends it

	q         *quantity
	conv      conv
	unit      string
	lo, hi    num
	limited   bool // lo and hi are known
	magnitude bool
	beyond    Beyond

	part2   timePart
	tick    tick
	offset  int64
	modulo  uint64
	series  bool
	st      *status
	codes   []uint64 // by state
	words   [][]byte
	sent    []bool
	signOf  int
	raw2    uint64 // fixed
	text    []byte
	hasNone bool
	none    uint64
	noneF   float64
	noneT   []byte
	// noneN is the count that noneT would be read as, if it is one.
	noneN      num
	noneCounts bool

	sum   *crc.Sum
	over  []part
	extra int
}

// A part is a stretch of a message: from the edge from to the edge to.
type part struct{ from, to edge }

// An edge is the number of a byte, or an end of a field.
type edge struct {
	offset int // if field is -1; counted from the end of the message if back
	field  int
	place  place
}

type place uint8

const (
	first  place = iota // the first byte of the field
	past                // the byte after the field
	ahead               // the first byte of what stands before the field
	endOff              // the end of the message
)

// Load reads the layout file called name in fsys. Its error names all that is wrong, each with its place and what is
// allowed.
func Load(fsys fs.FS, name string) (*Layout, error) {
	var f File
	doc, err := strictyaml.Decode(fsys, name, &f)
	return finish(f, doc, err)
}

// LoadFile reads a layout file of the operating system.
func LoadFile(path string) (*Layout, error) {
	var f File
	doc, err := strictyaml.DecodeFile(path, &f)
	return finish(f, doc, err)
}

// Parse reads a layout from the bytes of a file of that name.
func Parse(name string, data []byte) (*Layout, error) {
	var f File
	doc, err := strictyaml.DecodeBytes(name, data, &f)
	return finish(f, doc, err)
}

func finish(f File, doc *strictyaml.Doc, err error) (*Layout, error) {
	if err != nil {
		return nil, err
	}
	c := compiler{file: &f}
	l := c.layout()
	if err := doc.Problems(c.problems); err != nil {
		return nil, err
	}
	return l, nil
}

// Kinds lists the messages in the order of the file.
func (l *Layout) Kinds() (all []string) {
	for _, m := range l.messages {
		all = append(all, m.name)
	}
	return all
}

// New makes the encoder of a message.
func (l *Layout) New(kind string) (wire.Encoder, error) {
	i := slices.IndexFunc(l.messages, func(m *message) bool { return m.name == kind })
	if i < 0 {
		return nil, fmt.Errorf("layout %s has no message %q; it has: %s", l.Name, kind, strings.Join(l.Kinds(), ", "))
	}
	return &Encoder{l.messages[i]}, nil
}
