package line

import (
	"fmt"
	"math"
	"math/bits"
	"time"
)

const (
	subBits = 3            // 8 buckets an octave: a bucket is at most an eighth wide
	octaves = 40 - subBits // the last ends at 2^40 ns, some 18 minutes
	buckets = (octaves + 1) << subBits
)

// A Histogram counts durations in buckets whose width grows with the duration: memory does not grow with the run,
// and a quantile is at most 12.5 % too large. The zero Histogram is empty. It is not safe for concurrent use.
type Histogram struct {
	counts [buckets]uint64
	n      uint64
	max    time.Duration
}

// bucketOf gives the bucket of a duration: below 8 ns one a nanosecond, then 8 an octave.
func bucketOf(d time.Duration) int {
	if d < 1<<subBits {
		return int(max(d, 0))
	}
	shift := bits.Len64(uint64(d)) - 1 - subBits
	return min(shift<<subBits+int(d>>shift), buckets-1)
}

// upperOf gives the largest duration of a bucket.
func upperOf(b int) time.Duration {
	if b < 2<<subBits {
		return time.Duration(b)
	}
	shift := b>>subBits - 1
	return (time.Duration(b&(1<<subBits-1))+1<<subBits+1)<<shift - 1
}

// String gives the quantiles that a person asks for.
func (h Histogram) String() string {
	return fmt.Sprintf("p50 %v, p99 %v, p99.9 %v, max %v", h.Quantile(0.5), h.Quantile(0.99), h.Quantile(0.999), h.max)
}

// Beyond is the share of the durations counted that exceed d, at most an eighth of a duration about d uncertain.
func (h *Histogram) Beyond(d time.Duration) float64 {
	if h.n == 0 {
		return 0
	}
	var n uint64
	for b, c := range h.counts {
		if upperOf(b) > d {
			n += c
		}
	}
	return float64(n) / float64(h.n)
}

// Add counts one duration; a negative one counts as 0.
func (h *Histogram) Add(d time.Duration) {
	d = max(d, 0)
	h.counts[bucketOf(d)]++
	h.n++
	h.max = max(h.max, d)
}

// Merge adds all that o has counted.
func (h *Histogram) Merge(o *Histogram) {
	for i, c := range o.counts {
		h.counts[i] += c
	}
	h.n += o.n
	h.max = max(h.max, o.max)
}

// N is how many durations were counted.
func (h *Histogram) N() uint64 { return h.n }

// Max is the longest duration counted, exactly; 0 of none.
func (h *Histogram) Max() time.Duration { return h.max }

// Quantile returns a duration that at least the share q of those counted do not exceed, at most 12.5 % above the
// smallest such; q in 0 to 1. It is 0 where nothing was counted.
func (h *Histogram) Quantile(q float64) time.Duration {
	if h.n == 0 {
		return 0
	}
	want := uint64(math.Ceil(min(max(q, 0), 1) * float64(h.n)))
	want = max(want, 1)
	var seen uint64
	for b, c := range h.counts {
		seen += c
		if seen >= want {
			if b == buckets-1 {
				return h.max
			}
			return min(upperOf(b), h.max)
		}
	}
	return h.max
}
