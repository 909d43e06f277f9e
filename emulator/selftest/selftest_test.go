package selftest

import (
	"context"
	"os"
	"runtime"
	"testing"
	"time"

	"swellbench/emulator/port"
)

// The other end of a measurement is this very program.
func TestMain(m *testing.M) {
	if os.Getenv("SELFTEST_DRAIN") != "" {
		if err := Drain(os.Stdin, os.Stdout); err != nil {
			println(err.Error())
			os.Exit(1)
		}
		os.Exit(0)
	}
	os.Setenv("SELFTEST_DRAIN", "1")
	os.Exit(m.Run())
}

func drainer(t testing.TB) func([]string) (func() (int64, error), error) {
	t.Helper()
	p, err := port.OpenPTY("")
	if err != nil {
		t.Skipf("no pseudo-terminals here: %v", err)
	}
	p.Close()
	return Drainer(t.Context(), os.Args[0])
}

// quiet skips a test of timing unless the machine has nothing else to do, which go test of all packages at once is not.
func quiet(t *testing.T) {
	t.Helper()
	if os.Getenv("SWELLBENCH_QUIET") == "" {
		t.Skip("promises of timing are tested on a quiet machine: set SWELLBENCH_QUIET=1, and test no other package meanwhile")
	}
}

// The promise of the clock of play, at 100 Hz: its median is at most 1/50 of that of a program that sleeps until absolute
// instants, and its 99th percentile no more than that of a bare thread. Every way is measured in turn, medians of five;
// because a host that is busy with other things may favour one for a while, the best of five goes counts.
func TestPunctual(t *testing.T) {
	quiet(t)
	if runtime.GOOS != "linux" {
		t.Skip("the clock is only of Linux")
	}
	var last []Punctuality
	for range 5 {
		all, err := Clocks(t.Context(), 100, 400*time.Millisecond, nil)
		if err != nil {
			t.Fatal(err)
		}
		last = all
		precise := all[len(all)-1]
		if precise.P50OfSleep <= 1.0/50 && precise.P99OfThread <= 1 {
			return
		}
	}
	t.Errorf("the median is %.4f of a sleeping loop's, want at most 0.02; the 99th percentile %.2f of a bare thread's, want at most 1\n%+v",
		last[len(last)-1].P50OfSleep, last[len(last)-1].P99OfThread, last)
}

// Many devices at 50 Hz with three sentences each lose no byte, use at most half the CPU of playing each in a goroutine of
// its own, and are within 1.2 times the 99th percentile of the least that can be done, one thread that writes bytes made
// beforehand.
func TestManyDevices(t *testing.T) {
	quiet(t)
	testDevices(t, Load{Devices: 200, Rate: 50, For: time.Second}, Rounds, true)
}

// No byte is lost, whatever else the machine has to do.
func TestSomeDevices(t *testing.T) {
	testDevices(t, Load{Devices: 30, Rate: 50, For: 300 * time.Millisecond}, 1, false)
}

func testDevices(t *testing.T, l Load, rounds int, timing bool) {
	read := drainer(t)
	for try := 0; ; try++ {
		all, err := Devices(context.Background(), l, rounds, read)
		if err != nil {
			t.Fatal(err)
		}
		ours, others, bare := all[0], all[1], all[3]
		for _, r := range all {
			t.Logf("%-10s %d messages, CPU %.3f, p50 %.0f µs, p99 %.0f µs, max %.0f µs, lost %d B", r.Name, r.Messages, r.CPU, 1e6*r.P50, 1e6*r.P99, 1e6*r.Max, r.LostB)
		}
		if want := int64(float64(l.Devices) * 3 * l.Rate * l.For.Seconds()); ours.LostB != 0 || ours.Messages != want {
			t.Fatalf("%d messages, want %d; %d bytes lost", ours.Messages, want, ours.LostB)
		}
		if !timing || ours.CPU <= 0.5*others.CPU && ours.P99 <= 1.2*bare.P99 {
			return
		}
		if try == 2 {
			t.Errorf("CPU is %.2f of a goroutine a device's, want at most 0.5; p99 %.2f of the bare loop's, want at most 1.2", ours.CPU/others.CPU, ours.P99/bare.P99)
			return
		}
	}
}

func TestThroughput(t *testing.T) {
	n, err := Throughput(t.Context(), 200*time.Millisecond, drainer(t))
	if err != nil || n < 921600/10 { // the fastest line of a scenario's usual rates
		t.Errorf("%.0f bytes a second, %v", n, err)
	}
}
