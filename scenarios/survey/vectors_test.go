package survey

import (
	"fmt"
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"swellbench/scenarios/frame"
	"swellbench/scenarios/geo"
	"swellbench/scenarios/installation"
	"swellbench/scenarios/internal/vectors"
	"swellbench/scenarios/units"
)

// times is the product of a row-major matrix and a vector, so that nothing of package frame makes the measurements.
func times(m []float64, v r3.Vec) r3.Vec {
	return r3.Vec{X: m[0]*v.X + m[1]*v.Y + m[2]*v.Z, Y: m[3]*v.X + m[4]*v.Y + m[5]*v.Z, Z: m[6]*v.X + m[7]*v.Y + m[8]*v.Z}
}

// matrix is C = Rz(−h)·Rx(p)·Ry(r) in full, as package frame has it in its comment, for angles in deg.
func matrix(h, p, r float64) []float64 {
	sh, ch := math.Sincos(frame.Rad(h))
	sp, cp := math.Sincos(frame.Rad(p))
	sr, cr := math.Sincos(frame.Rad(r))
	return []float64{
		ch*cr + sh*sp*sr, sh * cp, ch*sr - sh*sp*cr,
		-sh*cr + ch*sp*sr, ch * cp, -sh*sr - ch*sp*cr,
		-cp * sr, sp, cp * cr,
	}
}

// asWritten turns east, north, up into coordinates along the axes of a station.
func asWritten(a Axes, v r3.Vec) Coordinate {
	var out [3]float64
	switch a {
	case "north-east-up":
		out = [3]float64{v.Y, v.X, v.Z}
	case "east-north-up", Free:
		out = [3]float64{v.X, v.Y, v.Z}
	case FreeLeftHanded:
		out = [3]float64{v.Y, v.X, v.Z}
	case "up-south-west":
		out = [3]float64{v.Z, -v.Y, -v.X}
	case "down-north-west":
		out = [3]float64{-v.Z, v.Y, -v.X}
	default:
		panic("no such axes: " + a)
	}
	return Coordinate{At: Triple{units.Length(out[0]), units.Length(out[1]), units.Length(out[2])}}
}

var stations = []Axes{"north-east-up", "east-north-up", Free, FreeLeftHanded, "up-south-west", "down-north-west"}

var studs = map[string]r3.Vec{"bow": {Y: 4, Z: 1}, "port": {X: -2, Y: -3}, "starboard": {X: 2.1, Y: -2, Z: 0.3}, "mast": {X: 0.2, Y: 0.5, Z: 6}}

// stationSheet is a sheet whose station stands away from a vessel with the studs, its axes turned by c.
func stationSheet(axes Axes, c []float64, shift r3.Vec, points map[string]r3.Vec) *Sheet {
	mm := Sigma{0.001, 0.001, 0.001}
	drawing := Set{Axes: RightForwardUp, Sigma: mm, Control: true, Points: map[string]Coordinate{}}
	station := Set{Axes: axes, Sigma: mm, Points: map[string]Coordinate{}}
	for name, p := range studs {
		drawing.Points[name] = Coordinate{At: Triple(installation.VectorOf(p))}
		station.Points[name] = asWritten(axes, r3.Add(times(c, p), shift))
	}
	for name, p := range points {
		station.Points[name] = asWritten(axes, r3.Add(p, shift))
	}
	return &Sheet{Sets: []Set{drawing, station}}
}

func solved(t *testing.T, s *Sheet) *Survey {
	t.Helper()
	if ps := s.Validate(); len(ps) > 0 {
		t.Fatalf("%v", ps)
	}
	v, ps := New(s)
	if len(ps) > 0 {
		t.Fatalf("%v", ps)
	}
	return v
}

// shown finds a reading.
func shown(t *testing.T, p PoseFor, setting, name string) Reading {
	t.Helper()
	for _, d := range p.Devices {
		for _, s := range d.Shows {
			if d.Setting == setting && s.Name == name {
				return s
			}
		}
	}
	t.Fatalf("no %s of the %s device", name, setting)
	return Reading{}
}

