package line

import (
	"bytes"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"os"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// parseFormat reads "8N1", "7E1.5".
func parseFormat(t interface{ Fatal(...any) }, baud int, f string) Settings {
	stop, err := strconv.ParseFloat(f[2:], 64)
	p := strings.IndexByte("NOEMS", f[1])
	if err != nil || p < 0 {
		t.Fatal("format", f, err)
	}
	return Settings{Baud: baud, DataBits: int(f[0] - '0'), Parity: Parity(p), StopBits: stop}
}

// all takes what there is.
func (r *Receiver) all() (out []Received) {
	for x, ok := r.Next(); ok; x, ok = r.Next() {
		out = append(out, x)
	}
	return out
}

type uartRow struct {
	ID    string
	Input string
	Setup struct {
		TxBaud   int       `json:"tx_baud"`
		TxFormat string    `json:"tx_format"`
		RxBaud   int       `json:"rx_baud"`
		RxFormat string    `json:"rx_format"`
		Idle     float64   `json:"idle_bits_after_each_byte"`
		Lows     []float64 `json:"low_pulses_after_data_in_bits"`
	}
	Expected struct {
		Received      []uartEvent
		Deterministic *bool
		Two           [][]uartEvent `json:"two_possible_readings"`
	}
}

type uartEvent struct {
	Byte       string
	Framing    bool  `json:"framing_error"`
	Parity     *bool `json:"parity_error"`
	FalseStart bool  `json:"false_start"`
}

// Every row of the check values: "receiver model of the reference notes, computed exactly; sigrok UART decoder
// (libsigrokdecode 0.5.3)".
func TestUARTVectors(t *testing.T) {
	file, err := os.ReadFile("testdata/uart.jsonl")
	if err != nil {
		t.Fatal(err)
	}
	rows := 0
	for l := range bytes.Lines(file) {
		var row uartRow
		if err := json.Unmarshal(l, &row); err != nil {
			t.Fatal(err)
		}
		rows++
		data, err := hex.DecodeString(row.Input)
		if err != nil {
			t.Fatal(err)
		}
		for _, begin := range []float64{0, 12.25, 86400.2, 4e5 + 0.1} { // a run may be at any time
			tx, rx := parseFormat(t, row.Setup.TxBaud, row.Setup.TxFormat), parseFormat(t, row.Setup.RxBaud, row.Setup.RxFormat)
			r, err := NewReceiver(tx, rx, KeepErrored)
			if err != nil {
				t.Fatal(err)
			}
			bit, n := 1/float64(tx.Baud), 0.0
			for _, b := range data {
				r.Byte(begin+n*bit, b)
				n += tx.BitsPerByte() + row.Setup.Idle
			}
			for _, low := range row.Setup.Lows { // with an idle bit before it, so that there is an edge
				n++
				r.Low(begin+n*bit, low*bit)
				n += low
			}
			r.Idle(begin + n*bit + 100/float64(rx.Baud))
			var got, want []string
			for _, x := range r.all() {
				for range x.FalseStarts {
					got = append(got, "false start")
				}
				got = append(got, fmt.Sprintf("%02x framing %v", x.Value, x.FramingError))
			}
			for range r.falseStarts {
				got = append(got, "false start")
			}
			if row.Expected.Deterministic != nil && !*row.Expected.Deterministic {
				// A look on an edge: all that may be promised is that it is not the text. By our rule, that the level after
				// the edge counts, it is the reading that the file shows as possible.
				var text []byte
				for _, g := range got {
					b, _ := strconv.ParseUint(g[:2], 16, 8)
					text = append(text, byte(b))
				}
				if bytes.Equal(text, data) || len(text) == 0 {
					t.Errorf("%s: received %x of %x", row.ID, text, data)
				}
				row.Expected.Received = row.Expected.Two[0]
			}
			for _, e := range row.Expected.Received {
				if e.FalseStart {
					want = append(want, "false start")
				} else {
					want = append(want, fmt.Sprintf("%s framing %v", e.Byte, e.Framing))
				}
			}
			if fmt.Sprint(got) != fmt.Sprint(want) {
				t.Errorf("%s from %g s:\n got %v\nwant %v", row.ID, begin, got, want)
			}
		}
		// Parity separately: only rows about it say anything.
		tx, rx := parseFormat(t, row.Setup.TxBaud, row.Setup.TxFormat), parseFormat(t, row.Setup.RxBaud, row.Setup.RxFormat)
		r, _ := NewReceiver(tx, rx, KeepErrored)
		for i, b := range data {
			r.Byte(float64(i)*(tx.BitsPerByte()+row.Setup.Idle)/float64(tx.Baud), b)
		}
		r.Idle(1000)
		got := r.all()
		for i, e := range row.Expected.Received {
			if e.Parity != nil && got[i].ParityError != *e.Parity {
				t.Errorf("%s: byte %d: parity error %v, want %v", row.ID, i, got[i].ParityError, *e.Parity)
			}
		}
	}
	if rows != 21 {
		t.Errorf("%d rows, want 21", rows)
	}
}

// Within 2 % of the rate and with the same data bits and parity every byte is whole, whatever the stop bits: the line
// leaves the receiver out then.
func TestUARTCompatibleIsWhole(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		tx := drawUART(t, "sender")
		rx := tx
		rx.StopBits = rapid.SampledFrom([]float64{1, 1.5, 2}).Draw(t, "stop")
		rx.Baud = tx.Baud * rapid.IntRange(980, 1020).Draw(t, "permille") / 1000
		if !tx.compatible(rx) {
			t.Skip("rounded away")
		}
		data := rapid.SliceOfN(rapid.Byte(), 1, 50).Draw(t, "data")
		r, _ := NewReceiver(tx, rx, KeepErrored)
		for i, b := range data {
			r.Byte(float64(i)*tx.ByteTime(), b)
		}
		r.Idle(1000)
		got := r.all()
		if len(got) != len(data) {
			t.Fatalf("%d bytes of %d", len(got), len(data))
		}
		for i, x := range got {
			if !x.Whole || x.Value != uint16(data[i])&(1<<tx.DataBits-1) {
				t.Fatalf("byte %d: %+v of %02x", i, x, data[i])
			}
		}
	})
}

