package installation

import (
	"fmt"
	"io"
	"maps"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"swellbench/scenarios/units"
)

// WriteYAML writes the installation as [Installation.Append] does.
func (in *Installation) WriteYAML(w io.Writer) error {
	_, err := w.Write(in.Append(nil))
	return err
}

// Append adds the installation file to dst: one that [Parse] reads back with the very same values. The points
// with a meaning come first, the others by name.
func (in *Installation) Append(dst []byte) []byte {
	line := func(key, value, comment string) {
		if key += ": " + value; comment != "" {
			key = fmt.Sprintf("%-28s # %s", strings.TrimSuffix(key, " "), comment)
		}
		dst = append(dst, key...)
		dst = append(dst, '\n')
	}
	v := in.Vessel
	if v != (Vessel{}) {
		line("vessel", flow(
			pair("length", v.Length.In("m"), v.Length != 0), pair("breadth", v.Breadth.In("m"), v.Breadth != 0),
			pair("draught", v.Draught.In("m"), v.Draught != 0), pair("displacement", v.Displacement.String(), v.Displacement != 0)), "")
	}
	if len(in.Points) == 0 {
		line("points", "{}", "")
	} else {
		line("points", "", "right, forward, up from the vessel reference point")
	}
	names := in.Names()
	longest := 0
	for _, n := range names {
		longest = max(longest, utf8.RuneCountInString(scalar(n)))
	}
	for _, n := range names {
		dst = fmt.Appendf(dst, "  %-*s %s\n", longest+1, scalar(n)+":", in.Points[n])
	}
	line("mounting", in.Mounting.flow(true), "")
	if e := in.Entered; e != (Entered{}) {
		line("entered", "", "what was typed into the device")
		if e.Mounting != nil {
			line("  mounting", e.Mounting.flow(false), "")
		}
		if a := e.Antennas; a != nil {
			line("  antennas", flow(pair("axes", string(a.Axes), a.Axes != ""), pair("from", string(a.From), a.From != ""),
				pair("primary", a.Primary.text(), a.Primary != nil), pair("secondary", a.Secondary.text(), a.Secondary != nil)), "")
		}
		if b := e.Baseline; b != nil {
			line("  baseline", flow(pair("azimuth", b.Azimuth.In("deg"), true), pair("elevation", b.Elevation.In("deg"), true),
				pair("length", b.Length.In("m"), true)), "")
		}
		if e.Sensor != nil {
			line("  sensor", e.Sensor.text(), "")
		}
		if e.OutputPoint != nil {
			line("  output-point", e.OutputPoint.text(), "")
		}
	}
	if p := in.Expected.OutputPoint; p != "" {
		line("expected-of-consumer", "", "what the consumer must still apply")
		line("  output-point", scalar(p), "")
	}
	return dst
}

// Names lists the points in the file: those with a meaning first, the others by name.
func (in *Installation) Names() []string {
	var names []string
	for _, n := range []string{Sensor, AntennaPrimary, AntennaSecondary} {
		if _, ok := in.Points[n]; ok {
			names = append(names, n)
		}
	}
	for _, n := range slices.Sorted(maps.Keys(in.Points)) {
		if !slices.Contains(names, n) {
			names = append(names, n)
		}
	}
	return names
}

// String writes the vector as files have it: in m, to the centimetre at least.
func (v Vector) String() string {
	return "[" + metres(v[0]) + ", " + metres(v[1]) + ", " + metres(v[2]) + "]"
}

// metres writes a length with two decimals or more.
func metres(l units.Length) string {
	number := strings.TrimSuffix(l.In("m"), " m")
	if strings.ContainsAny(number, "eNI") {
		return number + " m"
	}
	whole, frac, _ := strings.Cut(number, ".")
	return whole + "." + frac + strings.Repeat("0", max(0, 2-len(frac))) + " m"
}

// flow writes the angles: all of them, or those that are not zero.
func (m Mounting) flow(all bool) string {
	return flow(pair("heading", m.Heading.In("deg"), all || m.Heading != 0 || m == Mounting{}),
		pair("pitch", m.Pitch.In("deg"), all || m.Pitch != 0), pair("roll", m.Roll.In("deg"), all || m.Roll != 0))
}

// text writes a place.
func (p *Place) text() string {
	switch {
	case p == nil:
		return ""
	case p.Name != "":
		return scalar(p.Name)
	}
	return p.Vector.String()
}

// pair is a key and its value, or "" where it is left out.
func pair(key, value string, present bool) string {
	if !present {
		return ""
	}
	return key + ": " + value
}

// flow writes a mapping on one line.
func flow(pairs ...string) string {
	return "{" + strings.Join(slices.DeleteFunc(pairs, func(s string) bool { return s == "" }), ", ") + "}"
}

var plain = regexp.MustCompile(`^[A-Za-z][A-Za-z0-9_-]*$`)

// scalar writes a name, in quotes where YAML might take it for something else.
func scalar(s string) string {
	switch strings.ToLower(s) {
	case "null", "true", "false", "yes", "no", "on", "off", "y", "n":
		return strconv.Quote(s)
	}
	if plain.MatchString(s) {
		return s
	}
	return strconv.Quote(strings.ToValidUTF8(s, "\ufffd"))
}
