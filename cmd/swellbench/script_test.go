package main

import (
	"context"
	"errors"
	"os"
	"os/exec"
	"os/signal"
	"strconv"
	"syscall"
	"testing"
	"time"

	"github.com/rogpeppe/go-internal/testscript"
)

func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){
		"swellbench": func() {
			ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
			defer stop()
			os.Exit(run(ctx, os.Args[1:]))
		},
	})
}

// TestScripts runs the command as its users do: each file of testdata/script is one story.
func TestScripts(t *testing.T) {
	testscript.Run(t, testscript.Params{
		Dir: "testdata/script",
		Setup: func(e *testscript.Env) error {
			e.Setenv("XDG_RUNTIME_DIR", e.WorkDir)
			return nil
		},
		Cmds: map[string]func(ts *testscript.TestScript, neg bool, args []string){
			"waitfor": waitFor,
			"status":  status,
		},
		Condition: func(cond string) (bool, error) {
			if cond == "pty" {
				f, err := os.OpenFile("/dev/ptmx", os.O_RDWR, 0)
				if err == nil {
					f.Close()
				}
				return err == nil, nil
			}
			return false, nil
		},
	})
}

// waitFor waits until a file is there.
func waitFor(ts *testscript.TestScript, _ bool, args []string) {
	name := ts.MkAbs(args[0])
	for range 500 {
		if _, err := os.Lstat(name); err == nil {
			return
		}
		time.Sleep(10 * time.Millisecond)
	}
	ts.Fatalf("%s did not appear within 5 s", args[0])
}

// status runs a command and wants its exit status: status 3 swellbench check ...
func status(ts *testscript.TestScript, _ bool, args []string) {
	want, err := strconv.Atoi(args[0])
	if err != nil {
		ts.Fatalf("status: %v", err)
	}
	got := 0
	if err := ts.Exec(args[1], args[2:]...); err != nil {
		var exit *exec.ExitError
		if !errors.As(err, &exit) {
			ts.Fatalf("%v", err)
		}
		got = exit.ExitCode()
	}
	if got != want {
		ts.Fatalf("exit status %d, want %d", got, want)
	}
}
