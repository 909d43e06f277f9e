package consumer

import (
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"swellbench/scenarios/installation"
)

// What is null on the wire is null in the observation; what cannot be worked out for the output point is null, with
// the reason; what no message speaks about is left out.
func TestNulls(t *testing.T) {
	arm := map[string]r3.Vec{"antenna-primary": {X: 1, Y: -2, Z: 3}, "sensor": {X: 0.5}, "sonar": {X: 0, Y: 4, Z: -1}}
	fix := gga("120000.00", 50, 4, 60, 47, 4)
	noFix := sentence("GNGGA,120000.00,5000.0000,N,00400.0000,E,0,00,99.9,13.0,M,47.0,M,,")
	noHeight := sentence("GNGGA,120000.00,5000.0000,N,00400.0000,E,1,12,0.8,13.0,M,,M,,")
	noHeading := sentence("HEHDT,,T")
	noRoll := sentence("YXXDR,A,1.0,D,PITCH,A,,D,ROLL,D,0.1,M,HEAVE")
	noHeave := sentence("YXXDR,A,1.0,D,PITCH,A,2.0,D,ROLL,D,,M,HEAVE")
	set := hdt(10) + xdr(1, 2, 0.1)
	for _, c := range []struct {
		name, out, stream string
		known, null, none string
		fix, note         string
	}{
		{"all is there", "sonar", fix + set, "lat lon height heading pitch roll heave", "", "speed course rate_of_turn", "rtk-fixed", ""},
		{"no fix, coordinates left over", "sonar", noFix + set, "heading pitch roll heave", "lat lon height", "", "none", ""},
		{"no undulation", "sonar", noHeight + set, "lat lon heading", "height", "", "autonomous", ""},
		{"no heading", "sonar", fix + noHeading + xdr(1, 2, 0.1), "pitch roll heave", "lat lon height heading", "", "rtk-fixed", "position: the lever arm is still to be applied"},
		{"no heading, no arm", "antenna-primary", fix + noHeading + xdr(1, 2, 0.1), "lat lon height pitch roll heave", "heading", "", "rtk-fixed", ""},
		{"heading not sent", "sonar", fix + xdr(1, 2, 0.1), "pitch roll heave", "lat lon height", "heading heading_valid", "rtk-fixed", "position: the lever arm is still to be applied"},
		{"attitude not sent", "sonar", fix + hdt(10), "heading", "lat lon height", "pitch roll heave", "rtk-fixed", "position: the lever arm is still to be applied"},
		{"no roll", "sonar", fix + hdt(10) + noRoll, "heading pitch", "lat lon height roll heave", "", "rtk-fixed", "heave: it is still to be carried"},
		{"no roll, no arm", "sensor", hdt(10) + noRoll + sentence("GPZDA,120000.00,01,06,2026,00,00"), "heading pitch heave", "roll", "lat lon height fix", "", ""},
		{"no heave", "sonar", fix + hdt(10) + noHeave, "lat lon height heading pitch roll", "heave", "", "rtk-fixed", ""},
		{"course null at rest", "sonar", fix + set + sentence("GNVTG,,T,,M,0.01,N,0.02,K,A"), "speed", "course", "", "rtk-fixed", ""},
		{"rate void", "sonar", fix + set + sentence("TIROT,12.0,V"), "lat", "rate_of_turn", "", "rtk-fixed", ""},
		{"position from RMC has no height", "antenna-primary", sentence("GNRMC,120000.00,A,5000.0000,N,00400.0000,E,1.00,90.0,010626,,,F,V"), "lat lon speed course", "", "height heading", "rtk-float", ""},
		{"void RMC", "antenna-primary", sentence("GNRMC,120000.00,V,5000.0000,N,00400.0000,E,1.00,90.0,010626,,,N,V"), "", "lat lon speed course", "height", "none", ""},
		{"estimated", "antenna-primary", sentence("GNRMC,120000.00,V,5000.0000,N,00400.0000,E,1.00,90.0,010626,,,E,V"), "lat lon speed course", "", "", "estimated", ""},
		{"GGA before RMC", "antenna-primary", sentence("GNRMC,120000.00,V,,,,,,,010626,,,N,V") + fix, "lat lon height", "speed course", "", "rtk-fixed", ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			o := one(t, boat(c.out, arm), c.stream)
			for name := range strings.FieldsSeq(c.known) {
				o.num(t, name)
			}
			for name := range strings.FieldsSeq(c.null) {
				if v, said := o[name]; v != nil || !said {
					t.Errorf("%s is %v (said: %v), want null", name, v, said)
				}
			}
			for name := range strings.FieldsSeq(c.none) {
				if v, said := o[name]; said {
					t.Errorf("%s is %v, want nothing", name, v)
				}
			}
			if f, _ := o["fix"].(string); f != c.fix {
				t.Errorf("fix is %q, want %q", f, c.fix)
			}
			if n, _ := o["note"].(string); c.note == "" && n != "" || !strings.Contains(n, c.note) {
				t.Errorf("note is %q, want %q in it", n, c.note)
			}
			if v, said := o["heading_valid"]; said && v != (o["heading"] != nil) {
				t.Errorf("heading_valid is %v, heading %v", v, o["heading"])
			}
		})
	}
}

