package geo

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"swellbench/scenarios/frame"
	"swellbench/scenarios/internal/vectors"
)

// The tables below come with their sources row by row: TR8350.2, PROJ, GeographicLib, the published geodesic test set.
// None of them was made with this package. Angles on the way are degrees.

func table(t *testing.T, name string, check func(t *testing.T, row vectors.Row)) {
	t.Helper()
	for _, row := range vectors.Load(t, "testdata/"+name+".jsonl") {
		check(t, row)
		row.Done(t)
	}
}

func positionIn(t *testing.T, row vectors.Row, prefix string) Position {
	t.Helper()
	return Position{frame.Rad(row.In(t, prefix+"lat_deg")), frame.Rad(row.In(t, prefix+"lon_deg")), row.In(t, prefix+"height_m")}
}

func vecIn(t *testing.T, row vectors.Row, x, y, z string) r3.Vec {
	t.Helper()
	return r3.Vec{X: row.In(t, x), Y: row.In(t, y), Z: row.In(t, z)}
}

func checkVec(t *testing.T, row vectors.Row, x, y, z string, v r3.Vec) {
	t.Helper()
	row.Check(t, x, v.X)
	row.Check(t, y, v.Y)
	row.Check(t, z, v.Z)
}

func checkPosition(t *testing.T, row vectors.Row, prefix string, p Position) {
	t.Helper()
	row.Check(t, prefix+"lat_deg", frame.Deg(p.Lat))
	if row.Has(prefix + "lon_deg") {
		row.Check(t, prefix+"lon_deg", frame.Deg(p.Lon))
	}
	row.Check(t, prefix+"height_m", p.Height)
	if !(p.Lon > -math.Pi && p.Lon <= math.Pi) {
		t.Errorf("%s: longitude %v rad is out of range", row.ID, p.Lon)
	}
}

// grs80InverseFlattening is for contrast and for one row of the geodesics. Source: Moritz, Geodetic Reference System
// 1980, Bull. Geodesique 54 (1980).
const grs80InverseFlattening = 298.257222101

func TestConstantVectors(t *testing.T) {
	quadrant, _, _ := Inverse(Position{}, Position{Lat: math.Pi / 2})
	values := map[string]float64{
		"a_m": SemiMajorM, "inverse_flattening": InverseFlattening, "gm_m3ps2": GravitationalM3S2,
		"earth_rate_radps": EarthRateRadS, "b_m": SemiMinorM, "e2": EccentricitySquared,
		"ep2": SecondEccentricitySquared, "gamma_equator_mps2": NormalGravity(0, 0),
		"gamma_pole_mps2": NormalGravity(math.Pi/2, 0), "somigliana_k": SomiglianaK, "m_ratio": GravityRatio,
		"mean_radius_R1_m": MeanRadiusM, "earth_rate_dph": frame.Deg(EarthRateRadS) * 3600,
		"standard_gravity_mps2": StandardGravityMS2, "nautical_mile_m": NauticalMileM, "knot_mps": KnotMS,
		"meridian_quadrant_m": quadrant, "grs80_inverse_flattening": grs80InverseFlattening,
	}
	table(t, "geodesy_constants", func(t *testing.T, row vectors.Row) {
		name := row.InText(t, "name")
		v, ok := values[name]
		if !ok {
			t.Errorf("%s: no constant %s", row.ID, name)
		}
		row.Check(t, "value", v)
	})
}

func TestRadiiVectors(t *testing.T) {
	table(t, "geodesy_radii", func(t *testing.T, row vectors.Row) {
		lat := frame.Rad(row.In(t, "lat_deg"))
		m, n := MeridianRadius(lat), PrimeVerticalRadius(lat)
		row.Check(t, "meridian_radius_m", m)
		row.Check(t, "prime_vertical_radius_m", n)
		row.Check(t, "gaussian_radius_m", GaussianRadius(lat))
		row.Check(t, "metres_per_deg_lat", frame.Rad(m))
		row.Check(t, "metres_per_deg_lon", frame.Rad(n*math.Cos(lat)))
		row.Check(t, "metres_per_min_lat", frame.Rad(m)/60)
	})
}

