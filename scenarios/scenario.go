package scenarios

import (
	"cmp"
	"slices"

	"swellbench/scenarios/frame"
	"swellbench/scenarios/geo"
	"swellbench/scenarios/gnss"
	"swellbench/scenarios/heave"
	"swellbench/scenarios/inertial"
	"swellbench/scenarios/installation"
	"swellbench/scenarios/opt"
	"swellbench/scenarios/receiver"
	"swellbench/scenarios/sea"
	"swellbench/scenarios/sea/hull"
	"swellbench/scenarios/sea/waves"
	"swellbench/scenarios/strictyaml"
	"swellbench/scenarios/track"
	"swellbench/scenarios/units"
)

// A Scenario is one scenario file, loaded and validated: what happens, to which vessel, and what the device on it
// sends. Make one with [Load] or [Parse].
type Scenario struct {
	Name         string                    `yaml:"-"` // the file's base name without its ending
	About        string                    `yaml:"about" doc:"what the scenario brings to light"`
	Start        Start                     `yaml:"start" doc:"UTC instant of scenario time 0, or now for the moment of the run. Default: now"`
	Duration     units.Duration            `yaml:"duration,required" doc:"length of the run in scenario time"`
	Seed         uint64                    `yaml:"seed" doc:"of all random numbers: one seed, one byte stream"`
	Installation installation.Installation `yaml:"installation,required" doc:"where things are on the vessel, actual and as entered into the device"`
	Track        track.Spec                `yaml:"track,required" doc:"where the vessel goes"`
	Motion       sea.Spec                  `yaml:"motion" doc:"how it moves about its track. Default: level and steady"`
	Sea          waves.Spec                `yaml:"sea" doc:"the waves; the hull answers them. Default: none"`
	Hull         hull.Spec                 `yaml:"hull" doc:"what of the vessel the waves act on, beside its size in the installation"`
	Geoid        Geoid                     `yaml:"geoid" doc:"the geoid near the track"`
	Variation    units.Angle               `yaml:"magnetic-variation" doc:"at the place, positive east"`
	GNSS         gnss.Spec                 `yaml:"gnss" doc:"what the sky and the receiver do"`
	// Inertial is nil for a device that knows no position without GNSS.
	Inertial *inertial.Spec `yaml:"inertial" doc:"the inertial sensor that goes on when GNSS is gone. Default: none, then position is gone too"`
	Device   Device         `yaml:"device" doc:"how the device behaves beside what was entered into it"`
	Streams  []Stream       `yaml:"streams,required" doc:"what it sends; each stream has a port of its own"`
	Faults   []Fault        `yaml:"faults" doc:"what hurts the messages on their way"`

	doc *strictyaml.Doc
}

// Geoid is the geoid near the track.
type Geoid struct {
	Undulation units.Length `yaml:"undulation" doc:"height of mean sea level above the ellipsoid, positive up"`
}

// Device is how the device behaves beside what was entered into it.
type Device struct {
	StartUp StartUp       `yaml:"start-up" doc:"what the device does when it is switched on"`
	Clock   receiver.Spec `yaml:"clock" doc:"the receiver's clock. Default: it knows UTC and keeps it"`
	Heave   heave.Spec    `yaml:"heave-filter" doc:"what the device does to heave. Default: nothing, heave is true"`
	NoFix   NoFix         `yaml:"without-fix" doc:"what position fields hold while there is no fix, beside the status that says so: blank, last, carried-on (the last, moved on with the last velocity) or zero. Formats whose fields cannot hold it leave them blank. Default: blank"`
	Latency Latency       `yaml:"latency" doc:"time from validity to the first start bit of the epoch's first message"`
	Noise   Noise         `yaml:"noise" doc:"white noise, 1 sigma, drawn from the seed at each epoch"`
}

// NoFix is what a device leaves in position fields while there is no fix. The zero value is blank.
type NoFix string

// What a device may leave there.
const (
	Blank     NoFix = "blank"
	Last      NoFix = "last"
	CarriedOn NoFix = "carried-on"
	Zero      NoFix = "zero"
)

// SchemaEnum lists the words.
func (NoFix) SchemaEnum() []string {
	return []string{string(Blank), string(Last), string(CarriedOn), string(Zero)}
}

