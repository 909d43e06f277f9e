package conformance

import (
	"bufio"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"iter"
	"os"
	"path/filepath"
	"runtime"
	"testing"
	"time"

	"swellbench/conformance/consumer"
	"swellbench/conformance/observe"
	"swellbench/emulator"
	"swellbench/emulator/line"
	"swellbench/scenarios"
)

const hundredHertz = `
streams:
  - format: nmea0183
    line: {baud: 460800}
    messages:
      - {type: ZDA, rate: 1 Hz}
      - {type: GGA, rate: 100 Hz, decimals: {minutes: 7, altitude: 3, undulation: 3, seconds: 2}}
      - {type: VTG, rate: 100 Hz, decimals: {course: 2, speed: 2}}
      - {type: HDT, rate: 100 Hz, decimals: {heading: 2}}
      - {type: XDR, rate: 100 Hz, decimals: {angle: 2, heave: 2}}
`

// hundredAs renders the scenario at 100 Hz to the reference consumer, which may make a mistake, and gives the path of
// its log.
func hundredAs(t testing.TB, seconds int, defects ...string) (*scenarios.Scenario, string) {
	t.Helper()
	sc, err := scenarios.Parse("speed.yaml", fmt.Appendf(nil, "start: 2026-06-01T12:00:00Z\nduration: %d s\nseed: 3\n%s%s%s%s", seconds, swellTrack, swellMotion, rawInstallation, hundredHertz))
	if err != nil {
		t.Fatal(err)
	}
	d, err := emulator.New(sc)
	if err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(t.TempDir(), "observations.jsonl")
	f, err := os.Create(path)
	if err != nil {
		t.Fatal(err)
	}
	r, w := io.Pipe()
	go func() { w.CloseWithError(emulator.Render(d, 0, w, nil)) }()
	out := bufio.NewWriter(f)
	err = consumer.Run(context.Background(), consumer.Config{Installation: &sc.Installation, Format: "nmea0183", Defects: defects}, bufio.NewReaderSize(r, 1<<16), out)
	if err != nil {
		t.Fatal(err)
	}
	if err := out.Flush(); err != nil {
		t.Fatal(err)
	}
	if err := f.Close(); err != nil {
		t.Fatal(err)
	}
	return sc, path
}

// BenchmarkJudge is how fast a log of 100 Hz is judged: observations a second, and what a day of them takes. The stream
// is worked out anew meanwhile, and the truth at every observation.
func BenchmarkJudge(b *testing.B) {
	sc, path := hundredAs(b, 1200)
	b.ReportAllocs()
	rows := 0
	for b.Loop() {
		v, err := Afterwards(Log{Scenario: sc, Path: path})
		if err != nil {
			b.Fatal(err)
		}
		if v.Outcome() != Passed {
			b.Fatal(faultsOf(v))
		}
		rows += v.Cases[0].Observed
	}
	perDay(b, path, rows)
}

// BenchmarkJudgeByHand is what stands beside it: a loop with the decoder of the standard library that only reads the
// observations, and judges nothing.
func BenchmarkJudgeByHand(b *testing.B) {
	_, path := hundredAs(b, 1200)
	b.ReportAllocs()
	rows := 0
	for b.Loop() {
		f, err := os.Open(path)
		if err != nil {
			b.Fatal(err)
		}
		lines := bufio.NewScanner(f)
		for lines.Scan() {
			var o struct {
				Time                                                                   time.Time
				Point, Source, Fix                                                     string
				Lat, Lon, Height, Speed, Course, Heading, Pitch, Roll, Heave, RateTurn *float64
			}
			if err := json.Unmarshal(lines.Bytes(), &o); err != nil {
				b.Fatal(err)
			}
			rows++
		}
		f.Close()
	}
	perDay(b, path, rows)
}

// perDay reports what rows observations came to.
func perDay(b *testing.B, path string, rows int) {
	const day = 24 * 3600 * 100 // observations at 100 Hz
	took := b.Elapsed().Seconds()
	b.ReportMetric(float64(rows)/took, "obs/s")
	b.ReportMetric(took*day/float64(rows), "s/24h")
	if info, err := os.Stat(path); err == nil {
		b.ReportMetric(float64(info.Size())*float64(b.N)/float64(rows), "bytes/obs")
	}
}

