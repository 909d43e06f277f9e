//go:build unix

package conformance

import (
	"os"
	"os/exec"
	"syscall"
)

// ownGroup makes the command the leader of a process group of its own, so that it and its children are reached
// together, and no Ctrl-C of ours reaches them before we have told them.
func ownGroup(cmd *exec.Cmd) { cmd.SysProcAttr = &syscall.SysProcAttr{Setpgid: true} }

// terminateGroup asks all processes of the group to end.
func terminateGroup(cmd *exec.Cmd) { syscall.Kill(-cmd.Process.Pid, syscall.SIGTERM) }

// killGroup ends all processes of the group.
func killGroup(cmd *exec.Cmd) { syscall.Kill(-cmd.Process.Pid, syscall.SIGKILL) }

// crashed tells whether the end of a process that was asked to end looks like a fault of its own all the same.
func crashed(s *os.ProcessState) bool {
	ws, ok := s.Sys().(syscall.WaitStatus)
	if !ok || !ws.Signaled() {
		return false
	}
	switch ws.Signal() {
	case syscall.SIGTERM, syscall.SIGKILL, syscall.SIGHUP, syscall.SIGINT, syscall.SIGPIPE:
		return false
	}
	return true
}

// signalled tells whether a signal ended the process.
func signalled(s *os.ProcessState) bool {
	ws, ok := s.Sys().(syscall.WaitStatus)
	return ok && ws.Signaled()
}
