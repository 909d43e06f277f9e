package conformance

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"os/exec"
	"sync"
	"syscall"
	"time"
)

// A process is a running consumer: the process that was started, and whatever that has started since.
type process struct {
	cmd    *exec.Cmd
	reap   func() error  // waits for the started process, once
	mark   string        // in the environment of the consumer and all its descendants
	exited chan struct{} // closed when the started process has ended
	begun  time.Time

	outputs sync.WaitGroup // the readers of stdout and stderr
	pipes   []*os.File
}

// markVariable is the environment variable that marks a consumer and its descendants as ours, so that none is left
// behind even if it has left its process group.
const markVariable = "SWELLBENCH_CASE"

// startProcess starts the consumer in a process group of its own, with nothing on its standard input. Its outputs are
// read by stdout and stderr, each in a goroutine, until nobody holds the other end any more.
func startProcess(args []string, dir string, env []string, mark string, stdout, stderr func(io.Reader)) (*process, error) {
	p := &process{cmd: exec.Command(args[0], args[1:]...), mark: markVariable + "=" + mark, exited: make(chan struct{})}
	p.reap = sync.OnceValue(p.cmd.Wait)
	p.cmd.Dir = dir
	p.cmd.Env = append(append(os.Environ(), env...), p.mark)
	ownGroup(p.cmd)

	if dir != "" { // or a folder that is not there would be told of as a program that is not
		if _, err := os.Stat(dir); err != nil {
			return nil, &fs.PathError{Op: "chdir", Path: dir, Err: errors.Unwrap(err)}
		}
	}
	var ends []*os.File
	defer func() {
		for _, f := range ends {
			f.Close()
		}
	}()
	for _, w := range []*io.Writer{&p.cmd.Stdout, &p.cmd.Stderr} {
		r, end, err := os.Pipe()
		if err != nil {
			p.closePipes()
			return nil, err
		}
		p.pipes, ends = append(p.pipes, r), append(ends, end)
		*w = end
	}
	if err := p.cmd.Start(); err != nil {
		p.closePipes()
		return nil, err
	}
	p.begun = time.Now()
	p.outputs.Go(func() { stdout(p.pipes[0]) })
	p.outputs.Go(func() { stderr(p.pipes[1]) })
	go func() {
		awaitExit(p.cmd, p.reap)
		close(p.exited)
	}()
	return p, nil
}

// An ending says how a consumer ended.
type ending struct {
	state  *os.ProcessState
	asked  bool // it ended after it was asked to
	killed bool // it had to be killed: it did not end within the grace when it was asked to
	err    error
}

// cpu is the processor time of the started process, and of those it has waited for.
func (e *ending) cpu() time.Duration {
	if e.state == nil {
		return 0
	}
	return e.state.UserTime() + e.state.SystemTime()
}

// end asks the consumer to end if it has not yet, kills it when grace has passed, and sees to it that nothing of it
// runs on. It returns when its output has been read to the end. hangUp is called halfway through the grace: a consumer
// deaf to the signal may still see that its port is gone.
func (p *process) end(grace time.Duration, hangUp func()) ending {
	var e ending
	deadline := time.NewTimer(grace)
	defer deadline.Stop()
	half := time.AfterFunc(grace/2, hangUp)
	defer half.Stop()

	if !p.hasExited() {
		e.asked = true
		terminateGroup(p.cmd)
	}
	select {
	case <-p.exited:
	case <-deadline.C:
		e.killed = true
	}
	// The started process may be gone and leave others, which hold its output open and may still have to say what
	// they know.
	read := make(chan struct{})
	go func() { p.outputs.Wait(); close(read) }()
	if !e.killed {
		if !e.asked {
			terminateGroup(p.cmd)
		}
		select {
		case <-read:
		case <-deadline.C:
		}
	}
	killGroup(p.cmd)
	<-p.exited
	if err := p.reap(); err != nil {
		var exit *exec.ExitError
		if !errors.As(err, &exit) {
			e.err = err
		}
	}
	e.state = p.cmd.ProcessState
	killMarked(p.mark)
	select {
	case <-read:
	case <-time.After(time.Second): // somebody we could not find still holds the pipes
	}
	p.closePipes()
	<-read
	return e
}

func (p *process) hasExited() bool {
	select {
	case <-p.exited:
		return true
	default:
		return false
	}
}

func (p *process) closePipes() {
	for _, f := range p.pipes {
		f.Close()
	}
}

// startIncident says why a consumer could not be started.
func startIncident(program string, err error) *Incident {
	in := &Incident{Kind: NotStarted, Text: fmt.Sprintf("consumer %q could not be started: %v", program, err)}
	var pe *fs.PathError
	switch {
	case errors.Is(err, syscall.ENOEXEC):
		in.Text = fmt.Sprintf("consumer %q cannot be run: it is neither a program for this machine nor a script that names its interpreter in the first line (#!)", program)
	case errors.As(err, &pe) && pe.Op == "chdir":
		in.Text = fmt.Sprintf("consumer %q could not be started: its working directory %q: %v", program, pe.Path, pe.Err)
	case errors.Is(err, exec.ErrDot):
		in.Text = fmt.Sprintf("consumer %q is in the current directory, where programs are not looked for; write ./%s", program, program)
	case errors.Is(err, exec.ErrNotFound), errors.Is(err, fs.ErrNotExist):
		in.Text = fmt.Sprintf("consumer %q not found; check the program after --, and its place or PATH", program)
	case errors.Is(err, fs.ErrPermission):
		in.Text = fmt.Sprintf("consumer %q may not be executed; check its execute permission (chmod +x), or start it through its interpreter", program)
	}
	return in
}

// exitText says how a process ended, in words: "exit status 3", "signal: segmentation fault".
func exitText(s *os.ProcessState) string {
	if s == nil {
		return "unknown"
	}
	return s.String()
}
