package waves_test

import (
	"fmt"
	"math"

	"swellbench/scenarios/sea/waves"
)

// A wind sea from the south-west, and how a buoy that follows the surface moves in it.
func Example() {
	sea, err := waves.New(waves.Spec{Systems: []waves.System{
		{Spectrum: waves.Jonswap, Height: 1.5, Period: 6, Gamma: 3.3, From: 225 * math.Pi / 180},
	}}, 1, 600)
	if err != nil {
		fmt.Println(err)
		return
	}
	buoy := waves.NewSum(sea.Components(),
		func(int, float64) [waves.Channels]complex128 { return [waves.Channels]complex128{2: 1} }, // heave follows
		func(float64) waves.Place { return waves.Place{} },                                        // moored
		waves.Options{})
	heave := buoy.At(42)
	fmt.Printf("Hs %.2f m, Tz %.1f s\n", sea.HsM(), sea.TzS())
	fmt.Println("rises or falls:", heave.Rate[2] != 0)
	// Output:
	// Hs 1.50 m, Tz 4.7 s
	// rises or falls: true
}