// TestAnyNumberOfCores: the verdict of a log is the same, byte for byte, with one core and with several. The log is
// longer than all that is under way at once, and one consumer stamps in a way that the judge has to search for.
func TestAnyNumberOfCores(t *testing.T) {
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(0))
	for _, defects := range [][]string{nil, {"epoch-behind"}, {"heading-averaged"}} {
		sc, path := hundredAs(t, 75, defects...)
		first := ""
		for _, cores := range []int{1, 2, 5} {
			runtime.GOMAXPROCS(cores)
			v, err := Afterwards(Log{Scenario: sc, Path: path})
			if err != nil {
				t.Fatal(err)
			}
			if got := v.Cases[0].Observed; got < 7000 {
				t.Fatalf("%v: %d observations", defects, got)
			}
			v.Started, v.Elapsed = time.Time{}, 0
			text, err := json.Marshal(v)
			if err != nil {
				t.Fatal(err)
			}
			if first == "" {
				first = string(text)
			} else if string(text) != first {
				t.Errorf("%v: with %d cores another verdict than with one: %s", defects, cores, difference(first, string(text)))
			}
		}
	}
}

// difference shows where two texts part.
func difference(a, b string) string {
	i := 0
	for i < min(len(a), len(b)) && a[i] == b[i] {
		i++
	}
	from := max(0, i-60)
	return fmt.Sprintf("%q, and %q", a[from:min(len(a), i+60)], b[from:min(len(b), i+60)])
}

// TestMemoryDoesNotGrow: while ten times as many observations are judged the heap holds no more, but for the bits of
// the epochs.
func TestMemoryDoesNotGrow(t *testing.T) {
	if testing.Short() {
		t.Skip("a minute of 100 Hz and ten minutes of it")
	}
	peak := func(seconds int) (most uint64, bits int) {
		sc, path := hundredAs(t, seconds)
		f, err := os.Open(path)
		if err != nil {
			t.Fatal(err)
		}
		defer f.Close()
		d, err := emulator.New(sc)
		if err != nil {
			t.Fatal(err)
		}
		// The evidence is walked here as Afterwards does, with a look at the heap at ten places.
		n, every := 0, seconds*100/10
		ev := &Evidence{Case: &Case{Name: "memory"}, Truth: d.Truth(), Device: d, Origin: sc.UTC(0), Sent: wellSent(d),
			Observed: observedFrom(f, func() {
				if n++; n%every == 0 {
					runtime.GC()
					var m runtime.MemStats
					runtime.ReadMemStats(&m)
					most = max(most, m.HeapAlloc)
				}
			})}
		tally := ev.tallied()
		if tally.observations < seconds*99 {
			t.Fatalf("%d observations", tally.observations)
		}
		for _, k := range tally.cmp.Book.Kinds {
			bits += k.Epochs()
		}
		return most, bits
	}
	small, few := peak(60)
	large, many := peak(600)
	// An epoch may have a bit in the book, four of what is seen and four of what is null, and one in the diagnosis.
	// Growing slices are up to twice as long. The heap of one and the same log differs by up to 2 MB from run to run,
	// with what is under way at the time; 54,000 observations more would take 16 MB if they were kept.
	const uncertain = 3 << 20
	if limit := small + uint64(many-few)*10*2/8 + uncertain; large > limit {
		t.Errorf("judging ten times as many observations takes %d bytes, allowed %d: %d and a bit for each of %d epochs", large, limit, small, many)
	}
	if small == 0 || large == 0 {
		t.Fatal("the heap was not looked at")
	}
	t.Logf("%d bytes, then %d", small, large)
}

// wellSent are the messages of a device as they leave in virtual time.
func wellSent(d *emulator.Device) iter.Seq[line.Sent] {
	return func(yield func(line.Sent) bool) {
		for m, err := range asIntended(d) {
			if err != nil || !yield(m) {
				return
			}
		}
	}
}

// observedFrom are the observations of a log; each is called with each of them.
func observedFrom(r io.Reader, each func()) iter.Seq[observe.Observation] {
	reader := observe.NewReader(r, observe.Options{File: true})
	return func(yield func(observe.Observation) bool) {
		for o := range reader.All() {
			each()
			if !yield(o) {
				return
			}
		}
	}
}
