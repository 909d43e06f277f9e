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

// formats is the table of message families a stream may name in its `format`.
var formats = map[string]func(scenarios.Message) (wire.Encoder, error){
	"nmea0183": func(m scenarios.Message) (wire.Encoder, error) {
		if m.Type == "verbatim" {
			return nmea0183.Verbatim(m.Sentences, float64(m.Rate))
		}
		return nmea0183.New(m.Type, nmea0183.Options{
			Talker: m.Talker, Decimals: m.Decimals, Names: m.Names, Signs: m.Signs,
		})
	},
}

// Formats lists the message families, in order of their names.
func Formats() []string { return slices.Sorted(maps.Keys(formats)) }

func newEncoder(format string, m scenarios.Message) (wire.Encoder, error) {
	f, ok := formats[format]
	if !ok {
		return nil, fmt.Errorf("unknown format %q; known: %s", format, strings.Join(Formats(), ", "))
	}
	return f(m)
}
