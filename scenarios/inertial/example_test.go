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
		fmt.Printf("%s: north %.1f m ± %.1f m after 10 minutes\n", alignment, d.PositionENU.Y, d.Sigma.PositionENU.Y)
	}
	// Output:
	// self-levelled: north 1.9 m ± 1.9 m after 10 minutes
	// perfect: north 168.4 m ± 168.4 m after 10 minutes
}