func TestGravityVectors(t *testing.T) {
	table(t, "geodesy_gravity", func(t *testing.T, row vectors.Row) {
		row.Check(t, "gamma_mps2", NormalGravity(frame.Rad(row.In(t, "lat_deg")), row.In(t, "height_m")))
	})
}

func TestECEFVectors(t *testing.T) {
	table(t, "geodesy_ecef", func(t *testing.T, row vectors.Row) {
		switch row.Case {
		case "geodetic_ecef":
			v := positionIn(t, row, "").ECEF()
			checkVec(t, row, "x_m", "y_m", "z_m", v)
			checkPosition(t, row, "", FromECEF(v))
			// also from the row's own coordinates
			x, y, z := row.Expected["x_m"].(float64), row.Expected["y_m"].(float64), row.Expected["z_m"].(float64)
			checkPosition(t, row, "", FromECEF(r3.Vec{X: x, Y: y, Z: z}))
		case "ecef_to_enu_rotation":
			l := LocalAt(Position{Lat: frame.Rad(row.In(t, "lat_deg")), Lon: frame.Rad(row.In(t, "lon_deg"))})
			m := l.Rotation().Inverse().Matrix()
			row.Check(t, "dcm_rowmajor", m[:]...)
		default:
			t.Errorf("%s: no test for case %s", row.ID, row.Case)
		}
	})
}

func TestENUVectors(t *testing.T) {
	table(t, "geodesy_enu", func(t *testing.T, row vectors.Row) {
		p := positionIn(t, row, "")
		l := LocalAt(p)
		switch row.Case {
		case "enu_offset":
			enu := vecIn(t, row, "east_m", "north_m", "up_m")
			at := l.Position(enu)
			checkPosition(t, row, "", at)
			checkVec(t, row, "x_m", "y_m", "z_m", at.ECEF())
			if back := l.ENU(at); r3.Norm(r3.Sub(back, enu)) > 1e-8 { // m; rounding of Earth-centred coordinates
				t.Errorf("%s: %v came back as %v", row.ID, enu, back)
			}
			if row.Has("shortcut_error_m") {
				short := Position{
					Lat:    p.Lat + enu.Y/(MeridianRadius(p.Lat)+p.Height),
					Lon:    p.Lon + enu.X/((PrimeVerticalRadius(p.Lat)+p.Height)*math.Cos(p.Lat)),
					Height: p.Height + enu.Z,
				}
				row.Check(t, "shortcut_error_m", r3.Norm(r3.Sub(short.ECEF(), at.ECEF())))
			}
		case "enu_between_points":
			q := positionIn(t, row, "target_")
			enu := l.ENU(q)
			checkVec(t, row, "east_m", "north_m", "up_m", enu)
			if d := r3.Norm(r3.Sub(l.Position(enu).ECEF(), q.ECEF())); d > 1e-8 {
				t.Errorf("%s: the target comes back %v m off", row.ID, d)
			}
		default:
			t.Errorf("%s: no test for case %s", row.ID, row.Case)
		}
	})
}

