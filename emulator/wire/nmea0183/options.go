package nmea0183

import (
	"bytes"
	"errors"
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"gonum.org/v1/gonum/spatial/r3"

	"swellbench/emulator/wire"
	"swellbench/scenarios/frame"
	"swellbench/scenarios/geo"
	"swellbench/scenarios/opt"
)

// Options are the choices of one stream about one sentence. The zero Options are the defaults of the row in
// [Messages], and edition 4.10.
type Options struct {
	Talker string // "" is the talker of the row
	// Decimals by the key of the group, see [Group]. A sentence knows those of its row. With any of them set the sentence may
	// grow over [MaxLength]; without, none does but XDR with long names.
	Decimals map[string]int
	// Names of the transducers by pitch, roll, heave; those left out are PITCH, ROLL and HEAVE. An empty name leaves the
	// measurement out of the sentence.
	Names map[string]string
	// Signs of the transducers by pitch, roll, heave: 1, which is what is left out too, is the sign of package frame (bow
	// up, starboard down, up), -1 the opposite.
	Signs   map[string]int
	Version Version
	// LongSentences says whether a sentence may be longer than [MaxLength].
	LongSentences LongSentences
	// Simulated has fixes say that they are those of a simulator: quality 8, mode S. Since 2.3.
	Simulated bool
	// Tag has a TAG block go before each sentence. Since 4.00.
	Tag TagBlock
	// Text of TXT; "" is [DefaultText]. What is longer than [MaxText] takes several sentences.
	Text   string
	TextID int // 1 to 99; 0 is 1
	// BareNulls leaves the letter of the unit out where the value is null.
	BareNulls bool
	// LiteralStatus sends status V with the modes R, F and P, as the text of IEC 61162-1 has it. Receivers send A.
	LiteralStatus bool
}

// LongSentences is what becomes of the rule of 82 characters.
type LongSentences uint8

// The choices.
const (
	// LongIfAsked keeps the rule unless decimals are chosen: who chooses them chooses the length too. Where it is kept, the
	// number of the correcting station gives way; what is still too long is sent all the same.
	LongIfAsked LongSentences = iota
	// LongRefused keeps the rule: what is too long is a [*LengthError], and an option that makes the usual sentence too long
	// an [*OptionError].
	LongRefused
	// LongAllowed breaks the rule knowingly.
	LongAllowed
)

// A LengthError reports a sentence longer than [MaxLength] where that rule is kept.
type LengthError struct {
	Sentence string // its type
	Found    int    // characters, from $ to the line feed
}

// Error says what was found and what to do.
func (e *LengthError) Error() string {
	return fmt.Sprintf("encode %s: %d characters, allowed: %d; choose fewer decimals or shorter names, or allow long sentences",
		e.Sentence, e.Found, MaxLength)
}

// MaxLength is how long a sentence may be, from $ to the line feed. NMEA Revealed: 82 characters.
const MaxLength = 82

// An OptionError reports an option that a sentence cannot follow.
type OptionError struct {
	Sentence string // its type, if that is known
	Option   string // such as decimals.minutes
	Found    string
	Allowed  string
}

// Error says what was found and what is allowed.
func (e *OptionError) Error() string {
	if e.Sentence == "" {
		return fmt.Sprintf("nmea0183: %s is %q, allowed: %s", e.Option, e.Found, e.Allowed)
	}
	return fmt.Sprintf("nmea0183: %s: %s is %q, allowed: %s", e.Sentence, e.Option, e.Found, e.Allowed)
}

// An encoder is one row with the choices of a stream.
type encoder struct {
	row           Row
	talker        Talker
	format        Format
	literalStatus bool
	keep82        bool // the station of corrections gives way
	refuse        bool // what is too long
	simulated     bool
	plain         bool // there is nothing to be done after the row's append
	tag           TagBlock
	text          []string // of TXT, a part a sentence
	textID        int
	constant      []byte        // of a message that says nothing of the reading: all of it
	transducers   [3]transducer // pitch, roll, heave
}

var transducerKeys = [3]string{"pitch", "roll", "heave"}

