package emulator_test

import (
	"bytes"
	"strings"
	"testing"
	"time"

	"swellbench/emulator"
	"swellbench/emulator/line"
	"swellbench/scenarios"
)

// From the sent-log and the scenario without its faults, the stream comes out byte for byte.
func TestReplayFromTheLog(t *testing.T) {
	for _, name := range []string{"bad-line", "broken-bytes", "misshapen-sentences", "restless-device"} {
		d := fromLibrary(t, name, nil)
		var stream, logged bytes.Buffer
		log := d.NewSentLog(&logged)
		hurt := 0
		err := emulator.Render(d, 0, &stream, func(s line.Sent) {
			log.Add(0, s)
			if s.Hurt != "" {
				hurt++
			}
		})
		if err != nil || log.Flush() != nil {
			t.Fatal(err, log.Flush())
		}
		clean := fromLibrary(t, name, func(sc *scenarios.Scenario) { sc.Faults = nil })
		n := 0
		next := func(yield func(line.Message, error) bool) {
			for m, err := range clean.Replay(0, emulator.ReadSentLog(&logged)) {
				if err != nil {
					t.Fatal(err)
				}
				n++
				if m.Hurt != "" {
					hurt--
				}
				if !yield(m, nil) {
					return
				}
			}
		}
		var again bytes.Buffer
		if err := line.Transmit(d.Line(0), next, &again, nil); err != nil {
			t.Fatal(err)
		}
		if !bytes.Equal(again.Bytes(), stream.Bytes()) || stream.Len() == 0 || hurt != 0 {
			t.Errorf("%s: %d bytes came again of %d, %d more hurt", name, again.Len(), stream.Len(), hurt)
		}
	}
}

// All that is wrong with a fault is said at its place in the file.
func TestBadFaults(t *testing.T) {
	for _, c := range []struct{ fault, want string }{
		{"{fault: silence, count: 3}", `test.yaml:23:29: fault: silence takes no count, allowed: from, until, message, every, share, rate, times`},
		{"{fault: speed}", "test.yaml:23:5: fault: speed needs baud: 1 to 100000000 bits a second"},
		{"{fault: speed, baud: -1}", "test.yaml:23:26: fault: baud of speed is -1 bits a second, allowed: 1 to 100000000 bits a second"},
		{"{fault: noise, count: 5000}", "test.yaml:23:27: fault: count of noise is 5000 bytes, allowed: 1 to 1000 bytes"},
		{"{fault: noise, every: 2, share: 0.5}", "test.yaml:23:37: fault: of every, share and rate more than one is set, allowed: one of them"},
		{"{fault: noise, share: 0}", "test.yaml:23:27: share is 0; allowed: more than 0, up to 1, such as 0.01 for one message in a hundred"},
		{"{fault: noise, rate: 0 Hz}", "test.yaml:23:26: rate is 0 Hz; allowed: more than 0 Hz, up to 1000 Hz"},
		{"{fault: noise, stream: bridge}", "test.yaml:23:28: there is no stream bridge; allowed: 1"},
		{"{fault: wrong-line-end, ending: crlf}", "test.yaml:23:37: ending is crlf; allowed: lf, cr, none"},
		{"{fault: break, for: 90 s}", "test.yaml:23:25: fault: for of break is 90 s, allowed: 1e-06 to 60 s"},
		{"{fault: adapter-batching, latency: 16}", "test.yaml:23:40: latency: 16 has no unit; write 16 s, 16 ms or 16 us"},
	} {
		text := strings.TrimPrefix(head, "\n") + "faults:\n  - " + c.fault + points
		sc, err := scenarios.Parse("test.yaml", []byte(strings.Replace(text, "faults:", "\nfaults:", 1)))
		if err == nil {
			_, err = emulator.New(sc)
		}
		if err == nil || err.Error() != c.want {
			t.Errorf("%s: error is\n%v\nwant\n%s", c.fault, err, c.want)
		}
	}
	for line, want := range map[string]string{
		"{baud: 38400, fifo: -1}":                 "fifo is -1 bytes; allowed: 0 to 4096, and 16 is usual",
		"{baud: 38400, fifo: 16, refill: 2 s}":    "refill is 2 s; allowed: 0 s to 1 s",
		"{baud: 38400, refill: 2 ms}":             "refill is 2 ms, but there is no fifo; add one, such as fifo: 16",
		"{baud: 38400, fifo: 16, refill: -10 ms}": "refill is -10 ms; allowed: 0 s to 1 s",
	} {
		_, err := scenarios.Parse("test.yaml", []byte(strings.Replace(head, "{baud: 38400}", line, 1)+points))
		if err == nil || !strings.HasSuffix(err.Error(), want) {
			t.Errorf("%s: error is %v, want %s", line, err, want)
		}
	}
}

