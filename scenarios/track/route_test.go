package track

import (
	"fmt"
	"math"
	"os"
	"strings"
	"testing"
	"testing/fstest"

	"swellbench/scenarios/frame"
	"swellbench/scenarios/geo"
)

const gpxHead = `<?xml version="1.0" encoding="UTF-8"?>
<gpx version="1.1" creator="a test" xmlns="http://www.topografix.com/GPX/1/1" xmlns:x="urn:x">
`

const gpxFile = gpxHead + `<metadata><name>not a route</name></metadata>
<wpt lat="1" lon="2"><name>not of it</name></wpt>
<rte>
  <name>Out &amp; back</name>
  <rtept lat="50.10" lon="-4.20"><ele>51</ele><name>A</name></rtept>
  <rtept lat='50.11' lon="-4.19"><extensions><x:rtept lat="0" lon="0"/></extensions></rtept>
</rte>
<rte><name>Other</name><rtept lat="-90" lon="180"/></rte>
<trk><trkseg><trkpt lat="3" lon="4"/></trkseg></trk>
</gpx>`

// degreesOf writes way-points for comparison.
func degreesOf(points []routePoint) string {
	var all []string
	for _, p := range points {
		s := fmt.Sprintf("%s %.6g %.6g", p.where, frame.Deg(p.lat), frame.Deg(p.lon))
		if p.speed != nil {
			s += " " + p.speed.In("kn")
		}
		all = append(all, s)
	}
	return strings.Join(all, "\n")
}

func TestParseCSV(t *testing.T) {
	for _, c := range []struct{ name, text, want string }{
		{"plain", "lat,lon\n50.1,-4.2\n-33,180\n", "f:2 50.1 -4.2\nf:3 -33 180"},
		{"speed", "Lat, Lon ,SPEED\r\n50.1,-4.2,6 kn\r\n50.2,-4.2,\r\n", "f:2 50.1 -4.2 6 kn\nf:3 50.2 -4.2"},
		{"byte order mark, quotes, blank line", "\ufefflat,lon\n\n\"50.1\",\" -4.2\"", "f:3 50.1 -4.2"},
		{"empty", "", "f: the file is empty; allowed: a first row lat,lon or lat,lon,speed"},
		{"no header", "50.1,-4.2\n", "f:1: the first row is 50.1,-4.2; allowed: a first row lat,lon or lat,lon,speed"},
		{"swapped header", "lon,lat\n1,2\n", "f:1: the first row is lon,lat; allowed: a first row lat,lon or lat,lon,speed"},
		{"no points", "lat,lon\n", "f: the file has no way-points; add rows such as 50.1372,-4.2366"},
		{"latitude", "lat,lon\n1,2\n95,3\n", "f:3:1: latitude is 95; allowed: -90 to 90"},
		{"longitude", "lat,lon\n1,-180.5\n", "f:2:3: longitude is -180.5; allowed: -180 to 180"},
		{"infinite", "lat,lon\ninf,2\n", "f:2:1: latitude is inf; allowed: -90 to 90"},
		{"not a number", "lat,lon\nnan,2\n", "f:2:1: latitude is nan; allowed: degrees as a plain number, such as 50.1372"},
		{"minutes", "lat,lon\n50 12.3,2\n", "f:2:1: latitude is 50 12.3; allowed: degrees as a plain number, such as 50.1372"},
		{"hexadecimal", "lat,lon\n0x1p3,2\n", "f:2:1: latitude is 0x1p3; allowed: degrees as a plain number, such as 50.1372"},
		{"decimal commas", "lat,lon\n50,1,-4,2\n", "f:2: the row has 4 fields, but the first row names 2; give each way-point all of them"},
		{"speed without unit", "lat,lon,speed\n1,2,6\n", "f:2:5: speed: 6 has no unit; write 6 kn, 6 m/s or 6 km/h"},
		{"speed 0", "lat,lon,speed\n1,2,0 kn\n", "f:2:5: speed is 0 kn; allowed: 0.01 m/s to 100 m/s"},
		{"quotes", "lat,lon\n\"1,2\n", "f:2:6: extraneous or missing \" in quoted-field; write plain values with commas between"},
		{"bytes", "lat,lon\n\xff\xfe", "f: the file is not text in UTF-8; save it as such"},
		{"too many", "lat,lon\n" + strings.Repeat("1,2\n", maxRoutePoints+1), "f:10002: there are too many way-points; allowed: at most 10000"},
	} {
		t.Run(c.name, func(t *testing.T) {
			points, err := parseCSV("f", []byte(c.text))
			got := degreesOf(points)
			if err != nil {
				got = err.Error()
			}
			if got != c.want {
				t.Errorf("got:\n%s\nwant:\n%s", got, c.want)
			}
		})
	}
}