// New makes the encoder of the row. Its error joins an [*OptionError] for each thing that is wrong.
func (r Row) New(o Options) (wire.Encoder, error) {
	e := &encoder{row: r, format: formatOf(r.Decimals), literalStatus: o.LiteralStatus, simulated: o.Simulated, tag: o.Tag,
		keep82: len(o.Decimals) == 0 && o.LongSentences != LongAllowed || o.LongSentences == LongRefused, refuse: o.LongSentences == LongRefused,
		transducers: [3]transducer{{"PITCH", 1}, {"ROLL", 1}, {"HEAVE", 1}}}
	e.plain = !e.refuse && !o.Tag.any()
	if o.Version == V411 { // which defines the names of angles in this writing
		e.transducers = [3]transducer{{"Pitch", 1}, {"Roll", 1}, {"Heave", 1}}
	}
	var errs []error
	bad := func(option, found, allowed string) {
		errs = append(errs, &OptionError{Sentence: r.Type, Option: option, Found: found, Allowed: allowed})
	}
	t := o.Talker
	if t == "" {
		t = r.Talker
	}
	var err error
	if e.talker, err = ParseTalker(t); err != nil {
		bad("talker", t, talkerAllowed)
	}
	for _, key := range slices.Sorted(maps.Keys(o.Decimals)) {
		n := o.Decimals[key]
		i := slices.IndexFunc(r.Decimals, func(d Default) bool { return d.Group.String() == key })
		switch {
		case i < 0:
			bad("decimals", key, r.decimalKeys())
		case n < 0 || n > MaxDecimals:
			bad("decimals."+key, strconv.Itoa(n), "0 to "+strconv.Itoa(MaxDecimals))
		default:
			e.format.Digits[r.Decimals[i].Group].Decimals = uint8(n)
		}
	}
	if o.Version > V411 {
		bad("version", strconv.Itoa(int(o.Version)), "the editions of this package")
	}
	if o.Simulated && !o.Version.hasMode() {
		bad("simulated", "true", "with version 2.3 and later, which have the indicators")
	}
	if o.LongSentences > LongAllowed {
		bad("long sentences", strconv.Itoa(int(o.LongSentences)), "the choices of this package")
	}
	o.Tag.check(o.Version, bad)
	e.setText(o, bad)
	e.format.Version, e.format.BareNulls = o.Version, o.BareNulls
	if r.Type == "XDR" {
		e.setTransducers(o, bad)
	} else {
		if len(o.Names) > 0 {
			bad("names", strings.Join(slices.Sorted(maps.Keys(o.Names)), ", "), "none but in XDR")
		}
		if len(o.Signs) > 0 {
			bad("signs", strings.Join(slices.Sorted(maps.Keys(o.Signs)), ", "), "none but in XDR")
		}
	}
	if r.constant && errs == nil {
		var err error
		if e.constant, err = r.append(e, nil, &usualReading); err != nil {
			errs = append(errs, err)
		}
	}
	if errs == nil && e.refuse {
		usual := usualReading
		if _, err := e.Append(nil, &usual); errors.As(err, new(*LengthError)) {
			bad("decimals or names", err.Error(), "what fits 82 characters")
		}
	}
	if errs != nil {
		return nil, errors.Join(errs...)
	}
	return e, nil
}

// usualReading is one that no sentence is longer for than is to be expected at any time.
var usualReading = wire.Reading{UTC: opt.Of(time.Date(2026, 6, 14, 12, 30, 0, 0, time.UTC)), Fix: wire.FixRTKFixed, Position: opt.Of(geo.Position{Lat: 1, Lon: 2, Height: 12.5}),
	Undulation: opt.Of(1.25), Variation: opt.Of(0.03), SpeedMS: opt.Of(4.5), CourseRad: opt.Of(2.5), Satellites: opt.Of(12), HDOP: opt.Of(1.5), PDOP: opt.Of(1.5), VDOP: opt.Of(1.5),
	DiffAge: opt.Of(1.0), Heading: opt.Of(2.5), Pitch: opt.Of(0.05), Roll: opt.Of(-0.05), HeaveM: opt.Of(1.25), RateOfTurn: opt.Of(0.05), Sigma: opt.Of(r3.Vec{X: 1, Y: 1, Z: 1.5}),
	WaterSpeed: opt.Of([2]float64{4.5, 0.5})}

func (e *encoder) setText(o Options, bad func(option, found, allowed string)) {
	if e.row.Type != "TXT" {
		if o.Text != "" || o.TextID != 0 {
			bad("text", o.Text, "none but in TXT")
		}
		return
	}
	text := o.Text
	if text == "" {
		text = DefaultText
	}
	ok := false
	if e.text, ok = textParts(text); !ok {
		bad("text", o.Text, "printable characters of ISO 8859-1, as many as fit 99 sentences of 61")
	}
	if e.textID = o.TextID; e.textID == 0 {
		e.textID = 1
	}
	if !textIDSpan.has(float64(e.textID)) {
		bad("text-id", strconv.Itoa(o.TextID), textIDSpan.allowed)
	}
}

