// Package schema holds the JSON Schemas of the files that people write, for editors to complete and check while they
// type. They are generated from the Go types; a test fails where one is not current.
//
// To add a file kind: a row in [Kinds], then go generate ./scenarios/schema. A YAML file names its schema in a first
// line such as
//
//	# yaml-language-server: $schema=../schema/scenario.schema.json
package schema

import (
	"fmt"

	"swellbench/scenarios"
	"swellbench/scenarios/installation"
	"swellbench/scenarios/strictyaml"
)

//go:generate go test -run TestCurrent -update .

// A Kind is a kind of file.
type Kind struct {
	Name  string // NAME.schema.json is its schema
	Title string
	Value any // of the type that is read
}

// Kinds is the table of file kinds.
var Kinds = []Kind{
	{"installation", "Swellbench installation", installation.Installation{}},
	{"scenario", "Swellbench scenario", scenarios.Scenario{}},
}

// File is the name of the schema's file.
func (k Kind) File() string { return k.Name + ".schema.json" }

// Generate writes the schema.
func (k Kind) Generate() ([]byte, error) {
	b, err := strictyaml.Schema(k.Value, k.Title)
	if err != nil {
		return nil, fmt.Errorf("schema of %s files: %w", k.Name, err)
	}
	return b, nil
}
