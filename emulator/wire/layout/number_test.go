package layout

import (
	"math"
	"math/big"
	"testing"

	"pgregory.net/rapid"
)

// The count is the whole number nearest to the exact quotient, in arithmetic of 300 bits; a hair less than a half may count
// as a half, see [conv].
func TestCountIsExact(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := rapid.SampledFrom([]*dimension{angle, length, speed, rate, acceleration, duration}).Draw(t, "dimension")
		u := rapid.SampledFrom(d.units).Draw(t, "unit")
		scale, _ := parseScale(rapid.SampledFrom([]string{"1", "0.01", "-0.05", "1/3", "360/2^16", "2^-31", "2^-50", "1e-7", "1e-15", "7"}).Draw(t, "scale"))
		offset, _ := parseScale(rapid.SampledFrom([]string{"0", "-180", "1/7", "12.5", "1000"}).Draw(t, "offset"))
		c := newConv(u, scale, offset, false, straight)
		v := rapid.Float64Range(-1000, 1000).Draw(t, "value")
		n, ok := c.count(v)
		q := new(big.Float).SetPrec(precision).Quo(new(big.Float).SetPrec(precision).SetFloat64(v), u.factor())
		q.Sub(q, new(big.Float).SetPrec(precision).SetRat(offset))
		q.Quo(q, new(big.Float).SetPrec(precision).SetRat(scale))
		if size, _ := new(big.Float).Abs(q).Float64(); size >= math.MaxUint64 || !ok {
			if ok != (size < math.MaxUint64) {
				t.Fatalf("%g is %v counts, told %v", v, q, ok)
			}
			return
		}
		got := new(big.Float).SetPrec(precision).SetInt(new(big.Int).SetUint64(n.mag))
		if n.neg {
			got.Neg(got)
		}
		off, _ := got.Sub(got, q).Float64()
		size, _ := new(big.Float).Abs(q).Float64()
		whole, _ := new(big.Float).Abs(new(big.Float).Quo(new(big.Float).SetFloat64(v), u.factor())).Float64()
		s, _ := scale.Float64()
		hair := 1e-9
		if size < 1<<42 {
			hair += (size + math.Abs(whole/s)) * 0x1p-49
		}
		if math.Abs(off) > 0.5+hair || n.neg && n.mag == 0 {
			t.Fatalf("%g %s is %v counts of %v from %v: %v, off by %g", v, u.symbol, q, scale, offset, n, off)
		}
	})
}

// What a person takes for a half is one, whichever way the conversion to radians fell.
func TestHalves(t *testing.T) {
	deg, _ := angle.find("deg")
	c := newConv(deg, big.NewRat(1, 100), new(big.Rat), false, straight)
	for i := -20000; i <= 20000; i++ {
		x := (float64(i) + math.Copysign(0.5, float64(i))) / 100 // 0.005, 0.015, ...
		want := numOf(int64(i) + int64(math.Copysign(1, float64(i))))
		if n, ok := c.count(x * (math.Pi / 180)); !ok || n != want {
			t.Fatalf("%g° is %v counts, want %v", x, n, want)
		}
	}
}
