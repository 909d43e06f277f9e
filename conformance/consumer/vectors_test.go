package consumer

import (
	"encoding/hex"
	"math"
	"strings"
	"testing"
	"time"

	"gonum.org/v1/gonum/spatial/r3"

	"swellbench/scenarios/installation"
	"swellbench/scenarios/units"
)

// Printed angles have six decimals, positions ten, heights five.
const (
	angleTol  = 1.1e-6
	heightTol = 1e-4 // of the tables: 0.1 mm
)

// A device that is mounted at an angle and reports its own attitude, or the vessel's after the mounting was entered.
// Source: see the rows, C_nd = C_nv·C_vd.
func TestMountingVectors(t *testing.T) {
	for _, r := range rows(t, "attitude_mounting.jsonl") {
		t.Run(r.ID, func(t *testing.T) {
			in := boat("reference", nil)
			in.Mounting = mountingDeg(r.in(t, "mount_heading_deg"), r.in(t, "mount_pitch_deg"), r.in(t, "mount_roll_deg"))
			h, p, ro := r.in(t, "vessel_heading_deg"), r.in(t, "vessel_pitch_deg"), r.in(t, "vessel_roll_deg")
			dp := r.want(t, "device_pitch_deg")
			var dh, dr float64
			upright := math.Abs(dp) > 89.999999
			if upright { // heading and roll are one number then: all of it is sent as heading
				c := r.Expected["device_dcm_rowmajor"].([]any)
				dh = math.Mod(math.Atan2(-c[3].(float64), c[0].(float64))*180/math.Pi+360, 360)
			} else {
				dh, dr = r.want(t, "device_heading_deg"), r.want(t, "device_roll_deg")
			}
			check := func(o observed) {
				t.Helper()
				o.near(t, "heading", h, angleTol)
				o.near(t, "pitch", p, angleTol)
				o.near(t, "roll", ro, angleTol)
			}
			fix := gga("120000.00", 50, 4, 60, 47, 4)
			check(one(t, in, fix+hdt(dh)+xdr(dp, dr, 0)))
			// Entered right: the device has done it.
			entered := in.Mounting
			in.Entered.Mounting = &entered
			check(one(t, in, fix+hdt(h)+xdr(p, ro, 0)))
			// Entered wrong: what the device reports then is C_nd·C_entᵀ. With nothing mounted at an angle but this
			// mounting entered, "device" and "vessel" of the row change places, and the entry has to be undone.
			in.Mounting = installation.Mounting{}
			if upright {
				return
			}
			o := one(t, in, fix+hdt(h)+xdr(p, ro, 0))
			o.near(t, "heading", dh, angleTol)
			o.near(t, "pitch", dp, angleTol)
			o.near(t, "roll", dr, angleTol)
		})
	}
}

// Two antennas on a boat that heels: the position of the antenna and the azimuth of the baseline are on the wire, the
// reference point or the second antenna is asked for.
func TestAntennaVectors(t *testing.T) {
	for _, r := range rows(t, "leverarm_antennas.jsonl") {
		t.Run(r.ID, func(t *testing.T) {
			a1 := r3.Vec{X: r.in(t, "ant1_right_m"), Y: r.in(t, "ant1_fwd_m"), Z: r.in(t, "ant1_up_m")}
			b := r3.Vec{X: r.want(t, "baseline_right_m"), Y: r.want(t, "baseline_fwd_m"), Z: r.want(t, "baseline_up_m")}
			in := boat("reference", map[string]r3.Vec{
				installation.AntennaPrimary: a1, installation.AntennaSecondary: r3.Add(a1, b),
			})
			h, p, ro := r.in(t, "heading_deg"), r.in(t, "pitch_deg"), r.in(t, "roll_deg")
			lat := r.in(t, "lat_deg")
			fix := gga("120000.00", r.want(t, "ant1_lat_deg"), r.want(t, "ant1_lon_deg"), r.want(t, "ant1_height_m"), 47, 4)
			// 0.1 mm, as in the tables.
			latTol := 1e-4 / 111e3
			lonTol := latTol / math.Cos(lat*math.Pi/180)

			check := func(o observed, lat, lon, height float64) {
				t.Helper()
				o.near(t, "heading", h, angleTol)
				o.near(t, "lat", lat, latTol)
				o.near(t, "lon", lon, lonTol)
				o.near(t, "height", height, heightTol)
			}
			raw := fix + hdt(r.want(t, "baseline_azimuth_deg")) + xdr(p, ro, 0)
			check(one(t, in, raw), lat, r.in(t, "lon_deg"), r.in(t, "height_m"))
			in.Expected.OutputPoint = installation.AntennaSecondary
			check(one(t, in, raw), r.want(t, "ant2_lat_deg"), r.want(t, "ant2_lon_deg"), r.want(t, "ant2_height_m"))
			in.Expected.OutputPoint = installation.AntennaPrimary
			check(one(t, in, raw), r.want(t, "ant1_lat_deg"), r.want(t, "ant1_lon_deg"), r.want(t, "ant1_height_m"))

			// Baseline entered: the device corrects for tilt, and reports the vessel's heading.
			in.Expected.OutputPoint = "reference"
			in.Entered.Baseline = &installation.Baseline{
				Azimuth:   units.Angle(r.in(t, "baseline_az_deg") * math.Pi / 180),
				Elevation: units.Angle(r.in(t, "baseline_el_deg") * math.Pi / 180),
				Length:    units.Length(r.in(t, "baseline_length_m")),
			}
			check(one(t, in, fix+hdt(h)+xdr(p, ro, 0)), lat, r.in(t, "lon_deg"), r.in(t, "height_m"))

			// Antennas and output point entered: the position is that of the reference point already.
			in.Entered.Antennas = &installation.Antennas{
				Primary:   &installation.Place{Name: installation.AntennaPrimary},
				Secondary: &installation.Place{Name: installation.AntennaSecondary},
			}
			in.Entered.Baseline = nil
			in.Entered.OutputPoint = &installation.Place{Name: "reference"}
			ready := gga("120000.00", lat, r.in(t, "lon_deg"), r.in(t, "height_m"), 47, 4) + hdt(h) + xdr(p, ro, 0)
			check(one(t, in, ready), lat, r.in(t, "lon_deg"), r.in(t, "height_m"))
			if math.Abs(lat) > 89 {
				// The device adds its arm in the local frame of the antenna, which this far north is not that of the
				// reference point: the table has no such row.
				return
			}
			// Below, the two frames differ by arm times arm over the Earth's radius, 0.4 mm here.
			in.Expected.OutputPoint = installation.AntennaSecondary
			o := one(t, in, ready)
			o.near(t, "lat", r.want(t, "ant2_lat_deg"), 5*latTol)
			o.near(t, "lon", r.want(t, "ant2_lon_deg"), 5*lonTol)
			o.near(t, "height", r.want(t, "ant2_height_m"), 5*heightTol)
		})
	}
}

