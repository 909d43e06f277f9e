package installation_test

import (
	"fmt"

	"swellbench/scenarios/installation"
)

// What a consumer has to know before it adds any offset.
func ExampleParse() {
	in, err := installation.Parse("launch.yaml", []byte(`points:
  sensor:          [0.35 m, -1.80 m, 0.60 m]
  antenna-primary: [-0.90 m, -3.10 m, 6.20 m]
  sonar:           [0.25 m, 2.40 m, -1.65 m]
mounting: {heading: 90 deg}
entered:
  antennas: {primary: antenna-primary}
  output-point: sensor
expected-of-consumer: {output-point: sonar}
`))
	if err != nil {
		fmt.Println(err)
		return
	}
	r := in.Reported()
	_, want := in.ExpectedPoint()
	fmt.Printf("position of %s, heave of %s, to deliver: %s\n", r.PositionName, r.HeaveName, want)
	fmt.Printf("attitude of the vessel: %v\n", r.AttitudeOfVessel)
	// Output:
	// position of sensor, heave of sensor, to deliver: sonar
	// attitude of the vessel: false
}
