package port

import (
	"errors"
	"fmt"
	"io"
	"os"
	"regexp"
	"slices"
	"strings"

	"swellbench/emulator/line"
)

// A Kind is one kind of port that [Open] can open.
type Kind struct {
	Name    string
	Form    string // how it is written
	What    string // one line for a person
	Connect string // what the user does to listen, with %s for Path
	Bench   string // when it needs the user's word that the other end is on a bench; "" never

	open func(rest string, o Options) (Port, error)
}

// Kinds is the table of them.
var Kinds = []Kind{
	{"pty", "pty or pty:LINK", "a pseudo-terminal, which programs open like a serial port", "Open %s in your program", "",
		func(rest string, o Options) (Port, error) {
			if rest == "" {
				rest = o.Link
			}
			return OpenPTYAt(rest, o.Line.Baud)
		}},
	{"serial", "serial:DEVICE", "a real serial port, such as /dev/ttyUSB0 or COM3", "Listen at the other end of the cable from %s", "always",
		func(rest string, o Options) (Port, error) { return OpenSerial(rest, o.Line, o.Bench) }},
	{"tcp", "tcp:ADDRESS:PORT", "a TCP port to connect to, bytes as they are", "Connect a TCP client to %s", notLoopback,
		func(rest string, o Options) (Port, error) { return OpenTCP(rest, o.Bench) }},
	{"rfc2217", "rfc2217:ADDRESS:PORT", "a TCP port with COM port control: the client sets the baud rate and the format",
		"Connect a client for remote serial ports (RFC 2217) to %s", notLoopback,
		func(rest string, o Options) (Port, error) { return OpenRFC2217(rest, o.Bench, o.Line) }},
	{"udp", "udp:ADDRESS:PORT", "UDP, one datagram a message", "Receive datagrams at %s", notLoopback,
		func(rest string, o Options) (Port, error) { return OpenUDP(rest, o.Bench) }},
	{"file", "file:PATH", "a file, which is made or overwritten", "The bytes go into %s", "",
		func(rest string, _ Options) (Port, error) { return OpenFile(rest) }},
	{"-", "-", "standard output", "The bytes go to %s", "",
		func(_ string, o Options) (Port, error) {
			if o.Stdout == nil {
				o.Stdout = os.Stdout
			}
			return OpenWriter("standard output", o.Stdout)
		}},
}

const notLoopback = "where the address is not of this machine alone"

// Options of [Open]; the zero value will do for what needs none.
type Options struct {
	Bench  bool          // the user's word that the other end is on a bench
	Line   line.Settings // of the device
	Link   string        // the path of a pseudo-terminal that is given none; "" is one in the runtime directory
	Stdout io.Writer     // standard output; nil is the process's
}

// KindOf tells which kind of port a specification names.
func KindOf(spec string) (Kind, error) {
	name, rest, colon := strings.Cut(spec, ":")
	for _, k := range Kinds {
		switch {
		case k.Name != name:
		case rest == "" && k.Name != "pty" && k.Name != "-":
			return k, fmt.Errorf("port %q: what comes after %s: is missing; write %s", spec, name, k.Form)
		case colon && k.Name == "-":
			return k, fmt.Errorf("port %q: standard output is just -", spec)
		default:
			return k, nil
		}
	}
	var forms []string
	for _, k := range Kinds {
		forms = append(forms, k.Form)
	}
	hint := ""
	if strings.HasPrefix(spec, "/dev/") || strings.HasPrefix(strings.ToUpper(spec), "COM") {
		hint = "; did you mean serial:" + spec + "?"
	}
	return Kind{}, fmt.Errorf("port %q: there is no such kind of port, allowed: %s%s", spec, strings.Join(forms, ", "), hint)
}

// Open opens the port that spec, such as "pty", "tcp:127.0.0.1:4001" or "serial:/dev/ttyUSB0", names; [Kinds] has the
// grammar. An error that is [ErrBench] asks for Options.Bench.
func Open(spec string, o Options) (Port, error) {
	k, err := KindOf(spec)
	if err != nil {
		return nil, err
	}
	_, rest, _ := strings.Cut(spec, ":")
	return k.open(rest, o)
}

var streamName = regexp.MustCompile(`^([a-z0-9][a-z0-9-]*)=(.*)$`)

// Assign gives each stream of a device, by name, its port: specs are as the user gives them, NAME=spec or, where there
// is one stream, spec alone. A stream that is given none gets "pty". Streams cannot share a port.
func Assign(specs, streams []string) ([]string, error) {
	out := make([]string, len(streams))
	var errs []error
	for _, s := range specs {
		i := 0
		if m := streamName.FindStringSubmatch(s); m != nil {
			if i = slices.Index(streams, m[1]); i < 0 {
				errs = append(errs, fmt.Errorf("port %q: there is no stream %s, allowed: %s", s, m[1], strings.Join(streams, ", ")))
				continue
			}
			s = m[2]
		} else if len(streams) > 1 {
			errs = append(errs, fmt.Errorf("port %q: which stream is it for? There are %s; write %s=%s", s, strings.Join(streams, ", "), streams[0], s))
			continue
		}
		if _, err := KindOf(s); err != nil {
			errs = append(errs, err)
			continue
		}
		if out[i] != "" {
			errs = append(errs, fmt.Errorf("port %q: stream %s has a port already, %s; give one a stream", s, streams[i], out[i]))
			continue
		}
		if j := slices.Index(out, s); j >= 0 && s != "pty" && !strings.HasSuffix(s, ":0") {
			errs = append(errs, fmt.Errorf("port %q: streams %s and %s cannot share a port; give each its own", s, streams[j], streams[i]))
			continue
		}
		out[i] = s
	}
	for i := range out {
		if out[i] == "" {
			out[i] = "pty"
		}
	}
	return out, errors.Join(errs...)
}
