// Command swellbench plays a virtual motion, heading and GNSS sensor on a serial port and judges the software that
// listens to it.
//
// One file a subcommand; the logic is in the packages. The table of subcommands is in root.go.
package main

import (
	"context"
	"errors"
	"fmt"
	"os"
	"os/signal"
	"syscall"
)

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM, syscall.SIGHUP)
	code := run(ctx, os.Args[1:])
	stop()
	os.Exit(code)
}

// Exit statuses, as the README promises them.
const (
	exitOK          = 0
	exitFailed      = 1 // checks failed
	exitUsage       = 2 // usage, or a bad file
	exitEnvironment = 3 // the environment failed: port gone, consumer not startable
)

// A statusError ends the program with a status of its own. Its err may be nil: then all has been said.
type statusError struct {
	status int
	err    error
}

func (e *statusError) Error() string {
	if e.err == nil {
		return fmt.Sprintf("exit status %d", e.status)
	}
	return e.err.Error()
}

func (e *statusError) Unwrap() error { return e.err }

// environment marks an error as the environment's, not the user's.
func environment(err error) error {
	if err == nil {
		return nil
	}
	return &statusError{exitEnvironment, err}
}

func run(ctx context.Context, args []string) int {
	root := newRoot()
	root.SetArgs(args)
	err := root.ExecuteContext(ctx)
	var status *statusError
	switch {
	case err == nil:
		return exitOK
	case errors.As(err, &status):
		if status.err != nil {
			fmt.Fprintln(root.ErrOrStderr(), "swellbench:", status.err)
		}
		return status.status
	default:
		fmt.Fprintln(root.ErrOrStderr(), "swellbench:", err)
		return exitUsage
	}
}
