package nmea0183

import (
	"math"
	"reflect"
	"slices"
	"testing"

	"swellbench/scenarios/opt"
)

// compare holds two sentences against each other: positions to 1e-9°, the rest exactly.
func compare(t *testing.T, got, want Sentence) {
	t.Helper()
	within := func(what string, a, b opt.Opt[float64]) {
		if a.Has() != b.Has() || math.Abs(a.Or(0)-b.Or(0)) > 1e-9 {
			t.Errorf("%s is %v, want %v", what, a, b)
		}
	}
	switch g := got.(type) {
	case *GGA:
		w := want.(*GGA)
		within("latitude", g.LatDeg, w.LatDeg)
		within("longitude", g.LonDeg, w.LonDeg)
		a, b := *g, *w
		a.LatDeg, a.LonDeg, b.LatDeg, b.LonDeg = opt.Opt[float64]{}, opt.Opt[float64]{}, opt.Opt[float64]{}, opt.Opt[float64]{}
		if a != b {
			t.Errorf("got %+v\nwant %+v", a, b)
		}
	case *RMC:
		w := want.(*RMC)
		within("latitude", g.LatDeg, w.LatDeg)
		within("longitude", g.LonDeg, w.LonDeg)
		a, b := *g, *w
		a.LatDeg, a.LonDeg, b.LatDeg, b.LonDeg = opt.Opt[float64]{}, opt.Opt[float64]{}, opt.Opt[float64]{}, opt.Opt[float64]{}
		if a != b {
			t.Errorf("got %+v\nwant %+v", a, b)
		}
	case *GLL:
		w := want.(*GLL)
		within("latitude", g.LatDeg, w.LatDeg)
		within("longitude", g.LonDeg, w.LonDeg)
		a, b := *g, *w
		a.LatDeg, a.LonDeg, b.LatDeg, b.LonDeg = opt.Opt[float64]{}, opt.Opt[float64]{}, opt.Opt[float64]{}, opt.Opt[float64]{}
		if a != b {
			t.Errorf("got %+v\nwant %+v", a, b)
		}
	case *GNS:
		w := want.(*GNS)
		within("latitude", g.LatDeg, w.LatDeg)
		within("longitude", g.LonDeg, w.LonDeg)
		a, b := *g, *w
		a.LatDeg, a.LonDeg, b.LatDeg, b.LonDeg = opt.Opt[float64]{}, opt.Opt[float64]{}, opt.Opt[float64]{}, opt.Opt[float64]{}
		if a != b {
			t.Errorf("got %+v\nwant %+v", a, b)
		}
	case *XDR:
		w := want.(*XDR)
		if g.Talker != w.Talker || len(g.Measurements) != len(w.Measurements) {
			t.Fatalf("got %+v\nwant %+v", *g, *w)
		}
		for i := range g.Measurements {
			if g.Measurements[i] != w.Measurements[i] {
				t.Errorf("measurement %d: got %+v\nwant %+v", i, g.Measurements[i], w.Measurements[i])
			}
		}
	case *Fields:
		t.Errorf("got raw fields of %s", g.Type())
	case *GSV:
		w := want.(*GSV)
		if !slices.Equal(g.Satellites, w.Satellites) {
			t.Errorf("got %+v\nwant %+v", g.Satellites, w.Satellites)
		}
		a, b := *g, *w
		a.Satellites, b.Satellites = nil, nil
		if !reflect.DeepEqual(a, b) {
			t.Errorf("got %+v\nwant %+v", a, b)
		}
	default:
		if !reflect.DeepEqual(got, want) {
			t.Errorf("got %+v\nwant %+v", got, want)
		}
	}
}
