package gnss

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"
	"unicode/utf8"

	"gonum.org/v1/gonum/spatial/r3"

	"swellbench/scenarios/strictyaml"
	"swellbench/scenarios/utc"
)

// Bounds of what an almanac file may be. Files are untrusted.
const (
	maxAlmanacBytes = 1 << 20
	maxAlmanacLine  = 200 // bytes
	maxPRN          = 63  // of the six bits that IS-GPS-200 has for a satellite's number
)

// AlmanacForms is the table of almanac forms.
var AlmanacForms = []struct {
	Name AlmanacForm
	What string
	read func(*lines) ([]Entry, error)
}{
	{YUMA, "text, one line for each number with its name", readYUMA},
	{SEM, "text, numbers only, angles in semicircles", readSEM},
}

// AlmanacForm is a name of the table [AlmanacForms].
type AlmanacForm string

// The forms.
const (
	YUMA AlmanacForm = "yuma"
	SEM  AlmanacForm = "sem"
)

// SchemaEnum lists the names.
func (AlmanacForm) SchemaEnum() []string {
	var names []string
	for _, f := range AlmanacForms {
		names = append(names, string(f.Name))
	}
	return names
}

// An Entry is what an almanac says of one satellite.
type Entry struct {
	PRN          int
	Health       int
	Week         int     // as the file has it, most often modulo 1024
	Applicable   float64 // time of applicability, s of the week
	Eccentricity float64
	Inclination  float64 // rad
	NodeRate     float64 // rate of right ascension, rad/s
	RootAxis     float64 // square root of the semi-major axis, m^½
	Node         float64 // right ascension at the week's start, from Greenwich, rad
	Perigee      float64 // argument of perigee, rad
	MeanAnomaly  float64 // rad
	Af0          float64 // s
	Af1          float64 // s/s
	Line         int     // where it begins in the file
}

// An AlmanacError says what is wrong with an almanac, and where.
type AlmanacError struct {
	Form    AlmanacForm
	Line    int // from 1
	Found   string
	Allowed string // or what to do; may be ""
}

func (e *AlmanacError) Error() string {
	s := fmt.Sprintf("%s almanac, line %d: %s", e.Form, e.Line, e.Found)
	if e.Allowed != "" {
		s += "; allowed: " + e.Allowed
	}
	return s
}

// ReadAlmanac reads the text of an almanac. The first thing wrong ends it, with its line.
func ReadAlmanac(form AlmanacForm, text string) ([]Entry, error) {
	for _, f := range AlmanacForms {
		if f.Name != form {
			continue
		}
		l := &lines{form: form, rest: strings.TrimPrefix(text, "\ufeff")}
		if len(text) > maxAlmanacBytes {
			return nil, l.fail(fmt.Sprintf("the text has %d bytes", len(text)), fmt.Sprintf("at most %d", maxAlmanacBytes))
		}
		entries, err := f.read(l)
		if err != nil {
			return nil, err
		}
		if len(entries) == 0 {
			return nil, l.fail("there is no satellite", "an almanac with at least one")
		}
		return entries, nil
	}
	return nil, fmt.Errorf("unknown almanac form %s; %s", strictyaml.Quote(string(form)), strictyaml.Allowed(string(form), form.SchemaEnum()))
}

// Satellites makes a constellation of almanac entries. Weeks modulo 1024 are taken as those nearest to about. A
// satellite with a health other than 0 is in view but not used.
//
// Source: IS-GPS-200, 20.3.3.5.2 and table 20-IV: n = √(μ/A³) with its own μ; the node stands at
// Ω0 + (Ω̇ − Ω̇e)(t − toa) − Ω̇e·toa.
func Satellites(entries []Entry, about time.Time) []Satellite {
	table := utc.Leaps
	leap := table.GPSMinusUTC(table.GPS(utc.LabelOf(about))).Seconds()
	now := int(math.Floor((unixSeconds(about) + leap - gpsEpochUnix) / secondsInWeek))
	sats := make([]Satellite, 0, len(entries))
	for _, e := range entries {
		week := e.Week
		if week < weeksInEra {
			week = utc.NearestWeek(week, now)
		}
		a := e.RootAxis * e.RootAxis
		sats = append(sats, Satellite{PRN: e.PRN, Healthy: e.Health == 0, Orbit: Orbit{
			SemiMajorM:    a,
			Eccentricity:  e.Eccentricity,
			Inclination:   e.Inclination,
			MeanMotion:    math.Sqrt(gravitationalGPS/a) / a,
			NodeLongitude: e.Node - earthRotationRadS*e.Applicable,
			NodeRate:      e.NodeRate - earthRotationRadS,
			Perigee:       e.Perigee,
			MeanAnomaly:   e.MeanAnomaly,
			EpochUnix:     gpsEpochUnix + float64(week)*secondsInWeek + e.Applicable - leap,
		}})
	}
	slices.SortFunc(sats, func(a, b Satellite) int { return cmp.Compare(a.PRN, b.PRN) })
	return sats
}

