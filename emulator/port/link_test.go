//go:build linux || darwin

package port_test

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"swellbench/emulator/port"
)

// TestMain plays the program that is killed, where a test asks for one: "hold LINK" makes a port, "listen ADDRESS"
// a TCP port, "open PORT" opens one; all say that it is done and wait to be killed.
func TestMain(m *testing.M) {
	role, path, _ := strings.Cut(os.Getenv("PORT_TEST_ROLE"), " ")
	var err error
	switch role {
	case "":
		dir, err := os.MkdirTemp("", "port")
		if err != nil {
			fmt.Println(err)
			os.Exit(1)
		}
		os.Setenv("XDG_RUNTIME_DIR", dir) // records of ports go there
		code := m.Run()
		os.RemoveAll(dir)
		os.Exit(code)
	case "hold":
		var p port.Port
		if p, err = port.OpenPTY(path); err == nil {
			path = p.Path()
		}
	case "listen":
		var p port.Port
		if p, err = port.OpenTCP(path, false); err == nil {
			path = p.Path()
		}
	case "open":
		_, err = os.OpenFile(path, os.O_RDWR, 0)
	}
	if err != nil {
		fmt.Println("error", err)
		os.Exit(1)
	}
	fmt.Println("done", path)
	_, _ = io.Copy(io.Discard, os.Stdin)
}

// other starts this test program in another role, waits until it has done its part, and returns what kills it.
func other(t *testing.T, role, path string) (kill func()) {
	t.Helper()
	cmd := exec.Command(os.Args[0])
	cmd.Env = append(os.Environ(), "PORT_TEST_ROLE="+role+" "+path)
	_, err := cmd.StdinPipe()
	must(t, err)
	out, err := cmd.StdoutPipe()
	must(t, err)
	must(t, cmd.Start())
	dead := false
	kill = func() {
		if !dead {
			dead = true
			_ = cmd.Process.Kill()
			_ = cmd.Wait()
		}
	}
	t.Cleanup(kill)
	said, err := bufio.NewReader(out).ReadString('\n')
	if !strings.HasPrefix(said, "done ") {
		t.Fatalf("the other program said %q, %v", said, err)
	}
	return kill
}

func TestKilledConsumerIsGone(t *testing.T) {
	p := newPTY(t)
	kill := other(t, "open", p.Path())
	must(t, p.WaitOpen(soon(t)))
	kill()
	must(t, p.WaitClosed(soon(t)))
}

// A killed run leaves its link; the next takes its place, even if the terminal's number has been given to another.
func TestLinkOfAKilledRun(t *testing.T) {
	needPTY(t)
	link := filepath.Join(t.TempDir(), "port")
	kill := other(t, "hold", link)
	if _, err := port.OpenPTY(link); err == nil || !strings.Contains(err.Error(), "is the port of another run (process ") {
		t.Fatalf("while the other run lives: %v", err)
	}
	kill()
	old, err := os.Readlink(link)
	must(t, err)
	var others []port.Port // one of them has the dead one's number
	for range 3 {
		q, err := port.OpenPTY(filepath.Join(t.TempDir(), "other"))
		must(t, err)
		defer q.Close()
		others = append(others, q)
	}
	if _, err := os.Stat(old); err != nil {
		t.Logf("the number of %s was not given out again to any of %d: %v", old, len(others), err)
	}
	p, err := port.OpenPTY(link)
	must(t, err)
	must(t, p.Close())
	if _, err := os.Lstat(link); !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("the link is still there: %v", err)
	}
}

func TestLinkTakesNobodysPlace(t *testing.T) {
	needPTY(t)
	live := newPTY(t)
	const taken = "is there already"
	for _, c := range []struct {
		name string
		make func(path string) error
		want string // "" is no error
	}{
		{"a file", func(p string) error { return os.WriteFile(p, []byte("mine"), 0o600) }, taken},
		{"an empty file", func(p string) error { return os.WriteFile(p, nil, 0o600) }, taken},
		{"a directory", func(p string) error { return os.Mkdir(p, 0o700) }, taken},
		{"a link to a file", func(p string) error { return os.Symlink("/etc/passwd", p) }, taken},
		{"a link to nothing of ours", func(p string) error { return os.Symlink("/mnt/stick/notes", p) }, taken},
		{"a relative link to nothing", func(p string) error { return os.Symlink("nothing", p) }, taken},
		{"somebody's link to a living terminal", func(p string) error {
			to, err := os.Readlink(live.Path())
			return errors.Join(err, os.Symlink(to, p))
		}, taken},
		{"a link to a terminal that is gone", func(p string) error { return os.Symlink("/dev/pts/9999999", p) }, ""},
	} {
		path := filepath.Join(t.TempDir(), "port")
		must(t, c.make(path))
		before, err := os.Lstat(path)
		must(t, err)
		p, err := port.OpenPTY(path)
		if c.want == "" {
			must(t, err)
			to, _ := os.Readlink(path)
			if st, err := os.Stat(path); err != nil || st.Mode()&fs.ModeCharDevice == 0 || to == "/dev/pts/9999999" {
				t.Errorf("%s: now leads to %s, %v", c.name, to, err)
			}
			must(t, p.Close())
			continue
		}
		if err == nil || !strings.Contains(err.Error(), c.want) || !strings.Contains(err.Error(), path) {
			t.Errorf("%s: error is %v, want %q", c.name, err, c.want)
			continue
		}
		after, err := os.Lstat(path)
		if err != nil || !os.SameFile(before, after) || before.Size() != after.Size() {
			t.Errorf("%s: it was changed: %v", c.name, err)
		}
		if left, err := os.ReadDir(filepath.Dir(path)); err != nil || len(left) != 1 {
			t.Errorf("%s: left in the directory: %v, %v", c.name, left, err)
		}
	}
	if st, err := os.Stat(live.Path()); err != nil || st.Mode()&fs.ModeCharDevice == 0 {
		t.Errorf("the living port's link: %v", err)
	}
}