// A station that measures studs of the vessel and marks of the device, where the table says they are, finds the
// mounting angles of the table; and the worksheet tells the table's readings.
func TestMountingVectors(t *testing.T) {
	upright := 0
	rows := vectors.Load(t, "../frame/testdata/attitude_mounting.jsonl")
	for i, row := range rows {
		t.Run(row.ID, func(t *testing.T) {
			vh, vp, vr := row.In(t, "vessel_heading_deg"), row.In(t, "vessel_pitch_deg"), row.In(t, "vessel_roll_deg")
			mh, mp, mr := row.In(t, "mount_heading_deg"), row.In(t, "mount_pitch_deg"), row.In(t, "mount_roll_deg")
			dcm := make([]float64, 9)
			for k, x := range row.Expected["device_dcm_rowmajor"].([]any) {
				dcm[k] = x.(float64)
			}
			c := matrix(vh, vp, vr)
			sensor := r3.Vec{X: 1.5, Y: -2, Z: 0.5}
			marks := map[string]r3.Vec{"a": {X: -0.5, Y: 0.4}, "b": {X: 0.5, Y: 0.45, Z: 0.1}, "c": {X: 0.4, Y: -0.5, Z: -0.2}, "d": {X: -0.1, Y: -0.6, Z: 0.6}}
			measured := map[string]r3.Vec{}
			drawn := map[string]Triple{}
			for name, m := range marks {
				measured[name] = r3.Add(times(c, sensor), times(dcm, m))
				drawn[name] = Triple{units.Length(m.Y), units.Length(m.X), units.Length(-m.Z)}
			}
			s := stationSheet(stations[i%len(stations)], c, r3.Vec{X: 8, Y: -16, Z: 2}, measured)
			s.Device.Marks = &Marks{Axes: ForwardRightDown, Points: drawn}
			v := solved(t, s)

			want := frame.FromMatrix([9]float64(matrix(mh, mp, mr)))
			if a := v.best.mounting.AngleTo(want); a > 1e-13 {
				t.Errorf("the mounting is %g rad off", a)
			}
			found := v.Report().Mounting.Matrix
			row.Check(t, "device_dcm_rowmajor", mul(c, found[:])...)
			q := frame.DeviceFromVessel(frame.FromMatrix([9]float64(c)), v.best.mounting).Quat()
			row.Check(t, "device_quat_wxyz", q.Real, q.Imag, q.Jmag, q.Kmag)
			if d := r3.Norm(r3.Sub(v.best.sensor, sensor)); d > 1e-13 {
				t.Errorf("the sensor is %g m off", d)
			}

			p := v.pose(Pose{Heading: units.Angle(frame.Rad(vh)), Pitch: units.Angle(frame.Rad(vp)), Roll: units.Angle(frame.Rad(vr))})
			h, pitch, roll := shown(t, p, "raw", "heading").Value.Value, shown(t, p, "raw", "pitch").Value.Value, shown(t, p, "raw", "roll").Value.Value
			if 90-math.Abs(row.Expected["device_pitch_deg"].(float64)) < 1e-4 {
				// The device's forward axis is vertical: its heading and roll are whatever rounding makes of them, and its
				// pitch is good to the root of rounding only. The rotation above stands.
				upright++
				if 90-math.Abs(pitch) > 1e-5 {
					t.Errorf("pitch %v", pitch)
				}
				return
			}
			row.Check(t, "device_heading_deg", h)
			row.Check(t, "device_pitch_deg", pitch)
			row.Check(t, "device_roll_deg", roll)
			naive := [3]float64{h - mh, pitch - mp, roll - mr}
			row.Check(t, "naive_heading_error_deg", naive[0]-vh)
			row.Check(t, "naive_pitch_error_deg", naive[1]-vp)
			row.Check(t, "naive_roll_error_deg", naive[2]-vr)
			row.Check(t, "naive_rotation_error_deg", frame.Deg(frame.FromMatrix([9]float64(matrix(naive[0], naive[1], naive[2]))).
				AngleTo(frame.FromMatrix([9]float64(c)))))
			row.Check(t, "recovered_heading_deg", shown(t, p, "set-up", "heading").Value.Value)
			row.Check(t, "recovered_pitch_deg", shown(t, p, "set-up", "pitch").Value.Value)
			row.Check(t, "recovered_roll_deg", shown(t, p, "set-up", "roll").Value.Value)
			row.Done(t)
		})
	}
	if upright > len(rows)/5 {
		t.Errorf("%d of %d rows have the device upright", upright, len(rows))
	}
}

func mul(a, b []float64) []float64 {
	out := make([]float64, 9)
	for i := range 9 {
		for k := range 3 {
			out[i] += a[i/3*3+k] * b[3*k+i%3]
		}
	}
	return out
}

