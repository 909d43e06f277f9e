package schema

import (
	"bytes"
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"io/fs"
	"math"
	"os"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/goccy/go-yaml"

	"swellbench/scenarios/library"
)

var update = flag.Bool("update", false, "write the schemas anew")

func TestCurrent(t *testing.T) {
	for _, k := range Kinds {
		want, err := k.Generate()
		if err != nil {
			t.Fatal(err)
		}
		if *update {
			if err := os.WriteFile(k.File(), want, 0o666); err != nil {
				t.Fatal(err)
			}
		}
		got, err := os.ReadFile(k.File())
		if err != nil {
			t.Fatal(err)
		}
		if !bytes.Equal(got, want) {
			t.Errorf("%s is not current; run go generate ./scenarios/schema", k.File())
		}
	}
}

// schemaOf reads the schema of a kind.
func schemaOf(t *testing.T, name string) map[string]any {
	t.Helper()
	for _, k := range Kinds {
		if k.Name == name {
			b, err := k.Generate()
			if err != nil {
				t.Fatal(err)
			}
			var s map[string]any
			if err := json.Unmarshal(b, &s); err != nil {
				t.Fatal(err)
			}
			return s
		}
	}
	t.Fatalf("no kind %s", name)
	return nil
}

// Every key of every mapping says what it is for.
func TestEveryKeyIsDescribed(t *testing.T) {
	for _, k := range Kinds {
		var walk func(at string, v any)
		walk = func(at string, v any) {
			m, ok := v.(map[string]any)
			if !ok {
				return
			}
			if properties, ok := m["properties"].(map[string]any); ok {
				for key, p := range properties {
					if described, _ := p.(map[string]any); described["description"] == nil {
						t.Errorf("%s: %s.%s has no description; give its field a doc tag", k.Name, at, key)
					}
				}
			}
			for key, x := range m {
				walk(at+"."+key, x)
				if list, ok := x.([]any); ok {
					for _, y := range list {
						walk(at+"."+key, y)
					}
				}
			}
		}
		walk("", schemaOf(t, k.Name))
	}
}

// What the schemas say about the library and about wrong files. The validator is worth having because it is not the
// loader: it knows nothing but the schema.
func TestSchemasAgainstFiles(t *testing.T) {
	read := func(name string) string {
		b, err := fs.ReadFile(library.FS, name)
		if err != nil {
			t.Fatal(err)
		}
		return string(b)
	}
	scenario, fitting := validator{schemaOf(t, "scenario")}, validator{schemaOf(t, "installation")}
	for _, name := range library.Names() {
		if err := scenario.yaml(read(name + ".yaml")); err != nil {
			t.Errorf("%s: %v", name, err)
		}
	}
	for _, name := range []string{"launch-raw", "launch-entered"} {
		if err := fitting.yaml(read("installations/" + name + ".yaml")); err != nil {
			t.Errorf("%s: %v", name, err)
		}
	}
	for _, c := range []struct{ old, new string }{
		{"duration:", "durations:"},
		{"60 s", "60"},
		{"60 s", "60 kn"},
		{"6.4 kn", "6.4 m"},
		{"heave: [", "heave: 3 m #"},
		{"fix: rtk-fixed", "fix: rtk"},
		{"satellites: 17", "satellites: many"},
		{"baud: 38400", "baud: fast"},
		{"format: nmea0183", "parity: none"},
		{"start: now", "start: 2026-06-01T12:00:00+02:00"},
		{"start: now", "start: tomorrow"},
		{"seed: 1", "seed: -1"},
		{"about: rotation-centre", "turn: {rate: 2 deg}"},
	} {
		text := read("harbour-swell.yaml")
		bad := strings.Replace(text, c.old, c.new, 1)
		if bad == text {
			t.Fatalf("%q is not in harbour-swell", c.old)
		}
		if scenario.yaml(bad) == nil {
			t.Errorf("the schema takes %q in place of %q", c.new, c.old)
		}
	}
}

// A validator is as much of JSON Schema, draft 2020-12, as the schemas here use; a keyword it does not know is an error.
type validator struct{ root map[string]any }

func (v validator) yaml(text string) error {
	var value any
	if err := yaml.Unmarshal([]byte(text), &value); err != nil {
		return err
	}
	return v.check("", v.root, value)
}

func (v validator) check(at string, schema map[string]any, value any) error {
	properties, _ := schema["properties"].(map[string]any)
	object, _ := value.(map[string]any)
	for keyword, arg := range schema {
		ok := true
		switch keyword {
		case "$schema", "$defs", "title", "description", "examples", "properties":
		case "$ref":
			defs := v.root["$defs"].(map[string]any)
			if err := v.check(at, defs[strings.TrimPrefix(arg.(string), "#/$defs/")].(map[string]any), value); err != nil {
				return err
			}
		case "anyOf":
			var errs []error
			for _, s := range arg.([]any) {
				errs = append(errs, v.check(at, s.(map[string]any), value))
			}
			if !slices.Contains(errs, nil) {
				return errors.Join(errs...)
			}
		case "type":
			switch arg {
			case "object":
				ok = object != nil
			case "array":
				_, ok = value.([]any)
			case "boolean":
				_, ok = value.(bool)
			case "string":
				_, ok = value.(string)
			case "number":
				_, ok = number(value)
			case "integer":
				x, is := number(value)
				ok = is && x == math.Trunc(x)
			default:
				return fmt.Errorf("%s: type %v is not known", at, arg)
			}
		case "enum":
			ok = slices.Contains(arg.([]any), value)
		case "pattern":
			s, is := value.(string)
			ok = !is || regexp.MustCompile(arg.(string)).MatchString(s)
		case "minLength":
			s, is := value.(string)
			ok = !is || float64(len(s)) >= arg.(float64)
		case "minimum":
			x, is := number(value)
			ok = !is || x >= arg.(float64)
		case "maximum":
			x, is := number(value)
			ok = !is || x <= arg.(float64)
		case "minItems", "maxItems":
			list, is := value.([]any)
			ok = !is || (keyword == "minItems") == (float64(len(list)) > arg.(float64)) || float64(len(list)) == arg.(float64)
		case "items":
			list, _ := value.([]any)
			for i, x := range list {
				if err := v.check(fmt.Sprintf("%s[%d]", at, i), arg.(map[string]any), x); err != nil {
					return err
				}
			}
		case "required":
			for _, key := range arg.([]any) {
				if _, has := object[key.(string)]; object != nil && !has {
					return fmt.Errorf("%s lacks %v", at, key)
				}
			}
		case "additionalProperties":
			for key, x := range object {
				s, known := properties[key].(map[string]any)
				if !known {
					if s, known = arg.(map[string]any); !known {
						return fmt.Errorf("%s.%s is not allowed", at, key)
					}
				}
				if err := v.check(at+"."+key, s, x); err != nil {
					return err
				}
			}
		default:
			return fmt.Errorf("%s: the keyword %s is not known", at, keyword)
		}
		if !ok {
			return fmt.Errorf("%s is %v, against %s %v", at, value, keyword, arg)
		}
	}
	return nil
}

func number(v any) (float64, bool) {
	switch x := v.(type) {
	case float64:
		return x, true
	case int64:
		return float64(x), true
	case uint64:
		return float64(x), true
	}
	return 0, false
}
