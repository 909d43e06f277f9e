package selftest

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"strings"
	"sync"
	"sync/atomic"
	"time"

	"swellbench/emulator/line"
	"swellbench/emulator/port"
)

// Drain is the other end of a measurement, in a process of its own: it opens the ports that are named on the lines of in,
// up to an empty one, reads them until in ends, and then writes how many bytes it got.
func Drain(in io.Reader, out io.Writer) error {
	lines := bufio.NewScanner(in)
	var total atomic.Int64
	var files []*os.File
	var wg sync.WaitGroup
	for lines.Scan() && lines.Text() != "" {
		f, err := os.Open(lines.Text())
		if err != nil {
			return err
		}
		files = append(files, f)
		wg.Go(func() {
			buf := make([]byte, 16<<10)
			for {
				n, err := f.Read(buf)
				total.Add(int64(n))
				if err != nil {
					return
				}
			}
		})
	}
	for lines.Scan() { // waits for the end
	}
	for last := int64(-1); last != total.Load(); time.Sleep(50 * time.Millisecond) { // what is still on its way
		last = total.Load()
	}
	for _, f := range files {
		f.Close()
	}
	fmt.Fprintln(out, total.Load())
	return nil
}

// Drainer starts the other end as the command, which calls [Drain] with its standard input and output.
func Drainer(ctx context.Context, command ...string) func(paths []string) (func() (int64, error), error) {
	return func(paths []string) (func() (int64, error), error) {
		cmd := exec.CommandContext(ctx, command[0], command[1:]...)
		in, err := cmd.StdinPipe()
		if err != nil {
			return nil, err
		}
		var out strings.Builder
		cmd.Stdout, cmd.Stderr = &out, os.Stderr
		if err := cmd.Start(); err != nil {
			return nil, err
		}
		_, err = io.WriteString(in, strings.Join(paths, "\n")+"\n\n")
		return func() (int64, error) {
			err := errors.Join(in.Close(), cmd.Wait())
			var n int64
			fmt.Sscan(out.String(), &n)
			return n, err
		}, err
	}
}

// Throughput is how many bytes a second one pseudo-terminal takes while the other end reads, written in pieces of the size
// of a sentence.
func Throughput(ctx context.Context, d time.Duration, read func(paths []string) (func() (int64, error), error)) (float64, error) {
	p, err := port.OpenPTY("")
	if err != nil {
		return 0, err
	}
	defer p.Close()
	end, err := read([]string{p.Path()})
	if err != nil {
		return 0, err
	}
	if err := p.WaitOpen(ctx); err != nil {
		return 0, err
	}
	piece := []byte(strings.Repeat("x", 80) + "\r\n")
	begun := time.Now()
	for time.Since(begun) < d && ctx.Err() == nil {
		if _, err := p.Write(piece); errors.Is(err, line.ErrFull) {
			time.Sleep(50 * time.Microsecond)
		} else if err != nil {
			return 0, err
		}
	}
	took := time.Since(begun).Seconds()
	n, err := end()
	return float64(n) / took, err
}
