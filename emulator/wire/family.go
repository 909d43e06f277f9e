package wire

// A Family is one kind of message as a stream of mixed messages is taken apart by: where one of its messages may begin,
// whether it is whole, and what it says. Each family's sub-package has one.
type Family struct {
	Name string
	// Begins tells for each byte whether a message of the family may begin with it: a cheap sieve before Probe.
	Begins *[256]bool
	// Longest is how many bytes Probe may ask for at most: with so many it always decides.
	Longest int
	// Probe judges the bytes from one with which a message may begin. The bytes are not to be trusted. It allocates
	// nothing, and gives the same answer however many bytes follow the message. ended says that no more will come.
	Probe func(b []byte, ended bool) Probe
	// Describe says field by field what a whole message, as Probe found it, says.
	Describe func(message []byte) (kind string, fields []Field)
	// Read sets in r what a whole message says, and makes absent what it says is not known; what it does not speak of
	// stays. It gives the kind of the message, as [Encoder].Kind does, and allocates nothing for the kinds it knows.
	// A whole message of a kind that the family does not know is no error: r stays, and carries is false.
	Read func(message []byte, r *Reading) (kind string, carries bool, err error)
}

// A Verdict is what a family says of bytes that begin where one of its messages may begin.
type Verdict uint8

// The verdicts.
const (
	Foreign Verdict = iota // no message of the family begins here
	Whole                  // the first Len bytes are a message
	Broken                 // the first Len bytes are a message that is hurt, Why says how
	Partial                // it may yet become a message: more bytes are needed
)

// A Probe is the answer of [Family].Probe.
type Probe struct {
	Verdict Verdict
	Len     int    // bytes of the message, its end included; for Partial how many are needed at least, as far as known
	Why     string // of Broken: a constant text, such as "checksum"
	Sealed  bool   // of Broken: nothing within it counts, even if it is whole by itself
}

// A Field is one field of a message, for people.
type Field struct {
	Name  string
	Raw   string // as on the wire: text, or hexadecimal digits of the bytes
	Value string // as a number or word in Unit; "" if it says that it has none
	Unit  string
	Note  string // what is odd about it; "" if nothing
}
