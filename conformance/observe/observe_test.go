package observe

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"slices"
	"strconv"
	"strings"
	"testing"
	"testing/iotest"
	"time"

	"swellbench/emulator/wire"
)

// The line of design §8, with our optional fields.
const full = `{"time":"2026-06-01T12:00:00.200Z","point":"sonar","lat":50.1234567,"lon":-4.1234567,"height":51.23,` +
	`"heading":271.42,"pitch":-1.05,"roll":2.31,"heave":0.12,"fix":"rtk-fixed","heading_valid":true,"source":"GGA",` +
	`"speed":4.5,"course":270.5,"rate_of_turn":-0.5}`

func instant(s string) time.Time {
	t, err := time.Parse(time.RFC3339Nano, s)
	if err != nil {
		panic(err)
	}
	return t.UTC()
}

func rad(deg float64) Field[float64] { return Of(deg * (math.Pi / 180)) }

func TestParseFull(t *testing.T) {
	got, err := Parse([]byte(full))
	want := Observation{
		Time: instant("2026-06-01T12:00:00.2Z"), Point: "sonar", Source: "GGA",
		LatRad: rad(50.1234567), LonRad: rad(-4.1234567), HeightM: Of(51.23), SpeedMS: Of(4.5), CourseRad: rad(270.5),
		HeadingRad: rad(271.42), PitchRad: rad(-1.05), RollRad: rad(2.31), HeaveM: Of(0.12), RateOfTurnRadS: rad(-0.5),
		Fix: Of(wire.FixRTKFixed), HeadingValid: Of(true),
	}
	if err != nil || got != want {
		t.Errorf("got %+v, %v\nwant %+v", got, err, want)
	}
}

func TestThreeStates(t *testing.T) {
	o, err := Parse([]byte(`{"time":"2026-06-01T12:00:00Z","lat":null,"fix":null,"heading_valid":null,"point":null,"heave":0}`))
	if err != nil {
		t.Fatal(err)
	}
	if !o.LatRad.IsNull() || !o.LatRad.Said() {
		t.Errorf("lat is %+v, want null", o.LatRad)
	}
	if _, ok := o.LatRad.Value(); ok {
		t.Error("null has a value")
	}
	if o.LonRad.Said() || o.LonRad.IsNull() {
		t.Errorf("lon is %+v, want absent", o.LonRad)
	}
	if v, ok := o.HeaveM.Value(); !ok || v != 0 {
		t.Errorf("heave is %+v, want the value 0", o.HeaveM)
	}
	if !o.Fix.IsNull() || !o.HeadingValid.IsNull() || o.Point != "" {
		t.Errorf("fix %+v, heading_valid %+v, point %q; want null, null, none", o.Fix, o.HeadingValid, o.Point)
	}
}

func TestTimes(t *testing.T) {
	for _, c := range []struct{ in, want, why string }{
		{in: "2026-06-01T12:00:00Z", want: "2026-06-01T12:00:00Z"},
		{in: "2026-06-01T12:00:00.123456789Z", want: "2026-06-01T12:00:00.123456789Z"},
		{in: "2026-06-01T12:00:00.1234567894Z", want: "2026-06-01T12:00:00.123456789Z"},
		{in: "2026-06-01T12:00:00.2+00:00", want: "2026-06-01T12:00:00.2Z"},
		{in: "2026-06-01T01:30:00+05:45", want: "2026-05-31T19:45:00Z"},
		{in: "2026-12-31T20:00:00-04:00", want: "2027-01-01T00:00:00Z"},
		{in: "2026-06-01t12:00:00z", want: "2026-06-01T12:00:00Z"},
		{in: "2026-06-01 12:00:00Z", want: "2026-06-01T12:00:00Z"},
		{in: "2016-12-31T23:59:60Z", want: "2017-01-01T00:00:00Z"}, // the leap second of 2016, IERS Bulletin C 52
		{in: "2017-01-01T09:59:60+10:00", want: "2017-01-01T00:00:00Z"},
		{in: "2026-06-01T12:00:60Z", why: "second 60"},
		{in: "2026-06-14T23:59:60Z", why: "second 60"},
		{in: "2026-06-01T12:00:61Z", why: "time of day"},
		{in: "2026-06-01T24:00:00Z", why: "time of day"},
		{in: "2026-06-01T12:00:00", why: "zone"},
		{in: "2026-06-01T12:00:00.Z", why: "digits after its point"},
		{in: "2026-06-01T12:00:00.2", why: "zone"},
		{in: "2026-06-01T12:00:00+2", why: "zone"},
		{in: "2026-06-01T12:00:00+25:00", why: "zone"},
		{in: "2026-02-29T12:00:00Z", why: "does not exist"},
		{in: "2028-02-29T12:00:00Z", want: "2028-02-29T12:00:00Z"},
		{in: "2026-00-10T12:00:00Z", why: "does not exist"},
		{in: "2026-13-10T12:00:00Z", why: "does not exist"},
		{in: "2026-1a-10T12:00:00Z", why: "no such time"},
		{in: "1780315200", why: "no such time"},
		{in: "", why: "no such time"},
	} {
		o, err := Parse(fmt.Appendf(nil, `{"time":%q}`, c.in))
		switch {
		case c.why == "" && (err != nil || !o.Time.Equal(instant(c.want)) || o.Time.Location() != time.UTC):
			t.Errorf("%s: got %v, %v; want %s", c.in, o.Time, err, c.want)
		case c.why != "" && (err == nil || err.(*Refusal).Reason != BadTime || !strings.Contains(err.Error(), c.why)):
			t.Errorf("%s: got %v, %v; want a refusal about %q", c.in, o.Time, err, c.why)
		}
	}
}

