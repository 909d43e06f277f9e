package trial_test

import (
	"bufio"
	"fmt"
	"math"
	"os"
	"strconv"
	"strings"
	"testing"
	"time"

	"swellbench/conformance/observe"
	"swellbench/conformance/trial"
)

// A driver that takes HDT for the heading of the vessel, where nothing was entered into the device: it forgets that the
// sentence then carries the azimuth of the baseline.
func Example() {
	t := &exampleTB{} // in a test of yours, t is what the test is given
	tr := trial.Offline(t, "circle")
	var now time.Time
	for in := bufio.NewScanner(tr.Reader()); in.Scan(); {
		f := strings.Split(strings.TrimSuffix(in.Text(), "\r"), ",")
		switch f[0] {
		case "$GPZDA":
			now, _ = time.Parse("150405.00 02 01 2006", strings.Join(f[1:5], " "))
		case "$HEHDT":
			heading, _ := strconv.ParseFloat(f[1], 64)
			tr.Observe(observe.Observation{Time: now, HeadingRad: observe.Of(heading * math.Pi / 180)})
		}
	}
	for _, r := range tr.Results("offset.baseline") {
		fmt.Println(r.Check, r.Outcome)
	}
	// Output: offset.baseline failed
}

// exampleTB stands in for a test, which an example has none of.
type exampleTB struct{ testing.TB }

func (*exampleTB) Helper()                      {}
func (*exampleTB) Fatalf(f string, args ...any) { panic(fmt.Sprintf(f, args...)) }
func (*exampleTB) TempDir() string              { return os.TempDir() }