// Heave of one point, asked for at another. Rows with a mean attitude take that out, which a consumer does not.
func TestHeaveVectors(t *testing.T) {
	n := 0
	for _, r := range rows(t, "leverarm_heave.jsonl") {
		if r.in(t, "mean_pitch_deg") != 0 || r.in(t, "mean_roll_deg") != 0 {
			continue
		}
		n++
		t.Run(r.ID, func(t *testing.T) {
			l := r3.Vec{X: r.in(t, "right_m"), Y: r.in(t, "fwd_m"), Z: r.in(t, "up_m")}
			in := boat("sonar", map[string]r3.Vec{"sonar": l})
			fix := gga("120000.00", 50, 4, 60, 47, 4) + hdt(r.in(t, "heading_deg"))
			p, ro := r.in(t, "pitch_deg"), r.in(t, "roll_deg")
			at, there := r.in(t, "heave_ref_m"), r.want(t, "heave_point_m")
			const tol = 6e-6 // five decimals are printed
			one(t, in, fix+xdr(p, ro, at)).near(t, "heave", there, tol)
			// The other way: the device sits at the point, and its heave is asked for at the reference.
			in = boat("reference", map[string]r3.Vec{"sensor": l})
			one(t, in, fix+xdr(p, ro, there)).near(t, "heave", at, tol)
			// Carried by the device.
			in = boat("sonar", map[string]r3.Vec{"sonar": l})
			in.Entered.Antennas = &installation.Antennas{Primary: &installation.Place{Name: installation.AntennaPrimary}}
			in.Entered.OutputPoint = &installation.Place{Name: "sonar"}
			one(t, in, fix+xdr(p, ro, there)).near(t, "heave", there, tol)
			// Carried by the device to the wrong place: undone.
			in.Entered.OutputPoint = &installation.Place{Name: "sonar"}
			in.Expected.OutputPoint = "reference"
			one(t, in, fix+xdr(p, ro, there)).near(t, "heave", at, tol)
		})
	}
	if n < 6 {
		t.Errorf("%d rows without a mean attitude, want 6 at least", n)
	}
}

// Times and dates of ZDA and RMC, leap seconds and both centuries among them. A leap second is the first second of the
// next day, since no clock here has a sixtieth second.
func TestTimeVectors(t *testing.T) {
	in := boat(installation.AntennaPrimary, nil)
	var steps int
	for _, r := range rows(t, "time_sentences.jsonl") {
		if r.Case == "time_only_step" {
			steps++
			timeOnlyStep(t, in, r)
			continue
		}
		s, _ := r.In["sentence"].(string)
		want, _ := r.Expected["utc"].(string)
		leap := strings.Contains(want, ":60.")
		want = strings.Replace(want, ":60.", ":59.", 1)
		at, err := time.Parse("2006-01-02T15:04:05.000", want)
		if err != nil {
			t.Fatal(err)
		}
		if leap {
			at = at.Add(time.Second)
		}
		if got := stampOf(t, one(t, in, s+"\r\n")); !got.Equal(at) {
			t.Errorf("%s: %s is stamped %v, want %v", r.ID, s, got, at)
		}
	}
	if steps == 0 {
		t.Error("no rows of time_only_step")
	}
}