// Position returns where the satellite stands at an instant, in m in Earth-centred, Earth-fixed axes.
func (s Satellite) Position(at time.Time) r3.Vec { return s.Orbit.At(unixSeconds(at)) }

// check returns the first thing wrong with an entry: its name and limits. Limits are wider than those of the navigation
// message (IS-GPS-200, table 20-VI) where other satellites use the same form.
func (e *Entry) check() (found, allowed string) {
	const turn = 2*math.Pi + 1e-9
	for _, v := range []struct {
		name          string
		value, lo, hi float64
		unit          string
	}{
		{"week", float64(e.Week), 0, 8191, ""},
		{"health", float64(e.Health), 0, 511, ""},
		{"time of applicability", e.Applicable, 0, secondsInWeek, " s"},
		{"eccentricity", e.Eccentricity, 0, 0.5, ""},
		{"inclination", e.Inclination, 0, math.Pi, " rad"},
		{"rate of right ascension", e.NodeRate, -1e-6, 1e-6, " rad/s"},
		{"square root of the semi-major axis", e.RootAxis, 2550, 8192, " m^1/2"}, // above the ground; 13 bits
		{"right ascension", e.Node, -turn, turn, " rad"},
		{"argument of perigee", e.Perigee, -turn, turn, " rad"},
		{"mean anomaly", e.MeanAnomaly, -turn, turn, " rad"},
		{"clock offset af0", e.Af0, -1, 1, " s"},
		{"clock drift af1", e.Af1, -1e-3, 1e-3, " s/s"},
	} {
		if !(v.value >= v.lo && v.value <= v.hi) {
			return fmt.Sprintf("%s is %.10g%s", v.name, v.value, v.unit), fmt.Sprintf("%.4g to %.4g%s", v.lo, v.hi, v.unit)
		}
	}
	if a := e.RootAxis * e.RootAxis; a*(1-e.Eccentricity) < 6.4e6 {
		return fmt.Sprintf("the orbit of PRN %d reaches down to %.0f km from the centre of the Earth", e.PRN, a*(1-e.Eccentricity)/1e3), "one above the ground"
	}
	return "", ""
}

// accept checks an entry against its limits and those before it, and appends it.
func (l *lines) accept(entries []Entry, e Entry) ([]Entry, error) {
	if e.PRN < 1 || e.PRN > maxPRN {
		return nil, l.failAt(e.Line, fmt.Sprintf("the satellite's number is %d", e.PRN), fmt.Sprintf("1 to %d", maxPRN))
	}
	if found, allowed := e.check(); found != "" {
		return nil, l.failAt(e.Line, fmt.Sprintf("PRN %d: %s", e.PRN, found), allowed)
	}
	for _, o := range entries {
		if o.PRN == e.PRN {
			return nil, l.failAt(e.Line, fmt.Sprintf("PRN %d stands on line %d already", e.PRN, o.Line), "each satellite once")
		}
	}
	return append(entries, e), nil
}

// lines hands out the lines of a text, counted.
type lines struct {
	form AlmanacForm
	rest string
	n    int // number of the line handed out last
}

// next gives the next line without the space around it; false at the end.
func (l *lines) next() (string, bool, error) {
	if l.rest == "" {
		return "", false, nil
	}
	line, rest, _ := strings.Cut(l.rest, "\n")
	l.rest = rest
	l.n++
	if len(line) > maxAlmanacLine {
		return "", false, l.fail(fmt.Sprintf("the line has %d bytes", len(line)), fmt.Sprintf("at most %d", maxAlmanacLine))
	}
	if !utf8.ValidString(line) || strings.ContainsRune(line, 0) {
		return "", false, l.fail("the line is no text", "a text file as the form has it")
	}
	return strings.TrimSpace(line), true, nil
}

func (l *lines) fail(found, allowed string) error { return l.failAt(max(l.n, 1), found, allowed) }

func (l *lines) failAt(line int, found, allowed string) error {
	return &AlmanacError{Form: l.form, Line: line, Found: found, Allowed: allowed}
}

// number reads a finite decimal number; some writers put a D for the exponent.
func (l *lines) number(name, s string) (float64, error) {
	v, err := strconv.ParseFloat(strings.NewReplacer("D", "E", "d", "e").Replace(s), 64)
	if err != nil || math.IsNaN(v) || math.IsInf(v, 0) || strings.ContainsAny(s, "xX_") {
		return 0, l.fail(fmt.Sprintf("%s is %s", name, strictyaml.Quote(s)), "a number such as 0.53E-02")
	}
	return v, nil
}

// whole reads a whole number.
func (l *lines) whole(name, s string) (int, error) {
	v, err := strconv.Atoi(s)
	if err != nil {
		return 0, l.fail(fmt.Sprintf("%s is %s", name, strictyaml.Quote(s)), "a whole number")
	}
	return v, nil
}
