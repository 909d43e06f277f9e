package nmea0183

import (
	"fmt"
	"math"
	"strings"

	"swellbench/emulator/wire"
)

// Verbatim gives an encoder that sends the given sentences as they are, one an epoch, in turn and over again: what
// other equipment on the same line says, sentences from a log, or kinds that have no encoder here. They are written
// without CR LF, and must be well formed with the right checksum; hurting them is the business of the line's faults.
// The rate, in Hz, is that of the message: it makes the k-th epoch out of the reading's time.
func Verbatim(sentences []string, rate float64) (wire.Encoder, error) {
	if len(sentences) == 0 {
		return nil, fmt.Errorf("verbatim: no sentences; write sentences: ['$...*hh', ...]")
	}
	v := &verbatim{rate: rate}
	for _, s := range sentences {
		if strings.ContainsAny(s, "\r\n") {
			return nil, fmt.Errorf("verbatim: sentence %q has a line end; leave it out, CR LF is added", s)
		}
		if _, err := Parse([]byte(s)); err != nil {
			return nil, fmt.Errorf("verbatim: sentence %q: %w", s, err)
		}
		v.sentences = append(v.sentences, s+"\r\n")
	}
	return v, nil
}

type verbatim struct {
	sentences []string
	rate      float64
}

// Append adds the sentence whose turn it is.
func (v *verbatim) Append(dst []byte, r *wire.Reading) ([]byte, error) {
	n := len(v.sentences)
	k := int(math.Round(r.T*v.rate)) % n
	return append(dst, v.sentences[(k+n)%n]...), nil
}

// Kind is the same for all of them.
func (v *verbatim) Kind() string { return "verbatim" }

// Resolutions is empty: the sentences carry nothing of the reading.
func (v *verbatim) Resolutions() []wire.Resolution { return nil }
