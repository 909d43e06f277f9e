package nmea0183

import (
	"bytes"
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"swellbench/emulator/wire"
	"swellbench/scenarios/geo"
	"swellbench/scenarios/opt"
)

// readings are a minute of them, at 1 Hz, with all that is known changing.
func readings() []wire.Reading {
	all := make([]wire.Reading, 60)
	for i := range all {
		r := reading()
		f := float64(i)
		r.UTC = opt.Of(time.Date(2026, 6, 14, 8, 14, 30, 0, time.UTC).Add(time.Duration(i) * 1010 * time.Millisecond))
		p, _ := r.Position.Value()
		r.Position = opt.Of(geo.Position{Lat: p.Lat + f*5e-7, Lon: p.Lon + f*7e-7, Height: p.Height + math.Sin(f)})
		r.Heading, r.Pitch, r.Roll = opt.Of(math.Mod(4.5+f/20, 2*math.Pi)), opt.Of(0.05*math.Sin(f)), opt.Of(0.1*math.Cos(f))
		r.HeaveM, r.RateOfTurn, r.SpeedMS = opt.Of(1.5*math.Sin(f)), opt.Of(0.01*math.Cos(f)), opt.Of(4+math.Sin(f))
		all[i] = *r
	}
	return all
}

func encoders(t testing.TB) []wire.Encoder {
	var all []wire.Encoder
	for _, k := range Kinds() {
		e, err := New(k, Options{})
		if err != nil {
			t.Fatal(err)
		}
		all = append(all, e)
	}
	return all
}

// TestSprintfAgrees shows that the alternative does the same work: where no value lies on a half, the same bytes.
func TestSprintfAgrees(t *testing.T) {
	for i, r := range readings() {
		for _, e := range encoders(t) {
			got, err := e.Append(nil, &r)
			if want := sprintf[e.Kind()[2:]](&r); err != nil || string(got) != want {
				t.Errorf("reading %d: got %q, error %v, fmt gives %q", i, got, err, want)
			}
		}
	}
}

func TestEncodeAllocatesNothing(t *testing.T) {
	all, es := readings(), encoders(t)
	dst := make([]byte, 0, 1024)
	if n := testing.AllocsPerRun(100, func() {
		for i := range all {
			dst = dst[:0]
			for _, e := range es {
				dst, _ = e.Append(dst, &all[i])
			}
		}
	}); n != 0 {
		t.Errorf("%v allocations", n)
	}
}

// TestDecodeAllocatesNothing goes from bytes to numbers.
func TestDecodeAllocatesNothing(t *testing.T) {
	stream := streamOf(t)
	for _, size := range []int{1, 16, 4096} {
		var d Decoder
		var p Parser
		n := 0
		run := func() {
			n = 0
			for at := 0; at < len(stream); at += size {
				d.Push(stream[at:min(at+size, len(stream))])
				for ev, ok := d.Next(); ok; ev, ok = d.Next() {
					if _, err := p.Parse(&ev.Fields); err == nil {
						n++
					}
				}
			}
		}
		run()
		if a := testing.AllocsPerRun(20, run); a != 0 || n != bytes.Count(stream, []byte("\n")) {
			t.Errorf("in pieces of %d: %v allocations, %d sentences", size, a, n)
		}
	}
}

func streamOf(t testing.TB) []byte {
	var stream []byte
	es := encoders(t)
	for _, r := range readings() {
		for _, e := range es {
			stream, _ = e.Append(stream, &r)
		}
	}
	return stream
}

// TestLength: with the default decimals no sentence is longer than 82 characters for a vessel anywhere on Earth: the sea
// level lies between 430 m below (Dead Sea) and 9999 m above the sea, the undulation between -107 m and 86 m (EGM2008),
// corrections are not older than 99 s, and she makes less than 100 kn.
func TestLength(t *testing.T) {
	far := []geo.Position{{Lat: -1.5, Lon: -3.1}, {Lat: 1.5, Lon: 3.1}}
	longest := map[string]int{}
	for _, kind := range Kinds() {
		e, err := New(kind, Options{})
		if err != nil {
			t.Fatal(err)
		}
		for _, msl := range []float64{-430.5, -9.99, 99.99, 9999.99} {
			for _, und := range []float64{-106.99, 85.84} {
				for fix := wire.FixNone; fix <= wire.FixSimulated; fix++ {
					for _, sign := range []float64{-1, 1} {
						for _, p := range far {
							p.Height = msl + und
							r := wire.Reading{UTC: opt.Of(time.Date(2026, 12, 31, 23, 59, 59, 99e7, time.UTC)), Fix: fix, Position: opt.Of(p), Undulation: opt.Of(und),
								Variation: opt.Of(sign * 3.14), SpeedMS: opt.Of(99.99 * knot), CourseRad: opt.Of(359.99 * degree), Satellites: opt.Of(99), HDOP: opt.Of(99.9),
								DiffAge: opt.Of(99.0), DiffStation: opt.Of(4095), Heading: opt.Of(359.99 * degree), Pitch: opt.Of(sign * 1.57), Roll: opt.Of(sign * 3.14),
								RateOfTurn: opt.Of(sign * 10), HeaveM: opt.Of(sign * 99.999)}
							text, err := e.Append(nil, &r)
							if err != nil {
								t.Fatal(err)
							}
							if longest[kind] = max(longest[kind], len(text)); len(text) > MaxLength {
								t.Fatalf("%d characters: %s", len(text), text)
							}
						}
					}
				}
			}
		}
	}
	if longest["GGA"] != 82 || longest["RMC"] != 82 {
		t.Errorf("the longest are %v; GGA and RMC used to fill the 82", longest)
	}
}