func (e *encoder) setTransducers(o Options, bad func(option, found, allowed string)) {
	keys := strings.Join(transducerKeys[:], ", ")
	for _, key := range slices.Sorted(maps.Keys(o.Names)) {
		i := slices.Index(transducerKeys[:], key)
		name := o.Names[key]
		switch {
		case i < 0:
			bad("names", key, keys)
		case utf8.RuneCountInString(name) > 20 || strings.ContainsFunc(name, func(r rune) bool { return r > 0xff || unicode.IsControl(r) }):
			bad("names."+key, name, "up to 20 printable characters of ISO 8859-1, or nothing to leave it out")
		default:
			var w writer
			w.text("", name)
			e.transducers[i].name = string(w.b)
		}
	}
	if !slices.ContainsFunc(e.transducers[:], func(t transducer) bool { return t.name != "" }) {
		bad("names", "", "at least one that is not empty")
	}
	for _, key := range slices.Sorted(maps.Keys(o.Signs)) {
		i := slices.Index(transducerKeys[:], key)
		switch n := o.Signs[key]; {
		case i < 0:
			bad("signs", key, keys)
		case n != 1 && n != -1:
			bad("signs."+key, strconv.Itoa(n), "1 or -1")
		default:
			e.transducers[i].sign = float64(n)
		}
	}
}

func (r Row) decimalKeys() string {
	keys := make([]string, len(r.Decimals))
	for i, d := range r.Decimals {
		keys[i] = d.Group.String()
	}
	return strings.Join(keys, ", ")
}

// Append writes the sentence, or the sentences of a group.
func (e *encoder) Append(dst []byte, r *wire.Reading) ([]byte, error) {
	start := len(dst)
	if e.constant != nil {
		dst = append(dst, e.constant...)
	} else {
		var err error
		if dst, err = e.row.append(e, dst, r); err != nil {
			return dst, err
		}
	}
	if e.plain {
		return dst, nil
	}
	if e.refuse {
		for b := dst[start:]; len(b) > 0; {
			n := bytes.IndexByte(b, '\n') + 1
			if n > MaxLength {
				return dst[:start], &LengthError{Sentence: e.row.Type, Found: n}
			}
			b = b[n:]
		}
	}
	if e.tag.any() {
		dst = e.tag.insert(dst, start, r)
	}
	return dst, nil
}

// Kind is the address, such as GNGGA.
func (e *encoder) Kind() string { return e.talker.String() + e.row.Type }

// Resolutions says how finely the sentence carries what it carries.
func (e *encoder) Resolutions() []wire.Resolution {
	all := e.row.resolutions(&e.format)
	if e.row.Type != "XDR" {
		return all
	}
	return slices.DeleteFunc(all, func(r wire.Resolution) bool {
		i := slices.Index(transducerKeys[:], string(r.Quantity))
		return e.transducers[i].name == ""
	})
}

// What several sentences take from a reading.

func fixResolutions(f *Format) []wire.Resolution {
	half := f.half(Minutes) * minuteOfArc
	return []wire.Resolution{
		{Quantity: wire.Time, Half: f.half(Seconds)},
		{Quantity: wire.Latitude, Half: half},
		{Quantity: wire.Longitude, Half: half},
		{Quantity: wire.FixState},
	}
}

// place is what position fields hold: the position, or what the device leaves in them while there is no fix.
func place(r *wire.Reading) opt.Opt[geo.Position] {
	if r.Fix == wire.FixNone {
		return r.Void
	}
	return r.Position
}

func positionDeg(r *wire.Reading) (lat, lon opt.Opt[float64]) {
	if p, ok := place(r).Value(); ok {
		return opt.Of(frame.Deg(p.Lat)), opt.Of(frame.Deg(p.Lon))
	}
	return lat, lon
}

func scaled(v opt.Opt[float64], by float64) opt.Opt[float64] {
	if x, ok := v.Value(); ok {
		return opt.Of(x * by)
	}
	return v
}

func degOpt(v opt.Opt[float64]) opt.Opt[float64] { return scaled(v, 1/degree) }

func headingOpt(v opt.Opt[float64]) opt.Opt[float64] {
	if x, ok := v.Value(); ok {
		return opt.Of(headingDeg(x))
	}
	return v
}

// wrap360 brings a difference of two angles of the circle into 0 ≤ x < 360.
func wrap360(deg float64) float64 {
	if deg < 0 {
		deg += 360
	}
	if deg >= 360 {
		deg -= 360
	}
	return deg
}