// Latency is the time from validity to the first start bit.
type Latency struct {
	Constant units.Duration `yaml:"constant" doc:"the least latency"`
	Random   units.Duration `yaml:"random" doc:"width of a uniform addition, drawn from the seed for each epoch"`
}

// Noise is white noise, 1 sigma, drawn from the seed at each epoch.
type Noise struct {
	Horizontal units.Length      `yaml:"horizontal" doc:"each of east and north"`
	Vertical   units.Length      `yaml:"vertical" doc:"height"`
	Speed      units.Speed       `yaml:"speed" doc:"each of east and north"`
	Heading    units.Angle       `yaml:"heading" doc:"true heading"`
	Pitch      units.Angle       `yaml:"pitch" doc:"of the device"`
	Roll       units.Angle       `yaml:"roll" doc:"of the device"`
	Heave      units.Length      `yaml:"heave" doc:"of the device"`
	RateOfTurn units.AngularRate `yaml:"rate-of-turn" doc:"of the vessel"`
}

// A Stream is a set of messages with rates on one port.
type Stream struct {
	Name     string    `yaml:"name" doc:"for files and reports: small letters, digits and hyphens. Default: the number of the stream"`
	Format   string    `yaml:"format,required" doc:"message family, such as nmea0183"`
	Line     Line      `yaml:"line,required" doc:"setting of the serial line"`
	Messages []Message `yaml:"messages,required" doc:"what goes out, in the order of an epoch"`
	MAVLink  MAVLink   `yaml:"mavlink" doc:"with format mavlink: version and sender"`
	NMEA0183 NMEA0183  `yaml:"nmea0183" doc:"with format nmea0183: edition, TAG blocks, length"`
	NMEA2000 NMEA2000  `yaml:"nmea2000" doc:"with format nmea2000: the device on the bus"`
	Layout   string    `yaml:"layout" doc:"with format layout: the file that describes the messages, in the same folder or below"`
	// LayoutFile is where the scenario found it.
	LayoutFile LayoutFile `yaml:"-"`
}

// MAVLink is who sends in format mavlink, and how. Zero values are the defaults.
type MAVLink struct {
	Version   int `yaml:"version" doc:"of the frames: 1 or 2. Default: 2"`
	System    int `yaml:"system" doc:"id of the vehicle, 1 to 255. Default: 1"`
	Component int `yaml:"component" doc:"id of the part of it, 1 to 255. Default: 1"`
}

// FormatOf is the format of a message of the stream.
func (st Stream) FormatOf(m Message) string { return cmp.Or(m.Format, st.Format) }

// Formats are those of the messages of the stream, each once, in the order in which they come; its own first, if any
// message has it.
func (st Stream) Formats() (all []string) {
	for _, m := range st.Messages {
		if f := st.FormatOf(m); f == st.Format && !slices.Contains(all, f) {
			all = slices.Insert(all, 0, f)
		} else if !slices.Contains(all, f) {
			all = append(all, f)
		}
	}
	return all
}

// Uses tells whether any message of the stream is of that format, or would be by default.
func (st Stream) Uses(format string) bool {
	return st.Format == format || slices.ContainsFunc(st.Messages, func(m Message) bool { return m.Format == format })
}

// Line is the setting of the serial line. Zero values mean 8 data bits, no parity, 1 stop bit.
type Line struct {
	Baud     int     `yaml:"baud,required" doc:"bits a second: any whole rate from 1 to 100000000"`
	DataBits int     `yaml:"data-bits" doc:"5 to 9. Default: 8"`
	Parity   Parity  `yaml:"parity" doc:"default: none"`
	StopBits float64 `yaml:"stop-bits" doc:"1, 1.5 or 2. Default: 1"`
	// FIFO and Refill are of the device's transmitter.
	FIFO   int            `yaml:"fifo" doc:"bytes that the transmitter takes at once from a processor that is late: the line is idle for a moment after each so many. Default: a processor that never is"`
	Refill units.Duration `yaml:"refill" doc:"with fifo: from when it has run empty to the next byte in it; the byte on its way out covers some of that"`
}

// Parity is the word for the parity bit. The zero value is none.
type Parity string

// SchemaEnum lists the words.
func (Parity) SchemaEnum() []string { return []string{"none", "even", "odd", "mark", "space"} }

