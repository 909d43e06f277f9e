package nmea2000

import (
	"bytes"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"slices"
	"strconv"
	"strings"
	"testing"

	"swellbench/emulator/wire"
)

// A vector is one line of a file in testdata, whose sources stand in it.
type vector struct {
	ID       string          `json:"id"`
	Kind     string          `json:"kind"`
	Input    string          `json:"input"`
	Expected json.RawMessage `json:"expected"`
	Source   string          `json:"source"`
}

func vectors(t *testing.T, file string, atLeast int, each func(*testing.T, vector)) {
	t.Helper()
	b, err := os.ReadFile("testdata/" + file)
	if err != nil {
		t.Fatal(err)
	}
	n := 0
	for line := range strings.Lines(string(b)) {
		var v vector
		if err := json.Unmarshal([]byte(line), &v); err != nil {
			t.Fatalf("%s: %v", file, err)
		}
		n++
		t.Run(v.ID, func(t *testing.T) {
			if v.Source == "" {
				t.Error("the vector names no source")
			}
			each(t, v)
		})
	}
	if n < atLeast {
		t.Fatalf("%s has %d vectors, expected %d", file, n, atLeast)
	}
}

func expected[T any](t *testing.T, v vector) (e T) {
	t.Helper()
	if err := json.Unmarshal(v.Expected, &e); err != nil {
		t.Fatal(err)
	}
	return e
}

