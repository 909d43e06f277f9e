package consumer

import (
	"bytes"
	"fmt"
	"io"
	"strconv"
	"strings"
	"sync"
	"testing"
	"testing/synctest"
	"time"

	"swellbench/scenarios/installation"
)

// burst writes sentences from short words: G3 is a GGA of 12:00:03 (G3.5 of half a second later), R3 an RMC, Z3 a ZDA
// with a date; H3 is a heading of 3 degrees, X3 a pitch of 3, T3 a rate of turn of 3 degrees a minute. So the number
// says which epoch a word belongs to.
func burst(t testing.TB, words string) string {
	t.Helper()
	var b strings.Builder
	for w := range strings.FieldsSeq(words) {
		n, err := strconv.ParseFloat(w[1:], 64)
		if err != nil {
			t.Fatalf("word %q: %v", w, err)
		}
		clock := fmt.Sprintf("1200%05.2f", n)
		switch w[0] {
		case 'G':
			b.WriteString(gga(clock, 50, 4, 60, 47, 4))
		case 'R':
			b.WriteString(sentence("GNRMC,%s,A,5000.0000,N,00400.0000,E,1.00,90.0,010626,,,A,V", clock))
		case 'Z':
			b.WriteString(sentence("GPZDA,%s,01,06,2026,00,00", clock))
		case 'H':
			b.WriteString(hdt(n))
		case 'X':
			b.WriteString(xdr(n, 0, 0))
		case 'T':
			b.WriteString(sentence("TIROT,%.2f,A", n))
		case '?': // a GGA that was hurt on the way
			b.WriteString(strings.Replace(gga(clock, 50, 4, 60, 47, 4), "N,", "S,", 1))
		default:
			t.Fatalf("word %q", w)
		}
	}
	return b.String()
}

// shown is the epochs that came out: the seconds of the stamp, and the numbers of heading, pitch and rate.
func shown(t testing.TB, all []observed) string {
	t.Helper()
	var epochs []string
	for _, o := range all {
		at := stampOf(t, o)
		s := strconv.FormatFloat(float64(at.Second())+float64(at.Nanosecond())/1e9, 'f', -1, 64)
		for _, f := range []struct {
			name, letter string
			scale        float64
		}{{"lat", "g", 0}, {"heading", "h", 1}, {"pitch", "x", 1}, {"rate_of_turn", "t", 60}} {
			if x, ok := o[f.name].(float64); ok {
				s += f.letter
				if f.scale != 0 {
					s += fmt.Sprintf("%.4g", x*f.scale)
				}
			}
		}
		epochs = append(epochs, s)
	}
	return strings.Join(epochs, " ")
}

