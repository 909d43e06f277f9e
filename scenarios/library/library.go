// Package library is the ready-made scenarios: one YAML file each, built into the program.
//
// To add one: write NAME.yaml here, with an `about` that says what it brings to light. It should be short, most under
// a minute, so that it can run at every push, and its geometry should have no blind spots: lever arms with three
// different components, headings off the multiples of 90°, a mounting that is not roll alone, latitude, longitude,
// undulation and variation away from zero, unless that is the point. Places and vessels are invented. Installations
// that several scenarios share lie in installations/ and are pulled in with {file: installations/NAME.yaml}; routes,
// almanacs and tables of responses lie in files/.
package library

import (
	"embed"
	"fmt"
	"io/fs"
	"slices"
	"strings"

	"swellbench/scenarios"
)

// FS holds the files: NAME.yaml is the scenario NAME.
//
//go:embed *.yaml installations/*.yaml files/*
var FS embed.FS

const ending = ".yaml"

// Names lists the scenarios in alphabetical order.
func Names() []string {
	entries, err := FS.ReadDir(".")
	if err != nil {
		panic("library: " + err.Error()) // the files are built in
	}
	var names []string
	for _, e := range entries {
		if name, ok := strings.CutSuffix(e.Name(), ending); ok && !e.IsDir() {
			names = append(names, name)
		}
	}
	slices.Sort(names) // the files are not in this order: a hyphen comes before the dot of the ending
	return names
}

// Open loads the scenario of that name. Where there is none the error is an [fs.ErrNotExist] and lists the names.
func Open(name string) (*scenarios.Scenario, error) {
	for _, n := range Names() {
		if n == name {
			return scenarios.LoadFS(FS, name+ending)
		}
	}
	return nil, fmt.Errorf("no ready-made scenario is called %q, allowed: %s: %w", name, strings.Join(Names(), ", "), fs.ErrNotExist)
}
