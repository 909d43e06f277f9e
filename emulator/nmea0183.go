package emulator

import (
	"swellbench/emulator/wire"
	"swellbench/emulator/wire/nmea0183"
	"swellbench/scenarios"
)

// newNMEA0183 makes the encoder of a message of format nmea0183.
func newNMEA0183(st scenarios.Stream, m scenarios.Message) (wire.Encoder, error) {
	if m.Type == "verbatim" {
		return nmea0183.Verbatim(m.Sentences, float64(m.Rate))
	}
	o, err := nmea0183Options(st)
	if err != nil {
		return nil, err
	}
	o.Talker, o.Decimals, o.Names, o.Signs, o.Text, o.TextID = m.Talker, m.Decimals, m.Names, m.Signs, m.Text, m.TextID
	return nmea0183.New(m.Type, o)
}

// nmea0183Options are the choices of a stream for all its sentences.
func nmea0183Options(st scenarios.Stream) (nmea0183.Options, error) {
	n := &st.NMEA0183
	version, err := nmea0183.ParseVersion(string(n.Version))
	o := nmea0183.Options{Version: version, Simulated: n.Simulated, LiteralStatus: n.LiteralStatus, BareNulls: n.BareNulls,
		LongSentences: map[scenarios.LongSentences]nmea0183.LongSentences{scenarios.LongRefused: nmea0183.LongRefused, scenarios.LongAllowed: nmea0183.LongAllowed}[n.LongSentences]}
	if t := n.TagBlock; t != nil {
		o.Tag = nmea0183.TagBlock{Source: t.Source, Destination: t.Destination, Count: t.Count, Group: t.Group,
			Time: map[scenarios.TagTime]nmea0183.TagTime{scenarios.TagSeconds: nmea0183.TagSeconds, scenarios.TagMilliseconds: nmea0183.TagMilliseconds}[t.Time]}
	}
	return o, err
}
