package inertial_test

import (
	"fmt"

	"swellbench/scenarios/frame"
	"swellbench/scenarios/geo"
	"swellbench/scenarios/inertial"
)

func Example() {
	alongside := func(float64) inertial.State {
		return inertial.State{Position: geo.Position{Lat: frame.Rad(60)}}
	}
	bias := inertial.Accelerometers{0, 100 * 9.80665e-6, 0} // 100 µg along forward
	for _, alignment := range []inertial.Alignment{inertial.SelfLevelled, inertial.Perfect} {
		n, err := inertial.New(inertial.Spec{AccelBias: &bias, Alignment: alignment}, alongside, [][2]float64{{60, 660}}, 1)
		if err != nil {
			fmt.Println(err)
			return
		}
		d := n.At(660 - 1e-6)
		fmt.Printf("%s: east %.1f m, north %.1f m after 10 minutes\n", alignment, d.PositionENU.X, d.PositionENU.Y)
	}
	// Output:
	// self-levelled: east -2.2 m, north 0.1 m after 10 minutes
	// perfect: east 4.2 m, north 168.4 m after 10 minutes
}
