package nmea0183

import (
	"fmt"
	"strconv"
	"strings"
)

// How fields are shown to people.

const noNumber = "not a number"

func decimalValue(raw, _ []byte) (string, string) {
	if _, ok := float(raw); !ok {
		return "", noNumber
	}
	return string(raw), ""
}

func wholeNumber(raw, _ []byte) (string, string) {
	if n, ok := decimalInt(raw); ok {
		return strconv.Itoa(n), ""
	}
	return "", noNumber
}

func clock(raw, _ []byte) (string, string) {
	t, ok := parseTime(raw)
	if !ok {
		return "", "not a time"
	}
	note := ""
	if t >= day {
		note = "leap second"
	}
	return fmt.Sprintf("%s:%s:%s", raw[:2], raw[2:4], raw[4:]), note
}

func shortDate(raw, _ []byte) (string, string) {
	c := cursor{rest: raw, more: true}
	d, ok := c.shortDate().Value()
	if !ok {
		return "", "not a date"
	}
	return fmt.Sprintf("%04d-%02d-%02d", d.Year, d.Month, d.Day), ""
}

// angle shows degrees and minutes as degrees with a sign.
func angle(width int, negative byte) func(raw, behind []byte) (string, string) {
	return func(raw, behind []byte) (string, string) {
		whole := strings.IndexByte(string(raw), '.')
		if whole < 0 {
			whole = len(raw)
		}
		deg, ok := degrees(raw, whole, width)
		if !ok {
			return "", "not degrees and minutes"
		}
		if len(behind) == 1 && behind[0] == negative && deg != 0 {
			deg = -deg
		}
		return strconv.FormatFloat(deg, 'f', max(len(raw)-whole-1, 0)+2, 64), ""
	}
}

// signed shows a number with the sign that the letter behind it gives.
func signed(negative byte) func(raw, behind []byte) (string, string) {
	return func(raw, behind []byte) (string, string) {
		x, ok := float(raw)
		switch {
		case !ok:
			return "", noNumber
		case x != 0 && len(behind) == 1 && behind[0] == negative:
			return "-" + string(raw), ""
		}
		return string(raw), ""
	}
}

// letter shows what a letter stands for.
func letter(m map[byte]string) func(raw, _ []byte) (string, string) {
	return func(raw, _ []byte) (string, string) {
		if w := words(raw, m); w != "" {
			return w, ""
		}
		return "", "of no meaning here"
	}
}

func text(raw, _ []byte) (string, string) { return unescape(raw), "" }

func id(raw, _ []byte) (string, string) {
	if len(raw) == 1 && hexDigit(raw[0]) >= 0 {
		return strconv.Itoa(hexDigit(raw[0])), ""
	}
	return "", "not a hexadecimal digit"
}

func systemName(raw, _ []byte) (string, string) {
	names := []string{"all", "GPS", "GLONASS", "Galileo", "BeiDou", "QZSS", "NavIC"}
	if len(raw) == 1 {
		if n := hexDigit(raw[0]); n >= 0 && n < len(names) {
			return names[n], ""
		}
	}
	return "", "no system that is known here"
}

var modeWords = map[byte]string{'A': "autonomous", 'D': "differential", 'E': "estimated", 'M': "manual", 'S': "simulator", 'N': "no fix", 'P': "precise",
	'R': "RTK fixed", 'F': "RTK float", 'V': "not valid"}

func modes(raw, _ []byte) (string, string) {
	all := make([]string, len(raw))
	for i, c := range raw {
		if all[i] = modeWords[c]; all[i] == "" || c == 'V' {
			return "", "of no meaning here"
		}
	}
	return strings.Join(all, ", "), ""
}