func unhex(t *testing.T, s string) []byte {
	t.Helper()
	b, err := hex.DecodeString(s)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

func TestIDVectors(t *testing.T) {
	vectors(t, "nmea2000-can-ids.jsonl", 7, func(t *testing.T, v vector) {
		e := expected[struct {
			Priority, Source, Destination uint8
			PGN                           uint32
		}](t, v)
		can, err := strconv.ParseUint(v.Input, 16, 32)
		if err != nil {
			t.Fatal(err)
		}
		want := ID{Priority: e.Priority, PGN: e.PGN, Source: e.Source, Destination: e.Destination}
		if got := ParseID(uint32(can)); got != want {
			t.Errorf("read %+v, expected %+v", got, want)
		}
		if got := want.CAN(); got != uint32(can) {
			t.Errorf("wrote %08X, expected %s", got, v.Input)
		}
		if err := want.Validate(); err != nil {
			t.Error(err)
		}
	})
}

// canFrames are the frames of a vector: ID#DATA, one a line.
func canFrames(t *testing.T, input string) (frames []Frame) {
	t.Helper()
	for line := range strings.Lines(input) {
		id, data, _ := strings.Cut(strings.TrimSpace(line), "#")
		can, err := strconv.ParseUint(id, 16, 32)
		if err != nil {
			t.Fatal(err)
		}
		f := Frame{ID: uint32(can), Extended: true}
		f.Len = uint8(copy(f.Data[:], unhex(t, data)))
		frames = append(frames, f)
	}
	return frames
}

// slcanOf is the same frames as lines.
func slcanOf(frames []Frame) (lines []byte) {
	for _, f := range frames {
		lines = AppendLine(lines, &Line{Frame: f})
	}
	return lines
}

func TestFastPacketVectors(t *testing.T) {
	vectors(t, "nmea2000-fast-packet.jsonl", 6, func(t *testing.T, v vector) {
		e := expected[struct {
			PGN      uint32
			Payloads []string
			Either   [][]string `json:"payloads_either"`
		}](t, v)
		if e.Either == nil {
			e.Either = [][]string{e.Payloads}
		}
		var a Assembler
		got := []string{}
		for _, f := range canFrames(t, v.Input) {
			id := ParseID(f.ID)
			if id.PGN != e.PGN {
				t.Fatalf("PGN is %d, expected %d", id.PGN, e.PGN)
			}
			if p, _ := a.Push(id.Source, id.PGN, f.Bytes()); p != nil {
				got = append(got, hex.EncodeToString(p))
			}
		}
		if !slices.ContainsFunc(e.Either, func(want []string) bool { return slices.Equal(got, want) }) {
			t.Errorf("delivered %v, expected one of %v", got, e.Either)
		}
	})
}

func TestSLCANVectors(t *testing.T) {
	vectors(t, "slcan.jsonl", 18, func(t *testing.T, v vector) {
		if v.Kind == "slcan-command" {
			e := expected[struct{ Reply string }](t, v)
			var a Adapter
			if got := a.Handle([]byte(v.Input), nil); string(got) != e.Reply {
				t.Errorf("answered %q, expected %q", got, e.Reply)
			}
			return
		}
		e := expected[struct {
			ID       string `json:"can_id"`
			Extended bool
			Remote   bool
			DLC      uint8
			Data     string
			Stamp    *uint16 `json:"timestamp_ms"`
		}](t, v)
		can, err := strconv.ParseUint(e.ID, 16, 32)
		if err != nil {
			t.Fatal(err)
		}
		want := Line{Frame: Frame{ID: uint32(can), Extended: e.Extended, Remote: e.Remote, Len: e.DLC}}
		copy(want.Data[:], unhex(t, e.Data))
		if e.Stamp != nil {
			want.Stamped, want.StampMS = true, *e.Stamp
		}
		for _, input := range []string{v.Input, strings.TrimSuffix(v.Input, "\r"), v.Input[:1] + strings.ToLower(v.Input[1:])} {
			if got, err := ParseLine([]byte(input)); got != want || err != nil {
				t.Errorf("read %q as %+v, %v; expected %+v", input, got, err, want)
			}
		}
		if got := AppendLine(nil, &want); string(got) != v.Input {
			t.Errorf("wrote %q, expected %q", got, v.Input)
		}
		p := probe([]byte(v.Input+"T"), false)
		if p.Verdict != wire.Whole || p.Len != len(v.Input) {
			t.Errorf("probe says %+v of %q, expected a whole line of %d bytes", p, v.Input, len(v.Input))
		}
	})
}

// key is the name of a field in the vectors.
func key(f *Field) string {
	k := strings.ReplaceAll(strings.ToLower(f.Name), " ", "_")
	if k == "date" || k == "age_of_service" {
		return k + "_days_since_1970"
	}
	unit := map[string]string{"rad": "_rad", "rad/s": "_rad_s", "m": "_m", "m/s": "_m_s", "deg": "_deg", "s": "_s"}
	return k + unit[f.Unit]
}

// A message is what a vector says of one.
type message struct {
	CANID    string `json:"can_id"`
	Priority int
	PGN      uint32
	Name     string
	Source   int
	Fast     bool `json:"fast_packet"`
	Payload  string
	Fields   map[string]any
	Raw      map[string]json.Number
	Sequence uint32 `json:"sequence_counter"`
}

// station is the fields of one reference station.
var stationKeys = []string{"type", "id", "age_s"}

func checkField(t *testing.T, f *Field, name string, payload []byte, want any, raw *json.Number) {
	t.Helper()
	gotRaw, state := f.Raw(payload)
	if raw != nil {
		if n, err := raw.Int64(); err != nil || n != gotRaw {
			t.Errorf("raw %s is %d, expected %v", name, gotRaw, *raw)
		}
	}
	switch want := want.(type) {
	case nil:
		if state != NotAvailable {
			t.Errorf("%s is %v, expected not available", name, state)
		}
	case map[string]any:
		if state == Known || state == NotAvailable {
			t.Errorf("%s is %v, expected %v", name, state, want)
		}
	case float64:
		got := f.value(gotRaw)
		if state != Known || math.Abs(got-want) > math.Abs(want)*0x1p-51 {
			t.Errorf("%s is %v %v, expected %v", name, got, state, want)
		}
	}
}

func testMessage(t *testing.T, v vector, recorded bool) {
	e := expected[message](t, v)
	frames := canFrames(t, v.Input)
	lines := slcanOf(frames)
	row := rowOfPGN(e.PGN)
	if row == nil {
		t.Fatalf("no row for PGN %d", e.PGN)
	}
	if row.Title != e.Name || row.Fast != e.Fast {
		t.Errorf("row is %q, fast packet %v; expected %q, %v", row.Title, row.Fast, e.Name, e.Fast)
	}
	if can := fmt.Sprintf("%08X", frames[0].ID); can != e.CANID {
		t.Fatalf("frame has identifier %s, expected %s", can, e.CANID)
	}

	// From the lines to the payload.
	var a Assembler
	var payload []byte
	for i := range frames {
		kind, got, p, err := a.take(&Line{Frame: frames[i]})
		if kind != row.Type || got != row || err != nil {
			t.Fatalf("frame %d is of kind %q, error %v; expected %q", i, kind, err, row.Type)
		}
		if p != nil && i < len(frames)-1 {
			t.Fatal("the message is whole before its last frame")
		}
		payload = p
	}
	if got := hex.EncodeToString(payload); got != e.Payload {
		t.Fatalf("payload is %s, expected %s", got, e.Payload)
	}

	// From the payload to the values, and from the raw integers to the payload.
	packed := bytes.Repeat([]byte{0xFF}, max(row.Length, len(payload)))
	seen := map[string]bool{}
	for i := range row.Fields {
		f := &row.Fields[i]
		if f.Type == Reserved || f.Type == Spare {
			f.Put(packed, 0)
			continue
		}
		k := key(f)
		raw, ok := e.Raw[k]
		if !ok {
			t.Errorf("the vector has no field %q", k)
			continue
		}
		seen[k] = true
		checkField(t, f, k, payload, e.Fields[k], &raw)
		n, _ := raw.Int64()
		f.Put(packed, n)
	}
	for k := range e.Raw {
		if !seen[k] {
			t.Errorf("the vector has a field %q, which the row has not", k)
		}
	}
	stations, _ := e.Fields["stations"].([]any)
	if n := row.repeats(payload); n != len(stations) {
		t.Errorf("%d reference stations, expected %d", n, len(stations))
	}
	for i, s := range stations {
		for k := range row.Repeat {
			f, at := &row.Repeat[k], row.Length+4*i
			name := stationKeys[k]
			checkField(t, f, name, payload[at:], s.(map[string]any)[name], nil)
			f.Put(packed[at:], int64(math.Round(s.(map[string]any)[name].(float64)*f.perUnit())))
		}
	}
	if recorded {
		return // reserved bits are not ones, and messages are shorter
	}
	if got := hex.EncodeToString(packed); got != e.Payload {
		t.Errorf("packed from its integers it is %s, expected %s", got, e.Payload)
	}
	var sent []byte
	if row.Fast {
		parts, err := AppendFastPacket(nil, uint8(e.Sequence), packed)
		if err != nil {
			t.Fatal(err)
		}
		for _, p := range parts {
			sent = AppendLine(sent, &Line{Frame: Frame{ID: frames[0].ID, Extended: true, Len: 8, Data: p}})
		}
	} else {
		sent = AppendLine(nil, &Line{Frame: Frame{ID: frames[0].ID, Extended: true, Len: 8, Data: [8]byte(packed)}})
	}
	if !bytes.Equal(sent, lines) {
		t.Errorf("sent %q, expected %q", sent, lines)
	}
	testEncoder(t, row, &e, lines)
}

func TestMessageVectors(t *testing.T) {
	vectors(t, "nmea2000-messages.jsonl", 39, func(t *testing.T, v vector) { testMessage(t, v, false) })
}

func TestRecordedVectors(t *testing.T) {
	vectors(t, "nmea2000-recorded.jsonl", 15, func(t *testing.T, v vector) { testMessage(t, v, true) })
}
