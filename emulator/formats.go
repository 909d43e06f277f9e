package emulator

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	"swellbench/emulator/wire"
	"swellbench/emulator/wire/nmea0183"
	"swellbench/scenarios"
)

// A format is a message family that a stream may name.
type format struct {
	encoder func(scenarios.Message) (wire.Encoder, error)
	// responder answers what the consumer sends; streaming: the stream sends of itself. nil: nothing is heard.
	responder func(st *stream, streaming bool) Responder
}

// formats is the table of them, by the word of `format`.
var formats = map[string]format{
	"nmea0183": {responder: newNMEAResponder, encoder: func(m scenarios.Message) (wire.Encoder, error) {
		if m.Type == "verbatim" {
			return nmea0183.Verbatim(m.Sentences, float64(m.Rate))
		}
		return nmea0183.New(m.Type, nmea0183.Options{
			Talker: m.Talker, Decimals: m.Decimals, Names: m.Names, Signs: m.Signs,
		})
	}},
}

// Formats lists the message families, in order of their names.
func Formats() []string { return slices.Sorted(maps.Keys(formats)) }

func newEncoder(format string, m scenarios.Message) (wire.Encoder, error) {
	f, ok := formats[format]
	if !ok {
		return nil, fmt.Errorf("unknown format %q; known: %s", format, strings.Join(Formats(), ", "))
	}
	return f.encoder(m)
}