// TestStationGivesWay: the number of the station is the one field of GGA that measures nothing, and it makes room.
func TestStationGivesWay(t *testing.T) {
	r := reading()
	r.HDOP, r.Undulation = opt.Of(12.5), opt.Of(-104.25)
	p, _ := r.Position.Value()
	p.Height = -104.25 - 12.34
	r.Position = opt.Of(p)
	if got, want := encode(t, "GGA", Options{}, r), sealed("GNGGA,081502.20,5403.49612,N,00319.00079,W,4,19,12.5,-12.34,M,-104.25,M,1,"); got != want {
		t.Errorf("got  %q\nwant %q", got, want)
	}
	// Who chooses decimals chooses the length too.
	if got, want := encode(t, "GGA", Options{Decimals: map[string]int{"age": 0}}, r), sealed("GNGGA,081502.20,5403.49612,N,00319.00079,W,4,19,12.5,-12.34,M,-104.25,M,1,1023"); got != want || len(got) <= MaxLength {
		t.Errorf("got  %q\nwant %q", got, want)
	}
}

func TestOptionsRefused(t *testing.T) {
	tests := []struct {
		kind string
		o    Options
		want []string
	}{
		{"XYZ", Options{}, []string{`nmea0183: type is "XYZ", allowed: DTM, GBS, GGA, GLL, GNS, GSA, GST, GSV, HDG, HDT, RMC, ROT, THS, TXT, VBW, VTG, XDR, ZDA`}},
		{"GNGGA", Options{}, []string{`nmea0183: type is "GNGGA", allowed: DTM, GBS, GGA, GLL, GNS, GSA, GST, GSV, HDG, HDT, RMC, ROT, THS, TXT, VBW, VTG, XDR, ZDA`}},
		{"HDT", Options{Talker: "PX", Decimals: map[string]int{"heading": 10, "angle": 2, "": 1}, Names: map[string]string{"roll": "R"}, Signs: map[string]int{"roll": 1}, Version: 9}, []string{
			`nmea0183: HDT: talker is "PX", allowed: a capital letter other than P, then a capital letter or a digit`,
			`nmea0183: HDT: decimals is "", allowed: heading`,
			`nmea0183: HDT: decimals is "angle", allowed: heading`,
			`nmea0183: HDT: decimals.heading is "10", allowed: 0 to 9`,
			`nmea0183: HDT: version is "9", allowed: the editions of this package`,
			`nmea0183: HDT: names is "roll", allowed: none but in XDR`,
			`nmea0183: HDT: signs is "roll", allowed: none but in XDR`}},
		{"GGA", Options{Talker: "gn", Decimals: map[string]int{"minutes": -1, "speed": 1}}, []string{
			`nmea0183: GGA: talker is "gn", allowed: a capital letter other than P, then a capital letter or a digit`,
			`nmea0183: GGA: decimals.minutes is "-1", allowed: 0 to 9`,
			`nmea0183: GGA: decimals is "speed", allowed: seconds, minutes, hdop, altitude, undulation, age`}},
		{"XDR", Options{Names: map[string]string{"pitch": "☃", "yaw": "YAW", "roll": "a name that is far too long"}, Signs: map[string]int{"heave": 0, "yaw": 1}}, []string{
			`nmea0183: XDR: names.pitch is "☃", allowed: up to 20 printable characters of ISO 8859-1, or nothing to leave it out`,
			`nmea0183: XDR: names.roll is "a name that is far too long", allowed: up to 20 printable characters of ISO 8859-1, or nothing to leave it out`,
			`nmea0183: XDR: names is "yaw", allowed: pitch, roll, heave`,
			`nmea0183: XDR: signs.heave is "0", allowed: 1 or -1`,
			`nmea0183: XDR: signs is "yaw", allowed: pitch, roll, heave`}},
		{"XDR", Options{Names: map[string]string{"pitch": "", "roll": "", "heave": ""}}, []string{`nmea0183: XDR: names is "", allowed: at least one that is not empty`}},
	}
	for _, test := range tests {
		e, err := New(test.kind, test.o)
		if err == nil || e != nil || err.Error() != strings.Join(test.want, "\n") {
			t.Errorf("%s %+v:\n%v\nwant\n%s", test.kind, test.o, err, strings.Join(test.want, "\n"))
		}
	}
	for _, s := range []string{"", "G", "GPS", "PG", "g1", "1A", "G-"} {
		if tk, err := ParseTalker(s); err == nil {
			t.Errorf("talker %q is taken for %v", s, tk)
		}
	}
}

