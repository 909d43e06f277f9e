package observe

import (
	"fmt"
	"io"
	"math"
	"strings"
	"testing"
	"testing/fstest"
	"testing/iotest"
	"time"
)

func mapOf(t testing.TB, text string) *Map {
	t.Helper()
	m, err := LoadMapFS(fstest.MapFS{"log-map.yaml": {Data: []byte(text)}}, "log-map.yaml")
	if err != nil {
		t.Fatal(err)
	}
	return m
}

// said writes an observation down, angles in degrees, as far as it says anything.
func said(o Observation) string {
	out := o.Time.Format("2006-01-02T15:04:05.999999999")
	for _, q := range quantityRows {
		if q.set == nil {
			continue
		}
		if v, ok := (*q.set(&o)).Value(); ok {
			if q.units["deg"] != 0 || q.units["deg/s"] != 0 {
				v /= radPerDeg
			}
			out += fmt.Sprintf(" %s=%.6f", q.name, v+0)
		} else if (*q.set(&o)).IsNull() {
			out += " " + q.name + "=null"
		}
	}
	if f, ok := o.Fix.Value(); ok {
		out += " fix=" + f.String()
	} else if o.Fix.IsNull() {
		out += " fix=null"
	}
	if v, ok := o.HeadingValid.Value(); ok {
		out += fmt.Sprintf(" valid=%t", v)
	}
	if o.Point != "" {
		out += " point=" + o.Point
	}
	if o.Source != "" {
		out += " source=" + o.Source
	}
	return out
}

