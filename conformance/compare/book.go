package compare

import (
	"bytes"
	"fmt"
	"iter"
	"math"
	"slices"
	"strings"

	"swellbench/emulator/line"
	"swellbench/emulator/wire"
	"swellbench/emulator/wire/mavlink"
	"swellbench/scenarios"
)

// A Device is what has to be known of the device under test; [swellbench/emulator.Device] is one.
type Device interface {
	// Scenario is the scenario as played.
	Scenario() *scenarios.Scenario
	// Ideal is what the device reports at scenario time t, in s, but for its noise and the digits of its messages.
	Ideal(t float64) wire.Reading
	// IdealOf puts the same into r where the truth of the instant is known; angular rates and specific force need not
	// be in it.
	IdealOf(truth *scenarios.Body, r *wire.Reading)
	// Streams is the number of streams, Encoders the messages of one, in the order of the scenario.
	Streams() int
	Encoders(stream int) []wire.Encoder
}

// A Kind is what is known of one kind of message: from its encoder what it carries, from the sent-log what became of
// it. Its k-th epoch is at k/Rate.
type Kind struct {
	Name  string
	Rate  float64 // Hz
	Timed bool    // carries its time of validity
	Dated bool    // and the date

	Sent, Damaged, Lost int     // reached the line as they should; reached it hurt; never did
	LastS               float64 // validity of the last of all, s
	DelayS              float64 // the longest time from validity to the last byte, s

	carries [NQ]bool
	half    [NQ]float64 // resolution; for latitude and longitude rad
	heading bool        // it carries what heading messages do
	yaw     bool        // it carries the heading of the attitude
	vector  float64     // resolution of the length of a velocity that it carries as components, m/s
	words   words
	fix     bool
	time    float64 // half the resolution of the time, s

	good     Bits // epochs that reached the line as they should
	damaged  Bits // epochs that reached it hurt
	checksum Bits // of these, those that are certain to fail the checksum
	spelled  map[string]*Bits
	tooLong  Bits // spelled in a way that need not be taken
	epochs   int  // one more than the last
}

// Carries tells whether the message carries q.
func (k *Kind) Carries(q Q) bool { return k.carries[q] }

// CarriesFix tells whether the message carries the state of the fix.
func (k *Kind) CarriesFix() bool { return k.fix }

// Epochs is one more than the number of the last epoch.
func (k *Kind) Epochs() int { return k.epochs }

// At is the time of validity of an epoch, s.
func (k *Kind) At(epoch int) float64 { return float64(epoch) / k.Rate }

// Nearest is the epoch nearest to t, and how far t lies behind it, s. The epoch may be before the first or after the
// last.
func (k *Kind) Nearest(t float64) (epoch int, off float64) {
	n := math.Round(t * k.Rate)
	if math.Abs(n) > 1<<40 {
		return -1, math.Inf(1)
	}
	epoch = int(n)
	return epoch, t - k.At(epoch)
}

// Good tells whether the message of an epoch reached the line as it should.
func (k *Kind) Good(epoch int) bool { return k.good.Has(epoch) }

// IsDamaged tells whether the message of an epoch reached the line hurt.
func (k *Kind) IsDamaged(epoch int) bool { return k.damaged.Has(epoch) }

// spellings are the faults that leave a message what a liberal reader takes, each with what is unusual about it: another
// way of writing the checksum, or a further field, as later editions of the standard have them.
var spellings = map[string]string{
	"lower-case-checksum": "a checksum in small letters",
	"over-long":           "a further field that makes them longer than 82 characters",
}

// longest is how long a sentence with a further field may be, line end included, to be one that every
// program takes. The standard allows 82, receivers send somewhat more; a program that keeps room for a hundred is not wrong to
// pass a longer one over (gpsd 3.22 keeps 102). Common practice, no source.
const longest = 100

// Spelling tells whether a fault only spells messages in an unusual way.
func Spelling(fault string) bool { return spellings[fault] != "" }

// spelledAt tells whether the message of an epoch was spelled in an unusual way: it says what it should, to those who
// take it.
func (k *Kind) spelledAt(epoch int) bool {
	for _, b := range k.spelled {
		if b.Has(epoch) {
			return true
		}
	}
	return k.tooLong.Has(epoch)
}

// Spelled lists the epochs whose message was spelled in an unusual way, by what is unusual.
func (k *Kind) Spelled() map[string]*Bits { return k.spelled }

