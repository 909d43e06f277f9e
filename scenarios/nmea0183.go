package scenarios

import (
	"fmt"
	"slices"

	"swellbench/scenarios/strictyaml"
)

// NMEA0183 is how the sentences of a stream of format nmea0183 are written. What is left out has the default named with it.
type NMEA0183 struct {
	Version       NMEAVersion   `yaml:"version" doc:"edition that the sentences follow: 2.3, 3.01, 4.10 or 4.11. Default: 4.10"`
	Simulated     bool          `yaml:"simulated" doc:"fixes say that they are those of a simulator: quality 8, mode S"`
	LongSentences LongSentences `yaml:"long-sentences" doc:"whether sentences may be longer than 82 characters: refused or allowed. Default: where decimals are chosen"`
	TagBlock      *TagBlock     `yaml:"tag-block" doc:"what a TAG block before each sentence says; with version 4.10 and later. Default: there is none"`
	LiteralStatus bool          `yaml:"literal-status" doc:"status V with RTK and precise fixes, as the text of the standard has it. Default: A, as receivers send"`
	BareNulls     bool          `yaml:"bare-nulls" doc:"the letter of the unit is left out where the value is null"`
}

// TagBlock is what a TAG block says.
type TagBlock struct {
	Source      string  `yaml:"source" doc:"who sends, up to 15 characters"`
	Destination string  `yaml:"destination" doc:"for whom, up to 15 characters"`
	Time        TagTime `yaml:"time" doc:"UNIX time of validity in seconds or milliseconds. Default: none"`
	Count       bool    `yaml:"count" doc:"messages are counted, from 1 to 999 and over again"`
	Group       bool    `yaml:"group" doc:"the sentences of one message are bound together"`
}

// NMEAVersion is an edition of NMEA 0183, written as text or as a number.
type NMEAVersion string

type nmeaVersionWord string

// SchemaEnum lists the editions.
func (nmeaVersionWord) SchemaEnum() []string { return []string{"2.3", "3.01", "4.10", "4.11"} }

// SchemaOneOf lists what an edition may be written as.
func (NMEAVersion) SchemaOneOf() []any { return []any{nmeaVersionWord(""), 0.0} }

// DecodeYAML reads an edition.
func (v *NMEAVersion) DecodeYAML(n strictyaml.Node) error {
	words := nmeaVersionWord("").SchemaEnum()
	text := n.Text()
	switch text {
	case "2.30":
		text = "2.3"
	case "4.1": // what a number makes of 4.10
		text = "4.10"
	}
	if !slices.Contains(words, text) {
		return fmt.Errorf("%s is no edition; %s", strictyaml.Quote(n.Text()), strictyaml.Allowed(text, words))
	}
	*v = NMEAVersion(text)
	return nil
}

// LongSentences is what becomes of the rule of 82 characters. The zero value is the default.
type LongSentences string

// The words.
const (
	LongRefused LongSentences = "refused"
	LongAllowed LongSentences = "allowed"
)

// SchemaEnum lists the words.
func (LongSentences) SchemaEnum() []string { return []string{string(LongRefused), string(LongAllowed)} }

// TagTime is how a TAG block tells the time. The zero value is not at all.
type TagTime string

// The words.
const (
	TagSeconds      TagTime = "seconds"
	TagMilliseconds TagTime = "milliseconds"
)

// SchemaEnum lists the words.
func (TagTime) SchemaEnum() []string { return []string{string(TagSeconds), string(TagMilliseconds)} }

// validateNMEA0183 checks what belongs to the format of the stream.
func (st Stream) validateNMEA0183(ps *problems, at string) {
	n := st.NMEA0183
	if n != (NMEA0183{}) {
		if !st.Uses("nmea0183") {
			ps.add(at+".nmea0183", "nmea0183 is set for a stream of another format; it goes with format nmea0183 only")
		}
		at := at + ".nmea0183"
		if n.Version != "" {
			oneOf(ps, at+".version", "version", string(n.Version), nmeaVersionWord("").SchemaEnum())
		}
		oneOf(ps, at+".long-sentences", "long-sentences", string(n.LongSentences), n.LongSentences.SchemaEnum())
		if t := n.TagBlock; t != nil {
			oneOf(ps, at+".tag-block.time", "time", string(t.Time), t.Time.SchemaEnum())
			if *t == (TagBlock{}) {
				ps.add(at+".tag-block", "the TAG block says nothing; give it a source, a time, a count or a group, or remove it")
			}
			if n.Version == "2.3" || n.Version == "3.01" {
				ps.add(at+".tag-block", "there is a TAG block in version %s; it came with 4.00, so choose version 4.10 or 4.11, or remove it", n.Version)
			}
		}
	}
	for k, m := range st.Messages {
		at := fmt.Sprintf("%s.messages[%d]", at, k)
		if (m.Text != "" || m.TextID != 0) && (m.Type != "TXT" || st.FormatOf(m) != "nmea0183") {
			ps.add(at+".text", "text is set for a message of type %s; it goes with TXT of format nmea0183 only", strictyaml.Quote(m.Type))
		}
		if m.TextID < 0 || m.TextID > 99 {
			ps.add(at+".text-id", "text-id is %d; allowed: 1 to 99", m.TextID)
		}
	}
}
