//go:build unix

package conformance_test

import (
	"bufio"
	"bytes"
	"fmt"
	"io"
	"os"
	"os/exec"
	"os/signal"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"go.bug.st/serial"

	"swellbench/conformance"
	"swellbench/scenarios/installation"
)

// The consumers of the runner's tests are this test binary, started again with this variable set: a tiny listener that
// behaves as its first argument says.
const helperVariable = "SWELLBENCH_TEST_CONSUMER"

func init() {
	if token := os.Getenv(helperVariable); token != "" {
		helper(os.Args[1:])
		os.Exit(0)
	}
}

// helperCommand starts this binary as a consumer; token is in its environment, and in that of all it starts.
func helperCommand(token, behaviour string, more ...string) conformance.ConsumerCommand {
	return conformance.ConsumerCommand{
		Args: append([]string{os.Args[0], behaviour, "{port}", "{baud}"}, more...),
		Env:  helperEnv(token),
	}
}

// helperEnv is the environment of a helper. A binary with the race detector sleeps a second at its end unless told not to.
func helperEnv(token string) []string {
	return []string{helperVariable + "=" + token, "GORACE=atexit_sleep_ms=0"}
}

// helperOf is the same through another program, whose arguments hold SELF for this binary.
func helperOf(token string, args ...string) conformance.ConsumerCommand {
	for i := range args {
		args[i] = strings.ReplaceAll(args[i], "SELF", os.Args[0])
	}
	return conformance.ConsumerCommand{Args: args, Env: helperEnv(token)}
}

func helper(args []string) {
	behaviour, path := args[0], args[1]
	baud, _ := strconv.Atoi(args[2])
	switch behaviour {
	case "reference":
		if err := referenceConsumer(path, args[2], args[3], args[4:]...); err != nil {
			fmt.Fprintln(os.Stderr, err)
			os.Exit(1)
		}
		return
	case "reference-of":
		if err := referenceOf(os.Stdout, args[3], args[4], path, args[2], args[5], args[6:]...); err != nil {
			fmt.Fprintln(os.Stderr, err)
			os.Exit(1)
		}
		return
	case "send-on":
		if err := sendOn(args[4], args[5], path, args[2], args[3], args[6:]...); err != nil {
			fmt.Fprintln(os.Stderr, err)
			os.Exit(1)
		}
		return
	case "crash-at-start":
		fmt.Fprintln(os.Stderr, "cannot find my settings")
		os.Exit(3)
	case "hang":
		time.Sleep(time.Hour)
	case "crash-at-9600":
		if baud == 9600 {
			behaviour = "exit-7"
		}
	case "wrong-baud":
		baud = 9600
	case "ignore-term":
		signal.Ignore(syscall.SIGTERM, syscall.SIGHUP)
	case "installation":
		if _, err := installation.Load(args[3]); err != nil {
			fmt.Fprintln(os.Stderr, err)
			os.Exit(5)
		}
	case "two-ports":
		second, err := strconv.Atoi(args[4])
		if err != nil {
			os.Exit(4)
		}
		other := open(args[3], second)
		go io.Copy(io.Discard, other)
	case "daemon":
		child := exec.Command(os.Args[0], "hang", path, args[2])
		child.SysProcAttr = &syscall.SysProcAttr{Setsid: true}
		child.Stdout = os.Stdout
		if err := child.Start(); err != nil {
			os.Exit(4)
		}
		signal.Ignore(syscall.SIGHUP)
	}
	out := io.Writer(os.Stdout)
	switch behaviour {
	case "file":
		f, err := os.Create(args[3])
		if err != nil {
			os.Exit(4)
		}
		out = f
		fmt.Println("this is a log, and no place for observations")
	case "late-file": // writes all of it at its end
		all := new(lockedBuffer)
		out = all
		ended := make(chan os.Signal, 1)
		signal.Notify(ended, syscall.SIGTERM)
		go func() {
			<-ended
			if os.WriteFile(args[3], all.bytes(), 0o600) != nil {
				os.Exit(4)
			}
			os.Exit(0)
		}()
	case "fail-when-asked":
		ended := make(chan os.Signal, 1)
		signal.Notify(ended, syscall.SIGTERM)
		go func() {
			<-ended
			os.Exit(1)
		}()
	}
	listen(behaviour, path, baud, out)
}

