package conformance

import (
	"bytes"
	"os"
	"os/exec"
	"strconv"

	"golang.org/x/sys/unix"
)

// awaitExit returns when the process has ended, and leaves it to be waited for: until then its number, which is that
// of its group, is given to no other process.
func awaitExit(cmd *exec.Cmd, _ func() error) {
	for {
		err := unix.Waitid(unix.P_PID, cmd.Process.Pid, nil, unix.WEXITED|unix.WNOWAIT, nil)
		if err != unix.EINTR {
			return
		}
	}
}

// killMarked ends the processes whose environment holds the mark "NAME=value": descendants of a consumer that have
// left its process group. It goes round until it finds none, for one may start another while we look.
func killMarked(mark string) {
	for range 5 {
		found := false
		entries, err := os.ReadDir("/proc")
		if err != nil {
			return
		}
		for _, e := range entries {
			pid, err := strconv.Atoi(e.Name())
			if err != nil || pid == os.Getpid() {
				continue
			}
			found = killIfMarked(pid, mark) || found
		}
		if !found {
			return
		}
	}
}

// killIfMarked holds on to the process before it looks, so that it cannot hit another that got the same number since.
func killIfMarked(pid int, mark string) bool {
	if !hasMark(pid, mark) {
		return false
	}
	fd, err := unix.PidfdOpen(pid, 0)
	if err != nil {
		return false
	}
	defer unix.Close(fd)
	return hasMark(pid, mark) && unix.PidfdSendSignal(fd, unix.SIGKILL, nil, 0) == nil
}

func hasMark(pid int, mark string) bool {
	env, err := os.ReadFile("/proc/" + strconv.Itoa(pid) + "/environ")
	if err != nil {
		return false
	}
	for v := range bytes.SplitSeq(env, []byte{0}) {
		if string(v) == mark {
			return true
		}
	}
	return false
}
