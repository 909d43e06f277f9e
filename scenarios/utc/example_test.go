package utc_test

import (
	"fmt"
	"time"

	"swellbench/scenarios/utc"
)

// GPS time runs on through the leap second; UTC labels it 23:59:60.
func Example() {
	eve, err := utc.ParseLabel("2016-12-31T23:59:59Z")
	if err != nil {
		fmt.Println(err)
		return
	}
	for g := utc.Leaps.GPS(eve); g <= utc.Leaps.GPS(eve).Add(2*time.Second); g = g.Add(time.Second) {
		week, ofWeek := g.Week()
		fmt.Println(week, ofWeek, utc.Leaps.Label(g))
	}
	// Output:
	// 1930 16s 2016-12-31T23:59:59Z
	// 1930 17s 2016-12-31T23:59:60Z
	// 1930 18s 2017-01-01T00:00:00Z
}