// Each case is a log as a program with a window might export it; what it means is worked by hand.
func TestMap(t *testing.T) {
	const common = "time: {columns: [t], layout: unix}\n"
	for _, c := range []struct{ name, m, log, want, refused string }{
		{"plain, quoted, with its nulls",
			"time: {columns: [Time]}\nno-value: ['-9999', n/a]\npoint-column: where\nsource-column: src\ncolumns:\n  lat: {column: Lat}\n  lon: {column: Lon}\n  fix: {column: Q, words: {'4': rtk-fixed, '0': none}}\n  heading: {column: \"Heading, true\"}\n",
			"Time,Lat,Lon,\"Heading, true\",Q,where,src\n2026-06-01T12:00:00.2Z,50.5,-4.25,\"271,42\",4\n2026-06-01T12:00:01Z,50.5,-4.25,\"271.42\",4,sonar,GGA\n2026-06-01T12:00:02Z,,n/a,-9999,0\n2026-06-01T12:00:03Z,1,2,3,9\n",
			"2026-06-01T12:00:01 lat=50.500000 lon=-4.250000 heading=271.420000 fix=rtk-fixed point=sonar source=GGA\n2026-06-01T12:00:02 lat=null lon=null heading=null fix=none",
			"wrong type: 1, unknown word: 1"},
		{"decimal comma, tabs without header, other signs",
			"separator: tab\ndecimal-mark: ','\nheader: none\nskip-lines: 2\ncomment: '#'\ntime: {columns: ['1', '2'], layout: DD.MM.YYYY hh:mm:ss, zone: '+02:00'}\ncolumns:\n  pitch: {column: '3', positive: bow-down}\n  roll: {column: '4', unit: rad, positive: port-down}\n  heave: {column: '5', unit: cm, positive: down}\n  rate_of_turn: {column: '6', unit: deg/min, positive: port}\n",
			"Export of 1 June\n\tpitch\troll\n# a remark\n01.06.2026\t00:30:00,25\t1,5\t-0,01\t12\t-60\n",
			"2026-05-31T22:30:00.25 pitch=-1.500000 roll=0.572958 heave=-0.120000 rate_of_turn=1.000000", ""},
		{"degrees and minutes, hemispheres, knots, sea level, magnetic",
			"undulation: 52.9 m\nmagnetic-variation: -3 deg\ntime: {columns: [t], layout: hh:mm:ss, date: 2026-06-01}\ncolumns:\n  lat: {column: la, written: degrees-minutes, hemisphere-column: ns}\n  lon: {column: lo, written: degrees-minutes, hemisphere-column: ew}\n  height: {column: h, unit: ft, from: sea-level}\n  heading: {column: hdg, from: magnetic}\n  speed: {column: v, unit: kn}\n",
			"t,la,ns,lo,ew,h,hdg,v\n23:59:59.5,5030.000,S,00415.000,W,10,1.5,36\n00:00:00.5,5030.000,N,00415.000,E,10,359.5,36\n",
			"2026-06-01T23:59:59.5 lat=-50.500000 lon=-4.250000 height=55.948000 heading=358.500000 speed=18.520000\n2026-06-02T00:00:00.5 lat=50.500000 lon=4.250000 height=55.948000 heading=356.500000 speed=18.520000", ""},
		{"velocities, blanks, unix milliseconds of GPS time, 18 s ahead of UTC since 2017 (IERS Bulletin C)",
			"separator: spaces\ntime: {columns: [t], layout: unix, unit: ms, base: gps}\ncolumns:\n  velocity_east: {column: ve}\n  velocity_north: {column: vn, positive: south, unit: km/h}\n  heading_valid: {column: ok}\n",
			"  t   ve  vn ok\n 1780315218250  3   14.4  1\n",
			"2026-06-01T12:00:00.25 speed=5.000000 course=143.130102 valid=true", ""},
		{"not finite, cut off, out of form", common + "columns: {heave: {column: z}, roll: {column: r}}\n",
			"t,z,r\n1,NaN,0\n2,1e999,0\n3,0x10,0\n4,1\nx,1,2\n,1,2\n6,\"1,2\n7,-0.5,1\n",
			"1970-01-01T00:00:04 heave=1.000000\n1970-01-01T00:00:07 roll=1.000000 heave=-0.500000",
			"not a finite number: 2, wrong type: 1, time not understood: 1, no time: 1, not in the form of the map: 1"},
		{"a column that is not there", common + "columns: {heave: {column: Heave}}\n", "t,heave\n1,2\n3,4\n", "", "not as the map has the columns: 3"},
		{"day of the year, two digits, no blanks", "time: {columns: [t], layout: YYDDDhhmmss}\ncolumns: {heave: {column: z}}\n", "t,z\n26152120000.5,1\n26366120000,1\n", "2026-06-01T12:00:00.5 heave=1.000000", "time not understood: 1"},
		// Sentences of the check vectors' kind, worked by hand: GGA before any date has no time, HDT is stamped with the time
		// before it, the height is 6.80 m + 52.94 m, an empty heading is null; a wrong checksum leaves no trace.
		{"sentences", "format: nmea0183\npoint: sonar\n",
			"$GNGGA,115959.90,5008.23389,N,00414.19296,W,4,17,0.7,6.80,M,52.94,M,1,0000*52\n$GPZDA,120000.00,01,06,2026,00,00*64\n$GNGGA,120000.00,5008.23389,N,00414.19296,W,4,17,0.7,6.80,M,52.94,M,1,0000*58\n$HEHDT,293.85,T*1A\n$HEHDT,,T*01\n$HEHDT,293.85,T*1B\n",
			"2026-06-01T12:00:00 lat=50.137231 lon=-4.236549 height=59.740000 fix=rtk-fixed point=sonar source=GNGGA\n2026-06-01T12:00:00 heading=293.850000 point=sonar source=HEHDT\n2026-06-01T12:00:00 heading=null point=sonar source=HEHDT",
			"no time: 1, not in the form of the map: 1"},
		{"JSON Lines in a file", "format: json-lines\n", `{"time":"2026-06-01T12:00:00Z","heave":1}` + "\n", "2026-06-01T12:00:00 heave=1.000000", ""},
	} {
		for cut, in := range map[string]io.Reader{"whole": strings.NewReader(c.log), "byte by byte": iotest.OneByteReader(strings.NewReader(c.log)), "CR LF": strings.NewReader(strings.ReplaceAll(c.log, "\n", "\r\n"))} {
			r := NewReader(in, Options{File: true, Map: mapOf(t, c.m)})
			var got []string
			for o := range r.All() {
				got = append(got, said(o))
			}
			var refused []string
			for _, x := range r.Stats().Refused {
				refused = append(refused, fmt.Sprintf("%s: %d", x.Reason, x.N))
			}
			if strings.Join(got, "\n") != c.want || strings.Join(refused, ", ") != c.refused || r.Err() != nil {
				t.Errorf("%s, %s:\n got %s\nwant %s\nrefused %q, want %q (%v)\n%+v", c.name, cut, strings.Join(got, "\n     "), strings.ReplaceAll(c.want, "\n", "\n     "), strings.Join(refused, ", "), c.refused, r.Err(), r.Stats().Refused)
			}
		}
	}
}

// GPS weeks are counted here with a calendar, from 1980-01-06 (IS-GPS-200, 3.3.4), and 18 s are GPS - UTC in 2026.
func TestWeeks(t *testing.T) {
	sunday := time.Date(2026, 5, 31, 0, 0, 0, 0, time.UTC)
	week := int(sunday.Sub(time.Date(1980, 1, 6, 0, 0, 0, 0, time.UTC)).Hours()) / 24 / 7
	m := mapOf(t, "separator: ;\ntime: {columns: [w, s], layout: week-and-seconds}\ncolumns: {lat: {column: la, written: parts}, lon: {column: lo, written: parts}}\n")
	r := NewReader(strings.NewReader(fmt.Sprintf("w;s;la;lo\n%d;%d.25;50° 30' 36\" N;4-15-18 W\n", week, 86400+12*3600+18)), Options{File: true, Map: m})
	o, err := r.Next()
	if err != nil || said(o) != "2026-06-01T12:00:00.25 lat=50.510000 lon=-4.255000" {
		t.Errorf("%s %v %+v", said(o), err, r.Stats())
	}
}