// In a file nothing separates the epochs but what is in them.
func TestGroupingInFile(t *testing.T) {
	for _, c := range []struct{ name, stream, want string }{
		{"time first", "Z1 G1 H1 X1 G2 H2 X2 G3 H3 X3", "1gh1x1 2gh2x2 3gh3x3"},
		{"time last", "H1 X1 G1 Z1 H2 X2 G2 H3 X3 G3", "1gh1x1 2gh2x2 3gh3x3"},
		{"time in the middle", "H1 G1 Z1 X1 H2 G2 X2 H3 G3 X3", "1gh1x1 2gh2x2 3gh3x3"},
		{"several timed kinds", "H1 G1 R1 Z1 X1 H2 G2 R2 Z2 X2", "1gh1x1 2gh2x2"},
		{"first of the burst lost", "Z1 G1 H1 X1 ?2 H2 X2 G3 H3 X3 G4 H4 X4", "1gh1x1 3gh3x3 4gh4x4"},
		{"first of the burst lost, time last", "H1 X1 G1 Z1 X2 G2 H3 X3 G3 H4 X4 G4", "1gh1x1 2gx2 3gh3x3 4gh4x4"},
		{"time lost, time last", "H1 X1 G1 Z1 H2 X2 ?2 H3 X3 G3", "1gh1x1 3gh3x3"},
		{"middle lost", "Z1 G1 H1 X1 G2 X2 G3 H3 X3", "1gh1x1 2gx2 3gh3x3"},
		// Between two fixes headings have no time in a file, and are left out.
		{"headings faster than fixes, time first", "Z1 G1 H1 H1.2 H1.4 H1.6 H1.8 G2 H2 H2.2 G3 H3", "1gh1 2gh2 3gh3"},
		{"headings faster than fixes, time last", "H1 G1 Z1 H1.2 H1.4 H1.6 H1.8 H2 G2 H2.2 H3 G3", "1gh1 2gh2 3gh3"},
		{"fixes faster than headings", "H1 Z1 G1 G1.5 H2 G2 G2.5 H3 G3", "1gh1 1.5g 2gh2 2.5g 3gh3"},
		{"much lost", "Z1 G1 H1 X1 H2 G4 X4 G5 H5 X5", "1gh1x1 4gx4 5gh5x5"},
		{"a copy", "Z1 G1 H1 X1 G2 H2 H2 X2 G3 G3 H3 X3", "1gh1x1 2gh2x2 3gh3x3"},
		{"time alone", "Z1 Z2 Z3", "1 2 3"},
		{"slower kinds come and go", "Z1 G1 H1 G2 H2 T2 G3 H3 Z4 G4 H4 T4", "1gh1 2gh2t2 3gh3 4gh4t4"},
	} {
		t.Run(c.name, func(t *testing.T) {
			in := boat(installation.AntennaPrimary, nil)
			if got := shown(t, observe(t, in, burst(t, c.stream))); got != c.want {
				t.Errorf("%s\n got %s\nwant %s", c.stream, got, c.want)
			}
		})
	}
}

// A file that begins within a sentence may begin within a burst: what carries the time is taken to lead. (One that
// begins between two sentences of a burst looks like a whole one.)
func TestGroupingOfCutFile(t *testing.T) {
	in := boat(installation.AntennaPrimary, nil)
	whole := burst(t, "G1 H1 X1 Z2 G2 H2 X2 G3 H3 X3")
	first := len(burst(t, "G1"))
	for n := 1; n < first+len(burst(t, "H1")); n++ {
		if n == first {
			continue
		}
		all := observe(t, in, whole[n:])
		if got, want := shown(t, all), "2gh2x2 3gh3x3"; !strings.HasSuffix(got, want) {
			t.Fatalf("cut after %d bytes, before %q: got %s, want %s at its end", n, whole[n:n+8], got, want)
		}
	}
}

// played runs the consumer on a line, in virtual time: bytes come at the speed of the line, a burst begins at each of
// the instants. It returns what came out and how long after the last byte of its burst each observation came.
func played(t *testing.T, cfg Config, bursts []timedBurst) (all []observed, latency []time.Duration) {
	t.Helper()
	var out timedWriter
	r, w := io.Pipe()
	done := make(chan error)
	start := time.Now()
	go func() { done <- Run(t.Context(), cfg, r, &out) }()
	byteTime := 10 * time.Second / time.Duration(cfg.Baud)
	var ends []time.Time
	for _, b := range bursts {
		time.Sleep(time.Until(start.Add(b.at)))
		for chunk := range bytesOf(b.stream, 16) {
			time.Sleep(time.Duration(len(chunk)) * byteTime)
			if _, err := w.Write(chunk); err != nil {
				t.Error(err)
			}
		}
		ends = append(ends, time.Now())
	}
	time.Sleep(time.Second)
	w.Close()
	if err := <-done; err != nil {
		t.Error(err)
	}
	all = decodeLines(t, out.Bytes())
	for i, at := range out.times {
		if i < len(ends) {
			latency = append(latency, at.Sub(ends[i]))
		}
	}
	return all, latency
}

type timedBurst struct {
	at     time.Duration
	stream string
}

func bytesOf(s string, n int) func(func([]byte) bool) {
	return func(yield func([]byte) bool) {
		for len(s) > 0 {
			k := min(n, len(s))
			if !yield([]byte(s[:k])) {
				return
			}
			s = s[k:]
		}
	}
}