// before is the last good epoch at or before the given one, within a hundred.
func (k *Kind) before(epoch int) (int, bool) {
	for e := min(epoch, k.epochs-1); e >= 0 && e > epoch-100; e-- {
		if k.good.Has(e) {
			return e, true
		}
	}
	return 0, false
}

// after is the first good epoch at or after the given one, within a hundred.
func (k *Kind) after(epoch int) (int, bool) {
	for e := max(epoch, 0); e < k.epochs && e < epoch+100; e++ {
		if k.good.Has(e) {
			return e, true
		}
	}
	return 0, false
}

// A Book is what is known of all kinds of message of a run.
type Book struct {
	Kinds []*Kind // in the order of the scenario
	// DateFromS is when the first message with a date had left, s; +Inf if none has.
	DateFromS float64

	// Fooling is how many messages reached the line hurt with a checksum that fits all the same, as one in 256 does: no
	// consumer could know.
	Fooling int

	limit  float64 // no epoch can be later, s
	joined bool    // the message before has no line end
}

// NewBook reads the sent-log once.
func NewBook(d Device, sent iter.Seq[line.Sent]) *Book {
	b := &Book{DateFromS: math.Inf(1), limit: float64(d.Scenario().Duration)}
	byName := map[string]*Kind{}
	for i := range d.Streams() {
		wordsOf := readersOf(&d.Scenario().Streams[i])
		messages := d.Scenario().Streams[i].Messages
		for j, enc := range d.Encoders(i) {
			k := byName[enc.Kind()]
			if k == nil {
				k = &Kind{Name: enc.Kind()}
				byName[k.Name] = k
				b.Kinds = append(b.Kinds, k)
			}
			if j < len(messages) {
				k.Rate = max(k.Rate, float64(messages[j].Rate))
			}
			for _, r := range enc.Resolutions() {
				k.learn(r)
			}
			k.Dated = k.Timed && carriesDate(enc)
			k.words.learn(enc, wordsOf)
		}
	}
	if !slices.ContainsFunc(b.Kinds, func(k *Kind) bool { return k.Name == "SYSTEM_TIME" }) {
		for _, k := range b.Kinds { // nobody can know what their times mean
			k.Timed = k.Timed && !mavlink.SinceStart(k.Name)
		}
	}
	b.Kinds = slices.DeleteFunc(b.Kinds, func(k *Kind) bool { return !(k.Rate > 0) })
	if sent == nil {
		return b
	}
	for m := range sent {
		if k := byName[m.Kind]; k != nil && k.Rate > 0 {
			b.add(k, &m)
		}
	}
	return b
}

func (k *Kind) learn(r wire.Resolution) {
	switch r.Quantity {
	case wire.Time:
		k.Timed, k.time = true, max(k.time, r.Half)
	case wire.FixState:
		k.fix = true
	case wire.Velocity:
		k.vector = max(k.vector, r.Half*math.Sqrt2)
		k.carries[Speed], k.half[Speed] = true, max(k.half[Speed], k.vector)
		k.carries[Course] = true
	case "velocity-east", "velocity-north": // of described messages
		k.learn(wire.Resolution{Quantity: wire.Velocity, Half: r.Half})
	case wire.Yaw:
		k.yaw, k.carries[Heading], k.half[Heading] = true, true, max(k.half[Heading], r.Half)
	default:
		k.heading = k.heading || r.Quantity == wire.Heading
		if q, ok := qOf(r.Quantity); ok {
			k.carries[q], k.half[q] = true, max(k.half[q], r.Half)
		}
	}
}

// carriesDate knows the messages that say the date and not the time of day alone. NMEA 0183: RMC and ZDA.
func carriesDate(enc wire.Encoder) bool {
	if e, ok := enc.(interface{ Dated() bool }); ok {
		return e.Dated()
	}
	switch kind := enc.Kind(); kind {
	case "126992", "129029", "SYSTEM_TIME", "GPS_RAW_INT", "GPS2_RAW", "HIGHRES_IMU":
		return true
	default:
		return strings.HasSuffix(kind, "RMC") || strings.HasSuffix(kind, "ZDA")
	}
}

// headings tells whether any message carries what heading messages do, and yaws whether any carries the heading of the
// attitude.
func (b *Book) headings() bool {
	return slices.ContainsFunc(b.Kinds, func(k *Kind) bool { return k.heading })
}
func (b *Book) yaws() bool { return slices.ContainsFunc(b.Kinds, func(k *Kind) bool { return k.yaw }) }