func TestMapRefused(t *testing.T) {
	for text, want := range map[string]string{
		"time: {columns: [t]}\n":                                                                   "log-map.yaml:1:1: there are no columns; say where each quantity stands",
		"columns: {heave: {column: z}}\ntime: {columns: []}\n":                                     "log-map.yaml:2:17: there is no column for the time; a record without its time cannot be judged",
		"columns: {heeve: {column: z}}\ntime: {columns: [t]}\n":                                    "log-map.yaml:1:18: quantity is heeve; did you mean heave? allowed: course, fix, heading, heading_valid, heave, height, lat, lon, pitch, rate_of_turn, roll, speed, velocity_east, velocity_north",
		"columns: {heave: {column: z, unit: ftt}}\ntime: {columns: [t]}\n":                         "log-map.yaml:1:36: unit is ftt; did you mean ft? allowed: cm, ft, km, m, mm, us-ft",
		"columns: {heave: {column: z}}\ntime: {columns: [t], layout: hh:mm}\n":                     `log-map.yaml:2:30: layout "hh:mm" lacks hh, mm or ss; allowed: rfc3339, unix, seconds-of-day, week-and-seconds, or a pattern of YYYY, YY, MM, DD, DDD, hh, mm, ss`,
		"columns: {heave: {column: z}}\ntime: {columns: [t], layout: hh:mm:ss}\n":                  `log-map.yaml:2:7: date is ""; a layout without a day needs that of the first record, such as 2026-06-01`,
		"columns: {heave: {column: z, from: sea-level}}\ntime: {columns: [t]}\n":                   "log-map.yaml:1:36: heave has no from; leave it out",
		"separator: ','\ndecimal-mark: ','\ncolumns: {heave: {column: z}}\ntime: {columns: [t]}\n": "log-map.yaml:2:15: decimal mark and separator are both ,; one of them must be another",
		"header: none\ncolumns: {heave: {column: z}}\ntime: {columns: ['1']}\n":                    "log-map.yaml:2:27: column is z; without a header columns have numbers, 1 to 1000",
		"columns: {velocity_east: {column: z}}\ntime: {columns: [t]}\n":                            "log-map.yaml:1:10: velocity_east and velocity_north make speed and course together; one of them is missing",
		"columns: {fix: {column: z, words: {a: fixed}}}\ntime: {columns: [t]}\n":                   "log-map.yaml:1:39: a means fixed; allowed: none, estimated, autonomous, differential, rtk-float, rtk-fixed, precise, manual, simulated",
	} {
		_, err := LoadMapFS(fstest.MapFS{"log-map.yaml": {Data: []byte(text)}}, "log-map.yaml")
		if err == nil || err.Error() != want {
			t.Errorf("%s\n got %v\nwant %s", text, err, want)
		}
	}
}

// Whatever the log, it is counted line by line, and what comes out is finite.
func FuzzCSV(f *testing.F) {
	f.Add("t,z\n1,2\n", byte(0))
	f.Add("\"t\",z;\n1,\"\"\"2\n", byte(1))
	maps := []string{
		"time: {columns: [t], layout: unix}\ncolumns: {heave: {column: z}}\n",
		"header: none\nseparator: spaces\ntime: {columns: ['1'], layout: hhmmss, date: 2026-06-01}\ncolumns: {lat: {column: '2', written: parts}}\n",
		"header: none\nseparator: ;\ndecimal-mark: ','\ntime: {columns: ['1'], layout: YYYY-MM-DD hh:mm:ss}\ncolumns: {lat: {column: '2', written: degrees-minutes}}\n",
	}
	f.Fuzz(func(t *testing.T, log string, which byte) {
		r := NewReader(strings.NewReader(log), Options{File: true, Map: mapOf(t, maps[int(which)%len(maps)])})
		n := int64(0)
		for o := range r.All() {
			n++
			for _, q := range quantityRows {
				if q.set == nil {
					continue
				}
				if v, ok := (*q.set(&o)).Value(); ok && (math.IsNaN(v) || math.IsInf(v, 0)) {
					t.Fatalf("%q: %v", log, v)
				}
			}
		}
		if s := r.Stats(); s.Observations != n || s.Observations+s.NRefused() != s.Lines {
			t.Fatalf("%d observations and %d refused of %d lines", n, s.NRefused(), s.Lines)
		}
	})
}

func BenchmarkCSV(b *testing.B) {
	m := mapOf(b, "time: {columns: [t]}\ncolumns: {lat: {column: lat}, lon: {column: lon}, height: {column: h}, heading: {column: hdg}, roll: {column: r}}\n")
	text := "t,lat,lon,h,hdg,r\n" + strings.Repeat("2026-06-01T12:00:00.200Z,50.1234567,-4.1234567,51.23,271.42,2.31\n", 10000)
	b.ReportAllocs()
	b.SetBytes(int64(len(text)))
	for b.Loop() {
		r := NewReader(strings.NewReader(text), Options{File: true, Map: m})
		for range r.All() {
		}
		if r.Stats().Observations != 10000 {
			b.Fatal(r.Stats())
		}
	}
}
