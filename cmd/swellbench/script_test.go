package main

import (
	"context"
	"errors"
	"os"
	"os/exec"
	"os/signal"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/goccy/go-yaml"
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
			"readme":  readme,
			"steps":   steps,
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

// readme writes the block of code of the README whose first line is the comment given into a file: readme test.py test.py
func readme(ts *testscript.TestScript, _ bool, args []string) {
	text, err := os.ReadFile(filepath.Join("..", "..", "README.md"))
	ts.Check(err)
	for i, block := range strings.Split(string(text), "```") {
		_, code, _ := strings.Cut(block, "\n") // after the name of the language
		if i%2 == 1 && strings.HasPrefix(code, "# "+args[0]+"\n") {
			ts.Check(os.WriteFile(ts.MkAbs(args[1]), []byte(code), 0o644))
			return
		}
	}
	ts.Fatalf("README.md has no block of code that begins with # %s", args[0])
}

// steps writes what a recipe for CI, in YAML, has the shell do: steps ci.yml ci.sh
func steps(ts *testscript.TestScript, _ bool, args []string) {
	type job struct {
		Script []string
		Steps  []struct{ Run string }
	}
	var recipe struct { // GitLab has jobs at the top, GitHub under jobs
		Conformance job
		Jobs        struct{ Conformance job }
	}
	ts.Check(yaml.Unmarshal([]byte(ts.ReadFile(args[0])), &recipe))
	lines := recipe.Conformance.Script
	for _, s := range recipe.Jobs.Conformance.Steps {
		if s.Run != "" {
			lines = append(lines, s.Run)
		}
	}
	if len(lines) == 0 {
		ts.Fatalf("%s has no job conformance that does anything", args[0])
	}
	ts.Check(os.WriteFile(ts.MkAbs(args[1]), []byte(strings.Join(lines, "\n")+"\n"), 0o644))
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