// timeOnlyStep checks that after a date the day is carried on by time alone.
func timeOnlyStep(t *testing.T, in *installation.Installation, r row) {
	t.Helper()
	first, _ := r.In["first_hhmmss"].(string)
	second, _ := r.In["second_hhmmss"].(string)
	place := func(clock string) string {
		return sentence("GPGGA,%s,4807.0380,N,01131.0000,E,1,08,0.9,545.4,M,46.9,M,,", clock)
	}
	all := observe(t, in, sentence("GPZDA,%s,31,12,2016,00,00", first)+place(first)+place(second))
	if len(all) != 2 {
		t.Fatalf("%s: %d observations, want 2: %v", r.ID, len(all), all)
	}
	got := stampOf(t, all[1]).Sub(stampOf(t, all[0])).Seconds()
	want := r.want(t, "elapsed_s")
	if strings.Contains(second, "60") && strings.HasPrefix(second, "2359") {
		want = 1 // 23:59:60 is printed as the midnight that follows
	} else if strings.HasPrefix(first, "235960") {
		want = 0 // and that midnight is printed as itself
	}
	if math.Abs(got-want) > 1e-6 {
		t.Errorf("%s: %s to %s is %g s, want %g s", r.ID, first, second, got, want)
	}
}

// Real-world and contested sentences: those that must be accepted show their values, those that must not are not
// published, and nothing stops the consumer.
func TestWireVectors(t *testing.T) {
	in := boat(installation.AntennaPrimary, nil)
	const after = "$GPZDA,030405.67,14,06,2026,00,00*60\r\n"
	var all strings.Builder
	n := map[string]int{}
	for _, name := range []string{"nmea0183-sentences.jsonl", "nmea0183-reject.jsonl", "nmea0183-edge.jsonl", "nmea0183-stream.jsonl", "nmea0183-query-tag.jsonl"} {
		for _, r := range rows(t, name) {
			input := r.Input
			if r.Encoding == "hex" {
				b, err := hex.DecodeString(input)
				if err != nil {
					t.Fatal(err)
				}
				input = string(b)
			}
			if r.Kind == "nmea0183-reject" {
				input = "\r\n" + input
			}
			all.WriteString(input + "\r\n")
			out := observe(t, in, input+"\r\n"+after)
			if len(out) == 0 || !strings.HasPrefix(out[len(out)-1]["time"].(string), "2026-06-14T03:04:05.67") {
				t.Errorf("%s: the sentence after it is lost: %v", r.ID, out)
				continue
			}
			n[r.Kind]++
			switch r.Kind {
			case "nmea0183-reject":
				if len(out) != 1 || out[0]["source"] != "ZDA" {
					t.Errorf("%s: published %v", r.ID, out)
				}
			case "nmea0183-sentence":
				fields, _ := r.Expected["fields"].(map[string]any)
				kind, _ := r.Expected["type"].(string)
				checkFields(t, r.ID, kind, fields, out[0])
			}
		}
	}
	if n["nmea0183-reject"] == 0 || n["nmea0183-sentence"] == 0 {
		t.Errorf("rows by kind: %v", n)
	}
	observe(t, in, all.String()) // all of them as one stream
}

// checkFields compares an observation with the fields of a vector, in the vector's units.
func checkFields(t *testing.T, id, kind string, fields map[string]any, o observed) {
	t.Helper()
	void := fields["status"] == "V" && (kind == "ROT" || kind == "RMC" && fields["mode"] != "E" && fields["mode"] != "S" && fields["mode"] != "M")
	for _, c := range []struct {
		kinds, field, out string
		scale, tol        float64
	}{
		{"GGA RMC", "lat", "lat", 1, 1e-9},
		{"GGA RMC", "lon", "lon", 1, 1e-9},
		{"RMC VTG", "sog_kn", "speed", 1852.0 / 3600, 6e-6},
		{"RMC", "cog_deg", "course", 1, 1e-6},
		{"VTG", "cog_true_deg", "course", 1, 1e-6},
		{"HDT", "heading_true_deg", "heading", 1, 1e-6},
		{"ROT", "rate_deg_per_min", "rate_of_turn", 1.0 / 60, 1e-6},
	} {
		if !strings.Contains(c.kinds, kind) || kind == "" {
			continue
		}
		want, ok := fields[c.field]
		if !ok {
			continue
		}
		if want == nil || void {
			if v, said := o[c.out]; v != nil || !said {
				t.Errorf("%s: %s is %v, want null", id, c.out, v)
			}
			continue
		}
		o.near(t, c.out, want.(float64)*c.scale, c.tol)
	}
}
