package ahead_test

import (
	"runtime"
	"slices"
	"testing"
	"time"

	"swellbench/scenarios/ahead"
)

type batch struct {
	numbers []int
	before  int // batches that the loop body had seen when this one was filled
}

// squares runs through the squares of the numbers up to n; it gives the sums of them, and what each batch knew.
func squares(n, enough int) (all, knew []int) {
	k, seen := 0, 0
	fill := func(next func() *batch) {
		b := next()
		for k < n && b != nil {
			if len(b.numbers) == 7 {
				if b = next(); b == nil {
					return
				}
				b.numbers = b.numbers[:0]
			}
			k++
			b.numbers = append(b.numbers, k)
		}
	}
	work := func() func(*batch) {
		return func(b *batch) {
			for i, x := range b.numbers {
				b.numbers[i] = x * x
			}
		}
	}
	for b := range ahead.Batches(fill, work) {
		all, knew = append(all, b.numbers...), append(knew, b.before)
		seen++
		b.before = seen
		if enough > 0 && seen == enough {
			break
		}
	}
	return all, knew
}

// TestOrder: what comes out is in order, and what a batch knows of those before it is the same with one core and with
// many.
func TestOrder(t *testing.T) {
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(0))
	var first []int
	for _, cores := range []int{1, 2, 8} {
		runtime.GOMAXPROCS(cores)
		all, knew := squares(2000, 0)
		if len(all) != 2000 || all[0] != 1 || all[1999] != 4000000 || !slices.IsSorted(all) {
			t.Fatalf("%d cores: %d squares, out of order or wrong", cores, len(all))
		}
		if first == nil {
			first = knew
		}
		if !slices.Equal(knew, first) || knew[ahead.Depth-1] != 0 || knew[ahead.Depth] != 1 {
			t.Errorf("%d cores: batches knew %v, with one %v", cores, knew, first)
		}
	}
}

// TestStop: whoever has enough gets no more, and no goroutine stays behind.
func TestStop(t *testing.T) {
	before := runtime.NumGoroutine()
	if all, _ := squares(1e6, 3); len(all) != 21 {
		t.Errorf("%d squares of three batches", len(all))
	}
	for range 1000 { // those that are done may still be on their way out
		if runtime.NumGoroutine() <= before {
			break
		}
		runtime.Gosched()
		time.Sleep(time.Millisecond)
	}
	if n := runtime.NumGoroutine(); n > before {
		t.Errorf("%d goroutines, %d before", n, before)
	}
	if all, _ := squares(0, 0); len(all) != 0 {
		t.Errorf("%v of nothing", all)
	}
}
