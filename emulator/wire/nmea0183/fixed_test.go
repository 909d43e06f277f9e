package nmea0183

import (
	"math"
	"math/big"
	"strconv"
	"testing"

	"pgregory.net/rapid"
)

func TestFixed(t *testing.T) {
	tests := []struct {
		x    float64
		d    Digits
		want string
	}{
		{0, Digits{}, "0"},
		{0, Digits{Decimals: 2}, "0.00"},
		{math.Copysign(0, -1), Digits{Decimals: 2}, "0.00"},
		{-0.004, Digits{Decimals: 2}, "0.00"},
		{-0.005, Digits{Decimals: 2}, "-0.01"},
		{0.125, Digits{Decimals: 2}, "0.13"}, // half to even would be 0.12
		{-0.125, Digits{Decimals: 2}, "-0.13"},
		{0.5, Digits{}, "1"},
		{1.5, Digits{}, "2"},
		{2.5, Digits{}, "3"},
		{-2.5, Digits{}, "-3"},
		{2.675, Digits{Decimals: 2}, "2.68"}, // the double lies a hair below; the decimal number does not
		{1.005, Digits{Decimals: 2}, "1.01"},
		{1.115, Digits{Decimals: 2}, "1.12"},
		{0.285, Digits{Decimals: 2}, "0.29"},
		{0.125 - 1e-12, Digits{Decimals: 2}, "0.13"}, // what an angle of 0.125° may be after a rotation and back
		{-0.125 + 1e-12, Digits{Decimals: 2}, "-0.13"},
		{0.125 - 1e-10, Digits{Decimals: 2}, "0.12"},
		{0.49999999, Digits{}, "0"},
		{0.2849999, Digits{Decimals: 2}, "0.28"},
		{9.999, Digits{Decimals: 2}, "10.00"},
		{99999, Digits{Decimals: 9}, "99999.000000000"},
		{7.1, Digits{Whole: 3, Decimals: 1}, "007.1"},
		{-7.1, Digits{Whole: 3, Decimals: 1}, "-007.1"},
		{1234.5, Digits{Whole: 3, Decimals: 1}, "1234.5"},
		{100, Digits{}, "100"},
		{1e-12, Digits{Decimals: 9}, "0.000000000"},
	}
	for _, test := range tests {
		got := string(appendFixed(nil, round(test.x, scales[test.d.Decimals]), test.x < 0, test.d))
		if got != test.want {
			t.Errorf("%v with %+v is %s, want %s", test.x, test.d, got, test.want)
		}
	}
}

// TestRoundIsExact holds the rounding against rational arithmetic: the integer is the nearest to the exact product, and
// where the product is a half, but for the stated hair, the one further from zero.
func TestRoundIsExact(t *testing.T) {
	half := big.NewRat(1, 2)
	check := func(t interface{ Fatalf(string, ...any) }, x float64, dec int) {
		n := round(x, scales[dec])
		exact := new(big.Rat).SetFloat64(math.Abs(x))
		exact.Mul(exact, new(big.Rat).SetInt(new(big.Int).Exp(big.NewInt(10), big.NewInt(int64(dec)), nil)))
		off := new(big.Rat).Sub(new(big.Rat).SetInt(new(big.Int).SetUint64(n)), exact) // by how much it was rounded up
		size, _ := exact.Float64()
		hair := new(big.Rat).SetFloat64(0x1p-30 + size*0x1p-49)
		switch {
		case off.Cmp(new(big.Rat).Add(half, hair)) > 0:
			t.Fatalf("%v at %d decimals is rounded up to %d, by %s", x, dec, n, off.FloatString(20))
		case new(big.Rat).Neg(off).Cmp(half) >= 0 && dec <= MaxDecimals && size < 1<<42:
			t.Fatalf("%v at %d decimals is rounded down to %d, by %s", x, dec, n, off.FloatString(20))
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		dec := rapid.IntRange(0, MaxDecimals).Draw(t, "decimals")
		x := rapid.Float64Range(-99999, 99999).Draw(t, "x")
		check(t, x, dec)
		// Ties and their neighbours.
		n := rapid.Int64Range(0, min(99999*int64(pow10[dec]), 1<<41)).Draw(t, "n")
		x = (float64(n) + 0.5) / scales[dec]
		if up := round(x, scales[dec]); up != uint64(n)+1 {
			t.Fatalf("%v at %d decimals is %d, want %d", x, dec, up, n+1)
		}
		check(t, x, dec)
		check(t, math.Nextafter(x, 0), dec)
		check(t, math.Nextafter(x, 1e9), dec)
		check(t, x*(1-1e-8), dec)
	})
}

func TestDecimalLengthAndDigits(t *testing.T) {
	check := func(n uint64) {
		want := strconv.FormatUint(n, 10)
		if got := decimalLength(n); got != len(want) {
			t.Errorf("%d has %d digits", n, got)
		}
		if got := string(appendDigits(nil, n, len(want))); got != want {
			t.Errorf("%d is written %s", n, got)
		}
		if got := string(appendFixed([]byte("x"), n, true, Digits{})); n != 0 && got != "x-"+want {
			t.Errorf("-%d is written %s", n, got)
		}
	}
	for _, p := range pow10 {
		check(p - 1)
		check(p)
		check(p + 1)
	}
	check(math.MaxUint64)
	for n := range uint64(20000) {
		check(n)
	}
}

// TestFloat holds the reading of numbers against strconv, where the grammar of both has the number.
func TestFloat(t *testing.T) {
	for text, want := range map[string]float64{"0": 0, "-0": 0, "-0.00": 0, "5.": 5, ".5": 0.5, "-.5": -0.5, "+1": 1, "00012.50": 12.5,
		"1.00000000000000000000000000000001": 1, "123456789012345678901234567890": 123456789012345678901234567890, "0.1": 0.1,
		"-12345678901234567.25": -12345678901234567.25, "0.000000000000000000000000000001": 1e-30} {
		if got, ok := float([]byte(text)); !ok || got != want || got == 0 && math.Signbit(got) {
			t.Errorf("%s is %v, %v", text, got, ok)
		}
	}
	for _, text := range []string{"-", "+", ".", "-.", "1e5", "1.2.3", " 1", "1 ", "0x10", "inf", "NaN", "1_0", "--1", "12345678901234567.1.2", "1-", "123456789012345678901234567890e1"} {
		if got, ok := float([]byte(text)); ok {
			t.Errorf("%s is %v", text, got)
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.StringMatching(`[+-]?[0-9]{1,12}(\.[0-9]{0,12})?`).Draw(t, "text")
		want, err := strconv.ParseFloat(text, 64)
		got, ok := float([]byte(text))
		if err != nil || !ok || got != want {
			t.Fatalf("%s is %v, %v; want %v, %v", text, got, ok, want, err)
		}
	})
}
