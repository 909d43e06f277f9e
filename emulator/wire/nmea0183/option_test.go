package nmea0183

import (
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"
	"time"

	"swellbench/emulator/wire"
	"swellbench/scenarios/opt"
)

// TestEditions: worked by hand after the table of version differences of the reference page; edition by edition what one
// reading gives.
func TestEditions(t *testing.T) {
	r := reading()
	r.Sky = r.Sky[:3]
	for _, test := range []struct {
		kind                   string
		v200, v230, v301, v410 string
	}{
		{"GLL", "5403.49612,N,00319.00079,W,081502.20,A", "5403.49612,N,00319.00079,W,081502.20,A,D", "5403.49612,N,00319.00079,W,081502.20,A,R", "5403.49612,N,00319.00079,W,081502.20,A,R"},
		{"GNS", "081502.20,5403.49612,N,00319.00079,W,DN,19,0.6,12.34,51.20,1,1023", "081502.20,5403.49612,N,00319.00079,W,DN,19,0.6,12.34,51.20,1,1023",
			"081502.20,5403.49612,N,00319.00079,W,RN,19,0.6,12.34,51.20,1,1023", "081502.20,5403.49612,N,00319.00079,W,RNNN,19,0.6,12.34,51.20,1,1023,V"},
		{"GSA", "A,3,08,,,,,,,,,,,,1.31,0.60,1.12", "A,3,08,,,,,,,,,,,,1.31,0.60,1.12", "A,3,08,,,,,,,,,,,,1.31,0.60,1.12", "A,3,08,,,,,,,,,,,,1.31,0.60,1.12,1"},
		{"GSV", "1,1,03,02,03,000,,05,11,037,33,08,19,074,35", "1,1,03,02,03,000,,05,11,037,33,08,19,074,35", "1,1,03,02,03,000,,05,11,037,33,08,19,074,35", "1,1,03,02,03,000,,05,11,037,33,08,19,074,35,1"},
		{"GBS", "081502.20,0.0,0.0,0.0,,,,", "081502.20,0.0,0.0,0.0,,,,", "081502.20,0.0,0.0,0.0,,,,", "081502.20,0.0,0.0,0.0,,,,,,"},
		{"THS", "274.07,A", "274.07,A", "274.07,A", "274.07,A"},
		{"HDG", "274.97,,,0.90,W", "274.97,,,0.90,W", "274.97,,,0.90,W", "274.97,,,0.90,W"},
		{"DTM", "W84,,0.0000,N,0.0000,E,0.0,W84", "W84,,0.0000,N,0.0000,E,0.0,W84", "W84,,0.0000,N,0.0000,E,0.0,W84", "W84,,0.0000,N,0.0000,E,0.0,W84"},
	} {
		row, _ := RowOf(test.kind)
		for v, want := range map[Version]string{V200: test.v200, V230: test.v230, V301: test.v301, V410: test.v410} {
			if got := encode(t, test.kind, Options{Version: v}, r); got != sealed(row.Talker+test.kind+","+want) {
				t.Errorf("%v: got  %q\nwant %q", v, got, sealed(row.Talker+test.kind+","+want))
			}
		}
	}
	if got := encode(t, "GNS", Options{Version: V411, Talker: "GP"}, r); got != sealed("GPGNS,081502.20,5403.49612,N,00319.00079,W,R,19,0.6,12.34,51.20,1,1023,V") {
		t.Errorf("of one system: %q", got)
	}
	for s, want := range map[string]Version{"": V410, "2.3": V230, "2.30": V230, "3.01": V301, "4.10": V410, "4.1": V410, "4.11": V411} {
		if v, err := ParseVersion(s); err != nil || v != want {
			t.Errorf("%q is %v, %v", s, v, err)
		}
	}
	if _, err := ParseVersion("4.12"); err == nil || err.Error() != `nmea0183: version is "4.12", allowed: 2.3, 3.01, 4.10, 4.11` {
		t.Errorf("error %v", err)
	}
}

