package consumer

import (
	"hash/maphash"
	"log/slog"
	"time"

	"swellbench/emulator/wire"
	"swellbench/emulator/wire/layout"
	"swellbench/emulator/wire/mavlink"
	"swellbench/emulator/wire/mixed"
	"swellbench/emulator/wire/nmea0183"
	"swellbench/emulator/wire/nmea2000"
	"swellbench/scenarios/opt"
)

// A framedDecoder reads streams of any formats, one alone or several mixed: what [mixed] finds, its family reads.
//
// A message that counts its time from when the device was switched on is held back until the stream has told how that
// relates to UTC (see sinceStart), for a few seconds at most.
type framedDecoder struct {
	log    *slog.Logger
	stages *stages
	split  *mixed.Splitter
	can    nmea2000.Reader
	seed   maphash.Seed
	arrivals

	known   background
	since   sinceStart
	heights map[string]bool // kinds that have told a height
	held    []message
	waited  bool // they have waited in vain once

	started bool // the first event came
	partial bool // the stream began within a message
	msg     message
}

const (
	heldFor  = 3 * time.Second
	heldMost = 1000
)

// longestMessage is more than the longest message of any format has.
const longestMessage = 8192

func newFramed(log *slog.Logger, s *stages, formats []string, l *layout.Layout) decoder {
	d := &framedDecoder{log: log, stages: s, seed: maphash.MakeSeed(), heights: map[string]bool{}}
	var families []wire.Family
	for _, f := range formats {
		families = append(families, formatOf[f](d, l))
	}
	d.split = mixed.New(families...)
	return d
}

// formatOf makes the family of each format. The more particular one is to be asked first.
var formatOf = map[string]func(*framedDecoder, *layout.Layout) wire.Family{
	"nmea0183": func(*framedDecoder, *layout.Layout) wire.Family { return nmea0183.Family },
	"mavlink":  func(*framedDecoder, *layout.Layout) wire.Family { return mavlink.Family },
	"nmea2000": func(d *framedDecoder, _ *layout.Layout) wire.Family {
		f := nmea2000.NewFamily()
		f.Read = d.can.Read
		return f
	},
	"layout": func(_ *framedDecoder, l *layout.Layout) wire.Family { return l.Family() },
}

func (d *framedDecoder) within() bool { return d.split.Pending() > 0 }
func (d *framedDecoder) cut() bool    { return d.partial }

func (d *framedDecoder) decode(b []byte, at time.Time, message func(*message)) {
	d.partial = d.partial || d.offset == 0 && (b[0] == '\r' || b[0] == '\n')
	d.came(len(b), at, longestMessage)
	d.split.Push(b)
	d.drain(message)
	if len(d.held) > 0 && (at.Sub(d.held[0].first) > heldFor || len(d.held) > heldMost) {
		d.log.Warn("the stream does not tell how its time since switch-on relates to UTC")
		d.waited = true
		d.release(message)
	}
}

// end takes what is held back, and a last message that lacks only its line end.
func (d *framedDecoder) end(message func(*message)) {
	if d.offset == 0 {
		return
	}
	d.split.Flush()
	d.drain(message)
	d.release(message)
}

func (d *framedDecoder) drain(message func(*message)) {
	for {
		ev, ok := d.split.Next()
		if !ok {
			return
		}
		if !d.started {
			d.started, d.partial = true, d.partial || ev.Kind != mixed.Message
		}
		if ev.Kind == mixed.Garbage {
			d.log.Debug("left out bytes that are no message", "offset", ev.Offset, "bytes", ev.Count)
			continue
		}
		if !d.take(ev) {
			continue
		}
		if d.since.told {
			d.waited = false
			d.release(message)
		}
		if len(d.held) > 0 || d.msg.since.Has() && !d.msg.time.Has() && !d.waited {
			d.held = append(d.held, d.msg)
			continue
		}
		message(&d.msg)
	}
}

// release hands on what was held back.
func (d *framedDecoder) release(message func(*message)) {
	for i := range d.held {
		m := &d.held[i]
		d.date(m)
		message(m)
	}
	d.held = d.held[:0]
}

// date gives a message that counts from switch-on its time, if that is known by now.
func (d *framedDecoder) date(m *message) {
	s, ok := m.since.Value()
	if !ok || m.time.Has() {
		return
	}
	if t, ok := d.stages.since(&d.since, s); ok {
		m.stamp(t)
	}
}

// take reads a message; false if it is of no use.
func (d *framedDecoder) take(ev *mixed.Event) bool {
	d.msg = message{offset: ev.Offset, digest: maphash.Bytes(d.seed, ev.Bytes)}
	d.msg.first, d.msg.last = d.of(ev.Offset)
	if ev.Family.Name == nmea0183.Family.Name {
		return d.sentence(ev)
	}
	if ev.Kind != mixed.Message {
		d.log.Debug("left out a message", "format", ev.Family.Name, "reason", ev.Why, "offset", ev.Offset, "bytes", ev.Count)
		return false
	}
	r := d.known.blank()
	kind, carries, err := ev.Family.Read(d.stages.frame(ev.Family.Name, ev.Bytes), &r)
	if err != nil {
		d.log.Debug("left out a message that cannot be read", "kind", kind, "error", err)
		return false
	}
	m := &d.msg
	m.kind, m.rank = kind, ranks[kind]
	if ev.Family.Name == "nmea2000" && carries {
		if source, sid, ok := d.can.SID(); ok {
			m.moment = opt.Of(moment{source, sid})
		}
	}
	if !carries {
		return false
	}
	d.known.take(m, &r)
	if m.values[altitude].said {
		d.heights[kind] = true
	} else if d.heights[kind] && m.values[latitude].said && !m.values[latitude].known {
		m.values[altitude] = null
	}
	if ev.Family.Name == "mavlink" {
		m.since = told64(r.T)
		d.since.learn(m)
		d.date(m)
	}
	return true
}

// sentence reads one of NMEA 0183 among others.
func (d *framedDecoder) sentence(ev *mixed.Event) bool {
	text := d.stages.sentence(trimmed(ev.Bytes), nmea0183.Reason(ev.Why))
	if text == nil {
		d.log.Debug("left out a sentence", "reason", ev.Why, "offset", ev.Offset, "bytes", ev.Count)
		return false
	}
	s, err := nmea0183.Parse(text)
	if err != nil || s == nil {
		return false
	}
	d.msg.kind = s.Type()
	d.stages.say(&d.msg, s)
	return true
}

func trimmed(b []byte) []byte {
	for len(b) > 0 && (b[len(b)-1] == '\r' || b[len(b)-1] == '\n') {
		b = b[:len(b)-1]
	}
	return b
}

// ranks tells which of two messages of one epoch counts that say the same: the finer, and what the whole device believes
// before what GNSS alone does.
var ranks = map[string]int{
	"GLOBAL_POSITION_INT": 3, "GPS_RAW_INT": 2, "GPS2_RAW": 1, "ATTITUDE_QUATERNION": 1,
	"129029": 3, "129026": 2, "127250": 2, "126992": 1,
}
