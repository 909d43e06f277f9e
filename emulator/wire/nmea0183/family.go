package nmea0183

import (
	"bytes"
	"sync"

	"swellbench/emulator/wire"
	"swellbench/scenarios/opt"
)

// Family is how a mixed stream finds sentences.
var Family = wire.Family{
	Name:     "nmea0183",
	Begins:   &begins,
	Longest:  Limit + 2, // a line end
	Probe:    probe,
	Describe: describe,
	Read:     read,
}

var begins = [256]bool{'$': true, '!': true, '\\': true}

// probe judges as a [Decoder] does: what it accepts is whole, what it rejects is broken, and the same bytes belong to it.
// The line end goes with the sentence. Behind a CR it waits for what follows, which may be the LF.
func probe(b []byte, ended bool) wire.Probe {
	if len(b) == 0 || !begins[b[0]] {
		return wire.Probe{}
	}
	st := inSentence
	if b[0] == '\\' {
		st = inTag
	}
	i := 1
	why := endOfStream
scan:
	for ; ; i++ {
		if i == len(b) {
			if !ended {
				return wire.Probe{Verdict: wire.Partial, Len: i + 1}
			}
			break
		}
		c := b[i]
		k := class[c]
		switch {
		case k == 0 && st != afterTag && i < Limit:
		case st == inTag && c == '\\' && i < Limit:
			st = afterTag
		case st == afterTag && (c == '$' || c == '!') && i < Limit:
			st = inSentence
		default:
			why = atLineEnd
			if k == starts {
				why = atStart
			} else if k != lineEnd && st != afterTag {
				why = atLimit
			}
			break scan
		}
	}
	unit, n := b[:i:i], i
	if i < len(b) && class[b[i]] == lineEnd {
		n++
		if b[i] == '\r' {
			switch {
			case n < len(b) && b[n] == '\n':
				n++
			case n == len(b) && !ended:
				return wire.Probe{Verdict: wire.Partial, Len: n + 1}
			}
		}
	}
	if len(unit) == 1 && unit[0] == '\\' { // the end of a TAG block whose beginning was missed
		return wire.Probe{}
	}
	var f Fields
	if r := judge(unit, why, &f); r != "" {
		// A sentence behind a TAG block that is hurt goes with it: whose it is, or when it was, is not known.
		return wire.Probe{Verdict: wire.Broken, Len: n, Why: string(r), Sealed: unit[0] == '\\'}
	}
	return wire.Probe{Verdict: wire.Whole, Len: n}
}

// nextLine cuts the first line off a message.
func nextLine(b []byte) (line, rest []byte) {
	i := bytes.IndexByte(b, '\n')
	if i < 0 {
		i = len(b) - 1
	}
	line, rest = b[:i+1], b[i+1:]
	return bytes.TrimRight(line, "\r\n"), rest
}

// read puts what one sentence says, or the sentences of one message, into the reading.
//
// A sentence with a time of day but no date is of the day on which it lies nearest to the stamp of before. The time of a
// TAG block counts as the stamp, until the sentence has its own.
func read(message []byte, r *wire.Reading) (kind string, carries bool, err error) {
	cleared := false
	for rest := message; len(rest) > 0; {
		var line []byte
		if line, rest = nextLine(rest); len(line) == 0 {
			continue
		}
		var f Fields
		if why := split(line, &f); why != "" {
			return kind, carries, &RejectError{Reason: why, Line: excerpt(line)}
		}
		kind = kindOf(&f)
		row := rowOf(&f)
		if row == nil {
			continue
		}
		if len(f.Tag) > 0 {
			if at, ok := f.Tag.Time(); ok {
				r.UTC, r.Leap = opt.Of(at), wire.NoLeap
			}
		}
		if row.Type == "GSA" && !cleared {
			clearAll(message, r)
			cleared = true
		}
		if err := readInto(row.Type, &f, r); err != nil {
			return kind, carries, err
		}
		carries = carries || row.carries
	}
	return kind, carries, nil
}

// readInto puts what a sentence of a type says into the reading. It is no column of the table, for then the fields would
// have to be on the heap.
func readInto(kind string, f *Fields, r *wire.Reading) error {
	switch kind {
	case "DTM":
		return readDTM(f, r)
	case "GBS":
		return readGBS(f, r)
	case "GGA":
		return readGGA(f, r)
	case "GLL":
		return readGLL(f, r)
	case "GNS":
		return readGNS(f, r)
	case "GSA":
		return readGSA(f, r)
	case "GST":
		return readGST(f, r)
	case "GSV":
		return readGSV(f, r)
	case "HDG":
		return readHDG(f, r)
	case "HDT":
		return readHDT(f, r)
	case "RMC":
		return readRMC(f, r)
	case "ROT":
		return readROT(f, r)
	case "THS":
		return readTHS(f, r)
	case "TXT":
		return readTXT(f, r)
	case "VBW":
		return readVBW(f, r)
	case "VTG":
		return readVTG(f, r)
	case "XDR":
		return readXDR(f, r)
	case "ZDA":
		return readZDA(f, r)
	}
	return nil
}

// clearAll goes before the first GSA of a message: what one of them clears none before it has set.
func clearAll(message []byte, r *wire.Reading) {
	for rest := message; len(rest) > 0; {
		var line []byte
		line, rest = nextLine(rest)
		var f Fields
		if split(line, &f) != "" {
			continue
		}
		if row := rowOf(&f); row != nil && row.Type == "GSA" {
			clearGSA(&f, r)
		}
	}
}

// rowOf is the row of a sentence, nil if there is none.
func rowOf(f *Fields) *Row {
	a := f.Address
	if f.Start != '$' || len(a) != 5 || a[0] == 'P' {
		return nil
	}
	if i := typeIndex(a); i >= 0 {
		return &Messages[i]
	}
	return nil
}

// typeIndex is where in the table the type of an address stands, -1 if nowhere.
func typeIndex(a []byte) int {
	for i := range Messages {
		if t := Messages[i].Type; a[4] == t[2] && a[3] == t[1] && a[2] == t[0] {
			return i
		}
	}
	return -1
}

// talkers are those whose kinds cost no memory: of the reference table of talkers for navigation and attitude.
var talkers = []string{"GP", "GL", "GA", "GB", "BD", "GQ", "QZ", "GI", "GN", "HE", "HN", "HC", "HF", "TI", "IN", "II", "VD", "VM", "VW", "DP", "SN", "YX",
	"ZA", "ZC", "ZQ", "ZV", "U0", "U1", "U2", "U3", "U4", "U5", "U6", "U7", "U8", "U9", "AG", "AP", "EC", "VR", "CC", "LC"}

var kinds = sync.OnceValue(func() map[string]string {
	m := map[string]string{}
	for _, t := range talkers {
		for _, r := range Messages {
			m[t+r.Type] = t + r.Type
		}
	}
	return m
})

// kindOf is the address as a string.
func kindOf(f *Fields) string {
	if k, ok := kinds()[string(f.Address)]; ok {
		return k
	}
	return string(f.Address)
}