// TestVoids: what is not known is null, and never zero.
func TestVoids(t *testing.T) {
	for kind, want := range map[string]string{"GLL": ",,,,,V,N", "GNS": ",,,,,NNNN,,,,,,,V", "GSA": "A,1,,,,,,,,,,,,,,,,1", "GSV": "1,1,00,1", "GST": ",,,,,,,", "GBS": ",,,,,,,,,", "THS": ",V",
		"HDG": ",,,,", "VBW": ",,V,,,V,,V,,V", "GGA": ",,,,,0,,,,M,,M,,", "RMC": ",V,,,,,,,,,,N,V", "VTG": ",T,,M,,N,,K,N", "HDT": ",T", "ROT": ",V", "ZDA": ",,,,00,00",
		"XDR": "A,,D,PITCH,A,,D,ROLL,D,,M,HEAVE"} {
		row, _ := RowOf(kind)
		if got := encode(t, kind, Options{}, &wire.Reading{}); got != sealed(row.Talker+kind+","+want) {
			t.Errorf("got  %q\nwant %q", got, sealed(row.Talker+kind+","+want))
		}
	}
}

// TestSimulated: indications of a simulator where there is a fix, none where there is none.
func TestSimulated(t *testing.T) {
	r := reading()
	none := *r
	none.Fix, none.Heading = wire.FixNone, opt.None[float64]()
	for kind, want := range map[string][2]string{"GGA": {",W,8,", ",,,,,0,"}, "RMC": {",V,5403", ",V,,,"}, "GLL": {",V,S*", ",V,N*"}, "VTG": {",K,S*", ",K,N*"}, "GNS": {",SNNN,", ",NNNN,"}, "THS": {",S*", ",V*"}} {
		if got := encode(t, kind, Options{Simulated: true}, r); !strings.Contains(got, want[0]) {
			t.Errorf("%q without %q", got, want[0])
		}
		if got := encode(t, kind, Options{Simulated: true}, &none); !strings.Contains(got, want[1]) {
			t.Errorf("%q without %q", got, want[1])
		}
	}
	if _, err := New("GGA", Options{Simulated: true, Version: V200}); err == nil {
		t.Error("an edition without the indications gives them")
	}
}

// TestLongSentences: the rule kept is an error where it cannot be, at once where the options alone break it.
func TestLongSentences(t *testing.T) {
	r := reading()
	fine := map[string]int{"minutes": 7, "altitude": 3}
	if got := encode(t, "GGA", Options{Decimals: fine, LongSentences: LongAllowed}, r); len(got) <= MaxLength || !strings.Contains(got, ",1023*") {
		t.Errorf("%d characters: %q", len(got), got)
	}
	var o *OptionError
	if _, err := New("GGA", Options{Decimals: map[string]int{"minutes": 9, "altitude": 5, "seconds": 3}, LongSentences: LongRefused}); !errors.As(err, &o) {
		t.Errorf("error %v", err)
	}
	if _, err := New("XDR", Options{Names: map[string]string{"pitch": "a very long name too", "roll": "a very long name too"}, LongSentences: LongRefused}); !errors.As(err, &o) {
		t.Errorf("error %v", err)
	}
	e, err := New("GGA", Options{Decimals: map[string]int{"minutes": 7}, LongSentences: LongRefused})
	if err != nil {
		t.Fatal(err)
	}
	text, err := e.Append([]byte("x"), r) // the station gives way
	if err != nil || len(text) > MaxLength+1 || strings.Contains(string(text), "1023") {
		t.Errorf("%q, %v", text, err)
	}
	r.HDOP, r.DiffAge = opt.Of(123.4), opt.Of(99999.0)
	var l *LengthError
	if text, err = e.Append([]byte("x"), r); !errors.As(err, &l) || l.Found <= MaxLength || string(text) != "x" {
		t.Errorf("%q, %v", text, err)
	}
	// Nobody asked for long sentences and they are not refused: GNS drops the station, and then the age.
	r = reading()
	r.HDOP, r.DiffAge, r.Undulation, r.Satellites = opt.Of(99.9), opt.Of(99.0), opt.Of(-106.99), opt.Of(99)
	p, _ := r.Position.Value()
	p.Height = -430.5 - 106.99
	r.Position = opt.Of(p)
	if got := encode(t, "GNS", Options{}, r); len(got) > MaxLength {
		t.Errorf("%d characters: %q", len(got), got)
	}
}