// A station that measures two antennas where the table has them finds their places, the baseline, and what the
// receiver then shows.
func TestAntennaVectors(t *testing.T) {
	for i, row := range vectors.Load(t, "../geo/testdata/leverarm_antennas.jsonl") {
		t.Run(row.ID, func(t *testing.T) {
			h, p, r := row.In(t, "heading_deg"), row.In(t, "pitch_deg"), row.In(t, "roll_deg")
			wanted := func(name string) float64 { return row.Expected[name].(float64) }
			at := map[string]r3.Vec{
				"antenna-primary":   {X: wanted("ant1_east_m"), Y: wanted("ant1_north_m"), Z: wanted("ant1_up_m")},
				"antenna-secondary": {X: wanted("ant2_east_m"), Y: wanted("ant2_north_m"), Z: wanted("ant2_up_m")},
				"sensor":            {},
			}
			v := solved(t, stationSheet(stations[i%len(stations)], matrix(h, p, r), r3.Vec{X: -30, Y: 12, Z: 1}, at))
			pose := Pose{Heading: units.Angle(frame.Rad(h)), Pitch: units.Angle(frame.Rad(p)), Roll: units.Angle(frame.Rad(r))}
			report := v.ReportFor([]Pose{pose})

			primary, _ := v.at(v.best, installation.AntennaPrimary)
			lever := r3.Vec{X: row.In(t, "ant1_right_m"), Y: row.In(t, "ant1_fwd_m"), Z: row.In(t, "ant1_up_m")}
			if d := r3.Norm(r3.Sub(primary, lever)); d > 1e-12 {
				t.Errorf("the primary antenna is %g m off", d)
			}
			b := report.Baseline
			if d := frame.AngleDiff(frame.Rad(b.Azimuth.Value), frame.Rad(row.In(t, "baseline_az_deg"))); math.Abs(d) > 1e-12 {
				t.Errorf("azimuth %v", b.Azimuth)
			}
			if math.Abs(b.Elevation.Value-row.In(t, "baseline_el_deg")) > 1e-10 || math.Abs(b.Length.Value-row.In(t, "baseline_length_m")) > 1e-12 {
				t.Errorf("elevation %v, length %v", b.Elevation, b.Length)
			}
			row.Check(t, "baseline_right_m", b.Vector[0].Value)
			row.Check(t, "baseline_fwd_m", b.Vector[1].Value)
			row.Check(t, "baseline_up_m", b.Vector[2].Value)

			local := geo.LocalAt(geo.Position{Lat: frame.Rad(row.In(t, "lat_deg")), Lon: frame.Rad(row.In(t, "lon_deg")), Height: row.In(t, "height_m")})
			for k, name := range []string{"antenna-primary", "antenna-secondary"} {
				for _, q := range report.Poses[0].Points {
					if q.Name != name {
						continue
					}
					enu := r3.Vec{X: q.ENU[0].Value, Y: q.ENU[1].Value, Z: q.ENU[2].Value}
					prefix := fmt.Sprintf("ant%d_", k+1)
					row.Check(t, prefix+"east_m", enu.X)
					row.Check(t, prefix+"north_m", enu.Y)
					row.Check(t, prefix+"up_m", enu.Z)
					g := local.Position(enu)
					row.Check(t, prefix+"lat_deg", frame.Deg(g.Lat))
					row.Check(t, prefix+"lon_deg", frame.Deg(g.Lon))
					row.Check(t, prefix+"height_m", g.Height)
				}
			}
			azimuth := shown(t, report.Poses[0], "raw", "heading").Value.Value
			row.Check(t, "baseline_azimuth_deg", azimuth)
			row.Check(t, "baseline_inclination_deg", shown(t, report.Poses[0], "raw", "baseline inclination").Value.Value)
			row.Check(t, "naive_heading_deg", azimuth-b.Azimuth.Value)
			row.Check(t, "naive_heading_error_deg", azimuth-b.Azimuth.Value-h)
			if got := shown(t, report.Poses[0], "set-up", "heading").Value.Value; math.Abs(frame.AngleDiff(frame.Rad(got), frame.Rad(h))) > 1e-12 {
				t.Errorf("the set-up device shows heading %v, want %v", got, h)
			}
			row.Done(t)
		})
	}
}