// A timedWriter notes when each line came.
type timedWriter struct {
	mu sync.Mutex
	bytes.Buffer
	times []time.Time
}

func (w *timedWriter) Write(p []byte) (int, error) {
	w.mu.Lock()
	defer w.mu.Unlock()
	for range bytes.Count(p, []byte{'\n'}) {
		w.times = append(w.times, time.Now())
	}
	return w.Buffer.Write(p)
}

// On a line, silence ends an epoch, whatever the order of the messages and however many were lost; it is published
// long before the next begins; and what carries no time gets that of its burst, or the elapsed time since one.
func TestGroupingOnLine(t *testing.T) {
	const ms = time.Millisecond
	every := func(period time.Duration, bursts ...string) (all []timedBurst) {
		for i, b := range bursts {
			all = append(all, timedBurst{time.Duration(i) * period, b})
		}
		return all
	}
	for _, c := range []struct {
		name   string
		baud   int
		bursts []timedBurst
		want   string
		within time.Duration // of the end of the burst, 0: not asked
	}{
		{"time first, 1 Hz, 4800", 4800, every(time.Second, "Z1 G1 H1 X1", "G2 H2 X2", "G3 H3 X3"), "1gh1x1 2gh2x2 3gh3x3", 101 * ms},
		{"time last, 5 Hz", 38400, every(200*ms, "H1 X1 G1 Z1", "H1.2 X1.2 G1.2", "H1.4 X1.4 G1.4"), "1gh1x1 1.2gh1.2x1.2 1.4gh1.4x1.4", 81 * ms},
		{"any order, 10 Hz", 115200, every(100*ms, "G1 Z1 H1 X1", "X1.1 G1.1 H1.1", "X1.2 H1.2 G1.2"), "1gh1x1 1.1gh1.1x1.1 1.2gh1.2x1.2", 41 * ms},
		{"lost ones", 115200, every(100*ms, "G1 Z1 H1 X1", "X1.1", "H1.2 G1.2", "X1.3 ?1.3", "G1.4"), "1gh1x1 1.1x1.1 1.2gh1.2 1.3x1.3 1.4g", 101 * ms},
		{"headings faster than fixes", 38400, every(200*ms, "Z1 G1 H1", "H1.2", "H1.4", "H1.6", "H1.8", "G2 H2", "H2.2"), "1gh1 1.2h1.2 1.4h1.4 1.6h1.6 1.8h1.8 2gh2 2.2h2.2", 101 * ms},
		{"headings before the first fix", 38400, every(200*ms, "H0.6", "H0.8", "G1 H1 Z1", "H1.2"), "0.6h0.6 0.8h0.8 1gh1 1.2h1.2", 0},
		{"100 Hz attitude", 460800, every(10*ms, "Z1 G1 X1", "X1.01", "X1.02", "X1.03", "X1.04", "G1.05 X1.05", "X1.06"), "1gx1 1.01x1.01 1.02x1.02 1.03x1.03 1.04x1.04 1.05gx1.05 1.06x1.06", 0},
		{"the line is never idle", 4800, every(100*ms, "Z1 G1 X1 G2 X2 G3 X3"), "1gx1 2gx2 3gx3", 0},
	} {
		t.Run(c.name, func(t *testing.T) {
			for i := range c.bursts {
				c.bursts[i].stream = burst(t, c.bursts[i].stream)
			}
			synctest.Test(t, func(t *testing.T) {
				all, latency := played(t, Config{Installation: boat(installation.AntennaPrimary, nil), Baud: c.baud}, c.bursts)
				for _, o := range all { // the first byte of the burst is what the elapsed time counts from: exact here
					o["time"] = stampOf(t, o).Round(time.Millisecond).Format(time.RFC3339Nano)
				}
				if got := shown(t, all); got != c.want {
					t.Errorf("got %s\nwant %s", got, c.want)
				}
				for i, l := range latency {
					if c.within > 0 && l > c.within {
						t.Errorf("observation %d came %v after the end of its burst, want %v at most", i, l, c.within)
					}
				}
			})
		})
	}
}
