//go:build !unix

package conformance

import (
	"os"
	"os/exec"
)

func ownGroup(*exec.Cmd) {}

// terminateGroup kills: there is no polite way that every program of this system understands.
func terminateGroup(cmd *exec.Cmd) { cmd.Process.Kill() }

func killGroup(cmd *exec.Cmd) { cmd.Process.Kill() }

func awaitExit(_ *exec.Cmd, reap func() error) { reap() }

func killMarked(string) {}

func crashed(*os.ProcessState) bool { return false }

func signalled(*os.ProcessState) bool { return false }