// At half, a quarter and an eighth of the rate, what arrives is never the text, and at any speed the same twice.
func TestUARTBinaryRatios(t *testing.T) {
	const text = "$HEHDT,271.42,T*1D\r\n"
	for _, ratio := range []int{2, 4, 8, 3, 5, 12} {
		for _, gap := range []float64{0, 1, 20} {
			run := func() string {
				tx := Settings{Baud: 38400}
				rx := Settings{Baud: 38400 / ratio}
				r, _ := NewReceiver(tx, rx, KeepErrored)
				for i := range len(text) {
					r.Byte(float64(i)*(10+gap)/38400, text[i])
				}
				r.Idle(10)
				var got []byte
				for _, x := range r.all() {
					if x.Whole {
						t.Errorf("a byte arrived whole at 1/%d of the rate", ratio)
					}
					got = r.Policy.AppendByte(got, x)
				}
				return string(got)
			}
			a := run()
			if a == text || a == "" || a != run() {
				t.Errorf("1/%d with %g bits between: %q", ratio, gap, a)
			}
		}
	}
}

// What Linux hands on: termios(3), PARMRK, IGNPAR, INPCK.
func TestPolicies(t *testing.T) {
	in := []Received{{Value: 0x41}, {Value: 0xFF}, {Value: 0x42, FramingError: true}, {Value: 0xFF, ParityError: true},
		{FramingError: true, Break: true}, {Value: 0x143}}
	for p, want := range map[Policy]string{
		KeepErrored: "41ff42ff0043", ZeroErrored: "41ff00000043", DropErrored: "41ff0043", MarkErrored: "41ffffff0042ff00ffff000043",
	} {
		var got []byte
		for _, x := range in {
			got = p.AppendByte(got, x)
		}
		if hex.EncodeToString(got) != want {
			t.Errorf("%v: %x, want %s", p, got, want)
		}
	}
	if _, err := NewReceiver(Settings{Baud: 1}, Settings{Baud: 1}, 4); err == nil || !strings.Contains(err.Error(), "policy is number 4") {
		t.Errorf("error is %v", err)
	}
	if _, err := NewReceiver(Settings{}, Settings{Baud: 1, DataBits: 10}, 0); err == nil || !strings.Contains(err.Error(), "baud is 0") || !strings.Contains(err.Error(), "data bits are 10") {
		t.Errorf("error is %v", err)
	}
}

// A receiver that begins to listen in the middle of a byte takes the first falling edge for a start bit.
func TestUARTListensLate(t *testing.T) {
	r, _ := NewReceiver(Settings{Baud: 1000}, Settings{Baud: 1000}, KeepErrored)
	r.listen(Settings{Baud: 1000}, 0.0045)
	// 'U' is 0101 0101 between start and stop: low at 0, high 1, low 2, ... The edges are at 2, 4, 6, 8 ms; the first one
	// heard is that at 6 ms. From there the looks see high, low, high (the stop bit), low (the next start), ...
	for i := range 4 {
		r.Byte(float64(i)*0.010, 'U')
	}
	r.Idle(1)
	got := r.all()
	if len(got) == 0 || got[0].Start != 0.006 || got[0].Value != 0x55 || got[0].FramingError {
		t.Errorf("got %+v, want a byte 55 from the edge at 6 ms", got)
	}
}

func TestUARTAllocatesNothing(t *testing.T) {
	r, _ := NewReceiver(Settings{Baud: 4800}, Settings{Baud: 38400}, KeepErrored)
	n, buf := 0, make([]byte, 0, 64)
	feed := func() {
		r.Byte(float64(n)*10/4800, byte(n))
		n++
		for x, ok := r.Next(); ok; x, ok = r.Next() {
			buf = r.Policy.AppendByte(buf[:0], x)
		}
	}
	for range 300 {
		feed()
	}
	if got := testing.AllocsPerRun(1000, feed); got != 0 {
		t.Errorf("%g allocations a byte", got)
	}
}

func BenchmarkReceiver(b *testing.B) {
	b.ReportAllocs()
	r, _ := NewReceiver(Settings{Baud: 4800}, Settings{Baud: 38400}, KeepErrored)
	for n := range b.N {
		r.Byte(float64(n)*10/4800, byte(n))
		for _, ok := r.Next(); ok; _, ok = r.Next() {
		}
	}
}