// TestTagBlocks: worked by hand but for the checksums, which are those of package checksum.go and of the vectors.
func TestTagBlocks(t *testing.T) {
	r := reading()
	r.Series = 1233
	block := func(body string) string { return "\\" + body + "*" + tagSum(body) + "\\" }
	at := time.Date(2026, 6, 14, 8, 15, 2, 200e6, time.UTC)
	for _, test := range []struct {
		tag  TagBlock
		want string
	}{
		{TagBlock{Source: "HE0001"}, block("s:HE0001")},
		{TagBlock{Source: "HE0001", Time: TagSeconds}, block(fmt.Sprintf("s:HE0001,c:%d", at.Unix()))},
		{TagBlock{Time: TagMilliseconds, Destination: "VR0001"}, block(fmt.Sprintf("d:VR0001,c:%d", at.UnixMilli()))},
		{TagBlock{Count: true}, block("n:235")}, // 1233 messages went before: 1233 - 999 + 1
		{TagBlock{Group: true}, ""},             // one sentence is no group
	} {
		if got := encode(t, "HDT", Options{Tag: test.tag}, r); got != test.want+sealed("HEHDT,274.07,T") {
			t.Errorf("got  %q\nwant %q", got, test.want+sealed("HEHDT,274.07,T"))
		}
	}
	// A group: the first has all, the others only which they are.
	got := encode(t, "GSV", Options{Tag: TagBlock{Source: "GP0002", Group: true, Time: TagSeconds}}, r)
	var want string
	for i, s := range strings.SplitAfter(strings.TrimSuffix(encode(t, "GSV", Options{}, r), "\n"), "\n") {
		body := fmt.Sprintf("g:%d-3-1234", i+1)
		if i == 0 {
			body += fmt.Sprintf(",s:GP0002,c:%d", at.Unix())
		}
		want += block(body) + s
	}
	if got != want+"\n" {
		t.Errorf("got  %q\nwant %q", got, want)
	}
	// The time is rounded once; a time that is not known is left out.
	r.UTC = opt.Of(at.Add(299999999 * time.Nanosecond))
	if got := encode(t, "HDT", Options{Tag: TagBlock{Time: TagSeconds}}, r); !strings.HasPrefix(got, block(fmt.Sprintf("c:%d", at.Unix()))) {
		t.Errorf("%q", got)
	}
	r.UTC = opt.Of(at.Add(300 * time.Millisecond))
	if got := encode(t, "HDT", Options{Tag: TagBlock{Time: TagSeconds}}, r); !strings.HasPrefix(got, block(fmt.Sprintf("c:%d", at.Unix()+1))) {
		t.Errorf("%q", got)
	}
	r.UTC = opt.None[time.Time]()
	if got := encode(t, "HDT", Options{Tag: TagBlock{Time: TagSeconds}}, r); got != sealed("HEHDT,274.07,T") {
		t.Errorf("%q", got)
	}
	// The vectors of TAG blocks, written.
	for _, v := range vectors(t, "nmea0183-query-tag.jsonl") {
		if v.Kind != "nmea0183-tag-block" {
			continue
		}
		body, sentence, _ := strings.Cut(v.Input[1:], "\\")
		body, _, _ = strings.Cut(body, "*")
		if got := string(Tag(body).Append(nil)) + sentence; got != v.Input {
			t.Errorf("%s: %q, want %q", v.ID, got, v.Input)
		}
	}
	for _, o := range []Options{{Tag: TagBlock{Source: "sixteen-letters!"}}, {Tag: TagBlock{Source: "a:b"}}, {Tag: TagBlock{Destination: "a\\b"}}, {Tag: TagBlock{Count: true}, Version: V301}, {Tag: TagBlock{Time: 7}}} {
		if _, err := New("HDT", o); !errors.As(err, new(*OptionError)) {
			t.Errorf("%+v: %v", o, err)
		}
	}
	dst := make([]byte, 0, 4096)
	e, err := New("GSV", Options{Tag: TagBlock{Source: "GP0002", Group: true, Time: TagSeconds, Count: true}, LongSentences: LongRefused})
	if err != nil {
		t.Fatal(err)
	}
	if n := testing.AllocsPerRun(100, func() { dst, _ = e.Append(dst[:0], reading0) }); n != 0 {
		t.Errorf("%v allocations", n)
	}
}

