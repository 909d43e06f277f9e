package nmea0183

import (
	"math"
	"strings"
	"testing"

	"swellbench/emulator/wire"
	"swellbench/scenarios/opt"
)

func buildXDR(f fields, in *Fields) (Sentence, Format) {
	s := &XDR{Talker: in.Talker()}
	var form Format
	for i, m := range f["measurements"].([]any) {
		m := fields(m.(map[string]any))
		x := Measurement{Type: m.letter("type").Or(0), Value: m.float("value"), Unit: m.letter("unit").Or(0), Name: m["name"].(string), Group: Heave}
		if x.Type == 'A' {
			x.Group = Angle
		}
		if text := in.Field(4*i + 2); len(text) > 0 {
			form.Digits[x.Group] = digitsOf(text)
		}
		s.Measurements = append(s.Measurements, x)
	}
	return s, form
}

func TestXDROfAReading(t *testing.T) {
	tests := []struct {
		name   string
		o      Options
		change func(r *wire.Reading)
		want   string
	}{
		{"all there", Options{}, nil, "YXXDR,A,-1.350,D,PITCH,A,4.800,D,ROLL,D,-0.570,M,HEAVE"},
		{"own names and signs", Options{Talker: "II", Names: map[string]string{"pitch": "PTCH", "heave": "Z,up"}, Signs: map[string]int{"pitch": -1, "heave": -1, "roll": 1},
			Decimals: map[string]int{"angle": 1, "heave": 2}}, nil, "IIXDR,A,1.4,D,PTCH,A,4.8,D,ROLL,D,0.57,M,Z^2Cup"},
		{"no heave", Options{Names: map[string]string{"heave": ""}}, nil, "YXXDR,A,-1.350,D,PITCH,A,4.800,D,ROLL"},
		{"null roll", Options{}, func(r *wire.Reading) { r.Roll = opt.None[float64]() }, "YXXDR,A,-1.350,D,PITCH,A,,D,ROLL,D,-0.570,M,HEAVE"},
		{"nothing", Options{}, func(r *wire.Reading) { *r = wire.Reading{} }, "YXXDR,A,,D,PITCH,A,,D,ROLL,D,,M,HEAVE"},
		{"no minus zero", Options{Signs: map[string]int{"pitch": -1}}, func(r *wire.Reading) { r.Pitch, r.Roll, r.HeaveM = opt.Of(0.0), opt.Of(-1e-9), opt.Of(-0.0004) },
			"YXXDR,A,0.000,D,PITCH,A,0.000,D,ROLL,D,0.000,M,HEAVE"},
		{"halves go away from zero", Options{Decimals: map[string]int{"angle": 2, "heave": 2}}, func(r *wire.Reading) {
			r.Pitch, r.Roll, r.HeaveM = opt.Of(-0.125*math.Pi/180), opt.Of(0.125*math.Pi/180), opt.Of(-0.285)
		}, "YXXDR,A,-0.13,D,PITCH,A,0.13,D,ROLL,D,-0.29,M,HEAVE"},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			r := reading()
			if test.change != nil {
				test.change(r)
			}
			if got := encode(t, "XDR", test.o, r); got != sealed(test.want) {
				t.Errorf("got  %q\nwant %q", got, sealed(test.want))
			}
		})
	}
}

func TestXDRRefuses(t *testing.T) {
	e, _ := New("XDR", Options{})
	for want, r := range map[string]wire.Reading{
		"encode XDR: pitch is 114.59155902616465, allowed: -90° ≤ pitch ≤ 90°": {Pitch: opt.Of(2.0)},
		"encode XDR: roll is NaN, allowed: -180° ≤ roll ≤ 180°":                {Roll: opt.Of(math.NaN())},
		"encode XDR: heave is -Inf, allowed: -9999 m ≤ heave ≤ 9999 m":         {HeaveM: opt.Of(math.Inf(-1))},
	} {
		if got, err := e.Append([]byte("before"), &r); err == nil || err.Error() != want || string(got) != "before" {
			t.Errorf("got %q, error %v\nwant error %s", got, err, want)
		}
	}
	for want, s := range map[string]XDR{
		`encode XDR: measurements is "", allowed: one at least`:                   {},
		`encode XDR: type is ",", allowed: a letter`:                              {Measurements: []Measurement{{Type: ','}}},
		`encode XDR: unit is "1", allowed: a letter`:                              {Measurements: []Measurement{{Unit: '1'}}},
		`encode XDR: transducer name is "☃", allowed: characters of ISO 8859-1`:   {Measurements: []Measurement{{Name: "☃"}}},
		`encode XDR: transducer name is "a\n", allowed: characters of ISO 8859-1`: {Measurements: []Measurement{{Name: "a\n"}}},
		`encode XDR: measurement is NaN, allowed: -99999999 ≤ value ≤ 99999999`:   {Measurements: []Measurement{{Value: opt.Of(math.NaN())}}},
	} {
		if got, err := s.Append([]byte("before"), nil); err == nil || err.Error() != want || string(got) != "before" {
			t.Errorf("got %q, error %v\nwant error %s", got, err, want)
		}
	}
	for body, want := range map[string]string{
		"YXXDR":               `decode XDR: measurements is "", allowed: groups of four fields`,
		"YXXDR,A,1.0,D":       `decode XDR: measurements is "A,1.0,D", allowed: groups of four fields`,
		"YXXDR,AB,1.0,D,NAME": `decode XDR: transducer type is "AB", allowed: a letter`,
		"YXXDR,A,1.0,9,NAME":  `decode XDR: transducer unit is "9", allowed: a letter`,
		"YXXDR,A,one,D,NAME":  `decode XDR: measurement is "one", allowed: -99999999 ≤ value ≤ 99999999`,
	} {
		if s, err := Parse([]byte(sealed(body))); err == nil || err.Error() != want || s != nil {
			t.Errorf("%s\ngot  %v\nwant %s", body, err, want)
		}
	}
}

