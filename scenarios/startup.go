package scenarios

import (
	"swellbench/scenarios/strictyaml"
	"swellbench/scenarios/units"
)

// StartUp is what the device does when it is switched on, which is at scenario time 0. What its receiver knows then is
// said by gnss.start-up. The zero StartUp streams at once, aligned.
type StartUp struct {
	Streaming  Streaming      `yaml:"streaming" doc:"at-once, or when-asked: then only what the consumer asks for is sent. Default: at-once"`
	Silence    units.Duration `yaml:"silence" doc:"for so long nothing is sent. Default: 0 s"`
	Alignment  units.Duration `yaml:"alignment" doc:"for so long there is no heading, neither its own nor that of the attitude: fields are empty. Default: 0 s"`
	ReplyAfter units.Duration `yaml:"reply-after" doc:"time from the end of a request to the first start bit of its answer. Default: 0 s"`
}

// Streaming is when a device sends of itself. The zero value is at-once.
type Streaming string

// When a device sends of itself.
const (
	AtOnce    Streaming = "at-once"
	WhenAsked Streaming = "when-asked"
)

// SchemaEnum lists the words.
func (Streaming) SchemaEnum() []string { return []string{string(AtOnce), string(WhenAsked)} }

const maxReplyAfter = units.Duration(60) // s

func (s StartUp) validate(duration units.Duration) []strictyaml.Problem {
	var ps problems
	if s.Streaming != "" && s.Streaming != AtOnce && s.Streaming != WhenAsked {
		ps.add("streaming", "streaming is %s; %s", strictyaml.Quote(string(s.Streaming)), strictyaml.Allowed(string(s.Streaming), s.Streaming.SchemaEnum()))
	}
	for _, d := range []struct {
		key   string
		value units.Duration
	}{{"silence", s.Silence}, {"alignment", s.Alignment}} {
		if !(d.value >= 0 && d.value <= maxDuration) {
			ps.add(d.key, "%s lasts %v; allowed: 0 s to %v", d.key, d.value, maxDuration)
		}
	}
	if !(s.ReplyAfter >= 0 && s.ReplyAfter <= maxReplyAfter) {
		ps.add("reply-after", "an answer comes after %v; allowed: 0 s to %v", s.ReplyAfter, maxReplyAfter)
	}
	if s.Silence >= duration && s.Silence > 0 && duration > 0 && s.Silence <= maxDuration {
		ps.add("silence", "the device is silent for %v, and the run ends after %v: it would never send; make the run longer", s.Silence, duration)
	}
	return ps
}