func (b *Book) add(k *Kind, m *line.Sent) {
	e, _ := k.Nearest(m.Valid)
	if e < 0 || float64(e) > b.limit*k.Rate+1 {
		return
	}
	k.epochs = max(k.epochs, e+1)
	k.LastS = max(k.LastS, m.Valid)
	joined := b.joined
	b.joined = m.Dropped == "" && strings.Contains(m.Hurt, "merged-messages")
	switch {
	case m.Dropped != "" || len(m.Bytes) == 0:
		k.Lost++
		return
	case Spelling(m.Hurt) && len(m.Bytes) > longest:
		k.tooLong.Set(e)
	case Spelling(m.Hurt):
		what := spellings[m.Hurt]
		if k.spelled[what] == nil {
			if k.spelled == nil {
				k.spelled = map[string]*Bits{}
			}
			k.spelled[what] = new(Bits)
		}
		k.spelled[what].Set(e)
	case m.Hurt != "":
		k.Damaged++
		k.damaged.Set(e)
		if fools(m) {
			b.Fooling++
		}
		if strings.Contains(m.Hurt, "bad-checksum") {
			k.checksum.Set(e)
		}
	case joined: // a reader of lines loses it with the one before
		k.Damaged++
		k.damaged.Set(e)
	default:
		k.Sent++
		k.good.Set(e)
		if k.Dated {
			b.DateFromS = min(b.DateFromS, m.Last+m.LateS+m.HeldS)
		}
	}
	k.DelayS = max(k.DelayS, m.Last+m.LateS+m.HeldS-m.Valid)
}

// fools tells whether a hurt sentence has a checksum that fits, and yet may say something else than was meant.
func fools(m *line.Sent) bool {
	if m.Hurt == "repeated-epoch" || m.Hurt == "out-of-order-epoch" || m.Hurt == "merged-messages" || m.Hurt == "wrong-line-end" {
		return false
	}
	from, star := bytes.LastIndexByte(m.Bytes, '$'), bytes.LastIndexByte(m.Bytes, '*')
	if from < 0 || star < from || star+3 > len(m.Bytes) {
		return false
	}
	sum := byte(0)
	for _, c := range m.Bytes[from+1 : star] {
		sum ^= c
	}
	return strings.EqualFold(fmt.Sprintf("%02X", sum), string(m.Bytes[star+1:star+3]))
}

// Damaged is the number of messages that reached the line hurt.
func (b *Book) Damaged() int {
	n := 0
	for _, k := range b.Kinds {
		n += k.Damaged
	}
	return n
}

// dated tells whether any message carries the date.
func (b *Book) dated() bool {
	return slices.ContainsFunc(b.Kinds, func(k *Kind) bool { return k.Dated })
}

// carried tells which quantities any message carries, and the fix.
func (b *Book) carried() (qs [NQ]bool, fix bool) {
	for _, k := range b.Kinds {
		fix = fix || k.fix
		for q := range NQ {
			qs[q] = qs[q] || k.carries[q]
		}
	}
	return qs, fix
}

// rate is the highest rate of any kind that carries q, Hz; 0 if none does. Of the heading it is that of heading messages,
// where there are any: nobody has to look at the attitude for it.
func (b *Book) rate(q Q) float64 {
	r := 0.0
	headings := q == Heading && b.headings()
	for _, k := range b.Kinds {
		if k.carries[q] && (!headings || k.heading) {
			r = max(r, k.Rate)
		}
	}
	return r
}

// fastestTimed is the highest rate of any kind that carries its time, Hz; 0 if none does.
func (b *Book) fastestTimed() float64 {
	r := 0.0
	for _, k := range b.Kinds {
		if k.Timed {
			r = max(r, k.Rate)
		}
	}
	return r
}

// Bits is a set of small numbers, such as epochs.
type Bits []uint64

// Set adds i; a negative one is left out.
func (b *Bits) Set(i int) {
	if i < 0 {
		return
	}
	w := i >> 6
	if w >= len(*b) {
		*b = append(*b, make([]uint64, w+1-len(*b))...)
	}
	(*b)[w] |= 1 << (i & 63)
}

// Has tells whether i is in the set.
func (b Bits) Has(i int) bool {
	return i >= 0 && i>>6 < len(b) && b[i>>6]&(1<<(i&63)) != 0
}

// Whole is how many messages reached the line as they should.
func (b *Book) Whole() int {
	n := 0
	for _, k := range b.Kinds {
		n += k.Sent
	}
	return n
}