func TestParseGPX(t *testing.T) {
	for _, c := range []struct{ name, text, route, want string }{
		{"by name", gpxFile, "Out & back", "f:7 50.1 -4.2\nf:8 50.11 -4.19"},
		{"the other", gpxFile, "Other", "f:10 -90 180"},
		{"which?", gpxFile, "", "f: the file has 2 routes; say which, such as name: Out & back"},
		{"unknown", gpxFile, "Othr", "f: there is no route Othr; did you mean Other? allowed: Out & back, Other"},
		{"the only one", gpxHead + `<rte><rtept lat="1" lon="2"/></rte></gpx>`, "", "f:3 1 2"},
		{"twice", gpxHead + `<rte><name>A</name></rte><rte><name>A</name></rte></gpx>`, "A", "f: there are 2 routes called A; give them names of their own"},
		{"empty route", gpxHead + `<rte><name>A</name></rte></gpx>`, "A", "f: the route has no way-points; add rtept elements"},
		{"a track", gpxHead + `<trk/></gpx>`, "", "f: the file has no route, only a recorded track; save its way-points as a route (rte)"},
		{"nothing", gpxHead + `</gpx>`, "", "f: the file has no route; allowed: GPX 1.1 with a rte element"},
		{"empty file", "", "", "f: the file has no route; allowed: GPX 1.1 with a rte element"},
		{"of another namespace", gpxHead + `<rte xmlns="urn:y"><rtept lat="1" lon="2"/></rte></gpx>`, "", "f: the file has no route; allowed: GPX 1.1 with a rte element"},
		{"not GPX", `<kml/>`, "", "f:1:7: the first element is kml; allowed: gpx"},
		{"old", `<gpx version="1.0" xmlns="http://www.topografix.com/GPX/1/0"/>`, "",
			"f:1:63: the file is GPX of version 1.0 in the namespace http://www.topografix.com/GPX/1/0; allowed: version 1.1 in http://www.topografix.com/GPX/1/1"},
		{"not XML", "lat,lon\n1,2\n<", "", "f:3: this is not XML: unexpected EOF"},
		{"cut short", gpxHead + `<rte><rtept lat="1" lon="2"/>`, "", "f:3: this is not XML: unexpected EOF"},
		{"latitude", gpxHead + `<rte><rtept lat="91" lon="2"/></rte></gpx>`, "", "f:3:31: latitude is 91; allowed: -90 to 90"},
		{"no longitude", gpxHead + `<rte><rtept lat="1"/></rte></gpx>`, "", "f:3:22: the way-point has no lon; add lon in degrees"},
		{"encoding", `<?xml version="1.0" encoding="EBCDIC"?><gpx/>`, "", `f:1:40: this cannot be read: xml: encoding "EBCDIC" declared but Decoder.CharsetReader is nil; save it in UTF-8`},
		{"deep", strings.Repeat("<gpx xmlns=\"http://www.topografix.com/GPX/1/1\" version=\"1.1\">", 70), "", "f:1:3966: elements lie more than 64 deep; this is not GPX"},
		{"too many", gpxHead + "<rte>" + strings.Repeat("<rtept lat='1' lon='2'/>\n", maxRoutePoints+1) + "</rte></gpx>", "", "f:10003: there are too many way-points; allowed: at most 10000"},
	} {
		t.Run(c.name, func(t *testing.T) {
			points, err := parseGPX("f", []byte(c.text), c.route)
			got := degreesOf(points)
			if err != nil {
				got = err.Error()
			}
			if got != c.want {
				t.Errorf("got:\n%s\nwant:\n%s", got, c.want)
			}
		})
	}
}

