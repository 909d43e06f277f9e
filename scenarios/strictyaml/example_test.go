package strictyaml_test

import (
	"fmt"

	"swellbench/scenarios/strictyaml"
	"swellbench/scenarios/units"
)

// All that is wrong is told at once, each with its place; what is right is read all the same.
func ExampleDecodeBytes() {
	var v struct {
		Duration units.Duration `yaml:"duration,required"`
		Speed    units.Speed    `yaml:"speed,required"`
		Seed     uint64         `yaml:"seed"`
	}
	doc, err := strictyaml.DecodeBytes("harbour.yaml", []byte("duration: 12 min\nspeed: 8\nsed: 5\n"), &v)
	fmt.Println(err)
	fmt.Println(v.Duration)

	// Later, held against other values:
	fmt.Println(doc.Problems([]strictyaml.Problem{{Path: "duration", Text: "the run ends before the outage; make it longer"}}))
	// Output:
	// harbour.yaml:2:8: speed: 8 has no unit; write 8 kn, 8 m/s or 8 km/h
	// harbour.yaml:3:1: the key sed is not known here; did you mean seed? allowed: duration, speed, seed
	// 720 s
	// harbour.yaml:1:11: the run ends before the outage; make it longer
}
