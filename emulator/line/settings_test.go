package line

import (
	"math"
	"testing"
)

// The bit times and the bytes a second follow from the frame: one start bit, the data bits, the parity bit, the stop
// bits. The table is common practice and can be checked by hand.
func TestBitsPerByte(t *testing.T) {
	for _, c := range []struct {
		name  string
		s     Settings
		bits  float64
		bytes float64 // a second
	}{
		{"4800 8N1", Settings{Baud: 4800}, 10, 480},
		{"4800 7E1", Settings{Baud: 4800, DataBits: 7, Parity: ParityEven, StopBits: 1}, 10, 480},
		{"4800 8O1", Settings{Baud: 4800, DataBits: 8, Parity: ParityOdd, StopBits: 1}, 11, 436.3636},
		{"9600 8N2", Settings{Baud: 9600, DataBits: 8, StopBits: 2}, 11, 872.7273},
		{"38400 7E2", Settings{Baud: 38400, DataBits: 7, Parity: ParityEven, StopBits: 2}, 11, 3490.9091},
		{"115200 7N2", Settings{Baud: 115200, DataBits: 7, StopBits: 2}, 10, 11520},
		{"50 5N1.5", Settings{Baud: 50, DataBits: 5, StopBits: 1.5}, 7.5, 6.6667},
		{"31250 8M1", Settings{Baud: 31250, Parity: ParityMark}, 11, 2840.9091},
	} {
		if err := c.s.Validate(); err != nil {
			t.Errorf("%s: %v", c.name, err)
		}
		if got := c.s.String(); got != c.name {
			t.Errorf("String is %q, want %q", got, c.name)
		}
		if got := c.s.BitsPerByte(); got != c.bits {
			t.Errorf("%s: %g bits a byte, want %g", c.name, got, c.bits)
		}
		if got := 1 / c.s.ByteTime(); math.Abs(got-c.bytes) > 1e-4 {
			t.Errorf("%s: %g bytes/s, want %g", c.name, got, c.bytes)
		}
	}
}

func TestSettingsOfReportsAllAtOnce(t *testing.T) {
	_, err := SettingsOf(0, 10, "evn", 3)
	want := `line: parity is "evn", allowed: none, odd, even, mark, space
line: baud is 0, allowed: a positive rate up to 100000000, such as 4800, 38400 or 115200
line: data bits are 10, allowed: 5 to 9 (0 is 8)
line: stop bits are 3, allowed: 1, 1.5, 2 (0 is 1)`
	if err == nil || err.Error() != want {
		t.Fatalf("error is\n%v\nwant\n%s", err, want)
	}
	for _, s := range []Settings{{Baud: -1}, {Baud: MaxBaud + 1}, {Baud: 1, StopBits: math.NaN()}, {Baud: 1, Parity: 9},
		{Baud: 1, Parity: -1}, {Baud: 1, Queue: -1}, {Baud: 1, DataBits: 4}} {
		if s.Validate() == nil {
			t.Errorf("%+v is accepted", s)
		}
		_, _ = s.BitsPerByte(), s.String() // must not panic
	}
	got, err := SettingsOf(4800, 7, "even", 2)
	if want := (Settings{Baud: 4800, DataBits: 7, Parity: ParityEven, StopBits: 2}); err != nil || got != want {
		t.Errorf("got %+v, %v; want %+v", got, err, want)
	}
}
