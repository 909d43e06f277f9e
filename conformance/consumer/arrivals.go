package consumer

import "time"

// Arrivals remember when the last bytes of the stream came.
type arrivals struct {
	marks  []mark
	offset int64 // bytes so far
}

// A mark says when the byte at an offset of the stream came.
type mark struct {
	offset int64
	at     time.Time
}

// came notes that n more bytes came. What lies more than keep bytes before them is of no use any more.
func (a *arrivals) came(n int, at time.Time, keep int64) {
	drop := 0
	for drop+1 < len(a.marks) && a.marks[drop+1].offset <= a.offset-keep {
		drop++
	}
	a.marks = append(a.marks[:0], a.marks[drop:]...)
	a.marks = append(a.marks, mark{a.offset, at})
	a.offset += int64(n)
}

// of tells when the byte at an offset came, and when the latest did.
func (a *arrivals) of(offset int64) (first, last time.Time) {
	last = a.marks[len(a.marks)-1].at
	first = last
	for i := len(a.marks) - 1; i >= 0; i-- {
		if first = a.marks[i].at; a.marks[i].offset <= offset {
			break
		}
	}
	return first, last
}