// lockedBuffer may be read while another goroutine writes.
type lockedBuffer struct {
	mu sync.Mutex
	b  bytes.Buffer
}

func (l *lockedBuffer) Write(p []byte) (int, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.b.Write(p)
}

func (l *lockedBuffer) bytes() []byte {
	l.mu.Lock()
	defer l.mu.Unlock()
	return bytes.Clone(l.b.Bytes())
}

// listen prints the time of each GGA, on the date of the latest ZDA.
func listen(behaviour, path string, baud int, out io.Writer) {
	port := open(path, baud)
	date, n := "", 0
	for {
		lines := bufio.NewScanner(port)
		for lines.Scan() {
			f := strings.Split(strings.TrimSpace(lines.Text()), ",")
			switch {
			case strings.HasSuffix(f[0], "ZDA") && len(f) > 4:
				date, _, _ = strings.Cut(f[4]+"-"+f[3]+"-"+f[2], "*")
				continue
			case !strings.HasSuffix(f[0], "GGA") || len(f) < 2 || len(f[1]) < 6:
				continue
			}
			n++
			report(behaviour, out, fmt.Sprintf("%sT%s:%s:%sZ", date, f[1][0:2], f[1][2:4], f[1][4:]))
			if n != 5 {
				continue
			}
			switch behaviour {
			case "exit-7":
				fmt.Fprintln(os.Stderr, "panic: index out of range")
				os.Exit(7)
			case "exit-0":
				os.Exit(0)
			case "segv":
				syscall.Exec("/bin/sh", []string{"sh", "-c", "kill -SEGV $$"}, nil)
			case "killed":
				syscall.Kill(os.Getpid(), syscall.SIGKILL)
			case "leave":
				port.Close()
				time.Sleep(time.Hour)
			case "reopen":
				port.Close()
				time.Sleep(300 * time.Millisecond)
				port = open(path, baud)
				lines = bufio.NewScanner(port)
			}
		}
		if behaviour != "ignore-term" {
			return
		}
		time.Sleep(time.Hour)
	}
}

func report(behaviour string, out io.Writer, stamp string) {
	switch behaviour {
	case "silent":
	case "rubbish":
		out.Write([]byte("\x00\xff\x1b[2J not what was asked for\n"))
	case "flood":
		line := bytes.Repeat([]byte("over and over "), 1000)
		for {
			if _, err := out.Write(line); err != nil {
				os.Exit(9)
			}
		}
	case "endless-line":
		out.Write(bytes.Repeat([]byte("x"), 1<<16))
	case "logs":
		fmt.Fprintf(out, "debug: a fix\n{\"time\":%q}\n", stamp)
	default:
		fmt.Fprintf(out, "{\"time\":%q,\"source\":\"GGA\"}\n", stamp)
	}
}

func open(path string, baud int) serial.Port {
	port, err := serial.Open(path, &serial.Mode{BaudRate: baud})
	if err != nil {
		fmt.Fprintln(os.Stderr, "open:", err)
		os.Exit(4)
	}
	return port
}

// survivors lists the processes that have the token in their environment.
func survivors(t *testing.T, token string) []string {
	t.Helper()
	entries, err := os.ReadDir("/proc")
	if err != nil {
		t.Skip("no /proc: cannot see what is left running")
	}
	var found []string
	for _, e := range entries {
		if _, err := strconv.Atoi(e.Name()); err != nil {
			continue
		}
		env, err := os.ReadFile(filepath.Join("/proc", e.Name(), "environ"))
		if err != nil || !slices.Contains(strings.Split(string(env), "\x00"), helperVariable+"="+token) {
			continue
		}
		name, _ := os.ReadFile(filepath.Join("/proc", e.Name(), "cmdline"))
		found = append(found, e.Name()+" "+strings.ReplaceAll(string(name), "\x00", " "))
	}
	return found
}
