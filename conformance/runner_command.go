package conformance

import (
	"fmt"
	"slices"
	"strings"
)

// A ConsumerCommand says how to start the consumer, once for each case.
type ConsumerCommand struct {
	// Args are the program and its arguments, each passed on as it is: no shell splits them. Inside an argument
	// {port}, {baud}, {format}, {layout}, {installation} and {observations} are filled in for the case; {{ and }} stand for
	// the braces themselves. Where a scenario has several streams, {port}, {baud}, {format} and {layout} are those of the
	// first and {port.NAME} those of the one of that name. {format} of a mixed stream is all its formats, joined by +;
	// {layout} is the file that describes its messages of format layout, nothing where it has none.
	Args []string
	Dir  string   // working directory; "" is the current one
	Env  []string // "NAME=value", added to the environment of this process
}

// Placeholders are the words an argument of a [ConsumerCommand] may hold in braces. The first few may be followed by a
// point and the name of a stream.
var Placeholders = []string{"port", "baud", "format", "layout", "installation", "observations"}

// ofStream is how many of the placeholders are about one stream.
const ofStream = 4

// A UsageError says that what was asked for cannot be run as it was asked: the command line is to be changed, not the
// consumer or the machine.
type UsageError struct{ Text string }

func (e *UsageError) Error() string { return e.Text }

func usagef(format string, args ...any) error { return &UsageError{Text: fmt.Sprintf(format, args...)} }

// validate reports what is wrong with the command whatever the case, as a [UsageError].
func (c ConsumerCommand) validate() error {
	if len(c.Args) == 0 || c.Args[0] == "" {
		return usagef("no consumer: give the program to test and its arguments, such as: -- my-program --port {port} --baud {baud}")
	}
	used, err := c.used()
	if err != nil {
		return err
	}
	for name := range used {
		if word, _, _ := strings.Cut(name, "."); word == "port" {
			return nil
		}
	}
	return usagef("consumer %q is not told its port: put {port} into one of its arguments", c.Args[0])
}

// validateFor reports what is wrong with the command for a case with streams of these names.
func (c ConsumerCommand) validateFor(caseName string, streams []string) error {
	used, err := c.used()
	if err != nil {
		return err
	}
	told := map[string]bool{}
	for name := range used {
		word, stream, named := strings.Cut(name, ".")
		if named && !slices.Contains(streams, stream) {
			return usagef("placeholder {%s}: case %s has no stream %q, only: %s", name, caseName, stream, strings.Join(streams, ", "))
		}
		if !named {
			stream = streams[0]
		}
		if word == "port" {
			told[stream] = true
		}
	}
	for _, s := range streams {
		if !told[s] {
			return usagef("case %s has a stream %q, whose port the consumer is not told: add {port.%s} to its arguments", caseName, s, s)
		}
	}
	return nil
}

// used tells which placeholders the arguments hold.
func (c ConsumerCommand) used() (map[string]bool, error) {
	used := map[string]bool{}
	_, err := c.fill(func(name string) string { used[name] = true; return "" })
	return used, err
}

// fill returns the arguments with each placeholder replaced by its value.
func (c ConsumerCommand) fill(value func(name string) string) ([]string, error) {
	args := make([]string, len(c.Args))
	for i, a := range c.Args {
		filled, err := fillArgument(a, value)
		if err != nil {
			return nil, usagef("argument %d of the consumer, %q: %v", i, a, err)
		}
		args[i] = filled
	}
	return args, nil
}

func known(placeholder string) bool {
	word, stream, named := strings.Cut(placeholder, ".")
	i := slices.Index(Placeholders, word)
	return i >= 0 && (!named || stream != "" && i < ofStream)
}

func fillArgument(arg string, value func(name string) string) (string, error) {
	var b strings.Builder
	for i := 0; i < len(arg); i++ {
		switch c := arg[i]; {
		case c != '{' && c != '}':
			b.WriteByte(c)
		case i+1 < len(arg) && arg[i+1] == c:
			b.WriteByte(c)
			i++
		case c == '}':
			return "", fmt.Errorf("a } with no { before it, at byte %d; write }} for a plain brace", i)
		default:
			end := strings.IndexByte(arg[i:], '}')
			if end < 0 {
				return "", fmt.Errorf("a { with no } after it, at byte %d; write {{ for a plain brace", i)
			}
			name := arg[i+1 : i+end]
			if !known(name) {
				return "", fmt.Errorf("unknown placeholder {%s}, allowed: {%s}; write {{ and }} for plain braces",
					name, strings.Join(Placeholders, "}, {"))
			}
			b.WriteString(value(name))
			i += end
		}
	}
	return b.String(), nil
}
