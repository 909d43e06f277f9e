package emulator_test

import (
	"runtime"
	"strings"
	"testing"
)

// Memory does not grow with the run: a day in waves, with an outage of half an hour, takes no more than an hour of it, and no
// more at its end than at its beginning.
func TestMemoryDoesNotGrow(t *testing.T) {
	if testing.Short() {
		t.Skip("plays hours")
	}
	const text = `
start: 2026-06-01T00:00:00Z
duration: HOURS h
installation:
  vessel: {length: 18.5 m, breadth: 5.2 m, draught: 1.4 m, displacement: 62 t}
  points: {sensor: [0.35 m, -1.8 m, 0.6 m], antenna-primary: [-0.9 m, -3.1 m, 6.2 m], antenna-secondary: [1.15 m, -2.65 m, 6.45 m]}
track: {position: {latitude: 48.6 deg, longitude: -71.2 deg}, heading: 348.3 deg, speed: 7 kn}
sea: {systems: [{spectrum: jonswap, height: 1.9 m, period: 9 s, from: 231 deg}]}
gnss: {errors: {}, conditions: [{condition: blocked, from: 600 s, until: 2400 s}]}
inertial: {grade: tactical}
device: {heave-filter: {cut-off: 60 s}}
streams: [{format: nmea0183, line: {baud: 38400}, messages: [{type: GGA, rate: 1 Hz}, {type: XDR, rate: 1 Hz}]}]
`
	heap := func() int {
		var m runtime.MemStats
		runtime.GC()
		runtime.ReadMemStats(&m)
		return int(m.HeapAlloc)
	}
	var size [2]int
	for i, hours := range []string{"1", "24"} {
		before := heap()
		d := device(t, strings.Replace(text, "HOURS", hours, 1))
		early, count := 0, 0
		for _, err := range d.Messages(0) {
			if err != nil {
				t.Fatal(err)
			}
			if count++; count == 600 {
				early = heap()
			}
			if count == 7200 { // an hour
				break
			}
		}
		late := heap()
		if late > early+100_000 {
			t.Errorf("%s h: after five minutes %d bytes are held, after an hour %d", hours, early-before, late-before)
		}
		size[i] = late - before
		runtime.KeepAlive(d)
	}
	if size[1] > size[0]+500_000 {
		t.Errorf("a day holds %d bytes, an hour %d", size[1], size[0])
	}
}
