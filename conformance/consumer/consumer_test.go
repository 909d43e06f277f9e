package consumer

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"strings"
	"testing"
	"testing/iotest"
	"testing/synctest"
	"time"

	"gonum.org/v1/gonum/spatial/r3"

	"swellbench/scenarios/installation"
)

func ExampleRun() {
	in, err := installation.Parse("boat.yaml", []byte(`
points:
  sensor:          [0 m, 0 m, 0 m]
  antenna-primary: [1 m, -2 m, 3 m]
  sonar:           [0 m, 4 m, -1.5 m]
expected-of-consumer: {output-point: sonar}
`))
	if err != nil {
		fmt.Println(err)
		return
	}
	stream := "$GNGGA,120000.00,5000.00000,N,00400.00000,W,4,12,0.8,10.00,M,47.00,M,,*5E\r\n" +
		"$GPZDA,120000.00,01,06,2026,00,00*64\r\n$HEHDT,90.00,T*26\r\n$YXXDR,A,0.0,D,PITCH,A,0.0,D,ROLL*14\r\n"
	if err := Run(context.Background(), Config{Installation: in}, strings.NewReader(stream), os.Stdout); err != nil {
		fmt.Println(err)
	}
	// Output:
	// {"time":"2026-06-01T12:00:00.000Z","point":"sonar","lat":50.0000089904,"lon":-3.9999163137,"height":52.50000,"heading":90.000000,"pitch":0.000000,"roll":0.000000,"fix":"rtk-fixed","heading_valid":true,"source":"GGA+ZDA+HDT+XDR"}
}

// However the stream is cut into reads, the same comes out.
func TestAnyCut(t *testing.T) {
	in := boat("sonar", map[string]r3.Vec{"antenna-primary": {X: 1, Y: -2, Z: 3}, "sonar": {Y: 4}})
	stream := "\xffnoise\r\n" + burst(t, "Z1 G1 H1 X1 ?2 H2 X2 G3 H3 T3 X3 R4 G4 H4") + "$GPGGA,cut"
	var want string
	for i, r := range []io.Reader{
		strings.NewReader(stream), iotest.OneByteReader(strings.NewReader(stream)), iotest.HalfReader(strings.NewReader(stream)), iotest.DataErrReader(strings.NewReader(stream)),
	} {
		var out strings.Builder
		if err := Run(t.Context(), Config{Installation: in}, r, &out); err != nil {
			t.Fatal(err)
		}
		if i == 0 {
			want = out.String()
		}
		if out.String() != want || strings.Count(want, "\n") != 3 {
			t.Errorf("reader %d: got\n%swant\n%s", i, out.String(), want)
		}
	}
}

func TestConfig(t *testing.T) {
	in := boat("sonar", map[string]r3.Vec{"sonar": {}})
	for _, c := range []struct {
		cfg  Config
		want string
	}{
		{Config{}, "consumer: no installation: without it no offset can be applied"},
		{Config{Installation: in, Format: "morse"}, `consumer: unknown format "morse", known: layout, mavlink, nmea0183, nmea2000`},
		{Config{Installation: in, Format: "nmea0183+layout"}, `consumer: format layout without the file that describes its messages`},
		{Config{Installation: in, Baud: -1}, "consumer: baud is -1, allowed: the speed of the line such as 9600, or 0 for a file"},
		{Config{Installation: &installation.Installation{}}, `consumer: the installation has no point "sensor"`},
		{Config{Installation: boat("keel", nil)}, `consumer: the installation has no point "keel", which is the output point`},
	} {
		var out strings.Builder
		if err := Run(t.Context(), c.cfg, iotest.ErrReader(errors.New("read")), &out); err == nil || err.Error() != c.want {
			t.Errorf("error %v, want %s", err, c.want)
		}
	}
	err := Config{Format: "morse", Baud: -1, Defects: []string{"x"}}.Validate()
	if n := strings.Count(fmt.Sprint(err), "\n"); n != 3 {
		t.Errorf("want four errors at once, got %v", err)
	}
}

func TestEnds(t *testing.T) {
	in := boat(installation.AntennaPrimary, nil)
	gone := errors.New("gone")
	var out bytes.Buffer

	err := Run(t.Context(), Config{Installation: in}, io.MultiReader(strings.NewReader(burst(t, "Z1 G1")), iotest.ErrReader(gone)), &out)
	if !errors.Is(err, gone) || !strings.HasPrefix(err.Error(), "consumer: read: ") {
		t.Errorf("error %v, want the reader's", err)
	}
	if got := shown(t, decodeLines(t, out.Bytes())); got != "1g" {
		t.Errorf("before the error: %s", got)
	}
	err = Run(t.Context(), Config{Installation: in}, strings.NewReader(burst(t, "Z1 G1 G2 G3")), failingWriter{gone})
	if !errors.Is(err, gone) || !strings.HasPrefix(err.Error(), "consumer: write observations: ") {
		t.Errorf("error %v, want the writer's", err)
	}
	err = Run(t.Context(), Config{Installation: in}, idleReader{}, io.Discard)
	if !errors.Is(err, io.ErrNoProgress) {
		t.Errorf("error %v of a reader that gives nothing", err)
	}
	// A last sentence that lacks its line end counts.
	if got := shown(t, observe(t, in, strings.TrimSuffix(burst(t, "Z1 G1 H1"), "\r\n"))); got != "1gh1" {
		t.Errorf("without the last line end: %s", got)
	}
}

