package emulator_test

import (
	"bytes"
	"context"
	"io"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"swellbench/emulator"
	"swellbench/emulator/line"
)

// A wire is a port in memory: what the consumer sends comes from said, what it gets is kept with its times.
type memoryWire struct {
	said  chan []byte
	got   bytes.Buffer
	when  []time.Time // of each line end
	start time.Time
}

func (w *memoryWire) Open() bool { return true }
func (w *memoryWire) Write(p []byte) (int, error) {
	for range bytes.Count(p, []byte("\n")) {
		w.when = append(w.when, time.Now())
	}
	return w.got.Write(p)
}
func (w *memoryWire) Read(p []byte) (int, error) {
	b, ok := <-w.said
	if !ok {
		return 0, io.EOF
	}
	return copy(p, b), nil
}

// hear plays a scenario to a consumer who says something at given times.
func hear(t *testing.T, text string, said map[time.Duration]string) (lines []string, at []time.Duration) {
	return hearDevice(t, device(t, text), said)
}

func hearDevice(t *testing.T, d *emulator.Device, said map[time.Duration]string) (lines []string, at []time.Duration) {
	synctest.Test(t, func(t *testing.T) {
		w := &memoryWire{said: make(chan []byte), start: time.Now()}
		go func() {
			defer close(w.said)
			for after := time.Duration(0); after < 10*time.Second; after += 50 * time.Millisecond {
				if s, ok := said[after]; ok {
					w.said <- []byte(s[:len(s)/2]) // cut
					w.said <- []byte(s[len(s)/2:])
				}
				time.Sleep(50 * time.Millisecond)
			}
		}()
		sum, err := emulator.Play(context.Background(), d, 0, w, emulator.PlayOptions{Clock: line.Timers{}})
		if err != nil || sum.Bytes != int64(w.got.Len()) {
			t.Fatal(sum, err)
		}
		time.Sleep(time.Second) // the consumer goes, and with it who listens to it
		lines = strings.Split(strings.TrimSuffix(w.got.String(), "\r\n"), "\r\n")
		for _, when := range w.when {
			at = append(at, when.Sub(w.start))
		}
	})
	return lines, at
}

// Worked by hand: the query form of NMEA 0183 as in NMEA Revealed, $CCGPQ,GGA, its checksum 2B taken by hand: the XOR of
// the letters between $ and *.
const query = "$CCGPQ,GGA*2B\r\n"

func TestQueryAnswered(t *testing.T) {
	asked := strings.Replace(head, "streams:", "device: {start-up: {streaming: when-asked, reply-after: 120 ms}}\nstreams:", 1) + points
	lines, at := hear(t, asked, map[time.Duration]string{
		time.Second:             query,
		3250 * time.Millisecond: "noise" + query + "$CCGPQ,ROT*23\r\n" + "$CCGPQ,XYZ*31\r\n", // the last is not known: no answer
		5 * time.Second:         "$CCGPQ,GGA*2C\r\n",                                         // its checksum is wrong
	})
	if len(lines) != 3 || !strings.HasPrefix(lines[0], "$GNGGA,120001.00,") || !strings.HasPrefix(lines[1], "$GNGGA,120003.20,") || !strings.HasPrefix(lines[2], "$TIROT,") {
		t.Fatalf("%q", lines)
	}
	// The answer begins 120 ms after the query has come, and ends when its bytes have left at 38400 baud.
	want := 1120*time.Millisecond + time.Duration(len(lines[0])+2)*10*time.Second/38400
	if d := at[0] - want; d < 0 || d > 2*time.Millisecond {
		t.Errorf("answered after %v, want %v", at[0], want)
	}
}

// An answer goes between the messages that the device sends of itself, and changes none of them.
func TestQueryWhileStreaming(t *testing.T) {
	quiet, _ := hear(t, head+points, nil)
	lines, _ := hear(t, head+points, map[time.Duration]string{2050 * time.Millisecond: "$CCGPQ,ZDA*35\r\n", 4 * time.Second: query})
	var rest, extra []string
	for i, k := 0, 0; i < len(lines); i++ {
		if k < len(quiet) && lines[i] == quiet[k] {
			rest = append(rest, lines[i])
			k++
			continue
		}
		extra = append(extra, lines[i])
	}
	if len(rest) != len(quiet) || len(extra) != 2 || !strings.HasPrefix(extra[0], "$GPZDA,120002") || !strings.HasPrefix(extra[1], "$GNGGA,120004.00") && !strings.HasPrefix(extra[1], "$GNGGA,120003.80") {
		t.Errorf("%d of %d messages as without queries, and %q", len(rest), len(quiet), extra)
	}
}

// A flood of requests neither stops the stream nor takes memory.
func TestQueryFlood(t *testing.T) {
	quiet, _ := hear(t, head+points, nil)
	lines, _ := hear(t, head+points, map[time.Duration]string{2 * time.Second: strings.Repeat(query, 30)})
	count := map[string]int{}
	for _, l := range lines {
		count[l[:6]]++
	}
	if len(lines) < len(quiet) || count["$HEHDT"] != 100 {
		t.Errorf("%v", count)
	}
}

// While it is silent nothing is sent; while it aligns there is no heading.
func TestStartUp(t *testing.T) {
	text := strings.Replace(head, "streams:", "device: {start-up: {silence: 2 s, alignment: 4 s}}\nstreams:", 1) + points
	lines, at := hear(t, text, nil)
	if at[0] < 2*time.Second || !strings.HasPrefix(lines[0], "$GNGGA,120002.00") {
		t.Errorf("%v %q", at[0], lines[0])
	}
	var none, some int
	for _, l := range lines {
		switch {
		case strings.HasPrefix(l, "$HEHDT,,T*"):
			none++
		case strings.HasPrefix(l, "$HEHDT,"):
			some++
		}
	}
	if none != 20 || some != 60 {
		t.Errorf("%d without heading, %d with; want 20 and 60 at 10 Hz", none, some)
	}
}

// What an adapter holds of a message arrives when its timer runs out, though the device listens for requests then, and does
// not know what comes next.
func TestHeldWhileListening(t *testing.T) {
	text := strings.Replace(head, "baud: 38400", "baud: 115200", 1) + points + "faults:\n  - {fault: adapter-batching, block: 62, latency: 16 ms}\n"
	lines, at := hear(t, text, nil)
	if len(lines) < 5 {
		t.Fatalf("%q", lines)
	}
	d := device(t, text)
	var sent []line.Sent
	if err := emulator.Render(d, 0, io.Discard, func(s line.Sent) { sent = append(sent, s) }); err != nil {
		t.Fatal(err)
	}
	if len(sent) != len(lines) {
		t.Fatalf("%d lines of %d messages", len(lines), len(sent))
	}
	for i, s := range sent {
		late := at[i].Seconds() - s.Last
		if late < 0 || late > 0.0165 {
			t.Errorf("%q: %.1f ms after its last bit, want no more than the 16 ms of the adapter", lines[i], 1e3*late)
		}
	}
}
