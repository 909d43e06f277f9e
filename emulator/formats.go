package emulator

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	"swellbench/emulator/wire"
	"swellbench/emulator/wire/mavlink"
	"swellbench/scenarios"
)

// A format is a message family that a stream may name.
type format struct {
	encoder func(scenarios.Stream, scenarios.Message) (wire.Encoder, error)
	// check finds what is wrong with a stream before its messages are asked for; nil: nothing of its own.
	check func(scenarios.Stream) error
	// responder answers what the consumer sends; streaming: the stream sends of itself. nil: nothing is heard.
	responder func(st *stream, streaming bool) Responder
}

// formats is the table of them, by the word of `format`.
var formats = map[string]format{
	"nmea0183": {responder: newNMEAResponder, encoder: newNMEA0183},
	"mavlink": {encoder: func(st scenarios.Stream, m scenarios.Message) (wire.Encoder, error) {
		if err := onlyTypeAndRate("mavlink", m); err != nil {
			return nil, err
		}
		return mavlink.New(m.Type, mavlink.Options{Version: st.MAVLink.Version, System: st.MAVLink.System, Component: st.MAVLink.Component})
	}},
	"nmea2000":             {encoder: newNMEA2000, responder: newCANResponder},
	scenarios.FormatLayout: {encoder: newLayoutEncoder, check: checkLayout, responder: newLayoutResponder},
}

// onlyTypeAndRate refuses the keys of text messages for a format that has no such choices.
func onlyTypeAndRate(format string, m scenarios.Message) error {
	return onlyKeys(format, m, "type and rate")
}

func onlyKeys(format string, m scenarios.Message, allowed string) error {
	for _, k := range []struct {
		key string
		set bool
	}{{"talker", m.Talker != ""}, {"decimals", m.Decimals != nil}, {"names", m.Names != nil}, {"signs", m.Signs != nil}, {"sentences", m.Sentences != nil}, {"text", m.Text != ""}} {
		if k.set {
			return fmt.Errorf("%s: %s has the key %s; allowed: %s", format, m.Type, k.key, allowed)
		}
	}
	return nil
}

// Formats lists the message families, in order of their names.
func Formats() []string { return slices.Sorted(maps.Keys(formats)) }

func newEncoder(st scenarios.Stream, m scenarios.Message) (wire.Encoder, error) {
	f, ok := formats[st.FormatOf(m)]
	if !ok {
		return nil, fmt.Errorf("unknown format %q; known: %s", st.FormatOf(m), strings.Join(Formats(), ", "))
	}
	return f.encoder(st, m)
}

// tellsOfSatellites tells whether a message may carry single satellites, which cost as much to list as all else of a
// reading.
func tellsOfSatellites(format string, m scenarios.Message) bool {
	if format != "nmea0183" {
		return true
	}
	switch m.Type {
	case "GSA", "GSV", "GBS":
		return true
	}
	return false
}
