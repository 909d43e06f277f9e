package heave_test

import (
	"fmt"
	"math"

	"swellbench/scenarios/frame"
	"swellbench/scenarios/heave"
)

func Example() {
	f, err := heave.New(2, 20)
	if err != nil {
		fmt.Println(err)
		return
	}
	e := f.At(8)
	fmt.Printf("gain %.3f, leads by %.1f°, wrong by %.2f of the amplitude\n", e.Gain, frame.Deg(e.Lead), e.Error)

	swell := func(t float64) heave.Motion { return heave.Motion{HeaveM: math.Sin(2 * math.Pi * t / 8)} }
	o := heave.NewOutput(f, swell)
	fmt.Printf("at 10 s: true %.3f m, real-time %.3f m, delayed %.3f m\n", swell(10).HeaveM, o.At(10).HeaveM, o.Delayed(10).HeaveM)
	// Output:
	// gain 0.987, leads by 34.0°, wrong by 0.58 of the amplitude
	// at 10 s: true 1.000 m, real-time 0.819 m, delayed 0.975 m
}
