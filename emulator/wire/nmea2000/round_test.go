package nmea2000

import (
	"math"
	"math/big"
	"testing"

	"pgregory.net/rapid"
)

// exactly is x·by rounded half away from zero, worked out in big numbers.
func exactly(x, by float64) int64 {
	f := new(big.Float).SetPrec(400).Mul(big.NewFloat(math.Abs(x)), big.NewFloat(by))
	n, _ := f.Add(f, big.NewFloat(0.5)).Int(nil)
	if x < 0 {
		n.Neg(n)
	}
	return n.Int64()
}

func TestScaleIsExact(t *testing.T) {
	for _, x := range []float64{0.005, 0.575, 1.005, 2.675, 0.285, 1.115, 4.35, 327.635, 0.015, 0.045, 1e15 + 0.25, 1<<45 + 0.5, 0.49999999999999994} {
		for _, by := range []float64{1, 100, 1e4, 1e6, 32e6} {
			for _, v := range []float64{x, -x, math.Nextafter(x, 0), math.Nextafter(x, 1e300)} {
				if math.Abs(v)*by >= 1<<63 {
					if n, ok := scale(v, by); ok {
						t.Errorf("%v·%v is %d, expected none", v, by, n)
					}
				} else if got, ok := scale(v, by); !ok || got != exactly(v, by) {
					t.Errorf("%v·%v is %d, %v; exactly %d", v, by, got, ok, exactly(v, by))
				}
			}
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		by := rapid.SampledFrom([]float64{1, 100, 1e4, 1e6, 32e6}).Draw(t, "by")
		x := rapid.Float64Range(-9.2e18/by, 9.2e18/by).Draw(t, "x")
		if rapid.Bool().Draw(t, "half") { // the double next to a half
			x = (float64(rapid.Int64Range(-1<<40, 1<<40).Draw(t, "n")) + 0.5) / by
		}
		if got, ok := scale(x, by); !ok || got != exactly(x, by) {
			t.Fatalf("%v·%v is %d, %v; exactly %d", x, by, got, ok, exactly(x, by))
		}
	})
	for _, x := range []float64{math.NaN(), math.Inf(1), math.Inf(-1), 1e300} {
		if n, ok := scale(x, 100); ok {
			t.Errorf("%v is scaled to %d", x, n)
		}
	}
}

// TestScaleDegrees: to within one in the last place of the double, degrees made to radians come back, and halves go away
// from zero.
func TestScaleDegrees(t *testing.T) {
	pi, _ := new(big.Float).SetPrec(200).SetString("3.14159265358979323846264338327950288419716939937510582097494459")
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.Int64Range(-1800000000, 1800000000).Draw(t, "n")
		rad := float64(n) / 1e7 * (math.Pi / 180)
		if got, ok := scaleDegrees(rad, 1e7); !ok || got != n {
			t.Fatalf("%d comes back as %d, %v", n, got, ok)
		}
		half := (math.Abs(float64(n)) + 0.5) / 1e7 * (math.Pi / 180)
		if want := max(n, -n) + 1; half < math.Pi {
			if got, ok := scaleDegrees(half, 1e7); !ok || got != want {
				t.Fatalf("half above %d is %d, %v", max(n, -n), got, ok)
			}
			if got, _ := scaleDegrees(-half, 1e7); got != -want {
				t.Fatalf("half below %d is %d", -max(n, -n), got)
			}
		}
		x := rapid.Float64Range(-math.Pi, math.Pi).Draw(t, "x")
		deg := new(big.Float).SetPrec(200).Mul(big.NewFloat(math.Abs(x)), big.NewFloat(180))
		deg.Quo(deg, pi).Mul(deg, big.NewFloat(1e16)).Add(deg, big.NewFloat(0.5))
		want, _ := deg.Int64()
		if x < 0 {
			want = -want
		}
		if got, ok := scaleDegrees(x, 1e16); !ok || got-want > 1 || want-got > 1 {
			t.Fatalf("%v rad is %d, %v units of 1e-16 degrees, expected %d", x, got, ok, want)
		}
	})
}
