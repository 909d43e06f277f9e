package conformance

import (
	"os"
	"os/exec"
	"runtime"
	"strings"
	"testing"
	"time"
)

// On a host that was late a few wrong values prove nothing; most of them do, and so does what lateness cannot do.
func TestExcuse(t *testing.T) {
	for _, c := range []struct {
		r     Result
		lateS float64
		want  Outcome
	}{
		{Result{Check: "offset.lever-arm", N: 195, Unit: "m", Worst: 3, Quantities: []Quantity{{N: 65, Beyond: 4}, {N: 65, Beyond: 2}}}, 0.05, Inconclusive},
		{Result{Check: "offset.lever-arm", N: 195, Unit: "m", Worst: 3, Quantities: []Quantity{{N: 65, Beyond: 4}}}, 0.004, Failed},
		{Result{Check: "offset.lever-arm", N: 195, Unit: "m", Worst: 3, Quantities: []Quantity{{N: 65, Beyond: 65}, {N: 65, Beyond: 1}}}, 0.5, Failed},
		{Result{Check: "parse.loss", N: 40, Worst: 3}, 0.05, Inconclusive},
		{Result{Check: "parse.loss", N: 40, Worst: 30}, 0.05, Failed},
		{Result{Check: "parse.checksum", N: 40, Worst: 3}, 0.5, Failed},
		{Result{Check: "parse.hemisphere", N: 40, Worst: 3}, 0.5, Failed},
	} {
		r := c.r
		r.Outcome, r.Summary = Failed, "some are wrong"
		r.excuse(c.lateS)
		if r.Outcome != c.want || c.want == Inconclusive && (!strings.Contains(r.Reason, "some are wrong") || !strings.Contains(r.Reason, "quieter machine")) {
			t.Errorf("%s, %d of %d, host late by %g s: %v (%s), want %v", c.r.Check, int(c.r.Worst), c.r.N, c.lateS, r.Outcome, r.Reason, c.want)
		}
	}
	passed := Result{Check: "parse.loss", Outcome: Passed}
	if passed.excuse(1); passed.Outcome != Passed {
		t.Error("a check that passed was made inconclusive")
	}
}

// A process that has to share a processor waits for it, and that is seen.
func TestWatchWaits(t *testing.T) {
	if testing.Short() || runtime.GOOS != "linux" {
		t.Skip("takes a second, and /proc/PID/schedstat of Linux")
	}
	if _, err := os.Stat("/proc/self/schedstat"); err != nil {
		t.Skip("this kernel does not count it")
	}
	var all []*exec.Cmd
	for range 3 * runtime.NumCPU() {
		c := exec.Command("/bin/sh", "-c", "while :; do :; done")
		if err := c.Start(); err != nil {
			t.Fatal(err)
		}
		all = append(all, c)
	}
	done := make(chan struct{})
	worst := watchWaits(all[0].Process.Pid, done)
	time.Sleep(700 * time.Millisecond)
	close(done)
	for _, c := range all {
		c.Process.Kill()
		c.Wait()
	}
	if w := worst(); w < 2e-3 || w > 1 {
		t.Errorf("it waited %g s at most, of 0.7 s in which three shared each processor", w)
	}
}
