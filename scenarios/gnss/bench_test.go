package gnss

import (
	"testing"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r3"

	"swellbench/scenarios/frame"
)

// The alternatives stand beside what is used, so that the ratios show.

func benchReceiver(b *testing.B) *Receiver {
	return receiver(b, Spec{Fix: RTKFixed, Errors: &Errors{}, Baseline: twoAntennas}, 86400)
}

// In order, at 100 Hz.
func BenchmarkAt(b *testing.B) {
	r := benchReceiver(b)
	b.ReportAllocs()
	k := 0
	for b.Loop() {
		r.At(float64(k%8640000) * 0.01)
		k++
	}
}

// Any instant of the day: the sky and the noise are worked out each time.
func BenchmarkAtRandom(b *testing.B) {
	r := benchReceiver(b)
	b.ReportAllocs()
	k := 0
	for b.Loop() {
		r.At(float64(k * 7919 % 86400))
		k++
	}
}

func BenchmarkAppendSatellites(b *testing.B) {
	r := benchReceiver(b)
	b.ReportAllocs()
	dst := make([]Sat, 0, MaxSatellites)
	k := 0
	for b.Loop() {
		dst = r.AppendSatellites(dst[:0], float64(k%86400))
		k++
	}
}

// A run of a day.
func BenchmarkNewDay(b *testing.B) {
	for b.Loop() {
		benchReceiver(b)
	}
}

func benchSight() []r3.Vec {
	var sight []r3.Vec
	for i := range 9 {
		sight = append(sight, frame.Baseline{Azimuth: float64(i) * 2, Elevation: 0.1 + float64(i)*0.15, Length: 1}.Vec())
	}
	return sight
}

func BenchmarkGeometry(b *testing.B) {
	sight := benchSight()
	b.ReportAllocs()
	for b.Loop() {
		NewGeometry(sight)
	}
}

func BenchmarkGeometryByGonum(b *testing.B) {
	sight := benchSight()
	b.ReportAllocs()
	for b.Loop() {
		g := mat.NewDense(len(sight), 4, nil)
		for i, u := range sight {
			g.SetRow(i, []float64{-u.X, -u.Y, -u.Z, 1})
		}
		var n, q mat.Dense
		n.Mul(g.T(), g)
		if err := q.Inverse(&n); err != nil {
			b.Fatal(err)
		}
	}
}
