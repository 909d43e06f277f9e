package nmea0183

import (
	"bufio"
	"bytes"
	"encoding/hex"
	"encoding/json"
	"errors"
	"math"
	"os"
	"strings"
	"testing"
	"time"

	"swellbench/emulator/wire"
	"swellbench/scenarios/opt"
)

// A vector is one line of testdata. Sources are in its lines.
type vector struct {
	ID       string          `json:"id"`
	Kind     string          `json:"kind"`
	Case     string          `json:"case"`
	Encoding string          `json:"encoding"`
	Input    string          `json:"input"`
	Expected json.RawMessage `json:"expected"`
	Inputs   struct {
		Sentence string `json:"sentence"`
	} `json:"inputs"`
}

func (v vector) bytes(t *testing.T) []byte {
	if v.Encoding != "hex" {
		return []byte(v.Input)
	}
	b, err := hex.DecodeString(v.Input)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

func vectors(t testing.TB, name string) []vector {
	t.Helper()
	file, err := os.Open("testdata/" + name)
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	var all []vector
	for s := bufio.NewScanner(file); s.Scan(); {
		var v vector
		if err := json.Unmarshal(s.Bytes(), &v); err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		all = append(all, v)
	}
	if len(all) == 0 {
		t.Fatalf("%s has no vectors", name)
	}
	return all
}

func expect[T any](t *testing.T, v vector) T {
	t.Helper()
	var x T
	if err := json.Unmarshal(v.Expected, &x); err != nil {
		t.Fatal(err)
	}
	return x
}

// wanted is what a sentence vector expects. Fields are looked up by the names of the vectors.
type wanted struct {
	Talker   string
	Type     string
	Checksum string
	Fields   fields
}

type fields map[string]any

func (f fields) float(key string) opt.Opt[float64] {
	if x, ok := f[key].(float64); ok {
		return opt.Of(x)
	}
	return opt.None[float64]()
}

func (f fields) int(key string) opt.Opt[int] {
	if x, ok := f[key].(float64); ok {
		return opt.Of(int(x))
	}
	return opt.None[int]()
}

func (f fields) letter(key string) opt.Opt[byte] {
	if s, ok := f[key].(string); ok {
		return opt.Of(s[0])
	}
	return opt.None[byte]()
}

func (f fields) time() opt.Opt[time.Duration] {
	if x, ok := f["time_s"].(float64); ok {
		return opt.Of(time.Duration(math.Round(x * 1e9)))
	}
	return opt.None[time.Duration]()
}

// builders make the sentence that a vector describes, for the types that are built, and the form its input has.
var builders = map[string]func(f fields, in *Fields) (Sentence, Format){
	"DTM": buildDTM, "GBS": buildGBS, "GGA": buildGGA, "GLL": buildGLL, "GNS": buildGNS, "GSA": buildGSA, "GST": buildGST, "GSV": buildGSV, "HDG": buildHDG,
	"HDT": buildHDT, "RMC": buildRMC, "ROT": buildROT, "THS": buildTHS, "TXT": buildTXT, "VBW": buildVBW, "VTG": buildVTG, "XDR": buildXDR, "ZDA": buildZDA,
}

// digitsOf is how a number is written. Zeros in front tell the least number of digits before the point.
func digitsOf(text []byte) Digits {
	text = bytes.TrimPrefix(text, []byte("-"))
	whole, fraction, _ := bytes.Cut(text, []byte{'.'})
	d := Digits{Decimals: uint8(len(fraction))}
	if len(whole) > 1 && whole[0] == '0' {
		d.Whole = uint8(len(whole))
	}
	return d
}

// form is the format of a sentence by example: the group of each of its number fields.
func form(in *Fields, groups map[int]Group) Format {
	var f Format
	for i, g := range groups {
		if text := in.Field(i); len(text) > 0 {
			f.Digits[g] = digitsOf(text)
		}
	}
	return f
}

// TestEveryRow walks the table.
func TestEveryRow(t *testing.T) {
	seen := map[string]bool{}
	vectorsOf := map[string]int{}
	for _, v := range vectors(t, "nmea0183-sentences.jsonl") {
		vectorsOf[expect[wanted](t, v).Type]++
	}
	for _, r := range Messages {
		if seen[r.Type] {
			t.Errorf("%s is there twice", r.Type)
		}
		seen[r.Type] = true
		if len(r.Type) != 3 || r.Title == "" || r.Source == "" || r.Sentence().Type() != r.Type {
			t.Errorf("row %+v is not complete", r)
		}
		if builders[r.Type] == nil || vectorsOf[r.Type] == 0 {
			t.Errorf("%s has no vectors", r.Type)
		}
		if e, err := New(r.Type, Options{}); err != nil || e.Kind() != r.Talker+r.Type {
			t.Errorf("New(%s) = %v, %v", r.Type, e, err)
		}
		if _, ok := FormatOf(r.Type); !ok {
			t.Errorf("%s has no format", r.Type)
		}
	}
}

// TestSentenceVectors decodes every vector, and encodes what it expects to the input again.
func TestSentenceVectors(t *testing.T) {
	for _, v := range vectors(t, "nmea0183-sentences.jsonl") {
		t.Run(v.ID, func(t *testing.T) {
			want := expect[wanted](t, v)
			var in Fields
			if r := split([]byte(v.Input), &in); r != "" {
				t.Fatalf("refused: %s", r)
			}
			if in.Talker().String() != want.Talker || in.Type() != want.Type {
				t.Errorf("address %s%s, want %s%s", in.Talker(), in.Type(), want.Talker, want.Type)
			}
			if sum, _ := hex.DecodeString(want.Checksum); in.Sum != sum[0] {
				t.Errorf("checksum %02X, want %s", in.Sum, want.Checksum)
			}
			if again, _ := in.Append(nil, nil); string(again) != v.Input+"\r\n" {
				t.Errorf("written again as %q", again)
			}
			if n := strings.Count(v.Input, ","); in.Len() != n {
				t.Errorf("%d fields, want %d", in.Len(), n)
			}
			got, err := Parse([]byte(v.Input))
			if err != nil {
				t.Fatal(err)
			}
			build := builders[want.Type]
			if build == nil {
				t.Fatalf("%s has no builder", want.Type)
			}
			derived(t, got, want.Fields)
			s, format := build(want.Fields, &in)
			compare(t, got, s)
			if v.ID == "nmea-rmc-02-before-2.3" { // course 360.0: read, never written
				var e *wire.RangeError
				if _, err := s.Append(nil, &format); !errors.As(err, &e) || e.Found != 360 {
					t.Errorf("course 360 written, error %v", err)
				}
				return
			}
			if text, err := s.Append([]byte("x"), &format); err != nil || string(text) != "x"+v.Input+"\r\n" {
				t.Errorf("encoded\n %q, want\n x%s; error %v", text, v.Input, err)
			}
		})
	}
}

// derived holds what a sentence gives besides its fields against the vector.
func derived(t *testing.T, got Sentence, f fields) {
	t.Helper()
	if s, ok := got.(*HDG); ok {
		for key, x := range map[string]opt.Opt[float64]{"heading_magnetic_deg": s.MagneticDeg(), "heading_true_deg": s.TrueDeg()} {
			if want, ok := f.float(key).Value(); ok && !(math.Abs(x.Or(math.NaN())-want) < 1e-9) {
				t.Errorf("%s is %v, want %v", key, x, want)
			}
		}
	}
}

func TestRejectVectors(t *testing.T) {
	reasons := map[string]Reason{"checksum_mismatch": ChecksumMismatch, "checksum_missing": ChecksumMissing,
		"checksum_malformed": ChecksumMalformed, "no_start_delimiter": NoStart, "reserved_character_inside": StartInside,
		"empty": Empty, "tag_checksum_mismatch": TagChecksum}
	rows := vectors(t, "nmea0183-reject.jsonl")
	for _, v := range vectors(t, "nmea0183-query-tag.jsonl") {
		if v.Kind == "nmea0183-reject" {
			rows = append(rows, v)
		}
	}
	for _, v := range rows {
		t.Run(v.ID, func(t *testing.T) {
			why := reasons[expect[struct{ Reason string }](t, v).Reason]
			var e *RejectError
			if s, err := Parse([]byte(v.Input)); s != nil || !errors.As(err, &e) || e.Reason != why || e.Line != v.Input {
				t.Errorf("Parse gives %v, %v; want reason %q", s, err, why)
			}
			for _, ev := range decode([]byte(v.Input+"\r\n"), 1<<20) {
				if ev.Kind == Accepted {
					t.Errorf("the decoder accepts %q", ev.Raw)
				}
			}
		})
	}
}

func TestQueryAndTagVectors(t *testing.T) {
	for _, v := range vectors(t, "nmea0183-query-tag.jsonl") {
		t.Run(v.ID, func(t *testing.T) {
			evs := decode([]byte(v.Input+"\r\n"), 1<<20)
			switch v.Kind {
			case "nmea0183-query":
				want := expect[struct{ Requester, Target, Wanted string }](t, v)
				q, ok := evs[0].Fields.Query()
				if len(evs) != 1 || !ok || q.Requester.String() != want.Requester || q.Target.String() != want.Target || q.Wanted != want.Wanted {
					t.Errorf("got %+v, want %+v", q, want)
				}
				if text := q.Append(nil); string(text) != v.Input+"\r\n" {
					t.Errorf("written as %q", text)
				}
			case "nmea0183-tag-block":
				want := expect[struct {
					Tag      map[string]string
					Sentence string
					Time     float64 `json:"time_unix_s"`
				}](t, v)
				if len(evs) != 1 || evs[0].Kind != Accepted {
					t.Fatalf("got %+v", evs)
				}
				f := &evs[0].Fields
				if text, _ := f.Append(nil, nil); string(text) != want.Sentence+"\r\n" {
					t.Errorf("sentence is %q, want %q", text, want.Sentence)
				}
				n := 0
				for k, x := range f.Tag.All() {
					if n++; want.Tag[k] != string(x) {
						t.Errorf("key %s is %q, want %q", k, x, want.Tag[k])
					}
				}
				if n != len(want.Tag) {
					t.Errorf("%d keys, want %d", n, len(want.Tag))
				}
				if at, ok := f.Tag.Time(); ok != (want.Time != 0) || ok && float64(at.UnixMilli())/1000 != want.Time {
					t.Errorf("time %v, want %v s", at, want.Time)
				}
				if s, err := Parse([]byte(v.Input)); err != nil {
					t.Errorf("Parse: %v, %v", s, err)
				}
			}
		})
	}
}

// TestTimeVectors reads dates and times round midnight, leap days and leap seconds, and writes them again.
func TestTimeVectors(t *testing.T) {
	n := 0
	for _, v := range vectors(t, "time_sentences.jsonl") {
		if v.Inputs.Sentence == "" {
			continue // steps between times without a date are the consumer's business
		}
		n++
		t.Run(v.ID, func(t *testing.T) {
			want := expect[struct {
				UTC string
				Sec float64 `json:"seconds_of_utc_day"`
			}](t, v)
			s, err := Parse([]byte(v.Inputs.Sentence))
			if err != nil {
				t.Fatal(err)
			}
			var at opt.Opt[time.Duration]
			var on opt.Opt[Date]
			var in Fields
			split([]byte(v.Inputs.Sentence), &in)
			f := form(&in, map[int]Group{1: Seconds})
			switch s := s.(type) {
			case *ZDA:
				at, on = s.Time, s.Date
			case *RMC:
				at, on = s.Time, s.Date
				f = formRMC(&in)
			}
			clock, ok := at.Value()
			date, ok2 := on.Value()
			if !ok || !ok2 || math.Abs(clock.Seconds()-want.Sec) > 1e-6 {
				t.Errorf("time %v, date %v; want %s", at, on, want.UTC)
			}
			if clock < day {
				if text := date.Time(clock).Format("2006-01-02T15:04:05.000"); text != want.UTC {
					t.Errorf("instant is %s, want %s", text, want.UTC)
				}
			}
			if text, err := s.Append(nil, &f); err != nil || string(text) != v.Inputs.Sentence+"\r\n" {
				t.Errorf("written as %q, error %v", text, err)
			}
		})
	}
	if n < 18 {
		t.Errorf("only %d sentences", n)
	}
}
