// Package draws gives the random numbers of a run: one seed, one stream of bytes.
//
// There is one file. The numbers of a part at its k-th epoch depend on the seed, the part's name and k, and on
// nothing drawn before: any epoch may be asked for first, and a new fault moves no other part's numbers. To add a
// random part, give it a name of its own, such as "device noise" or "fault/flipped-bit".
package draws

import (
	"math"
	"math/bits"
	"math/rand/v2"
	"strconv"
)

// A Source gives random numbers. It is a value, so that drawing allocates nothing; it is not safe for concurrent use.
type Source struct{ pcg rand.PCG }

// At returns the random numbers of one named part at its k-th epoch.
func At(seed uint64, part string, k int) Source {
	// 64-bit FNV-1a of "part/k" (draft-eastlake-fnv), as hash/fnv has it, without its allocation.
	h := uint64(14695981039346656037)
	step := func(c byte) { h = (h ^ uint64(c)) * 1099511628211 }
	for i := range len(part) {
		step(part[i])
	}
	step('/')
	var digits [20]byte
	for _, c := range strconv.AppendInt(digits[:0], int64(k), 10) {
		step(c)
	}
	var s Source
	s.pcg.Seed(seed, h)
	return s
}

// Uint64 returns 64 random bits.
func (s *Source) Uint64() uint64 { return s.pcg.Uint64() }

// Uniform returns a number evenly spread over [0, 1).
func (s *Source) Uniform() float64 { return float64(s.pcg.Uint64()>>11) / (1 << 53) }

// IntN returns a whole number evenly spread over [0, n), and 0 where n is 1 or less.
//
// The product's high half is biased by at most n/2^64.
func (s *Source) IntN(n int) int {
	hi, _ := bits.Mul64(s.pcg.Uint64(), uint64(max(n, 1)))
	return int(hi)
}

// Normal returns a number of the normal distribution with mean 0 and standard deviation 1 (Box and Muller, A Note on
// the Generation of Random Normal Deviates, 1958).
func (s *Source) Normal() float64 {
	r := math.Sqrt(-2 * math.Log(1-s.Uniform()))
	return r * math.Cos(2*math.Pi*s.Uniform())
}
