package observe

import (
	_ "embed"
	"fmt"
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"

	"swellbench/emulator/wire"
	"swellbench/scenarios/strictyaml"
	"swellbench/scenarios/units"
)

// A Map says how the lines of a program's log become observations: a YAML file that its user writes.
type Map struct {
	About   string   `yaml:"about" doc:"which program, which export"`
	Format  Format   `yaml:"format" doc:"of the log. Default: csv"`
	Between string   `yaml:"separator" doc:"of columns: one character, or the word tab, or spaces for any number of blanks. Default: ,"`
	Decimal string   `yaml:"decimal-mark" doc:". or ,. Default: ."`
	Header  Header   `yaml:"header" doc:"whether the first line that is not skipped names the columns. Default: first-line"`
	Skip    int      `yaml:"skip-lines" doc:"lines before the header, or before the first record"`
	Comment string   `yaml:"comment" doc:"lines that begin so are passed over"`
	NoValue []string `yaml:"no-value" doc:"texts by which the program says that it has no value; an empty column is always one"`
	Time    MapTime  `yaml:"time" doc:"the stamp of each record"`
	Point   string   `yaml:"point" doc:"which point of the vessel all records are of. Default: the one that expected-of-consumer names"`
	Points  string   `yaml:"point-column" doc:"the column that names the point of each record"`
	Source  string   `yaml:"source-column" doc:"the column that says which message a record comes from"`

	Undulation units.Length `yaml:"undulation" doc:"of mean sea level above the ellipsoid, that the program takes off its heights: added where a height is from sea-level"`
	Variation  units.Angle  `yaml:"magnetic-variation" doc:"positive east, that the program takes off its headings: added where one is from magnetic north"`

	Columns map[string]Column `yaml:"columns" doc:"where each quantity stands: lat, lon, height, heading, pitch, roll, heave, speed, course, rate_of_turn, velocity_east, velocity_north, fix, heading_valid"`
}

// Format is the word for the form of a log. The zero value is csv.
type Format string

// The formats.
const (
	CSV       Format = "csv"
	JSONLines Format = "json-lines" // as a consumer prints them, in a file
	NMEA0183  Format = "nmea0183"   // sentences that the program sends on, or has logged
)

// SchemaEnum lists the words.
func (Format) SchemaEnum() []string {
	return []string{string(CSV), string(JSONLines), string(NMEA0183)}
}

// Header is the word for where column names come from. The zero value is first-line.
type Header string

// Where column names come from.
const (
	FirstLine Header = "first-line"
	NoHeader  Header = "none" // columns are numbered from 1
)

// SchemaEnum lists the words.
func (Header) SchemaEnum() []string { return []string{string(FirstLine), string(NoHeader)} }

// A Column says where a quantity stands and what its numbers mean.
type Column struct {
	Column     string            `yaml:"column,required" doc:"its name in the header, or its number from 1"`
	Unit       string            `yaml:"unit" doc:"of the numbers. Default: deg, m, m/s, deg/s"`
	Positive   string            `yaml:"positive" doc:"where numbers are positive: bow-up or bow-down, starboard-down or port-down, up or down, starboard or port. Default: the first of each pair"`
	Written    string            `yaml:"written" doc:"of lat and lon: decimal, degrees-minutes (as 5008.2339) or parts (degrees, minutes, seconds, with any signs between). Default: decimal"`
	Hemisphere string            `yaml:"hemisphere-column" doc:"of lat and lon: the column with N, S, E or W"`
	From       string            `yaml:"from" doc:"of height: ellipsoid or sea-level; of heading and course: true or magnetic. Default: the first of each pair"`
	Words      map[string]string `yaml:"words" doc:"of fix and heading_valid: what each text of the log means"`
}

// MapTime says how a record is stamped.
type MapTime struct {
	Columns []string `yaml:"columns,required" doc:"the columns that the stamp is made of, in the order of the layout"`
	Layout  string   `yaml:"layout" doc:"rfc3339, unix, seconds-of-day, week-and-seconds (of GPS), or a pattern of YYYY, YY, MM, DD, DDD (day of the year), hh, mm, ss (with any fraction) and other characters as they are; columns are joined by a blank. Default: rfc3339"`
	Unit    string   `yaml:"unit" doc:"of unix, seconds-of-day and week-and-seconds: s, ms, us or ns. Default: s"`
	Base    string   `yaml:"base" doc:"utc or gps: which clock the stamps show. Default: utc, of week-and-seconds gps"`
	Zone    string   `yaml:"zone" doc:"what the stamps are ahead of UTC, such as +02:00. Default: nothing"`
	Date    string   `yaml:"date" doc:"of seconds-of-day and of patterns without a day: that of the first record, YYYY-MM-DD; a step back of more than half a day is the next one"`
}

