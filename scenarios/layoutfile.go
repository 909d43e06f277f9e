package scenarios

import (
	"fmt"
	"io/fs"
	"path"
	"strings"

	"swellbench/scenarios/strictyaml"
)

// FormatLayout is the format of streams whose messages a layout file describes.
const FormatLayout = "layout"

// A LayoutFile is the layout file of a stream, where the scenario found it. What it says is package layout's matter.
type LayoutFile struct {
	FS   fs.FS // nil if the scenario came without a folder
	Name string
}

// readLayouts finds the layout files of the streams, beside the scenario or below.
func (s *Scenario) readLayouts(fsys fs.FS, name string) (ps []strictyaml.Problem) {
	for i := range s.Streams {
		st := &s.Streams[i]
		if st.Layout == "" {
			continue
		}
		at := fmt.Sprintf("streams[%d].layout", i)
		full := path.Join(path.Dir(name), st.Layout)
		if strings.Contains(st.Layout, `\`) || path.IsAbs(st.Layout) || !fs.ValidPath(full) {
			ps = append(ps, strictyaml.Problem{Path: at, Text: fmt.Sprintf("the layout is %s; allowed: a file in the same folder or below", strictyaml.Quote(st.Layout))})
			continue
		}
		if info, err := fs.Stat(fsys, full); err != nil || !info.Mode().IsRegular() {
			why := "it is no file"
			if err != nil {
				why = "there is no such file"
			}
			ps = append(ps, strictyaml.Problem{Path: at, Text: fmt.Sprintf("the layout %s cannot be read: %s; name a layout file, relative to this one", strictyaml.Quote(st.Layout), why)})
			continue
		}
		st.LayoutFile = LayoutFile{fsys, full}
	}
	return ps
}

func (st Stream) validateLayout(ps *problems, at string) {
	switch {
	case st.Uses(FormatLayout) && st.Layout == "":
		ps.add(at, "format is layout, but there is no layout; add layout: with the name of the file that describes the messages")
	case !st.Uses(FormatLayout) && st.Layout != "":
		ps.add(at+".layout", "layout means nothing with format %s; leave it out, or let format be layout", strictyaml.Quote(st.Format))
	}
}
