package gnss

import (
	"fmt"
	"math"
	"strings"
)

// semInclination is what the inclination of the form counts from, in semicircles (IS-GPS-200, table 20-VI).
const semInclination = 0.30

// maxWords bounds the numbers of a SEM file: a title of a few words, two numbers, 14 a satellite.
const maxWords = 32 + 14*MaxSatellites

// readSEM reads free-format numbers: how many satellites and a title on the first line, week and time of applicability
// on the second, then for each satellite its PRN, SVN, range accuracy, eccentricity, inclination offset, rate of right
// ascension, root of the axis, node, perigee, mean anomaly, af0, af1, health and configuration. Angles are in
// semicircles.
//
// Source: the SEM almanac description of the US Coast Guard Navigation Center (from memory).
func readSEM(l *lines) ([]Entry, error) {
	head, err := l.semLine("the number of satellites and a title")
	if err != nil {
		return nil, err
	}
	count, err := l.whole("the number of satellites", head[0])
	if err != nil {
		return nil, err
	}
	if count < 1 || count > MaxSatellites {
		return nil, l.fail(fmt.Sprintf("the number of satellites is %d", count), fmt.Sprintf("1 to %d", MaxSatellites))
	}
	head, err = l.semLine("week and time of applicability")
	if err != nil {
		return nil, err
	}
	if len(head) != 2 {
		return nil, l.fail(fmt.Sprintf("the line has %d numbers", len(head)), "week and time of applicability")
	}
	week, err := l.whole("week", head[0])
	if err != nil {
		return nil, err
	}
	toa, err := l.number("time of applicability", head[1])
	if err != nil {
		return nil, err
	}

	var entries []Entry
	var words []string // of the line in hand, not used yet
	number := func(name string) (float64, error) {
		for len(words) == 0 {
			var err error
			if words, err = l.semLine(name); err != nil {
				return 0, err
			}
		}
		w := words[0]
		words = words[1:]
		return l.number(name, w)
	}
	for range count {
		e := Entry{Week: week, Applicable: toa}
		var whole [5]float64
		for i, f := range []struct {
			name  string
			put   *float64
			scale float64
		}{
			{"PRN", &whole[0], 1}, {"SVN", &whole[1], 1}, {"range accuracy", &whole[2], 1},
			{"eccentricity", &e.Eccentricity, 1},
			{"inclination offset", &e.Inclination, math.Pi},
			{"rate of right ascension", &e.NodeRate, math.Pi},
			{"square root of the semi-major axis", &e.RootAxis, 1},
			{"right ascension", &e.Node, math.Pi},
			{"argument of perigee", &e.Perigee, math.Pi},
			{"mean anomaly", &e.MeanAnomaly, math.Pi},
			{"af0", &e.Af0, 1}, {"af1", &e.Af1, 1},
			{"health", &whole[3], 1}, {"configuration", &whole[4], 1},
		} {
			v, err := number(f.name)
			if err != nil {
				return nil, err
			}
			if i == 0 {
				e.Line = l.n
			}
			*f.put = v * f.scale
			if f.put == &e.Inclination {
				e.Inclination += semInclination * math.Pi
			}
		}
		for i, v := range whole {
			if v != math.Trunc(v) || math.Abs(v) > 1e6 {
				name := [...]string{"PRN", "SVN", "range accuracy", "health", "configuration"}[i]
				return nil, l.failAt(e.Line, fmt.Sprintf("%s is %g", name, v), "a whole number")
			}
		}
		e.PRN, e.Health = int(whole[0]), int(whole[3])
		if entries, err = l.accept(entries, e); err != nil {
			return nil, err
		}
	}
	if len(words) > 0 {
		return nil, l.fail("the line goes on after the last satellite", "14 numbers for each satellite")
	}
	for {
		line, ok, err := l.next()
		switch {
		case err != nil:
			return nil, err
		case !ok:
			return entries, nil
		case line != "":
			return nil, l.fail(fmt.Sprintf("more follows after the %d satellites that line 1 announces", count), "as many as announced")
		}
	}
}

// semLine gives the words of the next line that is not empty.
func (l *lines) semLine(what string) ([]string, error) {
	for {
		line, ok, err := l.next()
		if err != nil {
			return nil, err
		}
		if !ok {
			return nil, l.fail("the text ends where "+what+" should follow", "")
		}
		if words := strings.Fields(line); len(words) > maxWords {
			return nil, l.fail(fmt.Sprintf("the line has %d words", len(words)), fmt.Sprintf("at most %d", maxWords))
		} else if len(words) > 0 {
			return words, nil
		}
	}
}