func TestResolve(t *testing.T) {
	files := fstest.MapFS{
		"out.csv":       {Data: []byte("lat,lon,speed\n50.105,-4.2,6 kn\n50.108,-4.19,\n50.11,-4.2,4 kn\n")},
		"parts/out.gpx": {Data: []byte(gpxFile)},
		"bad.csv":       {Data: []byte("lat,lon\n50.105,-4.2\n50.108,-404.19\n")},
		"big.csv":       {Data: make([]byte, maxRouteBytes+1)},
		"pipe.csv":      {Mode: os.ModeNamedPipe},
		"dir.csv/a":     {},
	}
	route := func(r Route) Spec {
		if r.Speed == nil {
			r.Speed = knots(5)
		}
		return Spec{Position: quay, Heading: degrees(0), Manoeuvres: []Manoeuvre{{Hold: &Hold{For: 5}}, {Route: &r}}}
	}
	for _, c := range []struct {
		name, dir string
		route     Route
		want      string
	}{
		{"csv", ".", Route{CSV: "out.csv"}, ""},
		{"csv from a folder", "parts", Route{CSV: "../out.csv"}, ""},
		{"gpx", "parts", Route{GPX: "out.gpx", Name: "Out & back"}, ""},
		{"gpx in a folder", ".", Route{GPX: "parts/out.gpx", Name: "Out & back"}, ""},
		{"gone", ".", Route{CSV: "gone.csv"}, "manoeuvres[1].route.csv: the file gone.csv cannot be read: there is no such file; name a file of way-points"},
		{"outside", "parts", Route{CSV: "../../out.csv"}, "manoeuvres[1].route.csv: the file ../../out.csv lies outside the folder of the scenario; allowed: a file in it or below, with / between folders"},
		{"from the root", ".", Route{CSV: "/etc/hostname"}, "manoeuvres[1].route.csv: the file /etc/hostname lies outside the folder of the scenario; allowed: a file in it or below, with / between folders"},
		{"wrong", ".", Route{CSV: "bad.csv"}, "manoeuvres[1].route.csv: bad.csv:3:8: longitude is -404.19; allowed: -180 to 180"},
		{"which", "parts", Route{GPX: "out.gpx"}, "manoeuvres[1].route.gpx: out.gpx: the file has 2 routes; say which, such as name: Out & back"},
		{"large", ".", Route{CSV: "big.csv"}, "manoeuvres[1].route.csv: the file big.csv cannot be read: it is larger than 4194304 bytes; name a file of way-points"},
		{"pipe", ".", Route{CSV: "pipe.csv"}, "manoeuvres[1].route.csv: the file pipe.csv cannot be read: it is no ordinary file; name a file of way-points"},
		{"folder", ".", Route{CSV: "dir.csv"}, "manoeuvres[1].route.csv: the file dir.csv cannot be read: it is no ordinary file; name a file of way-points"},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := route(c.route)
			got := lines(s.Resolve(files, func(path string) string {
				if path != "manoeuvres[1].route" {
					t.Errorf("asked for the folder of %q", path)
				}
				return c.dir
			}))
			if got != c.want {
				t.Errorf("problems:\n%s\nwant:\n%s", got, c.want)
			}
			if c.want == "" {
				mustNew(t, s)
			}
		})
	}

	// A way-point of a route that cannot be run says where it stands.
	s := route(Route{CSV: "out.csv", Radius: metres(800)})
	if ps := s.Resolve(files, nil); len(ps) > 0 {
		t.Fatal(ps)
	}
	if got := lines(s.Validate()); !strings.HasPrefix(got, "manoeuvres[1].route: way-point out.csv:2: the way-point is too close: ") {
		t.Errorf("problems:\n%s", got)
	}

	// And one that can is run, at the speeds of the file.
	s = route(Route{CSV: "out.csv", Speed: knots(8), Radius: metres(40)})
	s.Manoeuvres = append(s.Manoeuvres, Manoeuvre{Hold: &Hold{For: 60}})
	if ps := s.Resolve(files, nil); len(ps) > 0 {
		t.Fatal(ps)
	}
	p, stages := mustNew(t, s), stagesOf(t, s)
	for _, c := range []struct {
		name  string
		knots float64
	}{{"way-point out.csv:2", 6}, {"way-point out.csv:3", 8}, {"way-point out.csv:4", 4}} {
		top := 0.0
		for at := stages[c.name].Until - 40; at < stages[c.name].Until-20; at++ {
			top = max(top, speed(p.At(at)))
		}
		scalar(t, "speed towards "+c.name, top/geo.KnotMS, c.knots, 1e-6)
	}
	end := p.At(stages["way-point out.csv:4"].Until).Position
	if d := distance(end, geo.Position{Lat: frame.Rad(50.11), Lon: frame.Rad(-4.2)}); !(d < 1e-6) {
		t.Errorf("the vessel came to rest %g m from the last way-point", d)
	}
}

