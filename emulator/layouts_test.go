package emulator_test

import (
	"slices"
	"strings"
	"testing"
	"testing/fstest"
	"time"

	"swellbench/emulator"
	"swellbench/emulator/wire/layout"
	"swellbench/scenarios"
)

func layoutDevice(t *testing.T, scenario string) *emulator.Device {
	t.Helper()
	tilt, err := layout.Examples.ReadFile("examples/quay-tilt.yaml")
	if err != nil {
		t.Fatal(err)
	}
	fsys := fstest.MapFS{"dir/s.yaml": {Data: []byte(scenario)}, "dir/sub/tilt.yaml": {Data: tilt}}
	sc, err := scenarios.LoadFS(fsys, "dir/s.yaml")
	if err != nil {
		t.Fatal(err)
	}
	d, err := emulator.New(sc)
	if err != nil {
		t.Fatal(err)
	}
	return d
}

const layoutScenario = `start: 2026-06-01T12:00:00Z
duration: 10 s
track: {position: {latitude: 54.2 deg, longitude: -3.7 deg}}
installation: {points: {sensor: [0 m, 0 m, 0 m], antenna-primary: [1 m, 2 m, 3 m]}}
device: {start-up: {streaming: when-asked}}
streams:
  - format: layout
    layout: sub/tilt.yaml
    line: {baud: 38400}
    messages: [{type: TILT, rate: 5 Hz}]
`

// A sensor described by a file streams when its own words ask it to, and answers as the file says.
func TestLayoutRequests(t *testing.T) {
	lines, _ := hearDevice(t, layoutDevice(t, layoutScenario), map[time.Duration]string{
		time.Second: "?T\r", 2500 * time.Millisecond: "noise!RUN05\r", 4500 * time.Millisecond: "!HALT\r", 6 * time.Second: "!RUNxx\r"})
	ok := slices.Index(lines, "OK")
	if ok != 1 || !strings.HasPrefix(lines[0], "@TILT,120001.00,") {
		t.Fatalf("%q", lines)
	}
	if n := len(lines) - 2; n != 10 || !strings.HasPrefix(lines[2], "@TILT,120002.60,") {
		t.Errorf("%d messages in two seconds at 5 Hz: %q", n, lines)
	}
}

// A scenario that came without a folder has no layout file, and says so.
func TestLayoutWithoutFolder(t *testing.T) {
	sc, err := scenarios.Parse("test.yaml", []byte(layoutScenario))
	if err != nil {
		t.Fatal(err)
	}
	_, err = emulator.New(sc)
	if want := "test.yaml:8:13: its layout file cannot be read: the scenario came without a folder; load it from a file"; err == nil || err.Error() != want {
		t.Errorf("%v\nwant %s", err, want)
	}
}
