package conformance

import (
	"iter"
	"sort"

	"swellbench/conformance/compare"
	"swellbench/emulator/line"
)

// events is what happened on the line that checks have to know of, taken from the sent-log as it goes by. It is kept for
// runs with one stream: of several, the order in which messages reached the consumer's ports says nothing.
type events struct {
	damaged []float64 // times of validity of messages that reached the line hurt, ascending
	gaps    []gap
	late    []float64 // times of validity of messages that went out after later ones

	begun    bool
	lastSent float64 // when the last good message had left, s
	lastGood float64 // and was valid
	newest   float64 // the latest time of validity of a good message
}

// A gap is a time when nothing whole reached the consumer.
type gap struct {
	from, until   float64 // from the last byte before it to the first after it, s
	before, after float64 // times of validity of the messages about it, s
}

const (
	shortestGapS = 0.4  // of silence that is worth a word
	mostEvents   = 5000 // kept of each; what comes later is not judged
)

// watch passes a sent-log on and takes notes.
func (v *events) watch(sent iter.Seq[line.Sent]) iter.Seq[line.Sent] {
	return func(yield func(line.Sent) bool) {
		for m := range sent {
			v.note(&m)
			if !yield(m) {
				return
			}
		}
	}
}

func (v *events) note(m *line.Sent) {
	switch {
	case m.Dropped != "" || len(m.Bytes) == 0:
		return
	case m.Hurt == "repeated-epoch" || m.Hurt == "out-of-order-epoch":
		return
	case m.Hurt != "":
		if compare.Spelling(m.Hurt) {
			return
		}
		if m.Number >= 0 && len(v.damaged) < mostEvents {
			v.damaged = append(v.damaged, m.Valid)
		}
		return
	}
	if v.begun {
		if m.First-v.lastSent >= shortestGapS && len(v.gaps) < mostEvents {
			v.gaps = append(v.gaps, gap{v.lastSent, m.First, v.lastGood, m.Valid})
		}
		if m.Valid < v.newest-1e-6 && len(v.late) < mostEvents && (len(v.late) == 0 || v.late[len(v.late)-1] != m.Valid) {
			v.late = append(v.late, m.Valid)
		}
	}
	v.newest = max(v.newest, m.Valid)
	v.begun, v.lastSent, v.lastGood = true, m.Last+m.LateS, m.Valid
}

// settle sorts what has been noted.
func (v *events) settle() { sort.Float64s(v.damaged) }

// damagedIn tells whether a message valid in [from, until] was hurt.
func (v *events) damagedIn(from, until float64) bool {
	i := sort.SearchFloat64s(v.damaged, from)
	return i < len(v.damaged) && v.damaged[i] <= until
}