var reading0 = reading()

// TestSatelliteSystems: worked by hand after the tables of talkers, ids and numbers of the reference page.
func TestSatelliteSystems(t *testing.T) {
	r := &wire.Reading{Fix: wire.FixAutonomous, Sky: []wire.Satellite{{System: wire.GPS, Number: 5, Elevation: 0.5, Azimuth: 6.28, SNR: opt.Of(40.5), Used: true},
		{System: wire.GLONASS, Number: 3, Elevation: math.Pi / 2, Used: true}, {System: wire.Galileo, Number: 11, Azimuth: 1, Used: true}, {System: wire.BeiDou, Number: 21, Elevation: 1}}}
	for _, test := range []struct {
		kind string
		o    Options
		want string
	}{
		{"GSV", Options{}, lines("GPGSV,1,1,01,05,29,000,41,1", "GLGSV,1,1,01,67,90,000,,1", "GAGSV,1,1,01,11,00,057,,7", "GBGSV,1,1,01,21,57,000,,1")},
		{"GSV", Options{Talker: "GN", Version: V301}, lines("GNGSV,1,1,01,05,29,000,41", "GNGSV,1,1,01,67,90,000,", "GNGSV,1,1,01,311,00,057,", "GNGSV,1,1,01,421,57,000,")},
		{"GSV", Options{Talker: "GA"}, lines("GAGSV,1,1,01,11,00,057,,7")},
		{"GSV", Options{Talker: "GQ"}, lines("GQGSV,1,1,00,1")},
		{"GSA", Options{}, lines("GNGSA,A,3,05,,,,,,,,,,,,,,,1", "GNGSA,A,3,67,,,,,,,,,,,,,,,2", "GNGSA,A,3,11,,,,,,,,,,,,,,,3")},
		{"GSA", Options{Version: V230}, lines("GNGSA,A,3,05,,,,,,,,,,,,,,", "GNGSA,A,3,67,,,,,,,,,,,,,,", "GNGSA,A,3,311,,,,,,,,,,,,,,")},
		{"GSA", Options{Talker: "GP", Version: V230}, lines("GPGSA,A,3,05,,,,,,,,,,,,,,")},
	} {
		if got := encode(t, test.kind, test.o, r); got != test.want {
			t.Errorf("%s %+v\ngot  %q\nwant %q", test.kind, test.o, got, test.want)
		}
	}
	// Thirteen in use take two sentences, thirty-seven in view cannot be told.
	many := &wire.Reading{Fix: wire.FixAutonomous}
	for i := range 37 {
		many.Sky = append(many.Sky, wire.Satellite{Number: i + 1, Used: i < 13})
	}
	if got := encode(t, "GSA", Options{}, many); got != lines("GNGSA,A,3,01,02,03,04,05,06,07,08,09,10,11,12,,,,1", "GNGSA,A,3,13,,,,,,,,,,,,,,,1") {
		t.Errorf("%q", got)
	}
	for _, sky := range [][]wire.Satellite{many.Sky, {{Number: 0}}, {{Number: 1, Elevation: -0.1}}, {{Number: 1, Azimuth: 7}}, {{Number: 1, SNR: opt.Of(99.5)}}, {{Number: 1, SNR: opt.Of(math.NaN())}}} {
		e, _ := New("GSV", Options{})
		if b, err := e.Append([]byte("x"), &wire.Reading{Sky: sky}); !errors.As(err, new(*wire.RangeError)) || string(b) != "x" {
			t.Errorf("%+v: %q, %v", sky[0], b, err)
		}
	}
}