type failingWriter struct{ err error }

func (w failingWriter) Write([]byte) (int, error) { return 0, w.err }

type idleReader struct{}

func (idleReader) Read([]byte) (int, error) { return 0, nil }

// When the context ends, what was gathered is written, and Run returns although the port is silent.
func TestContext(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		ctx, cancel := context.WithCancel(t.Context())
		r, w := io.Pipe()
		var out bytes.Buffer
		done := make(chan error)
		go func() {
			done <- Run(ctx, Config{Installation: boat(installation.AntennaPrimary, nil), Baud: 38400}, r, &out)
		}()
		if _, err := io.WriteString(w, burst(t, "G1 H1")); err != nil {
			t.Fatal(err)
		}
		time.Sleep(2 * time.Second) // no date yet: it waits
		cancel()
		if err := <-done; err != nil {
			t.Errorf("error %v, want none", err)
		}
		if all := decodeLines(t, out.Bytes()); len(all) != 1 || all[0]["heading"] != 1.0 {
			t.Errorf("observations %v", all)
		}
	})
}

// On a port, at its speed, until it hangs up.
func TestSerialPort(t *testing.T) {
	master, slave := openPTY(t)
	port, err := OpenSerial(slave.Name(), 31250) // no standard rate
	if err != nil {
		t.Fatal(err)
	}
	slave.Close()
	seen := lineSignal{lines: make(chan string, 16)}
	done := make(chan error, 1)
	in := boat(installation.AntennaPrimary, nil)
	go func() { done <- Run(t.Context(), Config{Installation: in, Baud: 31250}, port, &seen) }()
	if _, err := io.WriteString(master, burst(t, "Z1 G1 H1 X1")); err != nil {
		t.Fatal(err)
	}
	o := decodeLines(t, []byte(<-seen.lines))[0] // while the line is open
	if got := shown(t, []observed{o}); got != "1gh1x1" {
		t.Errorf("observed %s", got)
	}
	master.Close()
	if err := <-done; err != nil {
		t.Errorf("after the hang-up: %v", err)
	}
	if err := port.Close(); err != nil {
		t.Errorf("closing it again: %v", err)
	}
}

// Cancelling ends a read that waits on a port.
func TestSerialPortCancelled(t *testing.T) {
	_, slave := openPTY(t)
	port, err := OpenSerial(slave.Name(), 38400)
	if err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithCancel(t.Context())
	done := make(chan error, 1)
	go func() {
		done <- Run(ctx, Config{Installation: boat(installation.AntennaPrimary, nil), Baud: 38400}, port, io.Discard)
	}()
	cancel()
	if err := <-done; err != nil {
		t.Error(err)
	}
}

func TestOpenSerialErrors(t *testing.T) {
	if _, err := OpenSerial("/nowhere/port", 9600); err == nil || !strings.Contains(err.Error(), "/nowhere/port") || !strings.Contains(err.Error(), "check the path") {
		t.Errorf("error %v", err)
	}
	if _, err := OpenSerial("/nowhere/port", 0); err == nil || !strings.Contains(err.Error(), "baud is 0") {
		t.Errorf("error %v", err)
	}
}

// A log of an hour at 10 Hz, four messages an epoch, in one go.
func BenchmarkRun(b *testing.B) {
	in := boat("sonar", map[string]r3.Vec{"antenna-primary": {X: 1, Y: -2, Z: 3}, "sonar": {Y: 4}})
	var s strings.Builder
	for k := range 36000 {
		v := float64(k%600) / 10
		fmt.Fprint(&s, burst(b, fmt.Sprintf("G%.1f H%.1f X%.1f", v, v, v)))
		if k%10 == 0 {
			fmt.Fprint(&s, burst(b, fmt.Sprintf("Z%.1f", v)))
		}
	}
	stream := s.String()
	b.SetBytes(int64(len(stream)))
	for b.Loop() {
		if err := Run(b.Context(), Config{Installation: in}, strings.NewReader(stream), io.Discard); err != nil {
			b.Fatal(err)
		}
	}
}
