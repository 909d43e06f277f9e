package geo_test

import (
	"fmt"

	"gonum.org/v1/gonum/spatial/r3"

	"swellbench/scenarios/frame"
	"swellbench/scenarios/geo"
)

// Where the antenna is, of a vessel whose reference point, attitude and lever arm are known.
func ExampleLocal_Position() {
	vessel := geo.Position{Lat: frame.Rad(60.5), Lon: frame.Rad(-3.25), Height: 51}
	attitude := frame.Attitude{Heading: frame.Rad(90), Roll: frame.Rad(10)}
	antenna := r3.Vec{X: -0.9, Y: -3.1, Z: 6.2} // right, forward, up

	p := geo.LocalAt(vessel).Position(attitude.Rotation().Apply(antenna))
	fmt.Printf("%.8f°, %.8f°, %.4f m\n", frame.Deg(p.Lat), frame.Deg(p.Lon), p.Height)
	// Output: 60.49999829°, -3.25005641°, 57.2621 m
}

// A mile due east along the geodesic: it bends, so that it is no longer due east on arrival.
func ExampleDirect() {
	from := geo.Position{Lat: frame.Rad(60)}
	to, azimuth := geo.Direct(from, frame.Rad(90), geo.NauticalMileM)
	fmt.Printf("%.7f°, %.7f°, going %.4f°\n", frame.Deg(to.Lat), frame.Deg(to.Lon), frame.Deg(azimuth))
	// Output: 59.9999958°, 0.0331900°, going 90.0287°
}

func ExampleInverse() {
	a := geo.Position{Lat: frame.Rad(10), Lon: frame.Rad(179.9)}
	b := geo.Position{Lat: frame.Rad(10), Lon: frame.Rad(-179.9)}
	distance, azimuth, _ := geo.Inverse(a, b)
	fmt.Printf("%.3f m at %.4f°\n", distance, frame.Deg(azimuth))
	// Output: 21927.872 m at 89.9826°
}

// Points along one line, as a track needs them.
func ExampleLine_At() {
	leg := geo.LineFrom(geo.Position{Lat: frame.Rad(54), Lon: frame.Rad(7)}, frame.Rad(300))
	for _, s := range []float64{0, 500, 1000} {
		x := leg.At(s)
		fmt.Printf("%.0f m: %.6f° %.6f° course %.4f°\n", s, frame.Deg(x.Position.Lat), frame.Deg(x.Position.Lon), frame.Deg(x.Azimuth))
	}
	// Output:
	// 0 m: 54.000000° 7.000000° course 300.0000°
	// 500 m: 54.002246° 6.993396° course 299.9947°
	// 1000 m: 54.004491° 6.986792° course 299.9893°
}
