package emulator_test

import (
	"strings"
	"testing"
)

// BenchmarkIdeal is all that the device knows at one instant, in order at 100 Hz: track, sea of 200 components, hull,
// velocity, acceleration, rates, sky, receiver, inertial sensor.
func BenchmarkIdeal(b *testing.B) {
	text := strings.NewReplacer("duration: 10 s", "duration: 3600 s", "motion:", "sea: {systems: [{spectrum: jonswap, from: 200 deg, height: 1.4 m, period: 5.5 s}]}\nmotion:").Replace(head) +
		strings.Replace(points, "installation:\n", "installation:\n  vessel: {length: 18.5 m, breadth: 5.2 m, draught: 1.4 m, displacement: 62 t}\n", 1) +
		"gnss: {errors: {}, conditions: [{condition: blocked, from: 100 s, until: 400 s}]}\ninertial: {grade: tactical}\n"
	d := device(b, text)
	b.ReportAllocs()
	k := 0
	for b.Loop() {
		d.Ideal(float64(k%360000) / 100)
		k++
	}
	b.ReportMetric(float64(b.N)/100/b.Elapsed().Seconds(), "x-real-time")
}