// Each row is one line that is no observation, with what must be said about it.
var refusals = []struct {
	line   string
	reason Reason
	detail string
}{
	{"2026-06-01 12:00:00 INFO opened port", NotJSON, "at byte 5"},
	{`{"time":"2026-06-01T12:00:00Z","lat":50.1`, NotJSON, "it ends too early"},
	{`{"time":"2026-06-01T12:00:00Z","lat":50.1}}`, NotJSON, "at byte 43"},
	{`{"time":"2026-06-01T12:00:00Z",}`, NotJSON, "at byte 32"},
	{`{"time":"2026-06-01T12:00:00Z","lat":050.1}`, NotJSON, "at byte 39"},
	{`{"time":"2026-06-01T12:00:00Z","lat":.5}`, NotJSON, "at byte 38"},
	{`{'time':'2026-06-01T12:00:00Z'}`, NotJSON, "at byte 2"},
	{`[1,2,3]`, NotAnObject, "an observation is one JSON object a line"},
	{`42`, NotAnObject, "an observation is one JSON object a line"},
	{`{"lat":50.1}`, NoTime, `every observation needs "time"`},
	{`{}`, NoTime, `every observation needs "time"`},
	{`{"time":null}`, NoTime, `"time" is null`},
	{`{"time":1780315200.2}`, WrongType, "time is 1780315200.2; allowed: an RFC 3339 text"},
	{`{"time":"2026-06-01T12:00:00Z","heading":"271.4"}`, WrongType, `heading is "271.4"; allowed: a number or null`},
	{`{"time":"2026-06-01T12:00:00Z","lat":{"deg":50}}`, WrongType, `lat is {"deg":50}; allowed: a number or null`},
	{`{"time":"2026-06-01T12:00:00Z","fix":4}`, WrongType, "fix is 4; allowed: a text or null"},
	{`{"time":"2026-06-01T12:00:00Z","point":7}`, WrongType, "point is 7; allowed: a text or null"},
	{`{"time":"2026-06-01T12:00:00Z","heading_valid":1}`, WrongType, "heading_valid is 1; allowed: true, false or null"},
	{`{"time":"2026-06-01T12:00:00Z","fix":"RTK"}`, UnknownWord, `fix is "RTK"; allowed: none, estimated, autonomous, differential, rtk-float, rtk-fixed, precise, manual, simulated, or null`},
	{`{"time":"2026-06-01T12:00:00Z","roll":NaN}`, BadNumber, "roll is NaN; allowed: a finite number, or null for no value"},
	{`{"time":"2026-06-01T12:00:00Z","roll":-Infinity}`, BadNumber, "roll is -Infinity; allowed: a finite number, or null for no value"},
	{`{"time":"2026-06-01T12:00:00Z","roll":Infinity}`, BadNumber, "roll is Infinity; allowed: a finite number, or null for no value"},
	{`{"time":"2026-06-01T12:00:00Z","roll":1e999}`, BadNumber, "roll is 1e999, too large for a number; allowed: a finite number, or null for no value"},
	{`{"time":"2026-06-01T12:00:00Z","roll":1,"roll":2}`, DuplicateKey, `"roll" is there twice`},
	{`{"time":"2026-06-01T12:00:00Z","roll":1,"\u0072oll":2}`, DuplicateKey, `"roll" is there twice`},
	{`{"time":"2026-06-01T12:00:00Z","x":` + strings.Repeat("[", 100) + strings.Repeat("]", 100) + `}`, NotJSON, "at byte 100"},
}

