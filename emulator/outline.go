package emulator

import (
	"iter"

	"swellbench/emulator/line"
	"swellbench/emulator/wire"
	"swellbench/scenarios/receiver"
)

// Outline yields the messages of stream i as [Device.Messages] does, but for what they say: when each is valid and due, and about
// how long it is, as the longest of its kind among some that were looked at. That is a few bytes too long now and then; it takes
// no physics. ok is false for streams of which it cannot be told beforehand what is sent: those with faults, those of other
// formats than NMEA 0183, which may leave messages out, those whose sentences come and go with the satellites, and those that
// nearly fill the line.
func (d *Device) Outline(i int) (messages iter.Seq2[line.Message, error], ok bool) {
	st := &d.streams[i]
	if len(st.faults) > 0 || st.sky || len(st.echoes) > 0 {
		return nil, false
	}
	for _, m := range st.spec.Messages {
		if st.spec.FormatOf(m) != "nmea0183" || m.Type == "verbatim" {
			return nil, false
		}
	}
	texts, ok := d.longest(i)
	if !ok {
		return nil, false
	}
	const full = 0.9 // share of the line beyond which some bytes more may be a message less
	busy := 0.0
	for j, m := range st.spec.Messages {
		busy += float64(m.Rate) * float64(len(texts[j])) * d.Line(i).BitsPerByte() / float64(d.Line(i).Baud)
	}
	if busy > full {
		return nil, false
	}
	return func(yield func(line.Message, error) bool) {
		for e := range d.instants(i) {
			for j := range st.encoders {
				if isEpoch(e.Valid, float64(st.spec.Messages[j].Rate)) &&
					!yield(line.Message{Valid: e.Valid, Due: e.Due, Kind: st.kinds[j], Bytes: texts[j]}, nil) {
					return
				}
			}
		}
	}, true
}

// longest is a text as long as the longest of each message, among those of up to so many instants of the run.
func (d *Device) longest(i int) (texts [][]byte, ok bool) {
	const looks = 400
	st := &d.streams[i]
	texts = make([][]byte, len(st.encoders))
	end := float64(d.scenario.Duration)
	var buf []byte
	for n := range looks {
		at := instant{Emission: receiver.Emission{Valid: end * float64(n) / looks}}
		d.report(i, &at)
		for j, enc := range st.encoders {
			var err error
			if buf, err = enc.Append(buf[:0], (*wire.Reading)(&at.reading)); err != nil || len(buf) == 0 {
				return nil, false
			}
			if len(buf) > len(texts[j]) {
				texts[j] = append(texts[j][:0], buf...)
			}
		}
	}
	return texts, true
}
