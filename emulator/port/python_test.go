//go:build linux || darwin

package port_test

import (
	"bufio"
	"bytes"
	"context"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"iter"
	"os/exec"
	"strings"
	"testing"

	"swellbench/emulator/line"
	"swellbench/emulator/port"
)

// A script is a consumer in Python.
type script struct {
	t   testing.TB
	in  io.WriteCloser
	out *bufio.Reader
}

// python starts a script of testdata with a Python that has pyserial.
func python(t testing.TB, args ...string) *script {
	t.Helper()
	var cmd *exec.Cmd
	var why []byte
	for _, name := range []string{"/usr/bin/python3", "python3"} {
		out, err := exec.Command(name, "-c", "import serial, serial.rfc2217").CombinedOutput()
		if err == nil {
			cmd = exec.CommandContext(t.Context(), name, args...)
			break
		}
		why = append(append(why, err.Error()...), out...)
	}
	if cmd == nil {
		t.Skipf("no python3 with pyserial here (Debian: python3-serial): %s", why)
	}
	in, err := cmd.StdinPipe()
	must(t, err)
	out, err := cmd.StdoutPipe()
	must(t, err)
	var stderr bytes.Buffer
	cmd.Stderr = &stderr
	must(t, cmd.Start())
	t.Cleanup(func() {
		_ = in.Close()
		_ = cmd.Process.Kill()
		_ = cmd.Wait()
		if t.Failed() {
			t.Logf("%s said: %s", args[0], stderr.String())
		}
	})
	return &script{t, in, bufio.NewReader(out)}
}

// says reads one line of the script's.
func (s *script) says() string {
	s.t.Helper()
	l, err := s.out.ReadString('\n')
	if err != nil {
		s.t.Fatalf("the script said %q: %v", l, err)
	}
	return strings.TrimSpace(l)
}

// do gives an order and returns the answer.
func (s *script) do(format string, args ...any) string {
	s.t.Helper()
	_, err := fmt.Fprintf(s.in, format+"\n", args...)
	must(s.t, err)
	return s.says()
}

// pyserial's RFC 2217 client, of another make than ours: what it sets we see, what we send it reads, every byte of it.
func TestRFC2217WithPyserial(t *testing.T) {
	p := newRFC2217(t)
	own := line.Settings{Baud: 4800}
	s := python(t, "testdata/rfc2217_client.py", p.Path())
	if got := s.says(); got != "open" {
		t.Fatalf("pyserial does not open the port: %s", got)
	}
	must(t, p.WaitOpen(soon(t)))
	if baud, ok := p.Speed(); baud != 9600 || !ok {
		t.Errorf("pyserial's own rate is 9600, the port has %d, %v", baud, ok)
	}
	for _, c := range []struct {
		baud, bits int
		parity     string
		stop       float64
		want       line.Parity
	}{
		{4800, 8, "N", 1, line.ParityNone},
		{65280, 7, "E", 2, line.ParityEven}, // 0000ff00: a doubled byte
		{921600, 8, "M", 1, line.ParityMark},
		{31250, 5, "O", 1.5, line.ParityOdd},
	} {
		if got := s.do("set %d %d %s %g", c.baud, c.bits, c.parity, c.stop); got != "ok" {
			t.Errorf("%+v: pyserial says %s", c, got)
		}
		want := line.Settings{Baud: c.baud, DataBits: c.bits, Parity: c.want, StopBits: c.stop}
		if got, ok := p.Settings(own); got != want || !ok { // at once: pyserial has waited for our answer
			t.Errorf("pyserial set %v, the port has %v, %v", want, got, ok)
		}
	}
	if got := s.do("lines"); got != "cts 1 dsr 1 ri 0 cd 1" {
		t.Errorf("modem lines: %s", got)
	}
	for _, order := range []string{"dtr 0", "dtr 1", "rts 0", "rts 1", "break 1", "break 0", "purge"} {
		if got := s.do(order); got != "ok" {
			t.Errorf("%s: %s", order, got)
		}
	}
	// Every byte, 255 alone, in pairs and at the ends of writes, carriage returns without a line feed.
	var want []byte
	for i := range 256 {
		want = append(want, byte(i), 255, 255, byte(i), '\r', byte(i))
	}
	want = append(want, 255)
	for b := want; len(b) > 0; b = b[min(7, len(b)):] {
		_, err := p.Write(b[:min(7, len(b))])
		must(t, err)
	}
	if got := s.do("read %d", len(want)); got != hex.EncodeToString(want) {
		t.Errorf("pyserial read\n%s\nsent was\n%x", got, want)
	}
	if got := s.do("write %x", want); got != "ok" {
		t.Errorf("write: %s", got)
	}
	in := make([]byte, len(want))
	_, err := io.ReadFull(p, in)
	must(t, err)
	if !bytes.Equal(in, want) {
		t.Errorf("the device got\n%x\npyserial wrote\n%x", in, want)
	}
	// The plug is pulled; the same address is there again.
	must(t, p.(port.Hanger).HangUp(t.Context(), 0))
	again := python(t, "testdata/rfc2217_client.py", p.Path())
	if got := again.says(); got != "open" {
		t.Fatalf("after a hang-up pyserial does not open the port: %s", got)
	}
	if got := again.do("set 4800 8 N 1"); got != "ok" {
		t.Error(got)
	}
	_, err = fmt.Fprintln(again.in, "end")
	must(t, err)
	must(t, p.WaitClosed(soon(t)))
}

// A consumer that shares no code with ours hunts for the rate, as instruments do, and locks on to the device's own: at each
// other it reads what a UART set so makes of the line.
func TestHuntingConsumer(t *testing.T) {
	p := newPTY(t)
	s := python(t, "testdata/hunt.py", p.Path())
	must(t, p.WaitOpen(soon(t)))
	for _, rate := range []int{115200, 4800, 38400, 921600} {
		ctx, cancel := context.WithCancel(t.Context())
		played := make(chan error)
		go func() {
			_, err := line.Play(ctx, nil, line.Settings{Baud: rate}, headings(min(float64(rate)/250, 100)), p, line.Options{}) // most of a slow line
			played <- err
		}()
		for {
			var said string
			var baud int
			_, err := fmt.Sscan(s.says(), &said, &baud)
			must(t, err)
			if said == "locked" {
				if baud != rate {
					t.Errorf("locked on to %d, sent at %d", baud, rate)
				}
				break
			}
		}
		cancel()
		if err := <-played; !errors.Is(err, context.Canceled) {
			t.Error(err)
		}
		_, err := fmt.Fprintln(s.in)
		must(t, err)
	}
}

// headings is a sentence at a rate, in Hz, without end. Its checksum is worked by hand.
func headings(rate float64) iter.Seq2[line.Message, error] {
	return func(yield func(line.Message, error) bool) {
		for k := 0; ; k++ {
			t := float64(k) / rate
			if !yield(line.Message{Valid: t, Due: t, Kind: "HEHDT", Bytes: []byte("$HEHDT,271.42,T*1D\r\n")}, nil) {
				return
			}
		}
	}
}