// Without the point of the antenna no position can be placed; the rest can.
func TestNoAntenna(t *testing.T) {
	in := &installation.Installation{Points: map[string]installation.Vector{"sensor": {}}}
	o := one(t, in, burst(t, "Z1 G1 H1 X1"))
	if lat, said := o["lat"]; lat != nil || !said || !strings.Contains(o["note"].(string), "antenna-primary") {
		t.Errorf("latitude %v, note %v", lat, o["note"])
	}
	o.near(t, "heading", 1, angleTol)
	o.near(t, "heave", 0, 1e-5)
}

// A heading along the fore-and-aft baseline needs no tilt; one across does.
func TestHeadingWithoutTilt(t *testing.T) {
	fix := gga("120000.00", 50, 4, 60, 47, 4)
	ahead := map[string]r3.Vec{"antenna-secondary": {Y: 2}}
	one(t, boat(installation.AntennaPrimary, ahead), fix+hdt(123)).near(t, "heading", 123, angleTol)
	astern := map[string]r3.Vec{"antenna-secondary": {Y: -2}}
	one(t, boat(installation.AntennaPrimary, astern), fix+hdt(123)).near(t, "heading", 303, angleTol)
	across := boat(installation.AntennaPrimary, map[string]r3.Vec{"antenna-secondary": {X: 2}})
	if o := one(t, across, fix+hdt(123)); o["heading"] != nil || !strings.Contains(o["note"].(string), "pitch and roll") {
		t.Errorf("heading %v, note %v", o["heading"], o["note"])
	}
	// An athwartships baseline, pitch 5 and roll −10 degrees: subtracting the azimuth would be 0.88 degrees too much.
	// Source: the page on physics, section 3.
	one(t, across, fix+hdt(123)+xdr(5, -10, 0)).near(t, "heading", 33-0.88, 0.005)
	// Where the device was told this baseline, it has done that.
	across.Entered.Baseline = &installation.Baseline{Azimuth: 3.141592653589793 / 2, Length: 2}
	one(t, across, fix+hdt(33.88)).near(t, "heading", 33.88, angleTol)
	upright := boat(installation.AntennaPrimary, map[string]r3.Vec{"antenna-secondary": {Z: 2}})
	if o := one(t, upright, fix+hdt(123)+xdr(0, 0, 0)); o["heading"] != nil {
		t.Errorf("heading %v from an upright baseline", o["heading"])
	}
}

// Angles stay in their ranges when they are rounded for printing.
func TestPrintedRanges(t *testing.T) {
	in := boat(installation.AntennaPrimary, nil)
	for deg, want := range map[float64]string{359.99999999: `"heading":0.000000,`, 359.999999: `"heading":359.999999,`, 360: `"heading":0.000000,`, 0: `"heading":0.000000,`} {
		var out strings.Builder
		if err := Run(t.Context(), Config{Installation: in}, strings.NewReader(burst(t, "Z1 G1")+hdt(deg)), &out); err != nil {
			t.Fatal(err)
		}
		if !strings.Contains(out.String(), want) {
			t.Errorf("heading %v: %s, want %s in it", deg, out.String(), want)
		}
	}
	o := one(t, in, sentence("GPGGA,120000.00,9000.0000,S,18000.0000,W,1,08,1.0,0.0,M,14.9,M,,"))
	o.near(t, "lat", -90, 1e-9)
	if lon := o.num(t, "lon"); lon <= -180 || lon > 180 {
		t.Errorf("longitude %v, want −180 < lon ≤ 180", lon)
	}
}

// The whole line, so that nothing changes unnoticed.
func TestLine(t *testing.T) {
	in := boat("sonar", map[string]r3.Vec{"sonar": {}})
	var out strings.Builder
	stream := sentence("GNRMC,235959.20,A,5403.49613,N,00319.00079,W,6.020,012.45,150627,0.9,W,R,S") +
		gga("235959.20", 54.05826883, -3.3166798, 52.438, 51.204, 4) + hdt(271.42) + xdr(-1.05, 2.31, 0.12) + sentence("HEROT,-11.4,A")
	if err := Run(t.Context(), Config{Installation: in}, strings.NewReader(stream), &out); err != nil {
		t.Fatal(err)
	}
	want := `{"time":"2027-06-15T23:59:59.200Z","point":"sonar","lat":54.0582688300,"lon":-3.3166798000,"height":52.43800,` +
		`"heading":271.420000,"pitch":-1.050000,"roll":2.310000,"heave":0.12000,"speed":3.09696,"course":12.450000,` +
		`"rate_of_turn":-0.190000,"fix":"rtk-fixed","heading_valid":true,"source":"RMC+GGA+HDT+XDR+ROT"}` + "\n"
	if out.String() != want {
		t.Errorf("got  %swant %s", out.String(), want)
	}
}