func TestRefusals(t *testing.T) {
	for _, c := range refusals {
		o, err := Parse([]byte(c.line))
		if err == nil {
			t.Errorf("%s: accepted as %+v", c.line, o)
			continue
		}
		if r := err.(*Refusal); r.Reason != c.reason || r.Detail != c.detail {
			t.Errorf("%s:\n got  %s: %s\n want %s: %s", c.line, r.Reason, r.Detail, c.reason, c.detail)
		}
	}
}

func TestReader(t *testing.T) {
	in := "\ufeff" + full + "\r\n" +
		"starting up, port open\n" +
		"\n  \n" +
		`{"time":"2026-06-01T12:00:00.4Z","wind":{"speed":[1,2]},"note":"a\"b","wind2":-1.5e3}` + "\n" +
		`{"time":"2026-06-01T12:00:00.6Z","roll":NaN}` + "\n" +
		"more log \x1b[31mred\x1b[0m\n" +
		strings.Repeat("x", 500) + "\n" +
		`{"time":"2026-06-01T12:00:00.8Z"}` + "\n" +
		`{"time":"2026-06-01T12:00:01.0Z","ro`
	now := instant("2026-06-01T12:00:05Z")
	for name, rd := range map[string]io.Reader{
		"whole":   strings.NewReader(in),
		"by byte": iotest.OneByteReader(strings.NewReader(in)),
		"halves":  iotest.HalfReader(strings.NewReader(in)),
		"eof":     iotest.DataErrReader(strings.NewReader(in)),
	} {
		t.Run(name, func(t *testing.T) {
			r := NewReader(rd, Options{MaxLine: 400, Now: func() time.Time { return now }})
			var lines []int64
			for o := range r.All() {
				lines = append(lines, o.Line)
				if !o.Arrival.Equal(now) {
					t.Errorf("line %d arrived at %v", o.Line, o.Arrival)
				}
			}
			if fmt.Sprint(lines) != "[1 5 9]" || r.Err() != nil {
				t.Errorf("observations in lines %v, error %v", lines, r.Err())
			}
			st := r.Stats()
			want := []Refused{
				{NotJSON, 2, 2, "at byte 1", "starting up, port open"},
				{BadNumber, 1, 6, "roll is NaN; allowed: a finite number, or null for no value", `{"time":"2026-06-01T12:00:00.6Z","roll":NaN}`},
				{TooLong, 1, 8, "a line may have up to 400 bytes", strings.Repeat("x", 160) + "…"},
				{CutOff, 1, 10, "the last line has no end", `{"time":"2026-06-01T12:00:01.0Z","ro`},
			}
			if !slices.Equal(st.Refused, want) {
				t.Errorf("refused\n got  %+v\n want %+v", st.Refused, want)
			}
			if got := fmt.Sprint(st.UnknownKeys); got != "[{wind 1 5} {wind2 1 5}]" {
				t.Errorf("unknown keys %s", got)
			}
			if st.Lines != 8 || st.Observations != 3 || st.Bytes != int64(len(in)) {
				t.Errorf("stats %+v", st)
			}
			if got := st.String(); got != "3 observations; 5 other lines (not JSON: 2, not a finite number: 1, too long: 1, cut off: 1)" {
				t.Errorf("in words: %s", got)
			}
		})
	}
}

// A line without an end grows no memory, and what comes after it is read.
func TestReaderEndlessLine(t *testing.T) {
	long := io.LimitReader(neverEnding('a'), 64<<20)
	r := NewReader(io.MultiReader(long, strings.NewReader("\n"+full+"\n")), Options{})
	o, err := r.Next()
	if err != nil || o.Line != 2 {
		t.Fatalf("got line %d, %v; want the observation in line 2", o.Line, err)
	}
	if c := cap(r.buf); c > 4*DefaultMaxLine {
		t.Errorf("the buffer has grown to %d bytes", c)
	}
	if st := r.Stats(); st.ByReason()[TooLong] != 1 {
		t.Errorf("stats %+v", st)
	}
}

type neverEnding byte

func (b neverEnding) Read(p []byte) (int, error) {
	for i := range p {
		p[i] = byte(b)
	}
	return len(p), nil
}

