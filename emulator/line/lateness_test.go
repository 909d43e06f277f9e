package line

import (
	"math/rand/v2"
	"slices"
	"testing"
	"time"
)

// A quantile is never below the exact one and at most an eighth above it.
func TestHistogramQuantiles(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	var all []time.Duration
	var h, half Histogram
	for i := range 10000 {
		d := time.Duration(r.ExpFloat64() * float64(50*time.Microsecond))
		if i%1000 == 0 {
			d *= 10000
		}
		all = append(all, d)
		if i%2 == 0 {
			h.Add(d)
		} else {
			half.Add(d)
		}
	}
	h.Merge(&half)
	slices.Sort(all)
	for _, q := range []float64{0, 0.01, 0.5, 0.9, 0.99, 0.999, 1} {
		exact := all[max(int(q*float64(len(all))+0.9999)-1, 0)]
		got := h.Quantile(q)
		if got < exact || float64(got) > 1.125*float64(exact)+1 {
			t.Errorf("quantile %g is %v, exactly %v", q, got, exact)
		}
	}
	if h.Max() != all[len(all)-1] || h.N() != 10000 {
		t.Errorf("max %v of %d, want %v of 10000", h.Max(), h.N(), all[len(all)-1])
	}
}

func TestHistogramEdges(t *testing.T) {
	var h Histogram
	if h.Quantile(0.5) != 0 || h.Max() != 0 {
		t.Error("an empty histogram is not 0")
	}
	last := -1
	for d := time.Duration(0); d < 1<<45; d += d/16 + 1 {
		b := bucketOf(d)
		if b < last || b >= buckets {
			t.Fatalf("%v is in bucket %d, the one before in %d", d, b, last)
		}
		if b < buckets-1 && (upperOf(b) < d || b > 0 && upperOf(b-1) >= d) {
			t.Fatalf("%v is in bucket %d, which ends at %v", d, b, upperOf(b))
		}
		last = b
	}
	if last != buckets-1 {
		t.Errorf("the last bucket is %d, never reached beyond %d", buckets-1, last)
	}
	h.Add(-1)
	h.Add(100 * time.Hour)
	if h.Quantile(0.5) != 0 || h.Quantile(1) != 100*time.Hour {
		t.Errorf("median %v, longest %v; want 0 and 100h", h.Quantile(0.5), h.Quantile(1))
	}
}
