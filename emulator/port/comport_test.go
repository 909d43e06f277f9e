package port

import (
	"bufio"
	"bytes"
	"encoding/hex"
	"encoding/json"
	"os"
	"testing"

	"swellbench/emulator/line"
)

// A vector is one row of testdata/rfc2217.jsonl, which names its sources.
type vector struct {
	ID, Kind, Input string
	Expected        struct {
		Command string
		Option  int
		Data    string
		Reply   string `json:"server_reply_when_9600_8n1_before"`
		Bytes   string `json:"value_bytes"`
	}
}

func vectors(t testing.TB) (all []vector) {
	f, err := os.Open("testdata/rfc2217.jsonl")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	for s := bufio.NewScanner(f); s.Scan(); {
		var v vector
		if err := json.Unmarshal(s.Bytes(), &v); err != nil {
			t.Fatal(err)
		}
		all = append(all, v)
	}
	return all
}

func unhex(t testing.TB, s string) []byte {
	b, err := hex.DecodeString(s)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// agreedComPort is one in the middle of a connection: 9600 8N1, all options agreed.
func agreedComPort() *comPort {
	c := newComPort(line.Settings{})
	for _, o := range []byte{optBinary, optSGA, optComPort} {
		c.ours[o], c.theirs[o] = on, on
	}
	return c
}

func TestRFC2217Vectors(t *testing.T) {
	all := vectors(t)
	if len(all) < 18 {
		t.Fatalf("%d vectors", len(all))
	}
	for _, v := range all {
		for _, size := range []int{1, 2, 1000} { // however the pieces are cut
			c := agreedComPort()
			in := unhex(t, v.Input)
			var dst, data []byte
			for p := in; len(p) > 0; p = p[min(size, len(p)):] {
				dst, data = c.receive(dst, data, p[:min(size, len(p))])
			}
			switch v.Kind {
			case "telnet-data":
				want := unhex(t, v.Expected.Data)
				if !bytes.Equal(data, want) || len(dst) > 0 {
					t.Errorf("%s: data %x, answer %x; want data %x", v.ID, data, dst, want)
				}
				if out, n := c.escape(nil, want, 1000); !bytes.Equal(out, in) || n != len(want) {
					t.Errorf("%s: going out %x, want %x", v.ID, out, in)
				}
			case "rfc2217-command":
				want := unhex(t, v.Expected.Reply)
				if v.Expected.Reply == "" { // of masks the vectors tell only the command: RFC 2217 has the answer with the mask in it
					want = subnegotiation(nil, append([]byte{44, byte(v.Expected.Option + 100)}, unhex(t, v.Expected.Bytes)...)...)
				}
				if !bytes.Equal(dst, want) || len(data) > 0 {
					t.Errorf("%s (%s): answer %x, data %x; want answer %x", v.ID, v.Expected.Command, dst, data, want)
				}
			default:
				t.Errorf("%s: kind %s is not known to this test", v.ID, v.Kind)
			}
		}
	}
}

// Values that no port can have change nothing; the answer is what is in force.
func TestComPortRefusals(t *testing.T) {
	for _, c := range []struct{ name, in, want string }{
		{"baud 4294967295", "fffa2c01fffffffffffffffffff0", "fffa2c6500002580fff0"},
		{"baud 0 asks", "fffa2c0100000000fff0", "fffa2c6500002580fff0"},
		{"9 data bits", "fffa2c0209fff0", "fffa2c6608fff0"},
		{"4 data bits", "fffa2c0204fff0", "fffa2c6608fff0"},
		{"parity 6", "fffa2c0306fff0", "fffa2c6701fff0"},
		{"stop 4", "fffa2c0404fff0", "fffa2c6801fff0"},
		{"control 20", "fffa2c0514fff0", ""},
		{"purge 4", "fffa2c0c04fff0", ""},
		{"purge 0", "fffa2c0c00fff0", ""},
		{"command 13", "fffa2c0d01fff0", ""},
		{"baud of 3 bytes", "fffa2c01000012fff0", ""},
		{"baud of 5 bytes", "fffa2c010000001200fff0", ""},
		{"no command", "fffa2cfff0", ""},
		{"nothing", "fffafff0", ""},
		{"another option", "fffa180100fff0", ""},
		{"sub that never ends, then a command", "fffa2c01fffa2c0200fff0", "fffa2c6608fff0"},
		{"echo wanted", "fffd01", "fffc01"},
		{"they offer a terminal type", "fffb18", "fffe18"},
		{"binary again", "fffd00fffb00", ""},
		{"binary taken back", "fffe00", "fffc00"},
		{"are you there", "fff6", "fff1"},
		{"signature", "fffa2c00fff0", "fffa2c647377656c6c62656e6368fff0"},
		{"their signature", "fffa2c0041fff0", ""},
		{"parity mark", "fffa2c0304fff0", "fffa2c6704fff0"},
		{"one and a half stop bits", "fffa2c0403fff0", "fffa2c6803fff0"},
		{"modem state asked", "fffa2c0700fff0", "fffa2c6bb0fff0"},
		{"ask flow", "fffa2c0500fff0", "fffa2c6901fff0"},
		{"inbound hardware, asked", "fffa2c0510fff0fffa2c050dfff0", "fffa2c6910fff0fffa2c6910fff0"},
		{"ask break", "fffa2c0504fff0", "fffa2c6906fff0"},
		{"DTR off, asked", "fffa2c0509fff0fffa2c0507fff0", "fffa2c6909fff0fffa2c6909fff0"},
		{"ask RTS", "fffa2c050afff0", "fffa2c690bfff0"},
	} {
		p := agreedComPort()
		if got, data := p.receive(nil, nil, unhex(t, c.in)); hex.EncodeToString(got) != c.want || len(data) > 0 {
			t.Errorf("%s: answer %x, data %x; want answer %s", c.name, got, data, c.want)
		}
	}
}

// Without binary a bare CR goes over the wire as CR NUL, RFC 854, also where writes are cut behind it.
func TestCarriageReturnsWithoutBinary(t *testing.T) {
	c := newComPort(line.Settings{})
	var out []byte
	for _, s := range []string{"a\r", "\nb\r", "c\r\r\n", "\xff\r"} {
		var n int
		if out, n = c.escape(out, []byte(s), 100); n != len(s) {
			t.Fatalf("%q: %d", s, n)
		}
	}
	if want := "a\r\nb\r\x00c\r\x00\r\n\xff\xff\r"; string(out) != want {
		t.Errorf("going out %q, want %q", out, want)
	}
	if _, data := c.receive(nil, nil, []byte("a\r\x00b\r\nc\x00")); string(data) != "a\rb\r\nc\x00" {
		t.Errorf("coming in %q", data)
	}
}

// As much goes out as there is room for, and no doubled byte is cut.
func TestEscapeWithinRoom(t *testing.T) {
	for room := range 9 {
		c := agreedComPort()
		out, n := c.escape(nil, []byte("a\xff\xffb\xff"), room)
		if want := [...]int{0, 1, 1, 2, 2, 3, 4, 4, 5}[room]; n != want || len(out) > room {
			t.Errorf("room %d: %d bytes as %x, want %d", room, n, out, want)
		}
	}
}

func TestNoticesOnlyWhereAskedFor(t *testing.T) {
	c := agreedComPort()
	if b := c.lineState(nil, LineFraming); b != nil {
		t.Errorf("with mask 0: %x", b)
	}
	c.receive(nil, nil, unhex(t, "fffa2c0a08fff0"))
	if b := c.lineState(nil, LineFraming|LineParity); !bytes.Equal(b, unhex(t, "fffa2c6a08fff0")) {
		t.Errorf("with mask 8: %x", b)
	}
	n := newComPort(line.Settings{})
	n.begin(nil)
	got, _ := n.receive(nil, nil, []byte{iac, will, optComPort, iac, do, optComPort})
	if want := append(unhex(t, "fffa2c6bb0fff0"), iac, will, optComPort); !bytes.Equal(got, want) {
		t.Errorf("at the start: %x, want %x", got, want)
	}
}

// Whatever comes in: no panic, no more answer than a few times what came, settings that make sense, and what goes out
// comes back as it was through a Telnet of the same kind.
func FuzzComPort(f *testing.F) {
	for _, v := range vectors(f) {
		f.Add(unhex(f, v.Input), 3)
	}
	f.Add([]byte("\xff\xfa\x2c\x01\xff"), 1)
	f.Add([]byte("GET / HTTP/1.1\r\n\r\n"), 7)
	f.Fuzz(func(t *testing.T, in []byte, size int) {
		c := newComPort(line.Settings{Baud: 4800})
		size = max(size%64, 1)
		var dst, data []byte
		for p := in; len(p) > 0; p = p[min(size, len(p)):] {
			dst, data = c.receive(dst, data, p[:min(size, len(p))])
		}
		if len(data) > len(in) || len(dst) > 10*len(in) || len(c.par) > longestSub {
			t.Errorf("%d bytes in make %d of data, %d of answers, %d kept", len(in), len(data), len(dst), len(c.par))
		}
		if err := c.set.Validate(); err != nil || c.set.Baud == 0 {
			t.Errorf("settings %+v: %v", c.set, err)
		}
		a, b := agreedComPort(), agreedComPort()
		wire, n := a.escape(nil, in, 3*len(in))
		if _, back := b.receive(nil, nil, wire); n != len(in) || !bytes.Equal(back, in) {
			t.Errorf("%x comes back as %x", in, back)
		}
	})
}