// TestResolutions: the half unit is that of the digits, in SI and rad, and what a reading loses on the wire is no more.
func TestResolutions(t *testing.T) {
	half := func(kind string, o Options, q wire.Quantity) float64 {
		e, err := New(kind, o)
		if err != nil {
			t.Fatal(err)
		}
		i := slices.IndexFunc(e.Resolutions(), func(r wire.Resolution) bool { return r.Quantity == q })
		if i < 0 {
			return -1
		}
		return e.Resolutions()[i].Half
	}
	for _, test := range []struct {
		kind string
		o    Options
		q    wire.Quantity
		want float64
	}{
		{"GGA", Options{}, wire.Time, 0.005},
		{"GGA", Options{}, wire.Latitude, 0.000005 / 60 * math.Pi / 180},
		{"GGA", Options{Decimals: map[string]int{"minutes": 7}}, wire.Longitude, 0.00000005 / 60 * math.Pi / 180},
		{"GGA", Options{Decimals: map[string]int{"altitude": 3, "undulation": 1}}, wire.Height, 0.0005 + 0.05},
		{"GGA", Options{}, wire.FixState, 0},
		{"GGA", Options{}, wire.Speed, -1},
		{"RMC", Options{}, wire.Speed, 0.005 * 1852 / 3600},
		{"RMC", Options{}, wire.Course, 0.005 * math.Pi / 180},
		{"RMC", Options{}, wire.Height, -1},
		{"VTG", Options{}, wire.Speed, 0.0005 * 1852 / 3600},
		{"ZDA", Options{Decimals: map[string]int{"seconds": 0}}, wire.Time, 0.5},
		{"HDT", Options{Decimals: map[string]int{"heading": 1}}, wire.Heading, 0.05 * math.Pi / 180},
		{"ROT", Options{}, wire.RateOfTurn, 0.005 / 60 * math.Pi / 180},
		{"XDR", Options{}, wire.Pitch, 0.0005 * math.Pi / 180},
		{"XDR", Options{}, wire.Heave, 0.0005},
		{"XDR", Options{Names: map[string]string{"heave": ""}}, wire.Heave, -1},
	} {
		if got := half(test.kind, test.o, test.q); math.Abs(got-test.want) > 1e-12*math.Abs(test.want) {
			t.Errorf("%s %s: half is %v, want %v", test.kind, test.q, got, test.want)
		}
	}
}

func BenchmarkEncode(b *testing.B) {
	all, es := readings(), encoders(b)
	dst := make([]byte, 0, 1024)
	b.Run("swellbench", func(b *testing.B) {
		b.ReportAllocs()
		for i := 0; b.Loop(); i++ {
			dst = dst[:0]
			for _, e := range es {
				dst, _ = e.Append(dst, &all[i%len(all)])
			}
		}
	})
	b.Run("sprintf", func(b *testing.B) {
		b.ReportAllocs()
		var kinds []func(r *wire.Reading) string
		for _, k := range Kinds() {
			kinds = append(kinds, sprintf[k])
		}
		for i := 0; b.Loop(); i++ {
			dst = dst[:0]
			for _, f := range kinds {
				dst = append(dst, f(&all[i%len(all)])...)
			}
		}
	})
	for i, e := range es {
		b.Run(Kinds()[i], func(b *testing.B) {
			for i := 0; b.Loop(); i++ {
				dst, _ = e.Append(dst[:0], &all[i%len(all)])
			}
		})
		b.Run(Kinds()[i]+"-sprintf", func(b *testing.B) {
			f := sprintf[Kinds()[i]]
			for i := 0; b.Loop(); i++ {
				dst = append(dst[:0], f(&all[i%len(all)])...)
			}
		})
	}
}

func BenchmarkDecode(b *testing.B) {
	stream := streamOf(b)
	for _, bench := range []struct {
		name  string
		size  int
		parse bool
	}{{"frame", 64 << 10, false}, {"numbers", 64 << 10, true}, {"serial-16", 16, true}} {
		b.Run(bench.name, func(b *testing.B) {
			b.ReportAllocs()
			b.SetBytes(int64(len(stream)))
			var d Decoder
			var p Parser
			n := 0
			for b.Loop() {
				for at := 0; at < len(stream); at += bench.size {
					d.Push(stream[at:min(at+bench.size, len(stream))])
					for ev, ok := d.Next(); ok; ev, ok = d.Next() {
						n++
						if bench.parse {
							_, _ = p.Parse(&ev.Fields)
						}
					}
				}
			}
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(n), "ns/sentence")
		})
	}
}