func TestGeodesicVectors(t *testing.T) {
	table(t, "geodesy_geodesic", func(t *testing.T, row vectors.Row) {
		e := wgs84
		switch name := row.InText(t, "ellipsoid"); name {
		case "":
		case "GRS80":
			e = newEllipsoid(6378137, 1/grs80InverseFlattening)
		default:
			t.Fatalf("%s: no ellipsoid %s", row.ID, name)
		}
		p := Position{Lat: frame.Rad(row.In(t, "lat1_deg")), Lon: frame.Rad(row.In(t, "lon1_deg"))}
		if row.Case == "direct" {
			az, s := frame.Rad(row.In(t, "azi1_deg")), row.In(t, "distance_m")
			l := e.line(p, az)
			q := l.At(s)
			row.Check(t, "lat2_deg", frame.Deg(q.Position.Lat))
			row.Check(t, "lon2_deg", frame.Deg(q.Position.Lon))
			row.Check(t, "azi2_deg", frame.Deg(q.Azimuth))
			if d, az1, az2 := e.inverse(p, q.Position); !near(d, s, 1e-8) || !near(frame.AngleDiff(az1, az)*d, 0, 1e-8) ||
				!near(frame.AngleDiff(az2, q.Azimuth)*d, 0, 1e-8) {
				t.Errorf("%s: inverse gives %v m, %v, %v; want %v, %v, %v", row.ID, d, az1, az2, s, az, q.Azimuth)
			}
			return
		}
		q := Position{Lat: frame.Rad(row.In(t, "lat2_deg")), Lon: frame.Rad(row.In(t, "lon2_deg"))}
		s, az1, az2 := e.inverse(p, q)
		row.Check(t, "distance_m", s)
		if row.Has("azi1_deg") {
			row.Check(t, "azi1_deg", frame.Deg(az1))
			row.Check(t, "azi2_deg", frame.Deg(az2))
		}
		l := e.line(p, az1)
		if d := chord(l.At(s).Position, q); d > 1e-8 {
			t.Errorf("%s: direct arrives %v m off", row.ID, d)
		}
		if row.Case == "geodesic" { // the test set is also one for the direct problem
			az, d := row.Expected["azi1_deg"].(float64), row.Expected["distance_m"].(float64)
			l := e.line(p, frame.Rad(az))
			if off := chord(l.At(d).Position, q); off > 1e-6 { // the azimuth's last digit is 1e-14°, the distance's 1e-8 m
				t.Errorf("%s: direct from the published azimuth arrives %v m off", row.ID, off)
			}
		}
	})
}

func TestAntennaVectors(t *testing.T) {
	table(t, "leverarm_antennas", func(t *testing.T, row vectors.Row) {
		p := positionIn(t, row, "")
		a := frame.Attitude{
			Heading: frame.Rad(row.In(t, "heading_deg")), Pitch: frame.Rad(row.In(t, "pitch_deg")), Roll: frame.Rad(row.In(t, "roll_deg")),
		}
		c, l := a.Rotation(), LocalAt(p)
		lever1 := vecIn(t, row, "ant1_right_m", "ant1_fwd_m", "ant1_up_m")
		b := frame.Baseline{
			Azimuth: frame.Rad(row.In(t, "baseline_az_deg")), Elevation: frame.Rad(row.In(t, "baseline_el_deg")), Length: row.In(t, "baseline_length_m"),
		}
		checkVec(t, row, "baseline_right_m", "baseline_fwd_m", "baseline_up_m", b.Vec())
		enu1, enu2 := c.Apply(lever1), c.Apply(r3.Add(lever1, b.Vec()))
		checkVec(t, row, "ant1_east_m", "ant1_north_m", "ant1_up_m", enu1)
		checkVec(t, row, "ant2_east_m", "ant2_north_m", "ant2_up_m", enu2)
		p1, p2 := l.Position(enu1), l.Position(enu2)
		checkPosition(t, row, "ant1_", p1)
		checkPosition(t, row, "ant2_", p2)

		seen := frame.BaselineOf(c.Apply(b.Vec()))
		az := frame.BaselineAzimuth(c, b.Vec())
		row.Check(t, "baseline_azimuth_deg", frame.Deg(az))
		row.Check(t, "baseline_azimuth_deg", frame.Deg(seen.Azimuth))
		row.Check(t, "baseline_inclination_deg", frame.Deg(seen.Elevation))
		row.Check(t, "naive_heading_deg", frame.Deg(az-b.Azimuth))
		row.Check(t, "naive_heading_error_deg", frame.Deg(az-b.Azimuth-a.Heading))

		// and back: the heading from what the antennas see, the baseline from the two positions
		if h := frame.HeadingFromBaseline(az, a.Pitch, a.Roll, b.Vec()); !near(frame.AngleDiff(h, a.Heading), 0, 1e-13) {
			t.Errorf("%s: heading %v comes back as %v", row.ID, a.Heading, h)
		}
		d := r3.Sub(l.ENU(p2), l.ENU(p1))
		if off := r3.Norm(r3.Sub(d, c.Apply(b.Vec()))); off > 1e-8 {
			t.Errorf("%s: the baseline between the positions is %v m off", row.ID, off)
		}
	})
}

func near(got, want, tol float64) bool { return math.Abs(got-want) <= tol }

// chord returns the distance of two positions straight through the Earth, in m.
func chord(p, q Position) float64 { return r3.Norm(r3.Sub(p.ECEF(), q.ECEF())) }
