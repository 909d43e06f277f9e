package diagnose

import (
	"bytes"
	"fmt"
	"iter"
	"math"
	"slices"

	"swellbench/conformance/compare"
	"swellbench/emulator/line"
)

// A lossFeature is something about a message by which a program may lose it. Of each feature it is counted how many
// messages with it, and without it, no observation speaks of.
type lossFeature struct {
	id, title, change string
	with, without     [2]int // [0] all, [1] of these lost
}

func (f *lossFeature) add(has, lost bool) {
	n := &f.without
	if has {
		n = &f.with
	}
	n[0]++
	if lost {
		n[1]++
	}
}

// tells tells whether the feature goes with the loss: nearly all that have it are lost, and nearly none of the others.
// gain is how many losses it explains less what it cannot.
func (f *lossFeature) tells() (gain float64, ok bool) {
	if f.with[1] < 2 || f.with[1]*10 < f.with[0]*9 {
		return 0, false
	}
	return float64(f.with[1]) - 2*float64(f.without[1]) - 2*float64(f.with[0]-f.with[1]), true
}

// placeBytes is how finely places in a burst are told apart.
const placeBytes = 16

// A losses counts what no observation speaks of, by kind of message and by feature.
type losses struct {
	features []*lossFeature
	byKey    map[string]*lossFeature
	lengths  [256][2]int
	places   [512][2]int // by 16 bytes into the burst
	after    [32][2]int  // by messages after a damaged one
	n, lost  int

	firstLost, lastLost, lastSeen float64 // s
	run, longest                  int     // lost one after the other
}

func (l *losses) feature(id, title, change string) *lossFeature {
	if f := l.byKey[title]; f != nil {
		return f
	}
	f := &lossFeature{id: id, title: title, change: change}
	if len(l.features) < 64 {
		l.features = append(l.features, f)
		l.byKey[title] = f
	}
	return f
}

// lost explains observations that are missing, from what the messages have in common that none speaks of. Messages that
// share all their quantities with another kind are covered by either.
func (c *counted) lost(sent iter.Seq[line.Sent], failed []string) []Finding {
	ids := failedAny(failed, "parse.loss", "line.")
	if len(ids) == 0 || sent == nil || len(c.seen) == 0 {
		return nil
	}
	l := &losses{byKey: map[string]*lossFeature{}, firstLost: math.Inf(1)}
	kinds := map[string]*compare.Kind{}
	for _, b := range c.cmp.Book.Kinds {
		kinds[b.Name] = b
	}
	talkers, names := map[string]map[string]bool{}, map[string]bool{}
	for m := range sent { // what there is to tell apart
		if len(m.Kind) > 3 && len(talkers) < 16 {
			t := m.Kind[:len(m.Kind)-3]
			if talkers[t] == nil {
				talkers[t] = map[string]bool{}
			}
			talkers[t][m.Kind] = len(talkers[t]) < 16
		}
		if len(names) < 32 {
			names[m.Kind] = true
		}
	}
	burst, offset, since := math.Inf(-1), 0, len(l.after)-1
	for m := range sent {
		if m.Valid != burst {
			burst, offset = m.Valid, 0
		}
		at := offset
		offset += len(m.Bytes)
		hurt := m.Hurt != "" || m.Dropped != ""
		if hurt {
			since = 0
			continue
		}
		gap := since
		since = min(since+1, len(l.after)-1)
		b := kinds[m.Kind]
		if b == nil || c.seen[b] == nil && !carriesAny(b) || m.Valid < c.start {
			continue
		}
		e, off := b.Nearest(m.Valid)
		if math.Abs(off) > 1e-6 {
			continue
		}
		if c.loose[b] > 0 { // stamped on arrival: which epoch it was cannot be told for sure
			continue
		}
		gone := c.seen[b] == nil || !c.seen[b].Has(e)
		several := len(m.Kind) > 3 && len(talkers) > 1 && len(talkers[m.Kind[:len(m.Kind)-3]]) > 1 // kinds of this talker, and other talkers
		l.add(&m, gone, at, gap, several, len(names) > 1)
	}
	if l.lost == 0 {
		return nil
	}
	f := l.explain()
	f.Checks, f.weight, f.ofLoss = ids, sureWeight(l.lost)/4, true
	f.Evidence = append(f.Evidence, fmt.Sprintf("No observation speaks of %d of %d undamaged messages, the first valid at %.2f s and the last at %.2f s of the scenario.", l.lost, l.n, l.firstLost, l.lastLost))
	return []Finding{f}
}

// carriesAny tells whether a message carries anything that an observation says.
func carriesAny(b *compare.Kind) bool {
	for q := range compare.NQ {
		if b.Carries(q) {
			return true
		}
	}
	return false
}

