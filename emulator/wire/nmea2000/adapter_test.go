package nmea2000

import (
	"strings"
	"testing"
)

// TestAdapter: a session line by line. Source of the answers: can-utils slcanpty and the Linux slcan driver; what those
// leave open is in the comment of Adapter.
func TestAdapter(t *testing.T) {
	for _, tt := range []struct {
		name, in, want string
		flowing        bool
	}{
		{"as a driver begins", "C\rS5\rO\r", "\r\r\r", true},
		{"closed until opened", "S5\r", "\r", false},
		{"closed again", "O\rC\r", "\r\r", false},
		{"speed while open", "O\rS5\r", "\r\a", true},
		{"no such speed", "S9\rS\rS55\r", "\a\a\a", false},
		{"another speed hears nothing", "S6\rO\r", "\r\r", false},
		{"the right speed after all", "S6\rO\rC\rS5\rO\r", "\r\r\r\r\r", true},
		{"registers", "s031C\rO\r", "\r\r", true},
		{"registers cut off", "s03\rs03xx\r", "\a\a", false},
		{"listening only", "L\rT09F112230\r", "\r\a", true},
		{"sending while closed", "t1230\r", "\a", false},
		{"sending", "O\rt1232AABB\rT09F112230\rr1238\rR09F112238\r", "\r\r\r\r\r", true},
		{"sending with polls", "X1\rO\rt1230\rT09F112230\r", "\r\rz\rZ\r", true},
		{"hurt frames", "O\rt1239\rt8000\rT2FFFFFFF0\rt12\rt1231A\rt12300\rt123G\r", "\r\a\a\a\a\a\a\a", true},
		{"a stamp is not for sending", "O\rt12301234\r", "\r\a", true},
		{"acceptance", "M00000000\rmFFFFFFFF\rO\rM00000000\r", "\r\r\r\a", true},
		{"acceptance cut off", "M000\rm0000000g\r", "\a\a", false},
		{"questions", "V\rN\rF\rVx\r", "V1013\rN4242\rF00\r\a", false},
		{"unknown", "?\rQ1\rOO\rC1\rZ2\rX\r", "\a\a\a\a\a\a", false},
		{"case matters", "o\rc\r", "\a\a", false},
		{"empty lines, and line feeds behind them", "\r\r\n\r\nO\r\n", "\r", true},
		{"half a line", "O\rC", "\r", true},
		{"over-long", strings.Repeat("T", 5000) + "\rV\r", "\aV1013\r", false},
		{"eight-bit", "\x00\xff\r", "\a", false},
	} {
		t.Run(tt.name, func(t *testing.T) {
			var whole, cut Adapter
			if got := whole.Handle([]byte(tt.in), nil); string(got) != tt.want {
				t.Errorf("answered %q, expected %q", got, tt.want)
			}
			var got []byte
			for i := range len(tt.in) {
				got = cut.Handle([]byte(tt.in[i:i+1]), got)
			}
			if string(got) != tt.want {
				t.Errorf("byte by byte it answered %q, expected %q", got, tt.want)
			}
			if whole.Flowing() != tt.flowing || cut.Flowing() != tt.flowing {
				t.Errorf("frames flow: %v, expected %v", whole.Flowing(), tt.flowing)
			}
		})
	}
}

func TestAdapterSends(t *testing.T) {
	const frame = "T09F11223803DABAFF7FFF7FFC\r"
	var a Adapter
	send := func(want string) {
		t.Helper()
		if got := a.Send([]byte("x"), []byte(frame+"hurt\r"+frame[:9]), 60000+0x12AB); string(got) != "x"+want {
			t.Errorf("sent %q, expected %q", got[1:], want)
		}
	}
	send("")
	a.Handle([]byte("O\r"), nil)
	send(frame + "hurt\r" + frame[:9])
	a.Handle([]byte("Z1\r"), nil)
	send(frame[:26] + "12AB\rhurt\r" + frame[:9])
	a.Handle([]byte("Z0\rC\r"), nil)
	send("")

	a.Handle([]byte("S4\rO\r"), nil)
	send("")
	if got := a.Handle([]byte("F\rF\r"), nil); string(got) != "F80\rF00\r" {
		t.Errorf("status at the wrong speed is %q, expected the bus error once", got)
	}
	a = Adapter{Version: "0100", Serial: "SB01"}
	if got := a.Handle([]byte("V\rN\r"), nil); string(got) != "V0100\rNSB01\r" {
		t.Errorf("answered %q", got)
	}
}

func TestAdapterHears(t *testing.T) {
	var asked []uint32
	a := Adapter{Heard: func(f Frame) {
		if pgn, ok := Requested(f, 35); ok {
			asked = append(asked, pgn)
		}
	}}
	// The request for 60928 to address 35, to all, to address 36; cut short; remote; as an 11-bit frame.
	a.Handle([]byte("O\rT18EA2301300EE00\rT18EAFF01300EE00\rT18EA2401300EE00\rT18EA2301200EE\rR18EA23013\rt1233000EE00\r"), nil)
	if len(asked) != 2 || asked[0] != 60928 || asked[1] != 60928 {
		t.Errorf("asked for %v, expected twice 60928", asked)
	}
}

func TestAdapterAllocatesNothing(t *testing.T) {
	if raceEnabled {
		t.Skip("allocations are not counted under the race detector")
	}
	var a Adapter
	in, out := []byte("C\rS5\rZ1\rO\rV\rT09F11223803DABAFF7FFF7FFC\r"), make([]byte, 0, 256)
	lines := []byte("T09F11223803DABAFF7FFF7FFC\r")
	if n := testing.AllocsPerRun(100, func() {
		out = a.Handle(in, out[:0])
		out = a.Send(out, lines, 1)
	}); n > 0 {
		t.Errorf("%v allocations", n)
	}
}