// A route may begin where the vessel is, or at the way-point that it has just been sent to: that is no way-point twice.
func TestRouteFromHere(t *testing.T) {
	files := fstest.MapFS{"out.csv": {Data: []byte("lat,lon\n50.1,-4.2\n50.104,-4.2\n50.106,-4.19\n")}}
	end := geo.Position{Lat: frame.Rad(50.106), Lon: frame.Rad(-4.19)}
	first := &WayPoint{deg(50.1), deg(-4.2)}
	for name, s := range map[string]Spec{
		"from here":     {Position: at(50.1, -4.200001, 4), Manoeuvres: []Manoeuvre{{Route: &Route{CSV: "out.csv", Speed: knots(6)}}, {Hold: &Hold{For: 9}}}},
		"as sent there": {Position: at(50.098, -4.205, 4), Manoeuvres: []Manoeuvre{{Run: &Run{To: first, Speed: knots(6)}}, {Route: &Route{CSV: "out.csv"}}, {Hold: &Hold{For: 9}}}},
	} {
		if ps := s.Resolve(files, nil); len(ps) > 0 {
			t.Fatal(ps)
		}
		p, hold := mustNew(t, s), stagesOf(t, s)["hold"]
		if d := distance(p.At(hold.Until).Position, end); !(d < 1e-6) {
			t.Errorf("%s: the vessel came to rest %g m from the last way-point", name, d)
		}
		nearest := math.Inf(1)
		for at := 0.0; at < hold.From; at++ {
			nearest = min(nearest, distance(p.At(at).Position, geo.Position{Lat: float64(first.Latitude), Lon: float64(first.Longitude)}))
		}
		if nearest > 15 {
			t.Errorf("%s: the vessel passed the first way-point at %g m", name, nearest)
		}
	}
}

// Whatever the bytes, the files are refused in words, or give way-points on the Earth.
func FuzzRoute(f *testing.F) {
	f.Add([]byte(gpxFile), "Other")
	f.Add([]byte(gpxHead+`<rte><rtept lat="1" lon="2"/></rte></gpx>`), "")
	f.Add([]byte("lat,lon,speed\n50.105,-4.2,6 kn\n50.108,-4.19,\n"), "")
	f.Fuzz(func(t *testing.T, data []byte, route string) {
		csv, err1 := parseCSV("f.csv", data)
		gpx, err2 := parseGPX("f.gpx", data, route)
		for i, err := range []error{err1, err2} {
			points := [][]routePoint{csv, gpx}[i]
			if (err == nil) != (len(points) > 0) {
				t.Fatalf("%d way-points with error %v", len(points), err)
			}
			if err != nil && !strings.HasPrefix(err.Error(), "f.") {
				t.Fatalf("an error does not say where: %v", err)
			}
			for _, p := range points {
				if !(math.Abs(p.lat) <= math.Pi/2 && math.Abs(p.lon) <= math.Pi) {
					t.Fatalf("way-point %v", p)
				}
			}
		}
	})
}
