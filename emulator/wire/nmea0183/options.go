package nmea0183

import (
	"errors"
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"swellbench/emulator/wire"
	"swellbench/scenarios/frame"
	"swellbench/scenarios/opt"
)

// Options are the choices of one stream about one sentence. The zero Options are the defaults of the row in
// [Messages], and edition 4.10.
type Options struct {
	Talker string // "" is the talker of the row
	// Decimals by the key of the group: seconds, minutes, altitude, undulation, hdop, age, speed, course, variation,
	// heading, rate, angle, heave. A sentence knows those of its row. With any of them set the sentence may grow over
	// [MaxLength]; without, none does but XDR with long names.
	Decimals map[string]int
	// Names of the transducers by pitch, roll, heave; those left out are PITCH, ROLL and HEAVE. An empty name leaves the
	// measurement out of the sentence.
	Names map[string]string
	// Signs of the transducers by pitch, roll, heave: 1, which is what is left out too, is the sign of package frame (bow
	// up, starboard down, up), -1 the opposite.
	Signs   map[string]int
	Version Version
	// BareNulls leaves the letter of the unit out where the value is null.
	BareNulls bool
	// LiteralStatus sends status V with the modes R, F and P, as the text of IEC 61162-1 has it. Receivers send A.
	LiteralStatus bool
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
	keep82        bool
	transducers   [3]transducer // pitch, roll, heave
}

var transducerKeys = [3]string{"pitch", "roll", "heave"}

// New makes the encoder of the row. Its error joins an [*OptionError] for each thing that is wrong.
func (r Row) New(o Options) (wire.Encoder, error) {
	e := &encoder{row: r, format: formatOf(r.Decimals), literalStatus: o.LiteralStatus, keep82: len(o.Decimals) == 0,
		transducers: [3]transducer{{"PITCH", 1}, {"ROLL", 1}, {"HEAVE", 1}}}
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
	if errs != nil {
		return nil, errors.Join(errs...)
	}
	return e, nil
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

// Append writes the sentence.
func (e *encoder) Append(dst []byte, r *wire.Reading) ([]byte, error) { return e.row.append(e, dst, r) }

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

func positionDeg(r *wire.Reading) (lat, lon opt.Opt[float64]) {
	if p, ok := r.Position.Value(); ok {
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