func (l *losses) add(m *line.Sent, lost bool, at, gap int, talkers, kinds bool) {
	text := bytes.TrimRight(m.Bytes, "\r\n")
	i := 0
	if lost {
		i = 1
	}
	count := func(n *[2]int) {
		n[0]++
		n[1] += i
	}
	l.n++
	if lost {
		l.lost++
		l.firstLost, l.lastLost = min(l.firstLost, m.Valid), max(l.lastLost, m.Valid)
		l.run++
		l.longest = max(l.longest, l.run)
	} else {
		l.run = 0
		l.lastSeen = max(l.lastSeen, m.Valid)
	}
	count(&l.lengths[min(len(text), 255)])
	count(&l.places[min(at/placeBytes, len(l.places)-1)])
	count(&l.after[gap])
	if len(text) == 0 || text[0] != '$' && text[0] != '!' {
		return
	}
	star := bytes.LastIndexByte(text, '*')
	body := text
	if star > 0 {
		body = text[:star]
	}
	blank := bytes.Contains(body, []byte(",,")) || bytes.HasSuffix(body, []byte(","))
	l.feature("blank-number-aborts-sentence", "It loses messages in which a field is empty.", "Take an empty field for: not known, and go on with the rest of the message.").add(blank, lost)
	if star > 0 && star+2 < len(text) {
		letters := bytes.ContainsAny(text[star+1:], "ABCDEFabcdef")
		lower := bytes.ContainsAny(text[star+1:], "abcdef")
		l.feature("checksum-letter-case", "It loses messages whose checksum has a letter in small type.", "Compare checksums as numbers: hexadecimal digits may be written large or small.").add(lower, lost)
		l.feature("checksum-letter-case", "It loses messages whose checksum has a letter.", "Read the checksum as a hexadecimal number.").add(letters, lost)
	}
	if talkers && len(m.Kind) > 3 {
		talker := m.Kind[:len(m.Kind)-3]
		l.feature("talker-prefix-fixed", "It loses messages of the talker "+talker+".", "Tell a message by its three letters, whatever the two before them are.").add(true, lost)
	}
	if kinds {
		l.feature("sentence-type-not-read", "It does not read "+m.Kind+" messages.", "Read this message too, or leave it out of what the program is said to support.").add(true, lost)
	}
	n := bytes.Count(body, []byte(","))
	if len(m.Kind) >= 3 {
		l.feature("field-count-must-match", fmt.Sprintf("It loses %s messages with %d fields.", m.Kind[len(m.Kind)-3:], n), "Take what fields there are: later editions add fields at the end, and older ones lack them.").add(true, lost)
	}
}

// explain chooses the feature that goes with the loss best. Features that count only those that have them are held
// against all the rest.
func (l *losses) explain() Finding {
	best, gain := (*lossFeature)(nil), 0.0
	var told []*lossFeature // all that go with the loss
	var gains []float64
	consider := func(f *lossFeature) {
		g, ok := f.tells()
		if !ok || g <= 0 {
			return
		}
		told, gains = append(told, f), append(gains, g)
		if g > gain {
			best, gain = f, g
		}
	}
	for _, f := range l.features {
		if f.without[0] == 0 {
			f.without = [2]int{l.n - f.with[0], l.lost - f.with[1]}
		}
		consider(f)
	}
	for _, x := range []struct {
		counts    [][2]int
		id, title string
		change    string
		scale     int
	}{
		{l.lengths[:], "long-sentence-cut", "It loses messages of %d characters and more.", "Give lines a buffer as long as the longest the format allows, and more: 82 characters with their end, and some receivers send longer ones.", 1},
		{l.places[:], "burst-overruns-buffer", "It loses messages that begin %d bytes or more into a burst.", "Read all that waits, as it comes, into a buffer that holds a burst.", placeBytes},
	} {
		all, lost := l.n, l.lost
		for i, n := range x.counts {
			f := &lossFeature{id: x.id, title: fmt.Sprintf(x.title, i*x.scale), change: x.change, with: [2]int{all, lost}, without: [2]int{l.n - all, l.lost - lost}}
			all, lost = all-n[0], lost-n[1]
			if n[0] == 0 || f.without[0] == 0 {
				continue
			}
			consider(f)
		}
	}
	all, lost := 0, 0
	for i := 0; i+1 < len(l.after); i++ {
		all, lost = all+l.after[i][0], lost+l.after[i][1]
		f := &lossFeature{id: "no-resync-after-damage", title: fmt.Sprintf("It loses the %d good messages that follow a damaged one.", i+1), change: "Begin anew at the next start of a message, whatever came before it.",
			with: [2]int{all, lost}, without: [2]int{l.n - all, l.lost - lost}}
		consider(f)
	}
	if l.lastSeen < l.firstLost && l.lastLost-l.firstLost > 0.5 {
		f := Finding{ID: "foreign-byte-ends-reader", Title: fmt.Sprintf("It hears nothing any more from %.2f s of the scenario on.", l.firstLost), Confidence: 0.7,
			Change: "Look for what came just before: a byte that is no text, a damaged message, a port that went away. An error in one message must not end the reading."}
		return f
	}
	if best != nil && gain > 0 {
		f := Finding{ID: best.id, Title: best.title, Change: best.change, Confidence: min(0.95, 0.5+0.5*gain/float64(l.lost)),
			Evidence: []string{fmt.Sprintf("Of %d messages like these %d are lost, of %d others %d.", best.with[0], best.with[1], best.without[0], best.without[1])}}
		if f.ID == "burst-overruns-buffer" {
			f.NotTold = append(f.NotTold, Alternative{ID: "one-read-one-sentence", Title: "It takes the first message of what a read gives, and throws the rest away."})
		}
		for i, o := range told {
			if o.id != best.id && gains[i] >= 0.9*gain && len(f.NotTold) < 3 && !slices.ContainsFunc(f.NotTold, func(a Alternative) bool { return a.ID == o.id }) {
				f.NotTold = append(f.NotTold, Alternative{ID: o.id, Title: o.title})
				f.Confidence = min(f.Confidence, 0.6)
			}
		}
		return f
	}
	f := Finding{ID: "messages-lost", Title: fmt.Sprintf("It loses %.0f %% of the messages, with nothing that they have in common.", math.Max(1, 100*float64(l.lost)/float64(l.n))), Confidence: 0.5,
		Change: "Keep what a read leaves over until the rest of the message comes, and take every message out of what a read brings; see that reading never waits for anything else."}
	if l.longest > 3 {
		f.Evidence = append(f.Evidence, fmt.Sprintf("Up to %d are lost one after the other.", l.longest))
	}
	return f
}
