// Package ahead works on a sequence on all cores and hands it on in order.
package ahead

import (
	"iter"
	"runtime"
	"sync"
)

// Depth is how many batches are under way at most. It does not depend on the number of cores, so that what a batch may
// know of those before it does not either.
const Depth = 16

// Batches yields what fill makes, batch by batch and in order, after work was done on it. All three go on at the same
// time: fill in one goroutine, work in as many as there are cores, the loop body in the caller's.
//
// fill calls next for an empty batch, and again when it is full; nil says that no more are wanted. work is called once a
// goroutine, and the function that it returns for the batches. A batch comes back to fill when the loop body is done
// with it, as the loop body has left it: as batch k+Depth if it was batch k. So what the loop body leaves in a batch is
// known to batch k+Depth, whatever the number of cores.
func Batches[B any](fill func(next func() *B), work func() func(*B)) iter.Seq[*B] {
	type slot struct {
		batch B
		done  chan struct{}
	}
	return func(yield func(*B) bool) {
		free, todo, order := make(chan *slot, Depth), make(chan *slot, Depth), make(chan *slot, Depth)
		stop := make(chan struct{})
		for range Depth {
			free <- &slot{done: make(chan struct{}, 1)}
		}
		var wg sync.WaitGroup
		wg.Go(func() {
			defer close(order)
			defer close(todo)
			var s *slot
			next := func() *B {
				if s != nil { // there is room for all slots: this does not wait
					todo <- s
					order <- s
				}
				select {
				case s = <-free:
					return &s.batch
				case <-stop:
					s = nil
					return nil
				}
			}
			fill(next)
			if s != nil {
				todo <- s
				order <- s
			}
		})
		for range runtime.GOMAXPROCS(0) {
			wg.Go(func() {
				do := work()
				for s := range todo {
					do(&s.batch)
					s.done <- struct{}{}
				}
			})
		}
		defer wg.Wait()
		defer close(stop)
		for s := range order {
			<-s.done
			if !yield(&s.batch) {
				return
			}
			free <- s
		}
	}
}
