package mavlink

import (
	"bufio"
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"strconv"
	"testing"

	"swellbench/emulator/wire"
	"swellbench/emulator/wire/mixed"
)

type vector struct {
	ID       string          `json:"id"`
	Kind     string          `json:"kind"`
	Input    string          `json:"input"`
	Expected json.RawMessage `json:"expected"`
	Source   string          `json:"source"`
}

func (v vector) bytes(t testing.TB) []byte {
	b, err := hex.DecodeString(v.Input)
	if err != nil {
		t.Fatal(v.ID, err)
	}
	return b
}

func vectors(t testing.TB, name string) (all []vector) {
	t.Helper()
	text, err := os.ReadFile(filepath.Join("testdata", name))
	if err != nil {
		t.Fatal(err)
	}
	for s := bufio.NewScanner(bytes.NewReader(text)); s.Scan(); {
		var v vector
		if err := json.Unmarshal(s.Bytes(), &v); err != nil {
			t.Fatal(err)
		}
		if v.Source == "" {
			t.Errorf("%s has no source", v.ID)
		}
		all = append(all, v)
	}
	if len(all) == 0 {
		t.Fatalf("%s is empty", name)
	}
	return all
}

type frameVector struct {
	Version       Version        `json:"version"`
	Message       string         `json:"message"`
	ID            uint32         `json:"message_id"`
	PayloadLength int            `json:"payload_length"`
	FullLength    int            `json:"full_length"`
	Sequence      uint8          `json:"sequence"`
	System        uint8          `json:"system"`
	Component     uint8          `json:"component"`
	CRC           string         `json:"crc"`
	CRCExtra      byte           `json:"crc_extra"`
	Truncated     bool           `json:"truncated"`
	Fields        map[string]any `json:"fields"`
}

func (v vector) frame(t testing.TB) (f frameVector) {
	d := json.NewDecoder(bytes.NewReader(v.Expected))
	d.UseNumber()
	if err := d.Decode(&f); err != nil {
		t.Fatal(v.ID, err)
	}
	return f
}

// setField sets a field of a struct from what JSON has of it.
func setField(t testing.TB, to reflect.Value, v any) {
	if list, ok := v.([]any); ok {
		for i, x := range list {
			setField(t, to.Index(i), x)
		}
		return
	}
	text := string(v.(json.Number))
	var err error
	switch {
	case to.CanUint():
		var n uint64
		n, err = strconv.ParseUint(text, 10, 64)
		to.SetUint(n)
	case to.CanInt():
		var n int64
		n, err = strconv.ParseInt(text, 10, 64)
		to.SetInt(n)
	default:
		var x float64
		x, err = strconv.ParseFloat(text, 64)
		to.SetFloat(x)
	}
	if err != nil {
		t.Fatal(err)
	}
}

// message makes the message that the vector says, every field of which it must name, but for extensions in version 1.
func (f frameVector) message(t testing.TB) Message {
	row := rowByID(f.ID)
	if row == nil || row.Type != f.Message {
		t.Fatalf("no message %d %s", f.ID, f.Message)
	}
	m := row.New()
	s := reflect.ValueOf(m).Elem()
	n := 0
	for _, d := range row.Fields {
		if v, ok := f.Fields[d.Name]; ok {
			n++
			setField(t, s.Field(d.index), v)
		} else if !(d.Extension && (f.Version == V1 || f.PayloadLength <= d.Offset)) {
			t.Fatalf("%s has no %s", f.Message, d.Name)
		}
	}
	if n != len(f.Fields) {
		t.Fatalf("%s: %d of %d fields found", f.Message, n, len(f.Fields))
	}
	return m
}

