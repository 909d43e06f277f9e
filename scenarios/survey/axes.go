package survey

import (
	"fmt"
	"slices"
	"strings"

	"gonum.org/v1/gonum/spatial/r3"

	"swellbench/scenarios/strictyaml"
)

// Axes is along which axes coordinates count, in words: three directions of the vessel such as "forward-right-down",
// three of a levelled total station such as "north-east-up" (its north need not be true), or "free" for right-handed
// and "free-left-handed" for left-handed axes in any direction. The words, not the order, say which hand they have.
type Axes string

// The usual axes.
const (
	RightForwardUp   Axes = "right-forward-up"
	ForwardRightDown Axes = "forward-right-down"
	ForwardLeftUp    Axes = "forward-left-up"
	Free             Axes = "free"
	FreeLeftHanded   Axes = "free-left-handed"
)

// direction is one word: which of the three axes, and to which side.
type direction struct {
	axis int
	sign float64
}

var vesselWords = map[string]direction{
	"right": {0, 1}, "left": {0, -1}, "forward": {1, 1}, "aft": {1, -1}, "up": {2, 1}, "down": {2, -1},
}

var stationWords = map[string]direction{
	"east": {0, 1}, "west": {0, -1}, "north": {1, 1}, "south": {1, -1}, "up": {2, 1}, "down": {2, -1},
}

// A layout is what axes mean: canonical (right-handed) component = sign × the component called for.
type layout struct {
	from    [3]int     // canonical component i is component from[i] as written
	sign    [3]float64 // times this
	station bool       // canonical is east, north, up of the station or free; else right, forward, up
	free    bool
	words   [3]string
}

// vec brings coordinates as written to the canonical axes.
func (l layout) vec(v [3]float64) r3.Vec {
	return r3.Vec{X: l.sign[0] * v[l.from[0]], Y: l.sign[1] * v[l.from[1]], Z: l.sign[2] * v[l.from[2]]}
}

// layout reads the words.
func (a Axes) layout() (layout, bool) {
	id := layout{from: [3]int{0, 1, 2}, sign: [3]float64{1, 1, 1}, station: true, free: true, words: [3]string{"x", "y", "z"}}
	switch a {
	case Free:
		return id, true
	case FreeLeftHanded: // with x and y swapped they are right-handed
		id.from = [3]int{1, 0, 2}
		return id, true
	}
	parts := strings.Split(string(a), "-")
	if len(parts) != 3 {
		return layout{}, false
	}
	for _, words := range []map[string]direction{vesselWords, stationWords} {
		l, seen := layout{station: words["east"] != direction{}}, [3]bool{}
		ok := true
		for i, p := range parts {
			d, known := words[p]
			if !known || seen[d.axis] {
				ok = false
				break
			}
			seen[d.axis] = true
			l.from[d.axis], l.sign[d.axis], l.words[i] = i, d.sign, p
		}
		if ok {
			return l, true
		}
	}
	return layout{}, false
}

// vessel reads the words where only those of the vessel, or of the device's own axes, are allowed.
func (a Axes) vessel() (layout, bool) {
	l, ok := a.layout()
	return l, ok && !l.station
}

// allAxes lists every wording.
func allAxes() []string {
	var out []string
	for _, sides := range [][3][2]string{
		{{"right", "left"}, {"forward", "aft"}, {"up", "down"}},
		{{"east", "west"}, {"north", "south"}, {"up", "down"}},
	} {
		for _, order := range [][3]int{{0, 1, 2}, {0, 2, 1}, {1, 0, 2}, {1, 2, 0}, {2, 0, 1}, {2, 1, 0}} {
			for k := range 8 {
				out = append(out, sides[order[0]][k>>2&1]+"-"+sides[order[1]][k>>1&1]+"-"+sides[order[2]][k&1])
			}
		}
	}
	return append(out, string(Free), string(FreeLeftHanded))
}

const axesAllowed = "allowed: three directions in the order of the coordinates, such as right-forward-up, forward-right-down, " +
	"forward-left-up; of a levelled total station north-east-up or east-north-up; free, or free-left-handed"

// UnmarshalText reads the words.
func (a *Axes) UnmarshalText(b []byte) error {
	if _, ok := Axes(b).layout(); !ok {
		return fmt.Errorf("axes are %s; %s", strictyaml.Quote(string(b)), axesAllowed)
	}
	*a = Axes(b)
	return nil
}

// SchemaPattern gives the wordings, for the JSON Schema.
func (Axes) SchemaPattern() (string, []string) {
	words := allAxes()
	slices.Sort(words)
	return "^(" + strings.Join(words, "|") + ")$", []string{string(RightForwardUp), string(ForwardRightDown), string(ForwardLeftUp), "north-east-up", string(Free)}
}