var (
	xdrType = letter(map[byte]string{'A': "angular displacement", 'D': "linear displacement", 'C': "temperature", 'F': "frequency", 'N': "force", 'P': "pressure",
		'R': "flow rate", 'T': "tachometer", 'H': "humidity", 'V': "volume", 'G': "generic", 'I': "current", 'U': "voltage", 'S': "switch", 'L': "salinity"})
	statusWord  = letter(map[byte]string{'A': "valid", 'V': "void"})
	navWord     = letter(map[byte]string{'S': "safe", 'C': "caution", 'U': "unsafe", 'V': "not given"})
	qualityWord = letter(map[byte]string{'0': "no fix", '1': "autonomous", '2': "differential", '3': "precise", '4': "RTK fixed", '5': "RTK float", '6': "estimated", '7': "manual", '8': "simulator"})

	utcTime      = column{"time", "UTC", clock}
	latitude     = column{"latitude", "°", angle(2, 'S')}
	longitude    = column{"longitude", "°", angle(3, 'W')}
	northSouth   = column{"north or south", "", nil}
	eastWest     = column{"east or west", "", nil}
	statusColumn = column{"status", "", statusWord}
	modeColumn   = column{"mode", "", letter(modeWords)}
	navColumn    = column{"navigational status", "", navWord}
	unitLetter   = column{"unit", "", nil}
	inUse        = column{"satellites in use", "", wholeNumber}
	hdop         = column{"HDOP", "", decimalValue}
	altitude     = column{"altitude above mean sea level", "m", decimalValue}
	undulation   = column{"geoidal separation", "m", decimalValue}
	age          = column{"age of corrections", "s", decimalValue}
	station      = column{"station of corrections", "", wholeNumber}
	satellite    = column{"satellite", "", wholeNumber}

	gsvHead  = []column{{"number of sentences", "", wholeNumber}, {"sentence", "", wholeNumber}, {"satellites in view", "", wholeNumber}}
	gsvGroup = []column{{"number", "", wholeNumber}, {"elevation", "°", wholeNumber}, {"azimuth", "°", wholeNumber}, {"SNR", "dB-Hz", wholeNumber}}
)

func metres(name string) column { return column{name, "m", decimalValue} }
func knots(name string) column  { return column{name, "kn", decimalValue} }
func bearing(name string) column {
	return column{name, "°", decimalValue}
}

// columnsOf are the fields of each type, in their order. GSV and XDR repeat theirs.
var columnsOf = map[string][]column{
	"DTM": {{"datum", "", text}, {"subdivision", "", text}, {"latitude offset", "′", signed('S')}, northSouth, {"longitude offset", "′", signed('W')}, eastWest,
		metres("altitude offset"), {"reference datum", "", text}},
	"GBS": {utcTime, metres("expected error of latitude"), metres("expected error of longitude"), metres("expected error of altitude"), {"failed satellite", "", wholeNumber},
		{"probability of missed detection", "", decimalValue}, metres("bias"), metres("sigma of bias"), {"system", "", systemName}, {"signal", "", id}},
	"GGA": {utcTime, latitude, northSouth, longitude, eastWest, {"quality", "", qualityWord}, inUse, hdop, altitude, unitLetter, undulation, unitLetter, age, station},
	"GLL": {latitude, northSouth, longitude, eastWest, utcTime, statusColumn, modeColumn},
	"GNS": {utcTime, latitude, northSouth, longitude, eastWest, {"mode", "", modes}, inUse, hdop, altitude, undulation, age, station, navColumn},
	"GSA": {{"selection", "", letter(map[byte]string{'M': "manual", 'A': "automatic"})}, {"fix", "", letter(map[byte]string{'1': "none", '2': "2D", '3': "3D"})},
		satellite, satellite, satellite, satellite, satellite, satellite, satellite, satellite, satellite, satellite, satellite, satellite,
		{"PDOP", "", decimalValue}, hdop, {"VDOP", "", decimalValue}, {"system", "", systemName}},
	"GST": {utcTime, metres("RMS of ranges"), metres("semi-major axis"), metres("semi-minor axis"), bearing("orientation"), metres("sigma of latitude"), metres("sigma of longitude"), metres("sigma of altitude")},
	"HDG": {bearing("sensor heading"), {"deviation", "°", signed('W')}, eastWest, {"variation", "°", signed('W')}, eastWest},
	"HDT": {bearing("true heading"), unitLetter},
	"RMC": {utcTime, statusColumn, latitude, northSouth, longitude, eastWest, knots("speed over ground"), bearing("course over ground"), {"date", "", shortDate},
		{"variation", "°", signed('W')}, eastWest, modeColumn, navColumn},
	"ROT": {{"rate of turn", "°/min", decimalValue}, statusColumn},
	"THS": {bearing("true heading"), modeColumn},
	"TXT": {{"number of sentences", "", wholeNumber}, {"sentence", "", wholeNumber}, {"text identifier", "", wholeNumber}, {"text", "", text}},
	"VBW": {knots("water speed ahead"), knots("water speed to starboard"), statusColumn, knots("ground speed ahead"), knots("ground speed to starboard"), statusColumn,
		knots("stern water speed to starboard"), statusColumn, knots("stern ground speed to starboard"), statusColumn},
	"VTG": {bearing("true course"), unitLetter, bearing("magnetic course"), unitLetter, knots("speed over ground"), unitLetter, {"speed over ground", "km/h", decimalValue}, unitLetter, modeColumn},
	"ZDA": {utcTime, {"day", "", wholeNumber}, {"month", "", wholeNumber}, {"year", "", wholeNumber}, {"zone hours", "h", decimalValue}, {"zone minutes", "min", wholeNumber}},
}