func TestFrameVectors(t *testing.T) {
	seen := map[string]bool{}
	for _, v := range vectors(t, "mavlink-frames.jsonl") {
		if v.Kind != "mavlink-frame" {
			continue
		}
		t.Run(v.ID, func(t *testing.T) {
			f, in := v.frame(t), v.bytes(t)
			m := f.message(t)
			seen[f.Message] = true
			d := m.Definition()
			if full := f.FullLength; d.CRCExtra != f.CRCExtra || f.Version == V2 && d.Full != full || f.Version == V1 && d.Base != full {
				t.Errorf("CRC_EXTRA %d, lengths %d and %d; want %d, %d", d.CRCExtra, d.Base, d.Full, f.CRCExtra, full)
			}
			h := Header{Version: f.Version, Sequence: f.Sequence, System: f.System, Component: f.Component}
			out, err := AppendFrame([]byte("kept"), h, m)
			if err != nil || string(out) != "kept"+string(in) {
				t.Errorf("written as %x, %v\nwant       %x", out[4:], err, in)
			}
			gotH, got, err := Parse(in)
			if err != nil || gotH != h || !reflect.DeepEqual(got, m) {
				t.Errorf("read as %+v %+v, %v\nwant    %+v %+v", gotH, got, err, h, m)
			}
			if p := probe(append(slices.Clone(in), "more"...), false); p != (wire.Probe{Verdict: wire.Whole, Len: len(in)}) {
				t.Errorf("probe: %+v", p)
			}
			kind, fields := describe(in)
			if kind != f.Message || len(fields) < 9 {
				t.Errorf("described as %s %+v", kind, fields)
			}
		})
	}
	for _, rows := range [][]Row{Messages, others} {
		for _, r := range rows {
			if !seen[r.Type] && r.Type != "GPS2_RAW" { // that one has the independent decoder alone
				t.Errorf("no vector of %s", r.Type)
			}
		}
	}
}

// A signed frame is found whole, and its message is read; the signature is what the rule of signing makes it.
func TestSignedVector(t *testing.T) {
	n := 0
	for _, v := range vectors(t, "mavlink-frames.jsonl") {
		if v.Kind != "mavlink-signed-frame" {
			continue
		}
		n++
		var want struct {
			frameVector
			Key       string `json:"key"`
			Link      byte   `json:"link_id"`
			Time      uint64 `json:"timestamp_10us_since_2015"`
			Signature string `json:"signature"`
			Length    int    `json:"frame_length"`
		}
		if err := json.Unmarshal(v.Expected, &want); err != nil {
			t.Fatal(err)
		}
		in := v.bytes(t)
		if p := probe(append(slices.Clone(in), in...), false); p != (wire.Probe{Verdict: wire.Whole, Len: want.Length}) {
			t.Fatalf("%+v", p)
		}
		if p := probe(in[:want.Length-1], false); p.Verdict != wire.Partial || p.Len != want.Length {
			t.Errorf("without its last byte: %+v", p)
		}
		h, m, err := Parse(in)
		if err != nil || h.Incompatible != flagSigned || h.Sequence != want.Sequence || h.System != want.System || m.Definition().Name != want.Message {
			t.Errorf("%+v %+v %v", h, m, err)
		}
		key, _ := hex.DecodeString(want.Key)
		sum := sha256.Sum256(append(key, in[:want.Length-6]...))
		sig := in[want.Length-signatureBytes:]
		if sig[0] != want.Link || le.Uint64(append(slices.Clone(sig[1:7]), 0, 0)) != want.Time || hex.EncodeToString(sig[7:]) != want.Signature || !bytes.Equal(sum[:6], sig[7:]) {
			t.Errorf("signature %x", sig)
		}
		in[len(in)-1] ^= 1 // nobody here has the key
		if _, _, err := Parse(in); err != nil {
			t.Error(err)
		}
	}
	if n == 0 {
		t.Error("no signed vector")
	}
}

func TestStreamVectors(t *testing.T) {
	for _, v := range vectors(t, "mavlink-stream.jsonl") {
		var want struct {
			OneOf []int  `json:"frames_accepted_one_of"`
			Note  string `json:"note"`
		}
		if err := json.Unmarshal(v.Expected, &want); err != nil {
			t.Fatal(err)
		}
		for _, piece := range []int{1, 7, 1000} {
			// Where a reader may lose frames, this one does not.
			if got := accepted(v.bytes(t), piece); got != slices.Max(want.OneOf) {
				t.Errorf("%s (%s), in pieces of %d: %d frames, want %v", v.ID, want.Note, piece, got, want.OneOf)
			}
		}
	}
}

// accepted counts the frames in a stream.
func accepted(in []byte, piece int) (n int) {
	s := mixed.New(Family)
	drain := func() {
		for e, ok := s.Next(); ok; e, ok = s.Next() {
			if e.Kind == mixed.Message {
				n++
			}
		}
	}
	for len(in) > 0 {
		k := min(piece, len(in))
		s.Push(in[:k])
		in = in[k:]
		drain()
	}
	s.Flush()
	drain()
	return n
}

