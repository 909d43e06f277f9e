package survey

import (
	"fmt"
	"math"
	"strings"

	"gonum.org/v1/gonum/spatial/r3"

	"swellbench/scenarios/frame"
)

// place says in words where a point is on the vessel: "0.35 m to starboard, 1.80 m aft, 0.60 m above the reference
// point".
func place(v r3.Vec, of string) string {
	return along(v, [3][2]string{{"to starboard", "to port"}, {"forward", "aft"}, {"above", "below"}}, of)
}

// deviceWords says the same along the device's own axes, from its centre.
func deviceWords(v r3.Vec) string {
	return along(v, [3][2]string{{"along its right axis", "against its right axis"}, {"along its forward axis", "against its forward axis"},
		{"along its up axis", "against its up axis"}}, "")
}

func along(v r3.Vec, words [3][2]string, of string) string {
	var parts []string
	vertical := false
	for i, x := range []float64{v.X, v.Y, v.Z} {
		if math.Abs(x) < 0.005 {
			continue // to the centimetre it is nothing
		}
		vertical = i == 2
		w := words[i][0]
		if x < 0 {
			w = words[i][1]
		}
		parts = append(parts, fmt.Sprintf("%.2f m %s", math.Abs(x), w))
	}
	switch {
	case of == "" && parts == nil:
		return "at its centre"
	case of == "":
		return strings.Join(parts, ", ")
	case parts == nil:
		return "at " + of
	case vertical:
		return strings.Join(parts, ", ") + " " + of
	}
	return strings.Join(parts, ", ") + " of " + of
}

// mountWords says how the device stands: "turned 31.00 deg clockwise seen from above, forward axis lowered 7.00 deg,
// right axis lowered 4.00 deg".
func mountWords(a frame.Attitude) string {
	var parts []string
	add := func(x float64, more, less string) {
		x = frame.Deg(x)
		switch {
		case x >= 0.005:
			parts = append(parts, fmt.Sprintf(more, x))
		case x <= -0.005:
			parts = append(parts, fmt.Sprintf(less, -x))
		}
	}
	add(frame.WrapPi(a.Heading), "turned %.2f deg clockwise seen from above", "turned %.2f deg counter-clockwise seen from above")
	add(a.Pitch, "then its forward axis raised %.2f deg", "then its forward axis lowered %.2f deg")
	add(a.Roll, "then its right axis lowered %.2f deg", "then its right axis raised %.2f deg")
	if parts == nil {
		return "aligned with the vessel"
	}
	parts[0] = strings.TrimPrefix(parts[0], "then ")
	return strings.Join(parts, ", ")
}
