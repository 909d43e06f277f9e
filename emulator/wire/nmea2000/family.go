package nmea2000

import "swellbench/emulator/wire"

// NewFamily makes the family of one stream: SLCAN frames. Each line is a message of its own to the splitter; what a fast
// packet says comes with its last line. Read and Describe put fast packets together, each for itself and in memory that
// is fixed, so give each a stream's lines in order and each once. It is not for several goroutines.
func NewFamily() wire.Family {
	var reader Reader
	var describer describer
	return wire.Family{Name: "nmea2000", Begins: &begins, Longest: MaxLine, Probe: probe,
		Describe: describer.describe, Read: reader.Read}
}

var begins = [256]bool{'t': true, 'T': true, 'r': true, 'R': true}

// Why a line is hurt, by the error of the parser.
func why(err error) string {
	switch err {
	case ErrCut:
		return "cut off"
	case ErrHex:
		return "not hexadecimal"
	case ErrID:
		return "identifier too large"
	case ErrLength:
		return "length over 8"
	case ErrStamp:
		return "time stamp over 59999"
	}
	return "longer than its length says"
}

// probe finds one line. Only of a 29-bit frame whose identifier can be read it says that it is hurt: too many words of
// text begin like a short one.
func probe(b []byte, ended bool) wire.Probe {
	if len(b) == 0 || !begins[b[0]] {
		return wire.Probe{}
	}
	long, head := b[0]&0x20 == 0, 1+3+1
	if long {
		head = headLength
	}
	var l Line
	n, err := l.parse(b[:min(len(b), MaxLine)])
	switch {
	case err == nil && n < len(b) && b[n] == '\r':
		return wire.Probe{Verdict: wire.Whole, Len: n + 1}
	case err == nil && n < len(b):
		err = ErrTrailing
	case (err == nil || err == ErrCut) && !ended:
		need := head + 1
		if len(b) >= head && !l.Remote {
			need += 2 * int(l.Len)
		}
		return wire.Probe{Verdict: wire.Partial, Len: max(need, len(b)+1)}
	case err == nil:
		err = ErrCut
	}
	if !long || n < head && err != ErrID && err != ErrLength {
		return wire.Probe{}
	}
	for ; n < min(len(b), MaxLine); n++ {
		switch c := b[n]; {
		case c == '\r':
			return wire.Probe{Verdict: wire.Broken, Len: n + 1, Why: why(err)}
		case begins[c] || c < ' ' || c > '~':
			return wire.Probe{Verdict: wire.Broken, Len: n, Why: why(err)}
		}
	}
	if n < MaxLine && !ended {
		return wire.Probe{Verdict: wire.Partial, Len: n + 1}
	}
	return wire.Probe{Verdict: wire.Broken, Len: n, Why: why(err)}
}