// What somebody put in the link's place while the port was open stays.
func TestCloseRemovesOnlyItsOwnLink(t *testing.T) {
	p := newPTY(t)
	must(t, os.Remove(p.Path()))
	must(t, os.WriteFile(p.Path(), []byte("mine"), 0o600))
	must(t, p.Close())
	if b, err := os.ReadFile(p.Path()); err != nil || string(b) != "mine" {
		t.Errorf("%q, %v", b, err)
	}
	q := newPTY(t)
	must(t, os.Remove(q.Path())) // gone altogether
	must(t, q.Close())
}

func TestLinkErrors(t *testing.T) {
	needPTY(t)
	dir := t.TempDir()
	path := filepath.Join(dir, "missing", "port")
	_, err := port.OpenPTY(path)
	if err == nil || !strings.Contains(err.Error(), "the directory of the link "+path+" is not there") {
		t.Errorf("error is %v", err)
	}
	// The same link, its directory written in two ways.
	must(t, os.Mkdir(filepath.Join(dir, "a"), 0o700))
	must(t, os.Symlink("a", filepath.Join(dir, "b")))
	p, err := port.OpenPTY(filepath.Join(dir, "a", "port"))
	must(t, err)
	defer p.Close()
	if _, err := port.OpenPTY(filepath.Join(dir, "b", "port")); err == nil || !strings.Contains(err.Error(), "another run (process") {
		t.Errorf("the second port under one link: %v", err)
	}
}

func TestDefaultLinks(t *testing.T) {
	needPTY(t)
	var got []string
	for range 3 {
		p, err := port.OpenPTY("")
		must(t, err)
		defer p.Close()
		got = append(got, filepath.Base(p.Path()))
		dir, err := port.RuntimeDir()
		must(t, err)
		if filepath.Dir(p.Path()) != dir {
			t.Errorf("%s is not in %s", p.Path(), dir)
		}
	}
	if want := "[port1 port2 port3]"; fmt.Sprint(got) != want {
		t.Errorf("links are %v, want %s", got, want)
	}
}

func TestRuntimeDir(t *testing.T) {
	tmp := t.TempDir()
	t.Setenv("TMPDIR", tmp)
	own := filepath.Join(tmp, fmt.Sprintf("swellbench-%d", os.Getuid()))
	for _, xdg := range []string{"", "relative", filepath.Join(tmp, "missing")} {
		t.Setenv("XDG_RUNTIME_DIR", xdg)
		dir, err := port.RuntimeDir()
		must(t, err)
		if st, err := os.Stat(own); err != nil || st.Mode() != fs.ModeDir|0o700 || !same(dir, own) {
			t.Errorf("XDG_RUNTIME_DIR %q: %s, %v", xdg, dir, err)
		}
	}
	must(t, os.Chmod(own, 0o777))
	if _, err := port.RuntimeDir(); err == nil || !strings.Contains(err.Error(), "is open to other users (mode 0777); set XDG_RUNTIME_DIR") {
		t.Errorf("open directory: %v", err)
	}
	if _, err := port.OpenPTY(filepath.Join(t.TempDir(), "port")); err == nil {
		t.Error("a port was made without a record")
	}
	must(t, os.Remove(own))
	must(t, os.WriteFile(own, nil, 0o600))
	if _, err := port.RuntimeDir(); err == nil || !strings.Contains(err.Error(), "is no directory") {
		t.Errorf("a file in its place: %v", err)
	}
	xdg := t.TempDir()
	t.Setenv("XDG_RUNTIME_DIR", xdg)
	if dir, err := port.RuntimeDir(); err != nil || !same(dir, filepath.Join(xdg, "swellbench")) {
		t.Errorf("with XDG_RUNTIME_DIR: %s, %v", dir, err)
	}
}

func same(a, b string) bool {
	x, errX := os.Stat(a)
	y, errY := os.Stat(b)
	return errX == nil && errY == nil && os.SameFile(x, y)
}

// List shows the ports of this and of another run, and not those of a killed one.
func TestListShowsLivingPorts(t *testing.T) {
	p := newPTY(t)
	link := filepath.Join(t.TempDir(), "other")
	kill := other(t, "hold", link)
	count := func() (n int) {
		t.Helper()
		all, err := port.List()
		if err != nil {
			t.Logf("serial ports: %v", err) // a machine may be without
		}
		for _, l := range all {
			if l.Ours {
				n++
				if !same(l.Path, p.Path()) && !same(l.Path, link) || !strings.HasPrefix(l.What, "pseudo-terminal /dev/") {
					t.Errorf("listed: %+v", l)
				}
			}
		}
		return n
	}
	if n := count(); n != 2 {
		t.Errorf("%d ports listed, want 2", n)
	}
	kill()
	if n := count(); n != 1 {
		t.Errorf("%d ports listed when one run was killed, want 1", n)
	}
	must(t, p.Close())
	if n := count(); n != 0 {
		t.Errorf("%d ports listed after Close, want none", n)
	}
}