// What is worked out from the structs is what others have; known.go itself is compared with them by the test with the
// independent decoder.
func TestDefinitions(t *testing.T) {
	for _, rows := range [][]Row{Messages, others} {
		for _, r := range rows {
			d := r.Definition
			k := knownByID(d.ID)
			if k == nil || (*k != known{d.ID, r.Type, d.CRCExtra, uint8(d.Base), uint8(d.Full)}) || d.Name != r.Type {
				t.Errorf("%s: worked out %+v, table %+v", r.Type, d, k)
			}
			if d.ID > 0xFF || d.Full > len(fullPayload{}) || rowByID(d.ID).Type != r.Type || r.Source == "" || r.Title == "" || r.New().Definition() != d {
				t.Errorf("%s: row", r.Type)
			}
		}
	}
	for i := range knowns {
		if i > 0 && knowns[i].id <= knowns[i-1].id {
			t.Errorf("%s is out of order", knowns[i].name)
		}
	}
}

// Each field lies on the wire where the definition has it, both ways.
func TestLayout(t *testing.T) {
	for _, rows := range [][]Row{Messages, others} {
		for _, r := range rows {
			for _, d := range r.Fields {
				m := r.New()
				f := reflect.ValueOf(m).Elem().Field(d.index)
				want := make([]byte, r.Full)
				for i := range d.Bytes() {
					want[d.Offset+i] = byte(0x41 + i)
				}
				set(f, want[d.Offset:], d.Size)
				if got := payload(m); !bytes.Equal(got, want) {
					t.Errorf("%s %s: written as\n%x, want\n%x", r.Type, d.Name, got, want)
				}
				back := r.New()
				back.parsePayload(want)
				if !reflect.DeepEqual(back, m) {
					t.Errorf("%s %s: read as %+v, want %+v", r.Type, d.Name, back, m)
				}
			}
		}
	}
}

// set gives a field the value whose bytes are p.
func set(f reflect.Value, p []byte, size int) {
	switch f.Kind() {
	case reflect.Array:
		for i := range f.Len() {
			set(f.Index(i), p[i*size:], size)
		}
		return
	case reflect.Float32:
		f.SetFloat(float64(getFloat(p)))
		return
	}
	var n uint64
	for i := range size {
		n |= uint64(p[i]) << (8 * i)
	}
	if f.CanInt() {
		f.SetInt(int64(n<<(64-8*size)) >> (64 - 8*size))
	} else {
		f.SetUint(n)
	}
}

func TestParseErrors(t *testing.T) {
	frames := vectors(t, "mavlink-frames.jsonl")
	att := frames[slices.IndexFunc(frames, func(v vector) bool { return v.ID == "mav-attitude-v2-rates-zero-truncated" })].bytes(t)
	with := func(i int, b byte) []byte { p := slices.Clone(att); p[i] = b; return p }
	for _, c := range []struct {
		in   []byte
		text string
		is   error
	}{
		{nil, "mavlink: frame: cut off", ErrShort},
		{att[:5], "mavlink: frame: cut off", ErrShort},
		{att[:len(att)-1], "mavlink: frame of ATTITUDE: cut off", ErrShort},
		{with(0, 'x'), "mavlink: frame: no start byte", ErrStart},
		{with(9, 0xAB), "mavlink: frame: unknown message id: its checksum cannot be proven", ErrUnknown},
		{with(12, 9), "mavlink: frame of ATTITUDE: checksum", ErrChecksum},
		{append(slices.Clone(att), 0), "mavlink: frame of ATTITUDE: length: the frame has 24 bytes of 25", ErrLength},
		{[]byte{0xFE, 3, 0, 1, 1, 30, 0, 0, 0, 0, 0}, "mavlink: frame of ATTITUDE: length", ErrLength},
	} {
		_, _, err := Parse(c.in)
		if err == nil || err.Error() != c.text || !errors.Is(err, c.is) {
			t.Errorf("%x: %v, want %s", c.in, err, c.text)
		}
		if _, carries, err := Read(c.in, new(wire.Reading)); carries || !errors.Is(err, c.is) {
			t.Errorf("%x: read", c.in)
		}
	}
}

// payload is the payload of a message in full length.
func payload(m Message) []byte {
	p := make([]byte, m.Definition().Full)
	m.putPayload(p)
	return p
}