func TestReaderBrokenInput(t *testing.T) {
	boom := fmt.Errorf("boom")
	r := NewReader(io.MultiReader(strings.NewReader(full+"\n"), iotest.ErrReader(boom)), Options{File: true})
	if o, err := r.Next(); err != nil || !o.Arrival.IsZero() {
		t.Fatalf("got %v, %v", o, err)
	}
	if _, err := r.Next(); err != boom {
		t.Errorf("got %v, want boom", err)
	}
	if r.Err() != boom {
		t.Errorf("Err is %v", r.Err())
	}
	r = NewReader(stuck{}, Options{})
	if _, err := r.Next(); err != io.ErrNoProgress {
		t.Errorf("got %v, want no progress", err)
	}
}

type stuck struct{}

func (stuck) Read([]byte) (int, error) { return 0, nil }

// Many distinct keys and words are counted and kept within bounds.
func TestBounds(t *testing.T) {
	var b bytes.Buffer
	for i := range 5000 {
		fmt.Fprintf(&b, `{"time":"2026-06-01T12:00:00Z","k%d":1,"source":"s%d"}`+"\n", i, i)
	}
	r := NewReader(&b, Options{})
	n := 0
	for range r.All() {
		n++
	}
	st := r.Stats()
	if n != 5000 || len(st.UnknownKeys) != maxKeys || st.OtherKeys != 5000-maxKeys || len(r.p.(*parser).words) > 256 {
		t.Errorf("%d observations, %d keys, %d other, %d words", n, len(st.UnknownKeys), st.OtherKeys, len(r.p.(*parser).words))
	}
}

// FuzzParse holds our JSON against the standard library's: what is accepted is valid JSON with the same numbers, and
// what is refused as broken is broken.
func FuzzParse(f *testing.F) {
	f.Add([]byte(full))
	for _, c := range refusals {
		f.Add([]byte(c.line))
	}
	f.Add([]byte(`{"time":"2026-06-01T12:00:00Z","source":"\ud83d\ude00\ud83dx\n\u00e9"}`))
	f.Fuzz(func(t *testing.T, line []byte) {
		o, err := Parse(line)
		if err != nil {
			r := err.(*Refusal)
			if r.Reason == NotJSON && json.Valid(line) && !deep(line) {
				t.Errorf("refused as broken, but is valid: %q: %v", line, err)
			}
			if (r.Reason == NoTime || r.Reason == WrongType || r.Reason == BadTime || r.Reason == UnknownWord) && !json.Valid(line) && !bytes.ContainsAny(line, "NI") {
				t.Errorf("%v, but is broken: %q", err, line)
			}
			return
		}
		if !json.Valid(line) {
			t.Fatalf("accepted, but is broken: %q", line)
		}
		var m map[string]any
		if json.Unmarshal(line, &m) != nil {
			return
		}
		for key, got := range map[string]Field[float64]{"height": o.HeightM, "speed": o.SpeedMS, "heave": o.HeaveM} {
			v, there := m[key]
			want, isNumber := v.(float64)
			g, has := got.Value()
			if has != isNumber || g != want || got.IsNull() != (there && v == nil) {
				t.Errorf("%s of %q is %+v, want %v", key, line, got, v)
			}
		}
		if s, _ := m["source"].(string); s != strings.ToValidUTF8(o.Source, "\ufffd") && !strings.Contains(s, "\ufffd") {
			t.Errorf("source of %q is %q, want %q", line, o.Source, s)
		}
		if o.Time.Location() != time.UTC {
			t.Errorf("time %v is not UTC", o.Time)
		}
	})
}

func deep(line []byte) bool {
	return bytes.Count(line, []byte("["))+bytes.Count(line, []byte("{")) > maxDepth
}

// FuzzReader: whatever the bytes and however they come in pieces, the same observations come out.
func FuzzReader(f *testing.F) {
	f.Add([]byte(full+"\nlog\r\n"+full), uint8(1))
	f.Add([]byte("\n\n\xff{"), uint8(3))
	f.Fuzz(func(t *testing.T, in []byte, max uint8) {
		read := func(r io.Reader) (out []Observation, st Stats) {
			rd := NewReader(r, Options{File: true, MaxLine: 1 + int(max)*4})
			for o := range rd.All() {
				out = append(out, o)
			}
			return out, rd.Stats()
		}
		a, sa := read(bytes.NewReader(in))
		b, sb := read(iotest.OneByteReader(bytes.NewReader(in)))
		sa.Refused, sb.Refused = strip(sa.Refused), strip(sb.Refused)
		if fmt.Sprint(a) != fmt.Sprint(b) || fmt.Sprint(sa) != fmt.Sprint(sb) {
			t.Errorf("%q:\n%v %v\n%v %v", in, a, sa, b, sb)
		}
		if sa.Observations+sa.NRefused() != sa.Lines {
			t.Errorf("%q: %+v does not add up", in, sa)
		}
	})
}

