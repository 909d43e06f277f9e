package layout

import (
	"bytes"
	"os"
	"testing"

	"swellbench/scenarios/strictyaml"
)

// The schema is generated from the types: go test ./emulator/wire/layout -update.
func TestSchemaIsCurrent(t *testing.T) {
	want, err := strictyaml.Schema(File{}, "Swellbench layout")
	if err != nil {
		t.Fatal(err)
	}
	const name = "schema/layout.schema.json"
	if *update {
		if err := os.WriteFile(name, want, 0o666); err != nil {
			t.Fatal(err)
		}
	}
	got, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(got, want) {
		t.Errorf("%s is not current; run go test ./emulator/wire/layout -update", name)
	}
}
