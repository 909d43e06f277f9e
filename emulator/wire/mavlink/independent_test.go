package mavlink

import (
	"bytes"
	"encoding/json"
	"math/rand/v2"
	"os"
	"os/exec"
	"reflect"
	"strconv"
	"testing"

	"swellbench/emulator/wire"
)

// node runs testdata/decode.js with node-mavlink, which shares no code with this package.
func node(t *testing.T, stdin []byte, arg ...string) []byte {
	t.Helper()
	program, err := exec.LookPath("node")
	if err != nil {
		t.Skip("the independent decoder needs node, which is not installed")
	}
	if exec.Command(program, "testdata/decode.js", "--check").Run() != nil {
		t.Skip("the independent decoder needs the package node-mavlink, which is not installed: npm install -g node-mavlink")
	}
	cmd := exec.Command(program, append([]string{"testdata/decode.js"}, arg...)...)
	cmd.Stdin, cmd.Stderr = bytes.NewReader(stdin), os.Stderr
	out, err := cmd.Output()
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// known.go is what the definitions have that node-mavlink carries.
func TestRegistry(t *testing.T) {
	d := json.NewDecoder(bytes.NewReader(node(t, nil, "--registry")))
	n := 0
	for d.More() {
		var m struct {
			ID    uint32 `json:"id"`
			Name  string `json:"name"`
			Extra byte   `json:"crc_extra"`
			Base  uint8  `json:"base"`
			Full  uint8  `json:"full"`
		}
		if err := d.Decode(&m); err != nil {
			t.Fatal(err)
		}
		n++
		if k := knownByID(m.ID); k == nil || (*k != known{m.ID, m.Name, m.Extra, m.Base, m.Full}) {
			t.Errorf("%+v is %+v here", m, k)
		}
	}
	if n < len(knowns) { // a later edition may have more
		t.Errorf("%d messages, %d here", n, len(knowns))
	}
}

// An independent decoder finds each message in the bytes of both versions, and reads in each field what was meant: over
// thousands of random readings, with what is absent and the ends of the ranges.
func TestIndependentDecoder(t *testing.T) {
	rnd := rand.New(rand.NewPCG(11, 12))
	es := append(encoders(t, 1), encoders(t, 2)...)
	var stream []byte
	var sent []Message
	var headers []Header
	for k := range 6000 {
		r := randomReading(rnd)
		r.Series = uint32(k)
		from := len(stream)
		var err error
		if stream, err = es[rnd.IntN(len(es))].Append(stream, r); err != nil {
			t.Fatal(err)
		}
		if len(stream) == from {
			continue
		}
		h, m, err := Parse(stream[from:])
		if err != nil {
			t.Fatal(err)
		}
		sent, headers = append(sent, m), append(headers, h)
	}
	d := json.NewDecoder(bytes.NewReader(node(t, stream)))
	d.UseNumber()
	n := 0
	for ; d.More(); n++ {
		var got struct {
			Version   Version        `json:"version"`
			Sequence  uint8          `json:"sequence"`
			System    uint8          `json:"system"`
			Component uint8          `json:"component"`
			ID        uint32         `json:"id"`
			Fields    map[string]any `json:"fields"`
		}
		if err := d.Decode(&got); err != nil {
			t.Fatal(err)
		}
		if n >= len(sent) {
			t.Fatal("more messages than were sent")
		}
		m, h := sent[n], headers[n]
		def := m.Definition()
		if (Header{Version: got.Version, Sequence: got.Sequence, System: got.System, Component: got.Component}) != h || got.ID != def.ID {
			t.Fatalf("message %d is %+v, sent as %+v %+v", n, got, h, m)
		}
		v := reflect.ValueOf(m).Elem()
		for _, f := range def.Fields {
			if want := v.Field(f.index); !agrees(want, got.Fields[f.Name]) {
				t.Fatalf("message %d, %s of %s: %v, sent as %v", n, f.Name, def.Name, got.Fields[f.Name], want)
			}
		}
	}
	if n != len(sent) || n < 4000 {
		t.Errorf("%d of %d messages were found", n, len(sent))
	}
}

// agrees compares a field with what JSON has of it; integers of 64 bits come as text.
func agrees(want reflect.Value, got any) bool {
	switch got := got.(type) {
	case []any:
		for i, x := range got {
			if !agrees(want.Index(i), x) {
				return false
			}
		}
		return len(got) == want.Len()
	case string:
		n, err := strconv.ParseUint(got, 10, 64)
		return err == nil && want.CanUint() && want.Uint() == n
	case json.Number:
		x, err := got.Float64()
		switch {
		case err != nil:
			return false
		case want.CanUint():
			return float64(want.Uint()) == x
		case want.CanInt():
			return float64(want.Int()) == x
		}
		return want.Float() == x
	}
	return false
}

// randomReading is one of those of the round trips, drawn without rapid.
func randomReading(rnd *rand.Rand) *wire.Reading {
	between := func(lo, hi float64) float64 {
		switch rnd.IntN(8) {
		case 0:
			return lo
		case 1:
			return hi
		}
		return lo + rnd.Float64()*(hi-lo)
	}
	return makeReading(source{
		float: func(_ string, lo, hi float64) float64 { return between(lo, hi) },
		int:   func(_ string, lo, hi int64) int64 { return lo + rnd.Int64N(hi-lo+1) },
	})
}