// strip leaves out the example texts, which of a line too long depend on the pieces.
func strip(rs []Refused) []Refused {
	for i := range rs {
		rs[i].Text = ""
	}
	return rs
}

func BenchmarkReader(b *testing.B) {
	data := bytes.Repeat([]byte(full+"\n"), 1000)
	b.SetBytes(int64(len(data) / 1000))
	b.ReportAllocs()
	for i := 0; i < b.N; i += 1000 {
		r := NewReader(bytes.NewReader(data), Options{File: true})
		for range r.All() {
		}
	}
}

// The hand-written alternative: the standard library into a struct, with no word about duplicates or states.
func BenchmarkReaderPlain(b *testing.B) {
	data := bytes.Repeat([]byte(full+"\n"), 1000)
	b.SetBytes(int64(len(data) / 1000))
	b.ReportAllocs()
	for i := 0; i < b.N; i += 1000 {
		d := json.NewDecoder(bytes.NewReader(data))
		for {
			var o struct {
				Time                                   time.Time
				Lat, Lon, Height, Heading, Pitch, Roll *float64
				Point, Fix, Source                     string
			}
			if d.Decode(&o) != nil {
				break
			}
		}
	}
}

// TestNumbersAreRead as the standard library reads them, to the last bit.
func TestNumbersAreRead(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 4))
	check := func(text string) {
		t.Helper()
		s := scanner{b: []byte(text + "}")}
		got, ok := s.number()
		want, err := strconv.ParseFloat(text, 64)
		if !ok || err != nil || math.Float64bits(got) != math.Float64bits(want) || s.i != len(text) {
			t.Fatalf("%s: %v, %v, %d bytes read; want %v, %v", text, got, ok, s.i, want, err)
		}
	}
	for _, text := range []string{"0", "-0", "-0.0", "0.1", "9007199254740993", "999999999999999", "0.000000000000001", "1e3", "1.5E-3", "123456789012345.6", "0.12345678901234567", "7.0e0"} {
		check(text)
	}
	for range 100000 {
		check(strconv.FormatFloat((r.Float64()*2-1)*math.Pow(10, float64(r.IntN(9)-3)), 'f', r.IntN(18), 64))
	}
	for _, text := range []string{"01", "1.", ".5", "-", "1.e3", "00.1", "-01", "1e", "+1"} {
		s := scanner{b: []byte(text)}
		if s.number(); !s.bad && s.i == len(text) {
			t.Errorf("%s was read as a number", text)
		}
	}
}

// TestLinesAlikeAndNot: what was on the lines before does not matter, whether keys stand where they stood, elsewhere,
// twice, with spaces or escapes about them, or not at all.
func TestLinesAlikeAndNot(t *testing.T) {
	lines := []string{
		full, full, strings.Replace(full, `"pitch"`, `"roll"`, 1), full,
		`{"time":"2026-06-01T12:00:00Z","heave":0.1}`, `{"heave":0.2,"time":"2026-06-01T12:00:00Z"}`,
		`{ "time" : "2026-06-01T12:00:00Z" , "heave" : 0.3 }`, `{ "time" : "2026-06-01T12:00:00Z" , "heave" : null}`,
		`{"time":"2026-06-01T12:00:00Z","he\u0061ve":0.4}`, `{"time":"2026-06-01T12:00:00Z","he\u0061ve":0.5,"heave":1}`,
		`{"time":"2026-06-01T12:00:00Z","heav":0.6}`, `{"time":"2026-06-01T12:00:00Z","heave"}`, `{"time":"2026-06-01T12:00:00Z","heave":`,
		`{"time":`, `{}`, `{"roll":-1,"roll":2}`, `{"time":"2026-06-01T12:00:00Z","other":[1,2],"heave":0.7}`, full, `{"time":"2026-06-01T12:00:00Z",}`, full,
	}
	r := rand.New(rand.NewPCG(5, 6))
	var p parser
	for range 2000 {
		line := lines[r.IntN(len(lines))]
		o, _, refusal := p.parse([]byte(line), nil, 0)
		want, err := Parse([]byte(line))
		if (refusal == nil) != (err == nil) || refusal != nil && refusal.Error() != err.Error() || refusal == nil && o != want {
			t.Fatalf("%s\nis %+v, %v after others\nand %+v, %v alone", line, o, refusal, want, err)
		}
	}
}