func TestXDRParse(t *testing.T) {
	var s XDR
	read := func(body string) {
		t.Helper()
		var f Fields
		if r := split([]byte(sealed(body)), &f); r != "" {
			t.Fatal(r)
		}
		if err := s.Parse(&f); err != nil {
			t.Fatal(err)
		}
	}
	read("YXXDR,A,1.0,D,Pitch,A,2.0,D,M^2Ct,left,over")
	if m, ok := s.Named("PITCH"); !ok || m.Value != opt.Of(1.0) || len(s.Measurements) != 2 || s.Measurements[1].Name != "M,t" {
		t.Errorf("got %+v", s)
	}
	read("YXXDR,A,3.0,D,Roll")
	if m, ok := s.Named("pitch"); ok {
		t.Errorf("pitch is left over: %+v", m)
	}
	if m, ok := s.Named("roll"); !ok || m.Value != opt.Of(3.0) {
		t.Errorf("got %+v", s)
	}
	// Escapes survive both ways, ISO 8859-1 included. A lone ^ stands for itself.
	for name, text := range map[string]string{"a^b": "a^5Eb", "été": "^E9t^E9", "à": "^E0", "$*,!\\^~": "^24^2A^2C^21^5C^5E^7E", "": ""} {
		x := XDR{Measurements: []Measurement{{Type: 'G', Name: name}}}
		got, err := x.Append(nil, nil)
		if err != nil || string(got) != sealed("YXXDR,G,,,"+text) {
			t.Errorf("%q: got %q, error %v", name, got, err)
		}
		read("YXXDR,G,,," + text)
		if s.Measurements[0].Name != name {
			t.Errorf("%q is read as %q", text, s.Measurements[0].Name)
		}
	}
	read("YXXDR,G,,,^0A^00") // never written, but read
	if n := s.Measurements[0].Name; n != "\n\x00" {
		t.Errorf("control characters are read as %q", n)
	}
	read("YXXDR,G,,,^4")
	if n := s.Measurements[0].Name; n != "^4" {
		t.Errorf("a lone ^ is read as %q", n)
	}
}

// Names have up to 20 characters, whatever they take in bytes or with escapes.
func TestXDRNames(t *testing.T) {
	for _, name := range []string{strings.Repeat("x", 20), strings.Repeat("é", 20), strings.Repeat("^", 20)} {
		e, err := New("XDR", Options{Names: map[string]string{"pitch": name, "roll": "", "heave": ""}})
		if err != nil {
			t.Errorf("%q: %v", name, err)
			continue
		}
		b, err := e.Append(nil, &wire.Reading{Pitch: opt.Of(0.0)})
		if err != nil {
			t.Fatal(err)
		}
		s, err := Parse(b)
		if err != nil {
			t.Fatal(err)
		}
		if m, ok := s.(*XDR).Named(name); !ok || m.Value != opt.Of(0.0) {
			t.Errorf("%q is read back as %+v", name, s)
		}
		if e, err := New("XDR", Options{Names: map[string]string{"pitch": name + "x"}}); err == nil {
			t.Errorf("a name of 21 characters makes %v", e)
		}
	}
	// Types and units may be any letter.
	for _, c := range []byte("AZaz") {
		x := XDR{Measurements: []Measurement{{Type: c, Unit: c}}}
		text, err := x.Append(nil, nil)
		if err != nil {
			t.Fatal(err)
		}
		s, err := Parse(text)
		if err != nil || s.(*XDR).Measurements[0].Type != c || s.(*XDR).Measurements[0].Unit != c {
			t.Errorf("%s is read as %+v, %v", text, s, err)
		}
	}
	for _, c := range []byte("@[`{") { // beside the letters
		if _, err := (&XDR{Measurements: []Measurement{{Type: c}}}).Append(nil, nil); err == nil {
			t.Errorf("the type %c is written", c)
		}
		if s, err := Parse([]byte(sealed("YXXDR," + string(c) + ",1,M,X"))); err == nil {
			t.Errorf("the type %c is read as %+v", c, s)
		}
	}
}
