package main

import (
	"bufio"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"strings"

	"github.com/spf13/cobra"

	"swellbench/conformance/consumer"
	"swellbench/emulator"
	"swellbench/emulator/wire"
	"swellbench/emulator/wire/layout"
	"swellbench/emulator/wire/mixed"
)

func newDecode() *cobra.Command {
	var asJSON, brief bool
	var baud int
	cmd := &cobra.Command{
		Use:   "decode FILE|-|PORT",
		Short: "Show what is in a stream, message by message and field by field",
		Long: `Decode takes a stream of any mixture of messages apart: NMEA 0183 sentences, MAVLink frames, NMEA 2000 frames of a
serial CAN adapter, and messages that you have described yourself in a layout file. It says what is broken and why,
and how many bytes belong to nothing. From a port it listens until Ctrl-C, and sends nothing.`,
		Example: `  swellbench decode out/harbour-swell.motion.bytes
  swellbench play | xargs swellbench decode --baud 38400      # in another terminal: the path that play prints
  cat log.bin | swellbench decode - --layout my-sensor.yaml --json`,
		Args: cobra.ExactArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			layouts, _ := cmd.Flags().GetStringArray("layout")
			described, err := layoutFamilies(layouts)
			if err != nil {
				return err
			}
			in, err := openStream(cmd, args[0], baud)
			if err != nil {
				return environment(err)
			}
			defer in.Close()
			stop := make(chan struct{})
			defer close(stop)
			go func() { // Ctrl-C ends the reading
				select {
				case <-cmd.Context().Done():
					in.Close()
				case <-stop:
				}
			}()
			d := decoder{out: bufio.NewWriter(cmd.OutOrStdout()), json: asJSON, brief: brief, splitter: mixed.New(emulator.Families(described...)...)}
			err = d.run(in)
			if cmd.Context().Err() != nil {
				err = nil
			}
			fmt.Fprintln(cmd.ErrOrStderr(), d.summary())
			return environment(err)
		},
	}
	cmd.Flags().BoolVar(&asJSON, "json", false, "one JSON object a line, for programs")
	cmd.Flags().BoolVar(&brief, "brief", false, "one line a message, without its fields")
	cmd.Flags().IntVar(&baud, "baud", 38400, "of a port")
	cmd.Flags().StringArray("layout", nil, "a layout file that describes messages; may be given several times")
	return cmd
}

// openStream opens a file, standard input or a serial port.
func openStream(cmd *cobra.Command, name string, baud int) (io.ReadCloser, error) {
	if name == "-" {
		return io.NopCloser(cmd.InOrStdin()), nil
	}
	if st, err := os.Stat(name); err == nil && st.Mode()&os.ModeCharDevice != 0 || strings.HasPrefix(strings.ToUpper(name), "COM") {
		return consumer.OpenSerial(name, baud)
	}
	return os.Open(name)
}

type decoder struct {
	out         *bufio.Writer
	json, brief bool
	splitter    *mixed.Splitter

	messages, broken, garbage int64
}

func (d *decoder) run(in io.Reader) error {
	buf := make([]byte, 64<<10)
	for {
		n, err := in.Read(buf)
		d.splitter.Push(buf[:n])
		if err != nil {
			d.splitter.Flush()
		}
		for e, ok := d.splitter.Next(); ok; e, ok = d.splitter.Next() {
			if err := d.show(e); err != nil {
				return err
			}
		}
		if err != nil {
			if errors.Is(err, io.EOF) {
				err = nil
			}
			return errors.Join(err, d.out.Flush())
		}
		if n < len(buf) { // a port: what has come is shown at once
			if err := d.out.Flush(); err != nil {
				return err
			}
		}
	}
}

func (d *decoder) summary() string {
	return fmt.Sprintf("%d messages, %d broken, %d bytes of nothing known", d.messages, d.broken, d.garbage)
}

// decodedEvent is an event for programs.
type decodedEvent struct {
	Offset  int64        `json:"offset"`
	Event   string       `json:"event"` // message, broken, garbage
	Family  string       `json:"family,omitempty"`
	Message string       `json:"message,omitempty"`
	Why     string       `json:"why,omitempty"`
	Bytes   int64        `json:"bytes"`
	Hex     string       `json:"hex"`
	Fields  []wire.Field `json:"fields,omitempty"`
}

func (d *decoder) show(e *mixed.Event) error {
	x := decodedEvent{Offset: e.Offset, Event: e.Kind.String(), Why: e.Why, Bytes: e.Count, Hex: hex.EncodeToString(e.Bytes)}
	switch e.Kind {
	case mixed.Message:
		d.messages++
		x.Message, x.Fields = e.Family.Describe(e.Bytes)
	case mixed.Broken:
		d.broken++
	default:
		d.garbage += e.Count
	}
	if e.Family != nil {
		x.Family = e.Family.Name
	}
	if d.json {
		b, err := json.Marshal(x)
		if err != nil {
			return err
		}
		_, err = d.out.Write(append(b, '\n'))
		return err
	}
	what := x.Family + " " + x.Message
	switch e.Kind {
	case mixed.Broken:
		what = "BROKEN " + x.Family + ": " + x.Why
	case mixed.Garbage:
		what = fmt.Sprintf("%d bytes of nothing known", e.Count)
	}
	fmt.Fprintf(d.out, "%8d  %-24s  %s\n", e.Offset, what, readable(e.Bytes))
	if d.brief {
		return nil
	}
	for _, f := range x.Fields {
		value := f.Value
		if value == "" {
			value = "–"
		} else if f.Unit != "" {
			value += " " + f.Unit
		}
		note := ""
		if f.Note != "" {
			note = "  ! " + f.Note
		}
		_, err := fmt.Fprintf(d.out, "            %-28s %-20s %s%s\n", printable(f.Name), printable(f.Raw), printable(value), printable(note))
		if err != nil {
			return err
		}
	}
	return nil
}

// readable shows bytes as text where they are text, else as hexadecimal digits.
func readable(b []byte) string {
	text := strings.TrimRight(string(b), "\r\n")
	for _, c := range []byte(text) {
		if c < ' ' || c > '~' {
			s := hex.EncodeToString(b)
			if len(s) > 160 {
				s = s[:160] + "..."
			}
			return s
		}
	}
	return text
}

// printable makes text from a stream fit for a terminal.
func printable(s string) string {
	return strings.Map(func(r rune) rune {
		if r < ' ' || r == 0x7f || r >= 0x80 && r < 0xa0 || r == '\ufffd' {
			return '·'
		}
		return r
	}, s)
}

// layoutFamilies loads layout files.
func layoutFamilies(paths []string) ([]wire.Family, error) {
	var all []wire.Family
	for _, p := range paths {
		l, err := layout.LoadFile(p)
		if err != nil {
			return nil, err
		}
		all = append(all, l.Family())
	}
	return all, nil
}
