package nmea0183

import (
	"strings"

	"swellbench/emulator/wire"
)

// A Row is one sentence of the table: what it is and how it is made.
type Row struct {
	Type   string // such as GGA
	Title  string
	Source string
	Talker string // who speaks if the stream does not say
	// Decimals are the groups of fields whose decimals a stream may choose, and what they are if it does not.
	Decimals []Default
	// Sentence makes an empty sentence of the type, to be filled by Parse.
	Sentence func() Sentence

	append      func(e *encoder, dst []byte, r *wire.Reading) ([]byte, error)
	carries     bool // a reading holds some of it, see readInto
	constant    bool // it says nothing of the reading
	resolutions func(f *Format) []wire.Resolution
}

// Messages is the table of the sentences, in alphabetical order.
//
// The talkers: a position comes from satellites of more than one system, GN; the time is that of one system, GP; the
// heading is that of a device that finds north by itself, HE; the rate of turn is that of its own kind of indicator, TI;
// pitch, roll and heave are what a transducer measures, YX; the sensor of HDG is a magnetic compass, HC; speed through
// water is that of a Doppler log, VD; satellites in view are those of one system, GP for GPS. Source: talker identifiers in NMEA Revealed.
var Messages = []Row{
	{Type: "DTM", Title: "datum of the positions", Source: "IEC 61162-1, DTM; NMEA Revealed", Talker: "GP",
		Decimals: dtmDecimals, Sentence: func() Sentence { return new(DTM) }, append: appendDTM, constant: true, resolutions: dtmResolutions},
	{Type: "GBS", Title: "satellite fault detection: expected errors", Source: "IEC 61162-1, GBS; NMEA Revealed", Talker: "GN",
		Decimals: gbsDecimals, Sentence: func() Sentence { return new(GBS) }, append: appendGBS, carries: true, resolutions: gbsResolutions},
	{Type: "GGA", Title: "fix: time, position, quality, height", Source: "IEC 61162-1, GGA; NMEA Revealed", Talker: "GN",
		Decimals: ggaDecimals, Sentence: func() Sentence { return new(GGA) }, append: appendGGA, carries: true, resolutions: ggaResolutions},
	{Type: "GLL", Title: "position and time", Source: "IEC 61162-1, GLL; NMEA Revealed", Talker: "GN",
		Decimals: gllDecimals, Sentence: func() Sentence { return new(GLL) }, append: appendGLL, carries: true, resolutions: gllResolutions},
	{Type: "GNS", Title: "fix of several systems", Source: "IEC 61162-1, GNS; NMEA Revealed", Talker: "GN",
		Decimals: gnsDecimals, Sentence: func() Sentence { return new(GNS) }, append: appendGNS, carries: true, resolutions: gnsResolutions},
	{Type: "GSA", Title: "satellites in use, dilutions of precision", Source: "IEC 61162-1, GSA; NMEA Revealed", Talker: "GN",
		Decimals: gsaDecimals, Sentence: func() Sentence { return new(GSA) }, append: appendGSA, carries: true, resolutions: gsaResolutions},
	{Type: "GST", Title: "statistics of the position error", Source: "IEC 61162-1, GST; NMEA Revealed", Talker: "GN",
		Decimals: gstDecimals, Sentence: func() Sentence { return new(GST) }, append: appendGST, carries: true, resolutions: gstResolutions},
	{Type: "GSV", Title: "satellites in view", Source: "IEC 61162-1, GSV; NMEA Revealed", Talker: "GP",
		Sentence: func() Sentence { return new(GSV) }, append: appendGSV, carries: true, resolutions: gsvResolutions},
	{Type: "HDG", Title: "heading by a magnetic sensor, deviation, variation", Source: "IEC 61162-1, HDG; NMEA Revealed", Talker: "HC",
		Decimals: hdgDecimals, Sentence: func() Sentence { return new(HDG) }, append: appendHDG, carries: true, resolutions: hdgResolutions},
	{Type: "HDT", Title: "heading from true north", Source: "IEC 61162-1, HDT; NMEA Revealed", Talker: "HE",
		Decimals: hdtDecimals, Sentence: func() Sentence { return new(HDT) }, append: appendHDT, carries: true, resolutions: hdtResolutions},
	{Type: "RMC", Title: "recommended minimum: time, date, position, course, speed", Source: "IEC 61162-1, RMC; NMEA Revealed", Talker: "GN",
		Decimals: rmcDecimals, Sentence: func() Sentence { return new(RMC) }, append: appendRMC, carries: true, resolutions: rmcResolutions},
	{Type: "ROT", Title: "rate of turn", Source: "IEC 61162-1, ROT; NMEA Revealed", Talker: "TI",
		Decimals: rotDecimals, Sentence: func() Sentence { return new(ROT) }, append: appendROT, carries: true, resolutions: rotResolutions},
	{Type: "THS", Title: "heading from true north, with its mode", Source: "IEC 61162-1, THS, as in notes that equipment documents reproduce", Talker: "HE",
		Decimals: thsDecimals, Sentence: func() Sentence { return new(THS) }, append: appendTHS, carries: true, resolutions: thsResolutions},
	{Type: "TXT", Title: "text", Source: "IEC 61162-1, TXT, as free libraries read it", Talker: "GN",
		Sentence: func() Sentence { return new(TXT) }, append: appendTXT, constant: true, resolutions: txtResolutions},
	{Type: "VBW", Title: "speed through water and over ground, along and across", Source: "IEC 61162-1, VBW; NMEA Revealed", Talker: "VD",
		Decimals: vbwDecimals, Sentence: func() Sentence { return new(VBW) }, append: appendVBW, carries: true, resolutions: vbwResolutions},
	{Type: "VTG", Title: "course and speed over ground", Source: "IEC 61162-1, VTG; NMEA Revealed", Talker: "GN",
		Decimals: vtgDecimals, Sentence: func() Sentence { return new(VTG) }, append: appendVTG, carries: true, resolutions: vtgResolutions},
	{Type: "XDR", Title: "transducers: pitch, roll and heave", Source: "IEC 61162-1, XDR; NMEA, Update to XDR Sentence, 2019", Talker: "YX",
		Decimals: xdrDecimals, Sentence: func() Sentence { return new(XDR) }, append: appendXDR, carries: true, resolutions: xdrResolutions},
	{Type: "ZDA", Title: "time and date", Source: "IEC 61162-1, ZDA; NMEA Revealed", Talker: "GP",
		Decimals: zdaDecimals, Sentence: func() Sentence { return new(ZDA) }, append: appendZDA, carries: true, resolutions: zdaResolutions},
}

// Kinds are the types in the table, in its order.
func Kinds() []string {
	kinds := make([]string, len(Messages))
	for i, r := range Messages {
		kinds[i] = r.Type
	}
	return kinds
}

// RowOf is the row of a type.
func RowOf(kind string) (Row, bool) {
	for _, r := range Messages {
		if r.Type == kind {
			return r, true
		}
	}
	return Row{}, false
}

// FormatOf is the default format of a type.
func FormatOf(kind string) (Format, bool) {
	r, ok := RowOf(kind)
	return formatOf(r.Decimals), ok
}

// New makes the encoder of a type. Its error joins an [*OptionError] for each thing that is wrong.
func New(kind string, o Options) (wire.Encoder, error) {
	r, ok := RowOf(kind)
	if !ok {
		return nil, &OptionError{Option: "type", Found: kind, Allowed: strings.Join(Kinds(), ", ")}
	}
	return r.New(o)
}
