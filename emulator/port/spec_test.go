package port_test

import (
	"errors"
	"slices"
	"strings"
	"testing"

	"swellbench/emulator/port"
)

func TestKindsAreWhole(t *testing.T) {
	seen := map[string]bool{}
	for _, k := range port.Kinds {
		if k.Name == "" || k.Form == "" || k.What == "" || strings.Count(k.Connect, "%s") != 1 || seen[k.Name] {
			t.Errorf("%+v", k)
		}
		seen[k.Name] = true
		if got, err := port.KindOf(strings.Fields(k.Form)[0]); err != nil || got.Name != k.Name {
			t.Errorf("%s is read as %q, %v", k.Form, got.Name, err)
		}
	}
}

func TestOpenRefusals(t *testing.T) {
	for _, c := range []struct{ spec, want string }{
		{"", "there is no such kind of port, allowed: pty or pty:LINK, serial:DEVICE"},
		{"/dev/ttyUSB0", "did you mean serial:/dev/ttyUSB0?"},
		{"COM3", "did you mean serial:COM3?"},
		{"tcp", "what comes after tcp: is missing; write tcp:ADDRESS:PORT"},
		{"file:", "what comes after file: is missing"},
		{"-:x", "standard output is just -"},
		{"serial:/dev/ttyUSB0", "give --bench"},
		{"tcp:0.0.0.0:4001", "0.0.0.0:4001 is not an address of this machine alone: simulated positions must never reach"},
		{"tcp:[::]:4001", "[::]:4001 is not an address of this machine alone"},
		{"rfc2217:192.0.2.1:4001", "is not an address of this machine alone"},
		{"udp:255.255.255.255:10110", "is not an address of this machine alone"},
		{"udp:[ff02::1]:10110", "is not an address of this machine alone"},
		{"tcp:127.0.0.1:70000", `the port is "70000", allowed: a number from 0, for any free one, to 65535`},
		{"tcp:127.0.0.1:-1", `the port is "-1"`},
		{"tcp:127.0.0.1:http", `the port is "http"`},
		{"tcp:example:4001", `"example" is no IP address`},
		{"tcp:::1:4001", "too many colons"},
		{"udp:127.0.0.1:0", `the port is "0", allowed: a number from 1 to 65535`},
	} {
		p, err := port.Open(c.spec, port.Options{})
		if err == nil {
			_ = p.Close()
		}
		if err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%q: error is %v, want %q", c.spec, err, c.want)
		}
		if strings.Contains(c.want, "machine alone") && !errors.Is(err, port.ErrBench) {
			t.Errorf("%q: not ErrBench: %v", c.spec, err)
		}
	}
}

func TestLoopbackNeedsNoWord(t *testing.T) {
	for _, spec := range []string{"tcp:0", "tcp:127.0.0.1:0", "tcp:localhost:0", "tcp::0", "rfc2217:127.8.9.10:0", "udp:5000", "udp:[::1]:5000"} {
		p, err := port.Open(spec, port.Options{})
		if err != nil && strings.Contains(err.Error(), "assign requested address") {
			continue // not every machine has every loopback address
		}
		if err != nil {
			t.Errorf("%s: %v", spec, err)
			continue
		}
		if err := p.Close(); err != nil {
			t.Error(err)
		}
	}
	p, err := port.Open("tcp:0.0.0.0:0", port.Options{Bench: true})
	if err != nil {
		t.Fatal(err)
	}
	_ = p.Close()
}

func TestAssign(t *testing.T) {
	for _, c := range []struct {
		specs, streams string
		want           string // the ports, or the error
	}{
		{"", "gnss", "pty"},
		{"tcp:4001", "gnss", "tcp:4001"},
		{"gnss=tcp:4001", "gnss", "tcp:4001"},
		{"pty:/tmp/a=b", "gnss", "pty:/tmp/a=b"},
		{"motion=- gnss=udp:5000", "gnss motion other", "udp:5000 - pty"},
		{"gnss=pty motion=pty", "gnss motion", "pty pty"},
		{"gnss=tcp:0 motion=tcp:0", "gnss motion", "tcp:0 tcp:0"},
		{"tcp:4001", "gnss motion", `port "tcp:4001": which stream is it for? There are gnss, motion; write gnss=tcp:4001`},
		{"gps=pty", "gnss motion", `port "gps=pty": there is no stream gps, allowed: gnss, motion`},
		{"gnss=tcp:1 gnss=tcp:2", "gnss motion", `port "tcp:2": stream gnss has a port already, tcp:1; give one a stream`},
		{"gnss=- motion=-", "gnss motion", `port "-": streams gnss and motion cannot share a port; give each its own`},
		{"gnss=usb:1", "gnss", `port "usb:1": there is no such kind of port`},
	} {
		got, err := port.Assign(strings.Fields(c.specs), strings.Fields(c.streams))
		if err != nil {
			if !strings.HasPrefix(err.Error(), c.want) {
				t.Errorf("%q to %q: %v", c.specs, c.streams, err)
			}
			continue
		}
		if !slices.Equal(got, strings.Fields(c.want)) {
			t.Errorf("%q to %q: %q, want %q", c.specs, c.streams, got, c.want)
		}
	}
}
