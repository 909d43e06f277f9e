package receiver_test

import (
	"fmt"
	"time"

	"swellbench/scenarios/receiver"
)

// A receiver that has just been switched on shows GPS time as UTC, here 18 s ahead, until the navigation message tells
// it the offset.
func Example() {
	spec := receiver.Spec{Starts: []receiver.StartUp{{TimeAfter: 5, OffsetAfter: 40}}}
	clock, err := receiver.New(spec, time.Date(2026, time.June, 1, 12, 0, 0, 0, time.UTC), 1)
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, t := range []float64{0, 10, 60} {
		if stamp, ok := clock.At(t).Value(); ok {
			fmt.Println(clock.Timeline().Label(t), "is stamped", stamp.Label)
		} else {
			fmt.Println(clock.Timeline().Label(t), "has no stamp")
		}
	}
	// Output:
	// 2026-06-01T12:00:00Z has no stamp
	// 2026-06-01T12:00:10Z is stamped 2026-06-01T12:00:28Z
	// 2026-06-01T12:01:00Z is stamped 2026-06-01T12:01:00Z
}