// A fault of one stream leaves the others alone.
func TestFaultOfOneStream(t *testing.T) {
	two := func(faults string) *emulator.Device {
		second := "  - name: second\n    format: nmea0183\n    line: {baud: 38400}\n    messages: [{type: HDT, rate: 10 Hz}]\n"
		return device(t, head+second+points+faults)
	}
	for stream, want := range map[string][2]int{"": {150, 100}, "stream: second, ": {0, 100}, `stream: "1", `: {150, 0}} {
		d := two("faults: [{" + stream + "fault: flipped-bit}]\n")
		for i, n := range want {
			hurt := 0
			for m := range d.Messages(i) {
				if m.Hurt != "" {
					hurt++
				}
			}
			if hurt != n {
				t.Errorf("%q: %d messages hurt on stream %d, want %d", stream, hurt, i, n)
			}
		}
	}
}

// What the consumer sends comes back between the messages, as long as the echo lasts.
func TestEcho(t *testing.T) {
	quiet, _ := hear(t, head+points, nil)
	said := map[time.Duration]string{1050 * time.Millisecond: "one\r\n", 3250 * time.Millisecond: "two\r\n" + query, 6 * time.Second: "three\r\n"}
	lines, _ := hear(t, head+points+"faults: [{fault: echo, from: 2 s, until: 5 s}]\n", said)
	got := strings.Join(lines, "\n")
	if strings.Contains(got, "one") || strings.Contains(got, "three") || strings.Count(got, "two") != 1 || strings.Count(got, strings.TrimSpace(query)) != 1 {
		t.Errorf("%q", got)
	}
	if n := len(lines) - len(quiet); n != 3 { // two lines back, and the answer to one of them
		t.Errorf("%d lines more than without, want 3", n)
	}
}

// The rate that the consumer has set counts while the device plays.
func TestPlayAtTheConsumersRate(t *testing.T) {
	d := fromLibrary(t, "restless-device", func(sc *scenarios.Scenario) { sc.Faults = nil; sc.Duration = 4 })
	var whole, wrong []byte
	take := func(into *[]byte) func(float64, []byte) error {
		return func(_ float64, p []byte) error { *into = append(*into, p...); return nil }
	}
	lost := 0
	at := func(baud int) line.TransmitOptions {
		return line.TransmitOptions{Consumer: func(float64) (line.Settings, bool) { return line.Settings{Baud: baud}, true }}
	}
	if err := line.TransmitTo(d.Line(0), d.Messages(0), at(38400), take(&whole), nil); err != nil {
		t.Fatal(err)
	}
	err := line.TransmitTo(d.Line(0), d.Messages(0), at(9600), take(&wrong), func(s line.Sent) {
		if s.Dropped == line.SpeedMismatch {
			lost++
		}
	})
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Contains(whole, []byte("$GNGGA,")) || bytes.Contains(wrong, []byte("GGA")) || len(wrong) == 0 || len(wrong) > len(whole)/2 || lost < 100 {
		t.Errorf("%d bytes at the right rate, %d at a quarter, %d messages lost to it", len(whole), len(wrong), lost)
	}
}
