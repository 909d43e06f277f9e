// Package suites holds the ready-made suites, one YAML file each, and the JSON Schema of suite files.
//
// Each suite says in `about` what it is for, each case what it brings to light. To add a suite: one file here; to add a
// case: one entry in the file. The keys are those of swellbench/conformance's suite.go, a case's scenario is that of a
// scenario file.
package suites

import (
	"embed"
	"io/fs"
	"strings"
)

// FS holds the suites, and the layout files that their cases name.
//
//go:embed *.yaml layouts
var FS embed.FS

// Names lists the ready-made suites, in order of their names.
func Names() []string {
	files, _ := fs.Glob(FS, "*.yaml") // the pattern is good
	names := make([]string, len(files))
	for i, f := range files {
		names[i] = strings.TrimSuffix(f, ".yaml")
	}
	return names
}
