package observe

import (
	"fmt"
	"maps"
	"slices"
	"strings"
)

// A Reason says why a line is no observation.
type Reason string

// The reasons.
const (
	NotJSON      Reason = "not JSON"            // such as a line of the consumer's log
	NotAnObject  Reason = "not an object"       // JSON, but a number, a text or an array
	NoTime       Reason = "no time"             // the one field that must be there
	BadTime      Reason = "time not understood" // no RFC 3339, no zone, no such day
	WrongType    Reason = "wrong type"          // a text where a number belongs, ...
	BadNumber    Reason = "not a finite number" // NaN, Infinity, 1e999
	DuplicateKey Reason = "duplicate key"       // which of the two is meant?
	UnknownWord  Reason = "unknown word"        // a fix state that is none
	TooLong      Reason = "too long"            // longer than the reader's limit
	WrongForm    Reason = "not in the form of the map"
	BadHeader    Reason = "not as the map has the columns"
	CutOff       Reason = "cut off" // the last line, without its end, and not complete
)

// A Refusal says that a line is no observation, and why. It is an error.
type Refusal struct {
	Reason Reason
	Detail string // what was found, and what is allowed
}

// Error gives reason and detail.
func (r *Refusal) Error() string {
	if r.Detail == "" {
		return string(r.Reason)
	}
	return string(r.Reason) + ": " + r.Detail
}

// Stats counts what a reader met. The zero Stats has met nothing.
type Stats struct {
	Lines        int64 // all but empty ones
	Observations int64
	Bytes        int64
	Refused      []Refused // lines that were no observations, by reason, in the order of their first example
	UnknownKeys  []UnknownKey
	// OtherKeys counts unknown keys beyond the first distinct maxKeys.
	OtherKeys int64
}

// Refused counts the lines refused for one reason.
type Refused struct {
	Reason Reason
	N      int64
	Line   int64  // of the first
	Detail string // of the first
	Text   string // of the first, at most exampleBytes of it, control characters replaced
}

// UnknownKey counts a key that an observation does not have; it is ignored.
type UnknownKey struct {
	Key  string
	N    int64
	Line int64 // of the first
}

// NRefused is the number of lines that were no observations.
func (s *Stats) NRefused() int64 {
	var n int64
	for _, r := range s.Refused {
		n += r.N
	}
	return n
}

// String says it in one line for a person: "250 observations; 3 other lines (not JSON: 2, no time: 1)".
func (s *Stats) String() string {
	out := count(s.Observations, "observation")
	if n := s.NRefused(); n > 0 {
		var parts []string
		for _, r := range s.Refused {
			parts = append(parts, fmt.Sprintf("%s: %d", r.Reason, r.N))
		}
		out += fmt.Sprintf("; %s (%s)", count(n, "other line"), strings.Join(parts, ", "))
	}
	return out
}

func count(n int64, noun string) string {
	if n != 1 {
		noun += "s"
	}
	return fmt.Sprintf("%d %s", n, noun)
}

// Bounds on what Stats keeps.
const (
	exampleBytes = 160
	maxKeys      = 32
	maxKeyBytes  = 64
)

func (s *Stats) refuse(r *Refusal, line int64, text []byte) {
	for i := range s.Refused {
		if s.Refused[i].Reason == r.Reason {
			s.Refused[i].N++
			return
		}
	}
	s.Refused = append(s.Refused, Refused{Reason: r.Reason, N: 1, Line: line, Detail: r.Detail, Text: printable(text, exampleBytes)})
}

func (s *Stats) unknownKey(key []byte, line int64) {
	if len(key) > maxKeyBytes {
		key = key[:maxKeyBytes]
	}
	for i := range s.UnknownKeys {
		if s.UnknownKeys[i].Key == string(key) {
			s.UnknownKeys[i].N++
			return
		}
	}
	if len(s.UnknownKeys) == maxKeys {
		s.OtherKeys++
		return
	}
	s.UnknownKeys = append(s.UnknownKeys, UnknownKey{Key: string(key), N: 1, Line: line})
}

func (s *Stats) clone() Stats {
	c := *s
	c.Refused = slices.Clone(s.Refused)
	c.UnknownKeys = slices.Clone(s.UnknownKeys)
	return c
}

// ByReason gives the counts by reason.
func (s *Stats) ByReason() map[Reason]int64 {
	return maps.Collect(func(yield func(Reason, int64) bool) {
		for _, r := range s.Refused {
			if !yield(r.Reason, r.N) {
				return
			}
		}
	})
}

// printable makes at most n bytes of b fit to be shown on a terminal.
func printable(b []byte, n int) string {
	cut := len(b) > n
	if cut {
		b = b[:n]
	}
	s := strings.Map(func(r rune) rune {
		if r < ' ' || r >= 0x7f && r < 0xa0 {
			return '·'
		}
		return r
	}, strings.ToValidUTF8(string(b), "·"))
	if cut {
		s += "…"
	}
	return s
}
