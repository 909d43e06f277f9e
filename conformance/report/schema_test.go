package report

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"os"
	"slices"
	"strings"
	"testing"

	"github.com/invopop/jsonschema"
)

// TestSchema sees that the JSON Schema of verdicts is that of [Document]; go test -update rewrites it.
func TestSchema(t *testing.T) {
	r := jsonschema.Reflector{Anonymous: true, AllowAdditionalProperties: true} // fields may be added within a version
	s := r.Reflect(&Document{})
	s.Title = "Swellbench verdict"
	got, err := json.MarshalIndent(s, "", "  ")
	if err != nil {
		t.Fatal(err)
	}
	got = append(got, '\n')
	const path = "schema/verdict.json"
	if *update {
		if err := os.WriteFile(path, got, 0o666); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(got, want) {
		t.Errorf("%s is not that of the types; go test -update rewrites it", path)
	}
}

// TestSchemaHolds sees that what JSON writes is what the schema describes.
func TestSchemaHolds(t *testing.T) {
	raw, err := os.ReadFile("schema/verdict.json")
	if err != nil {
		t.Fatal(err)
	}
	var root map[string]any
	if err := json.Unmarshal(raw, &root); err != nil {
		t.Fatal(err)
	}
	read := func(b []byte) (v any) {
		if err := json.Unmarshal(b, &v); err != nil {
			t.Fatal(err)
		}
		return v
	}
	for name, verdict := range verdicts {
		var b bytes.Buffer
		if err := JSON(&b, verdict()); err != nil {
			t.Fatal(err)
		}
		if err := holds(root, root, read(b.Bytes()), "verdict"); err != nil {
			t.Errorf("%s: %v", name, err)
		}
	}
	if err := holds(root, root, read([]byte(`{"format":"swellbench verdict","version":"one"}`)), "verdict"); err == nil {
		t.Error("a version that is text is accepted; this test cannot fail")
	}
}

// holds tells whether v is as the schema s says, as far as the words go that our schema uses.
func holds(root, s map[string]any, v any, at string) error {
	if ref, ok := s["$ref"].(string); ok {
		def, ok := root["$defs"].(map[string]any)[strings.TrimPrefix(ref, "#/$defs/")].(map[string]any)
		if !ok {
			return fmt.Errorf("%s: no definition %s", at, ref)
		}
		return holds(root, def, v, at)
	}
	if all, ok := s["oneOf"].([]any); ok {
		var errs []error
		for _, one := range all {
			errs = append(errs, holds(root, one.(map[string]any), v, at))
		}
		if n := len(slices.DeleteFunc(slices.Clone(errs), func(e error) bool { return e != nil })); n != 1 {
			return fmt.Errorf("%s: %d of %d forms fit: %w", at, n, len(all), errors.Join(errs...))
		}
		return nil
	}
	is := "null"
	switch v := v.(type) {
	case map[string]any:
		is = "object"
		props, _ := s["properties"].(map[string]any)
		for key, sub := range v {
			p, ok := props[key].(map[string]any)
			if !ok {
				return fmt.Errorf("%s.%s is not in the schema", at, key)
			}
			if err := holds(root, p, sub, at+"."+key); err != nil {
				return err
			}
		}
		required, _ := s["required"].([]any)
		for _, key := range required {
			if _, ok := v[key.(string)]; !ok {
				return fmt.Errorf("%s has no %s", at, key)
			}
		}
	case []any:
		is = "array"
		for i, sub := range v {
			if err := holds(root, s["items"].(map[string]any), sub, fmt.Sprintf("%s[%d]", at, i)); err != nil {
				return err
			}
		}
	case string:
		is = "string"
	case bool:
		is = "boolean"
	case float64:
		is = "number"
		if s["type"] == "integer" && v == math.Trunc(v) {
			is = "integer"
		}
	}
	if s["type"] != is {
		return fmt.Errorf("%s is %s, the schema says %v", at, is, s["type"])
	}
	return nil
}
