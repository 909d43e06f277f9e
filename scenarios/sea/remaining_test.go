package sea

import (
	"math"
	"math/rand/v2"
	"testing"
)

// TestRemaining holds the remainder against that of the standard library, to the last bit.
func TestRemaining(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	check := func(x, period float64) {
		if got, want := remaining(x, period), math.Mod(x, period); got != want && !(math.IsNaN(got) && math.IsNaN(want)) {
			t.Fatalf("%v mod %v: %v, want %v", x, period, got, want)
		}
	}
	for range 200000 {
		period := math.Exp2(r.Float64()*14 - 7)
		check((r.Float64()*2-1)*1e6, period)
		for _, whole := range []float64{float64(r.IntN(1000000)) * period, -float64(r.IntN(1000)) * period} { // about whole periods
			check(whole, period)
			check(math.Nextafter(whole, math.Inf(1)), period)
			check(math.Nextafter(whole, math.Inf(-1)), period)
		}
	}
	for _, x := range []float64{0, 1e300, -1e300, math.Inf(1), math.NaN(), 1e17} {
		check(x, 3.1)
	}
}