// A Message says which message goes out, how often and in which dress.
type Message struct {
	Format    string            `yaml:"format" doc:"message family, if not that of the stream: several then share the line"`
	Type      string            `yaml:"type,required" doc:"as the format names it, such as GGA"`
	Rate      units.Frequency   `yaml:"rate,required" doc:"at most 1000 Hz; the first goes out at scenario time 0"`
	Talker    string            `yaml:"talker" doc:"two letters before the type, where the format has them"`
	Decimals  map[string]int    `yaml:"decimals" doc:"digits after the point, by field group of the format"`
	Names     map[string]string `yaml:"names" doc:"transducer names, by the keys pitch, roll, heave"`
	Signs     map[string]int    `yaml:"signs" doc:"1 or -1 by the keys pitch, roll, heave: -1 turns the sign over"`
	Priority  *int              `yaml:"priority" doc:"with format nmea2000: on the bus, 0, the highest, to 7. Default: the usual one of the message"`
	Reference Reference         `yaml:"reference" doc:"with 127250 and 129026 of format nmea2000: true-north or magnetic-north. Default: true-north"`
	// Sentences go out as they are where Type is "verbatim", one an epoch in turn.
	Text      string   `yaml:"text" doc:"of TXT; what is longer than 61 characters takes several sentences. Default: that the data are simulated"`
	TextID    int      `yaml:"text-id" doc:"of TXT: 1 to 99. Default: 1"`
	Sentences []string `yaml:"sentences" doc:"with type verbatim: sentences with their checksums, sent as they are, one an epoch in turn"`
}

// A Fault hurts the messages due while it lasts.
type Fault struct {
	Fault   string         `yaml:"fault,required" doc:"what happens to the messages"`
	From    units.Duration `yaml:"from" doc:"scenario time when it begins. Default: at once"`
	Until   units.Duration `yaml:"until" doc:"scenario time when it is over. Default: the end of the run"`
	Stream  string         `yaml:"stream" doc:"only on the stream of this name, or of this number in quotes where it has none. Default: on all"`
	Message string         `yaml:"message" doc:"only messages of this type. Default: all"`
	Every   int            `yaml:"every" doc:"only each n-th of those. Default: all, or once for what happens once, such as a hang-up"`
	// Share and Rate are nil where the file does not have them.
	Share *float64         `yaml:"share" doc:"only this share of those, more than 0 to 1, drawn from the seed"`
	Rate  *units.Frequency `yaml:"rate" doc:"at instants drawn from the seed, so many a second in the mean: the next of those messages"`
	Times int              `yaml:"times" doc:"no more than so many times. Default: no limit"`

	For     units.Duration `yaml:"for" doc:"how long a pause, flood, break, absence of the port or deafness of the consumer lasts"`
	Count   int            `yaml:"count" doc:"how many bytes are lost, doubled or noise, how often an epoch comes again, how long an over-long sentence is"`
	Baud    int            `yaml:"baud" doc:"with fault speed: the device's rate, bits a second"`
	Latency units.Duration `yaml:"latency" doc:"with fault adapter-batching: period of the adapter's latency timer. Default: 16 ms"`
	Block   int            `yaml:"block" doc:"with fault adapter-batching: bytes that the adapter hands on at once, at most. Default: 62"`
	Ending  Ending         `yaml:"ending" doc:"with fault wrong-line-end: what ends the sentence. Default: lf"`
}

// Ending is the word for a wrong line end. The zero value is lf.
type Ending string

// SchemaEnum lists the words.
func (Ending) SchemaEnum() []string { return []string{"lf", "cr", "none"} }

// Truth is what the vessel really does. It is an error where the scenario is not valid, which one from [Load] or
// [Parse] is.
func (s *Scenario) Truth() (Truth, error) { return newVessel(s) }

// Receiver is the GNSS receiver on board, with its antennas where the truth has them. Where there is no point
// antenna-primary it stands at the reference point.
func (s *Scenario) Receiver(truth Truth) (*gnss.Receiver, error) {
	sky := s.GNSS
	if b, ok := s.Installation.Baseline(); ok {
		sky.Baseline = opt.Of(b)
	}
	primary, _ := s.Installation.Point(installation.AntennaPrimary)
	antenna := func(t float64) (geo.Position, frame.Attitude) {
		at := truth.At(t)
		return at.Point(primary).Position, at.Attitude
	}
	return gnss.New(sky, s.UTC(0), antenna, float64(s.Duration), s.Seed)
}
