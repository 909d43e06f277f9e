package conformance

import (
	"fmt"
	"io"
	"net"
	"path/filepath"
	"strings"
	"sync"
	"time"

	"swellbench/emulator/port"
)

// Where a program puts its observations, besides its standard output and the file {observations}: a place of its own for each
// case, whose path or address is filled in for {observations}.
var sourceWays = []string{"pty", "tcp", "udp"}

// A source is where observations come from, other than standard output and a file.
type source interface {
	io.Reader
	Address() string // for the program: the path of a port, or ADDRESS:PORT
	// Finish says that the program has ended: what has come is still read, and then the end.
	Finish()
}

// linger is how long what a program has sent before it ended may still be on its way.
const linger = 150 * time.Millisecond

// openSource makes a source; dir is the folder of the case.
func openSource(way, dir string) (source, error) {
	switch way {
	case "pty":
		p, err := port.OpenPTY(filepath.Join(dir, "observations"))
		if err != nil {
			return nil, err
		}
		r, ok := p.(io.Reader)
		if !ok {
			p.Close()
			return nil, fmt.Errorf("the port %s cannot be read", p.Path())
		}
		return &portSource{Port: p, Reader: r}, nil
	case "tcp":
		l, err := net.Listen("tcp", "127.0.0.1:0")
		if err != nil {
			return nil, err
		}
		s := &tcpSource{l: l}
		s.r, s.w = io.Pipe()
		s.serving.Go(s.serve)
		return s, nil
	case "udp":
		c, err := net.ListenUDP("udp", &net.UDPAddr{IP: net.IPv4(127, 0, 0, 1)})
		if err != nil {
			return nil, err
		}
		return &udpSource{c: c}, nil
	}
	return nil, usagef("observations are expected at %q, allowed: output, file, %s", way, strings.Join(sourceWays, ", "))
}

// A portSource is a pseudo-terminal on which the program sends.
type portSource struct {
	port.Port
	io.Reader
}

func (s *portSource) Address() string { return s.Path() }
func (s *portSource) Finish()         { time.Sleep(linger); s.Close() }

// Read reads on; the end of the port is the end.
func (s *portSource) Read(p []byte) (int, error) {
	n, err := s.Reader.Read(p)
	if err != nil {
		err = io.EOF
	}
	return n, err
}

// A tcpSource takes connections, one after the other.
type tcpSource struct {
	l       net.Listener
	r       *io.PipeReader
	w       *io.PipeWriter
	serving sync.WaitGroup

	mu   sync.Mutex
	conn net.Conn
}

func (s *tcpSource) Address() string            { return s.l.Addr().String() }
func (s *tcpSource) Read(p []byte) (int, error) { return s.r.Read(p) }

func (s *tcpSource) serve() {
	for {
		c, err := s.l.Accept()
		if err != nil {
			s.w.Close()
			return
		}
		s.mu.Lock()
		s.conn = c
		s.mu.Unlock()
		io.Copy(s.w, c)
		c.Close()
	}
}

func (s *tcpSource) Finish() {
	time.Sleep(linger / 3) // a connection may still wait to be taken
	s.l.Close()
	s.mu.Lock()
	if s.conn != nil {
		s.conn.SetReadDeadline(time.Now().Add(linger))
	}
	s.mu.Unlock()
	s.serving.Wait()
}

// An udpSource takes datagrams, each of whole lines.
type udpSource struct {
	c    *net.UDPConn
	rest []byte
	buf  [65536]byte
}

func (s *udpSource) Address() string { return s.c.LocalAddr().String() }
func (s *udpSource) Finish()         { s.c.SetReadDeadline(time.Now().Add(linger)) }

func (s *udpSource) Read(p []byte) (int, error) {
	if len(s.rest) == 0 {
		n, _, err := s.c.ReadFromUDP(s.buf[:len(s.buf)-1])
		if err != nil {
			s.c.Close()
			return 0, io.EOF
		}
		if s.rest = s.buf[:n]; n > 0 && s.rest[n-1] != '\n' {
			s.rest = append(s.rest, '\n')
		}
	}
	n := copy(p, s.rest)
	s.rest = s.rest[n:]
	return n, nil
}