// A quantityRow is what a column may mean.
type quantityRow struct {
	name  string
	units map[string]float64 // to SI and rad; the first allowed is in unit
	unit  string             // if the map says nothing
	signs [2]string          // positive in our sense, and the opposite
	from  [2]string
	set   func(o *Observation) *Field[float64]
}

var (
	lengthUnits = map[string]float64{"m": 1, "cm": 0.01, "mm": 0.001, "km": 1000, "ft": 0.3048, "us-ft": 1200.0 / 3937}
	angleUnits  = map[string]float64{"deg": radPerDeg, "rad": 1, "mrad": 0.001, "arcmin": radPerDeg / 60, "arcsec": radPerDeg / 3600, "gon": 0.9 * radPerDeg}
	speedUnits  = map[string]float64{"m/s": 1, "km/h": 1 / 3.6, "kn": 1852.0 / 3600, "ft/s": 0.3048}
	turnUnits   = map[string]float64{"deg/s": radPerDeg, "rad/s": 1, "deg/min": radPerDeg / 60, "deg/h": radPerDeg / 3600}
)

// quantityRows is the table of numeric quantities of a map. The foot is exact, the US survey foot 1200/3937 m (NIST SP 811,
// 2008, B.6), the knot 1852 m an hour.
var quantityRows = []quantityRow{
	{name: "lat", units: angleUnits, unit: "deg", set: func(o *Observation) *Field[float64] { return &o.LatRad }},
	{name: "lon", units: angleUnits, unit: "deg", set: func(o *Observation) *Field[float64] { return &o.LonRad }},
	{name: "height", units: lengthUnits, unit: "m", signs: [2]string{"up", "down"}, from: [2]string{"ellipsoid", "sea-level"}, set: func(o *Observation) *Field[float64] { return &o.HeightM }},
	{name: "heading", units: angleUnits, unit: "deg", from: [2]string{"true", "magnetic"}, set: func(o *Observation) *Field[float64] { return &o.HeadingRad }},
	{name: "pitch", units: angleUnits, unit: "deg", signs: [2]string{"bow-up", "bow-down"}, set: func(o *Observation) *Field[float64] { return &o.PitchRad }},
	{name: "roll", units: angleUnits, unit: "deg", signs: [2]string{"starboard-down", "port-down"}, set: func(o *Observation) *Field[float64] { return &o.RollRad }},
	{name: "heave", units: lengthUnits, unit: "m", signs: [2]string{"up", "down"}, set: func(o *Observation) *Field[float64] { return &o.HeaveM }},
	{name: "speed", units: speedUnits, unit: "m/s", set: func(o *Observation) *Field[float64] { return &o.SpeedMS }},
	{name: "course", units: angleUnits, unit: "deg", from: [2]string{"true", "magnetic"}, set: func(o *Observation) *Field[float64] { return &o.CourseRad }},
	{name: "rate_of_turn", units: turnUnits, unit: "deg/s", signs: [2]string{"starboard", "port"}, set: func(o *Observation) *Field[float64] { return &o.RateOfTurnRadS }},
	{name: "velocity_east", units: speedUnits, unit: "m/s", signs: [2]string{"east", "west"}},
	{name: "velocity_north", units: speedUnits, unit: "m/s", signs: [2]string{"north", "south"}},
}

func quantityOf(name string) (quantityRow, bool) {
	i := slices.IndexFunc(quantityRows, func(q quantityRow) bool { return q.name == name })
	if i < 0 {
		return quantityRow{}, false
	}
	return quantityRows[i], true
}

func quantityNames() []string {
	names := []string{"fix", "heading_valid"}
	for _, q := range quantityRows {
		names = append(names, q.name)
	}
	slices.Sort(names)
	return names
}

// LoadMap reads a map file.
func LoadMap(path string) (*Map, error) {
	return LoadMapFS(os.DirFS(filepath.Dir(path)), filepath.Base(path))
}

// LoadMapFS reads a map file from fsys. All that is wrong with it is told at once, with its place.
func LoadMapFS(fsys fs.FS, name string) (*Map, error) {
	var m Map
	doc, err := strictyaml.Decode(fsys, name, &m)
	if err != nil {
		return nil, err
	}
	if err := doc.Problems(m.Validate()); err != nil {
		return nil, err
	}
	return &m, nil
}

