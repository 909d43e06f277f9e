package nmea0183

import "slices"

// Bounds of what a [Assembler] holds, whatever a stream claims.
const (
	MaxGroups    = 16 // that are not complete, at a time
	maxTextBytes = 6 << 10
	maxGSAs      = 16 // sentences in a group
)

// An Assembler puts sentences that belong together together: GSV and TXT by their numbers, GSA as they follow each other. Of
// each it gives one sentence that holds all: a GSV with all satellites, a TXT with the whole text, and the GSAs of an
// epoch.
//
// A sentence that is missing or out of turn voids its group; the next first sentence begins anew. Memory is bounded: a
// GSV of more than nine sentences is no GSV, of a text what goes beyond 99 sentences of 61 characters is void, and when
// more than [MaxGroups] are open the oldest goes. The zero Assembler is ready. It is not safe for several goroutines.
type Assembler struct {
	open  []part
	gsa   []GSA
	ended []GSA
	gsv   GSV
	txt   TXT
}

// A part is a group that is not complete.
type part struct {
	kind        byte // 'V' or 'X'
	talker      Talker
	id          int // signal or text
	total, next int
	inView      int
	satellites  []SatelliteInView
	text        []byte
}

// Add takes the next sentence of the stream, one that framing and parsing found good. Where it completes a GSV or TXT, that
// is given back, valid until the next Add. All other sentences give nil.
func (g *Assembler) Add(s Sentence) Sentence {
	if s, ok := s.(*GSA); ok {
		if len(g.gsa) == maxGSAs {
			g.gsa = g.gsa[:0] // no receiver sends so many
		}
		g.gsa = append(g.gsa, *s)
		return nil
	}
	if len(g.gsa) > 0 {
		g.ended, g.gsa = append(g.ended[:0], g.gsa...), g.gsa[:0]
	}
	switch s := s.(type) {
	case *GSV:
		signal := -1
		if id, ok := s.Signal.Value(); ok {
			signal = int(id)
		}
		p := g.part('V', s.Talker, signal, s.Total, s.Number)
		if p == nil {
			return nil
		}
		if s.Number == 1 {
			p.inView = s.InView
		}
		if s.InView != p.inView {
			g.drop(p)
			return nil
		}
		p.satellites = append(p.satellites, s.Satellites...)
		if p.next > p.total {
			g.gsv = GSV{Talker: s.Talker, Total: s.Total, Number: s.Total, InView: s.InView, Signal: s.Signal, Satellites: append(g.gsv.Satellites[:0], p.satellites...)}
			g.drop(p)
			return &g.gsv
		}
	case *TXT:
		p := g.part('X', s.Talker, s.ID, s.Total, s.Number)
		if p == nil {
			return nil
		}
		if len(p.text)+len(s.Text) > maxTextBytes*2 { // a character of ISO 8859-1 is up to two bytes
			g.drop(p)
			return nil
		}
		p.text = append(p.text, s.Text...)
		if p.next > p.total {
			text := g.txt.Text
			if text != string(p.text) {
				text = string(p.text)
			}
			g.txt = TXT{Talker: s.Talker, Total: s.Total, Number: s.Total, ID: s.ID, Text: text}
			g.drop(p)
			return &g.txt
		}
	}
	return nil
}

// InUse gives the GSAs that followed each other, once another sentence came after them or at the end; else none. They are
// valid until the next Add.
func (g *Assembler) InUse(end bool) []GSA {
	if end && len(g.gsa) > 0 {
		g.ended, g.gsa = append(g.ended[:0], g.gsa...), g.gsa[:0]
	}
	all := g.ended
	g.ended = g.ended[:0]
	return all
}

// part is the group that sentence number of total goes on with, or nil. After it, next is the sentence that is to follow.
func (g *Assembler) part(kind byte, t Talker, id, total, number int) *part {
	i := slices.IndexFunc(g.open, func(p part) bool { return p.kind == kind && p.talker == t && p.id == id })
	if number == 1 {
		if i < 0 && len(g.open) == MaxGroups {
			i = 0
		}
		var p part
		if i >= 0 { // it, or the oldest, makes room
			p = g.open[i]
			g.open = slices.Delete(g.open, i, i+1)
		} else if n := len(g.open); n < cap(g.open) {
			p = g.open[:n+1][n]
		}
		g.open = append(g.open, part{kind: kind, talker: t, id: id, total: total, next: 2, satellites: p.satellites[:0], text: p.text[:0]})
		return &g.open[len(g.open)-1]
	}
	if i < 0 {
		return nil
	}
	p := &g.open[i]
	if p.total != total || p.next != number {
		g.drop(p)
		return nil
	}
	p.next++
	return p
}

// drop takes a group out; its room stays behind the others for the next.
func (g *Assembler) drop(p *part) {
	i := slices.IndexFunc(g.open, func(q part) bool { return q.kind == p.kind && q.talker == p.talker && q.id == p.id })
	room := g.open[i]
	copy(g.open[i:], g.open[i+1:])
	g.open[len(g.open)-1] = room
	g.open = g.open[:len(g.open)-1]
}
