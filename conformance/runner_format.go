package conformance

import (
	"fmt"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strings"

	"swellbench/emulator"
	"swellbench/emulator/wire/layout"
	"swellbench/scenarios"
)

// formatWord is what a program is told of the format of a stream: all of them where several are mixed.
func formatWord(st scenarios.Stream) string { return strings.Join(st.Formats(), "+") }

// formatsOf are the formats of all streams of a case, each once.
func (c *Case) formatsOf() (all []string) {
	for _, st := range c.Scenario.Streams {
		for _, f := range st.Formats() {
			if !slices.Contains(all, f) {
				all = append(all, f)
			}
		}
	}
	return all
}

// skips is why a case does not apply to the program as a whole; "" if it does. Nobody has to know that a ready-made suite
// has cases in other formats than the usual one: those are for programs of which it is said that they take them.
func (o *Options) skips(c *Case) string {
	if why := o.Profile.skips(c); why != "" {
		return why
	}
	if o.Profile != nil && len(o.Profile.Formats) > 0 {
		return ""
	}
	for _, f := range c.formatsOf() {
		switch {
		case len(o.Formats) > 0 && !slices.Contains(o.Formats, f):
			return fmt.Sprintf("the program does not take %s: the formats asked for are %s", f, strings.Join(o.Formats, ", "))
		case len(o.Formats) == 0 && o.readyMade && f != "nmea0183":
			return fmt.Sprintf("nobody has said that the program takes %s; say so with --formats, or with formats: in a profile", f)
		}
	}
	return ""
}

// checkFormats finds formats that there are not.
func (o *Options) checkFormats() error {
	for _, f := range o.Formats {
		if !slices.Contains(emulator.Formats(), f) {
			return usagef("there is no format %q; known: %s", f, strings.Join(emulator.Formats(), ", "))
		}
	}
	return nil
}

// layoutCopy writes the layout file of a stream into a new folder and gives its path, "" where the stream has none. What
// the file pulls in is copied with it.
func layoutCopy(st scenarios.Stream, dir string) (string, error) {
	if !st.Uses(scenarios.FormatLayout) || st.LayoutFile.FS == nil {
		return "", nil
	}
	if err := os.Mkdir(dir, 0o700); err != nil {
		return "", err
	}
	from := st.LayoutFile
	copied := func(name string) error {
		b, err := fs.ReadFile(from.FS, name)
		if err != nil {
			return err
		}
		return os.WriteFile(filepath.Join(dir, path.Base(name)), b, 0o600)
	}
	if err := copied(from.Name); err != nil {
		return "", err
	}
	to := filepath.Join(dir, path.Base(from.Name))
	if _, err := layout.LoadFile(to); err == nil {
		return to, nil
	}
	beside, err := fs.Glob(from.FS, path.Join(path.Dir(from.Name), "*"+path.Ext(from.Name)))
	if err != nil {
		return "", err
	}
	for _, name := range beside {
		if err := copied(name); err != nil {
			return "", err
		}
	}
	_, err = layout.LoadFile(to)
	return to, err
}