// Validate returns all that is wrong with the map, as far as can be told without a log.
func (m *Map) Validate() []strictyaml.Problem {
	var ps []strictyaml.Problem
	add := func(path, format string, a ...any) {
		ps = append(ps, strictyaml.Problem{Path: path, Text: fmt.Sprintf(format, a...)})
	}
	word := func(path, found string, allowed ...string) {
		if found != "" && !slices.Contains(allowed, found) {
			add(path, "%s is %s; %s", path[strings.LastIndex(path, ".")+1:], strictyaml.Quote(found), strictyaml.Allowed(found, allowed))
		}
	}
	word("format", string(m.Format), Format("").SchemaEnum()...)
	word("header", string(m.Header), Header("").SchemaEnum()...)
	word("decimal-mark", m.Decimal, ".", ",")
	if m.Format == JSONLines || m.Format == NMEA0183 {
		if len(m.Columns) > 0 || len(m.Time.Columns) > 0 {
			add("format", "a log of %s says by itself what is where; it takes no columns and no time", m.Format)
		}
		return ps
	}
	if b := m.Between; b != "" && b != "tab" && b != "spaces" && (len(b) != 1 || b[0] < '!' && b[0] != '\t' || b[0] > '~' || b == `"`) {
		add("separator", "separator is %s; allowed: one printable ASCII character other than a quotation mark, tab, spaces", strictyaml.Quote(b))
	}
	if m.separator() == m.decimal() {
		add("decimal-mark", "decimal mark and separator are both %s; one of them must be another", strictyaml.Quote(string(m.decimal())))
	}
	if m.Skip < 0 || m.Skip > 10000 {
		add("skip-lines", "skip-lines is %d; allowed: 0 to 10000", m.Skip)
	}
	m.Time.validate(add, word)
	if len(m.Columns) == 0 {
		add("columns", "there are no columns; say where each quantity stands")
	}
	for _, name := range slices.Sorted(maps.Keys(m.Columns)) {
		m.validateColumn(name, add, word)
	}
	if (m.Columns["velocity_east"].Column == "") != (m.Columns["velocity_north"].Column == "") {
		add("columns", "velocity_east and velocity_north make speed and course together; one of them is missing")
	}
	if m.Columns["velocity_east"].Column != "" && (m.Columns["speed"].Column != "" || m.Columns["course"].Column != "") {
		add("columns", "speed and course are there twice: as such and by velocity_east and velocity_north; leave one of them out")
	}
	return ps
}

func (m *Map) validateColumn(name string, add func(string, string, ...any), word func(string, string, ...string)) {
	c, path := m.Columns[name], strictyaml.JoinPath("columns", name)
	if m.Header == NoHeader {
		if n, err := strconv.Atoi(c.Column); err != nil || n < 1 || n > maxColumns {
			add(path+".column", "column is %s; without a header columns have numbers, 1 to %d", strictyaml.Quote(c.Column), maxColumns)
		}
	}
	if name == "fix" || name == "heading_valid" {
		allowed := []string{"true", "false"}
		if name == "fix" {
			allowed = nil
			for f := wire.FixNone; f <= wire.FixSimulated; f++ {
				allowed = append(allowed, f.String())
			}
		}
		for _, text := range slices.Sorted(maps.Keys(c.Words)) {
			if !slices.Contains(allowed, c.Words[text]) {
				add(strictyaml.JoinPath(path+".words", text), "%s means %s; %s", strictyaml.Quote(text), strictyaml.Quote(c.Words[text]), strictyaml.Allowed(c.Words[text], allowed))
			}
		}
		if c.Unit+c.Positive+c.Written+c.Hemisphere+c.From != "" {
			add(path, "%s is a word: it has no unit, positive, written, hemisphere-column or from", name)
		}
		return
	}
	q, ok := quantityOf(name)
	if !ok {
		add(path, "quantity is %s; %s", strictyaml.Quote(name), strictyaml.Allowed(name, quantityNames()))
		return
	}
	word(path+".unit", c.Unit, slices.Sorted(maps.Keys(q.units))...)
	for _, x := range []struct {
		key, found string
		pair       [2]string
	}{{"positive", c.Positive, q.signs}, {"from", c.From, q.from}} {
		if x.pair[0] != "" {
			word(path+"."+x.key, x.found, x.pair[:]...)
		} else if x.found != "" {
			add(path+"."+x.key, "%s has no %s; leave it out", name, x.key)
		}
	}
	if name == "lat" || name == "lon" {
		word(path+".written", c.Written, "decimal", "degrees-minutes", "parts")
		if c.Unit != "" && c.Unit != "deg" && c.Written != "" && c.Written != "decimal" {
			add(path+".unit", "unit is %s, but what is written as %s is in degrees; leave the unit out", c.Unit, c.Written)
		}
	} else if c.Written+c.Hemisphere != "" {
		add(path, "written and hemisphere-column are of lat and lon only; leave them out")
	}
	if len(c.Words) > 0 {
		add(path+".words", "words are of fix and heading_valid only; leave them out")
	}
}

func (m *Map) separator() byte {
	switch m.Between {
	case "":
		return ','
	case "tab":
		return '\t'
	case "spaces":
		return ' '
	}
	return m.Between[0]
}

func (m *Map) decimal() byte {
	if m.Decimal == "," {
		return ','
	}
	return '.'
}

// Schema is the JSON Schema of map files.
func Schema() ([]byte, error) {
	return strictyaml.Schema(Map{}, "The map of a log: how its lines become observations")
}

// ExampleMap is a map to fill in.
//
//go:embed example-map.yaml
var ExampleMap []byte
