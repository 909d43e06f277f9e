package main

import (
	"encoding/json"
	"fmt"
	"io"
	"path/filepath"
	"strings"
	"text/tabwriter"

	"github.com/spf13/cobra"

	"swellbench/emulator/wire/layout"
)

func newLayout() *cobra.Command {
	cmd := &cobra.Command{
		Use:   "layout",
		Short: "Check a layout file, which describes the messages of a sensor of your own",
		RunE:  func(cmd *cobra.Command, _ []string) error { return cmd.Help() },
	}
	cmd.AddCommand(newLayoutCheck(), newLayoutGuide(), newLayoutExample())
	return cmd
}

func newLayoutCheck() *cobra.Command {
	var asJSON bool
	cmd := &cobra.Command{
		Use:   "check FILE",
		Short: "Show a sample of each message field by field, and what becomes of it when it is read again",
		Long: `Check reads a layout file and shows for a sample reading what each message looks like: where each field is, its
bytes, what it means and says; then what is left of the reading when the message is read again. Exit status 1 where
that is not what was sent, within the resolution; 2 where the file is wrong.`,
		Example: `  swellbench layout example quay-tilt > my-sensor.yaml
  swellbench layout check my-sensor.yaml`,
		Args: cobra.ExactArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			l, err := layout.LoadFile(args[0])
			if err != nil {
				return err
			}
			r := layout.Sample()
			sheet, err := l.Sheet(&r)
			if err != nil {
				return fmt.Errorf("%s: the sample reading: %w", filepath.ToSlash(args[0]), err)
			}
			if asJSON {
				enc := json.NewEncoder(cmd.OutOrStdout())
				enc.SetIndent("", "  ")
				err = enc.Encode(sheet)
			} else {
				writeLayout(cmd.OutOrStdout(), sheet)
			}
			for _, m := range sheet.Messages {
				if err == nil && !m.Fits {
					return &statusError{status: exitFailed}
				}
			}
			return err
		},
	}
	cmd.Flags().BoolVar(&asJSON, "json", false, "for programs")
	return cmd
}

func writeLayout(w io.Writer, s layout.Sheet) {
	fmt.Fprintf(w, "Layout %s: %s\n", s.Layout, s.About)
	for _, m := range s.Messages {
		length := fmt.Sprintf("%d bytes", m.Most)
		if m.Least != m.Most {
			length = fmt.Sprintf("%d to %d bytes", m.Least, m.Most)
		}
		fmt.Fprintf(w, "\nMessage %s, %s. A sample:\n", m.Name, length)
		if m.Text != "" {
			fmt.Fprintf(w, "  %s\n", m.Text)
		} else {
			fmt.Fprintf(w, "  %s\n", m.Hex)
		}
		fmt.Fprintln(w)
		t := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
		fmt.Fprintf(t, "  at\tbytes\tfield\tsays\tmeaning\n")
		for _, f := range m.Fields {
			raw := f.Hex
			if f.Text != "" && m.Text != "" {
				raw = f.Text
			}
			says := strings.TrimSpace(f.Value + " " + f.Unit)
			if f.Note == "not known" {
				says = f.Note
			}
			fmt.Fprintf(t, "  %d\t%s\t%s\t%s\t%s\n", f.Offset, raw, f.Name, says, f.Meaning)
		}
		t.Flush()
		fmt.Fprintf(w, "\n  Read again:\n")
		t = tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
		fmt.Fprintf(t, "  quantity\tsent\tread\toff by\tallowed\n")
		for _, x := range m.Trips {
			form := "%.9g"
			if x.Quantity == "time" { // since 1970
				form = "%.6f"
			}
			read := fmt.Sprintf(form, x.Read)
			if !x.Known {
				read = "not known"
			}
			word := ""
			if !x.Fits {
				word = "DOES NOT FIT"
			}
			fmt.Fprintf(t, "  %s\t%s %s\t%s\t%.2g\t%.2g\t%s\n", x.Quantity, fmt.Sprintf(form, x.Sent), x.Unit, read, x.Off, x.Half, word)
		}
		t.Flush()
		switch {
		case len(m.Silent) > 0:
			fmt.Fprintf(w, "\n  While %s is not known, nothing is sent.\n", strings.Join(m.Silent, " or "))
		case m.Unknown != "":
			fmt.Fprintf(w, "\n  If nothing is known: %s\n", m.Unknown)
		}
		for _, x := range m.Warnings {
			fmt.Fprintf(w, "  Note: %s.\n", x)
		}
	}
	if len(s.Requests) > 0 {
		fmt.Fprintf(w, "\nRequests\n")
		for _, r := range s.Requests {
			fmt.Fprintf(w, "  %s: %s\n", r.Name, r.Brings)
		}
	}
}

func newLayoutGuide() *cobra.Command {
	return &cobra.Command{Use: "guide", Short: "Print how to write a layout file", Args: cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			_, err := io.WriteString(cmd.OutOrStdout(), layout.Guide)
			return err
		}}
}

func newLayoutExample() *cobra.Command {
	return &cobra.Command{Use: "example [" + strings.Join(layout.ExampleNames(), "|") + "]", Short: "Print an example of a layout file, to begin with",
		Args: cobra.MatchAll(cobra.ExactArgs(1), cobra.OnlyValidArgs), ValidArgs: layout.ExampleNames(),
		RunE: func(cmd *cobra.Command, args []string) error {
			b, err := layout.Examples.ReadFile("examples/" + args[0] + ".yaml")
			if err != nil {
				return err
			}
			_, err = cmd.OutOrStdout().Write(b)
			return err
		}}
}
