package gnss

import (
	"fmt"
	"slices"
	"strings"

	"swellbench/scenarios/strictyaml"
)

// yumaKeys is what a block has, one line each, in the words the form is written in: the key up to the unit, the units
// it is seen with, and where it goes. Source: the YUMA almanac description of the US Coast Guard Navigation Center
// (from memory).
var yumaKeys = []struct {
	key   string
	units []string
	put   func(*Entry) any // *int or *float64
}{
	{"id", nil, func(e *Entry) any { return &e.PRN }},
	{"health", nil, func(e *Entry) any { return &e.Health }},
	{"eccentricity", nil, func(e *Entry) any { return &e.Eccentricity }},
	{"time of applicability", []string{"s"}, func(e *Entry) any { return &e.Applicable }},
	{"orbital inclination", []string{"rad"}, func(e *Entry) any { return &e.Inclination }},
	{"rate of right ascen", []string{"r/s", "rad/s"}, func(e *Entry) any { return &e.NodeRate }},
	{"sqrt(a)", []string{"m 1/2", "m^1/2", "m1/2"}, func(e *Entry) any { return &e.RootAxis }},
	{"right ascen at week", []string{"rad"}, func(e *Entry) any { return &e.Node }},
	{"argument of perigee", []string{"rad"}, func(e *Entry) any { return &e.Perigee }},
	{"mean anom", []string{"rad"}, func(e *Entry) any { return &e.MeanAnomaly }},
	{"af0", []string{"s"}, func(e *Entry) any { return &e.Af0 }},
	{"af1", []string{"s/s"}, func(e *Entry) any { return &e.Af1 }},
	{"week", nil, func(e *Entry) any { return &e.Week }},
}

// readYUMA reads blocks of one satellite, each begun by its ID; lines of asterisks and empty ones stand between.
func readYUMA(l *lines) ([]Entry, error) {
	var entries []Entry
	var e Entry
	var seen [16]int // the line of each key of the block
	open := false
	finish := func() error {
		if !open {
			return nil
		}
		for i, k := range yumaKeys {
			if seen[i] == 0 {
				return l.failAt(e.Line, fmt.Sprintf("PRN %d has no line %q", e.PRN, k.key), "all thirteen lines for each satellite")
			}
		}
		var err error
		entries, err = l.accept(entries, e)
		e, seen, open = Entry{}, [16]int{}, false
		return err
	}
	for {
		line, ok, err := l.next()
		if err != nil {
			return nil, err
		}
		if !ok {
			return entries, finish()
		}
		if line == "" {
			continue
		}
		if strings.HasPrefix(line, "*") {
			if err := finish(); err != nil {
				return nil, err
			}
			continue
		}
		key, value, ok := strings.Cut(line, ":")
		if !ok {
			return nil, l.fail(fmt.Sprintf("the line is %s", strictyaml.Quote(line)), `"name: value", or asterisks before a satellite`)
		}
		i, err := l.yumaKey(key)
		if err != nil {
			return nil, err
		}
		if i == 0 { // ID begins a block
			if err := finish(); err != nil {
				return nil, err
			}
			open, e.Line = true, l.n
		}
		switch {
		case !open:
			return nil, l.fail(fmt.Sprintf("%q comes before the ID of a satellite", yumaKeys[i].key), "ID first")
		case seen[i] != 0:
			return nil, l.fail(fmt.Sprintf("%q stands on line %d already", yumaKeys[i].key, seen[i]), "each line once for each satellite")
		}
		seen[i] = l.n
		value = strings.TrimSpace(value)
		switch p := yumaKeys[i].put(&e).(type) {
		case *int:
			*p, err = l.whole(yumaKeys[i].key, value)
		case *float64:
			*p, err = l.number(yumaKeys[i].key, value)
		}
		if err != nil {
			return nil, err
		}
	}
}

// yumaKey finds a key, whatever its case and the spaces within, and holds its unit against what the form has.
func (l *lines) yumaKey(key string) (int, error) {
	norm := strings.Join(strings.Fields(strings.ToLower(key)), " ")
	for i, k := range yumaKeys {
		rest, ok := strings.CutPrefix(norm, k.key)
		if !ok {
			continue
		}
		rest = strings.TrimSpace(rest)
		unit, hasUnit := strings.CutPrefix(rest, "(")
		unit = strings.TrimSpace(strings.TrimSuffix(unit, ")"))
		switch {
		case rest == "":
			return i, nil
		case hasUnit && slices.Contains(k.units, unit):
			return i, nil
		case hasUnit:
			return 0, l.fail(fmt.Sprintf("%q is in %s", k.key, strictyaml.Quote(unit)), strings.Join(append([]string{"no unit"}, k.units...), " or "))
		}
	}
	names := make([]string, len(yumaKeys))
	for i, k := range yumaKeys {
		names[i] = k.key
	}
	return 0, &AlmanacError{Form: l.form, Line: l.n,
		Found: fmt.Sprintf("unknown name %s; %s", strictyaml.Quote(key), strictyaml.Allowed(norm, names))}
}
