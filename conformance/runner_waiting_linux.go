package conformance

import (
	"bytes"
	"fmt"
	"os"
	"strconv"
	"time"
)

// waitStep is how often it is looked how long a consumer has waited for a processor.
const waitStep = 50 * time.Millisecond

// watchWaits watches how long a process, its threads and its children wait for a processor though they have something to do:
// then they are late through no fault of theirs. Call what it returns for the longest single wait so far, within one step
// of looking, in s. Where the system does not count it, it is 0. It ends when done is closed.
//
// Source: Documentation/scheduler/sched-stats.rst of the Linux kernel: the second number of /proc/PID/schedstat is the time
// spent waiting on a run queue, ns.
func watchWaits(pid int, done <-chan struct{}) (worst func() float64) {
	longest, ended := 0.0, make(chan struct{})
	go func() {
		defer close(ended)
		had := map[string]int64{}
		tick := time.NewTicker(waitStep)
		defer tick.Stop()
		const most = 64 // threads
		var tasks []string
		for n := 0; ; n++ {
			if n%8 == 0 {
				tasks = tasksOf(pid, nil, most)
			}
			for _, t := range tasks {
				now, ok := waited(t)
				if before, known := had[t]; ok && known {
					longest = max(longest, float64(now-before)*1e-9)
				}
				if ok {
					had[t] = now
				}
			}
			select {
			case <-done:
				return
			case <-tick.C:
			}
		}
	}()
	return func() float64 { <-ended; return longest }
}

// tasksOf lists the folders of the threads of a process and of its descendants.
func tasksOf(pid int, out []string, most int) []string {
	dir := fmt.Sprintf("/proc/%d/task", pid)
	entries, err := os.ReadDir(dir)
	if err != nil {
		return out
	}
	for _, e := range entries {
		if len(out) >= most {
			return out
		}
		out = append(out, dir+"/"+e.Name())
		children, err := os.ReadFile(dir + "/" + e.Name() + "/children")
		if err != nil {
			continue
		}
		for _, c := range bytes.Fields(children) {
			if child, err := strconv.Atoi(string(c)); err == nil {
				out = tasksOf(child, out, most)
			}
		}
	}
	return out
}

// waited is how long a thread has waited for a processor since it began, ns.
func waited(task string) (int64, bool) {
	b, err := os.ReadFile(task + "/schedstat")
	if err != nil {
		return 0, false
	}
	f := bytes.Fields(b)
	if len(f) < 2 {
		return 0, false
	}
	n, err := strconv.ParseInt(string(f[1]), 10, 64)
	return n, err == nil
}
