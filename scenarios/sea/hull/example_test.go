package hull_test

import (
	"fmt"
	"math"
	"math/cmplx"

	"swellbench/scenarios/installation"
	"swellbench/scenarios/sea/hull"
	"swellbench/scenarios/units"
)

// A swell of 8 s travels east; the vessel heads north at 4 m/s, so it comes from port.
func Example() {
	gm := units.Length(0.9)
	h, err := hull.New(hull.Spec{GM: &gm}, installation.Vessel{Length: 18.5, Breadth: 5.2, Draught: 1.4, Displacement: 62000})
	if err != nil {
		fmt.Println(err)
		return
	}
	omega := 2 * math.Pi / 8
	k := omega * omega / 9.80665
	r := h.At(omega, k, 4, hull.Beta(0, math.Pi/2))
	fmt.Printf("heave %.2f m/m, leads by %.0f deg\n", cmplx.Abs(r[hull.Heave]), hull.Lead(r[hull.Heave])*180/math.Pi)
	fmt.Printf("roll %.1f deg/m, leads by %.0f deg\n", cmplx.Abs(r[hull.Roll])*180/math.Pi, hull.Lead(r[hull.Roll])*180/math.Pi)
	// Output:
	// heave 1.01 m/m, leads by -1 deg
	// roll 5.5 deg/m, leads by 81 deg
}
