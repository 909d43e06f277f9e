package strictyaml

import (
	"encoding"
	"fmt"
	"reflect"
	"strings"
	"time"
)

// A Decoder reads itself from a part of a file. The errors it returns are told as they are where [Node.Error] made
// them; any other gets the place of the part.
type Decoder interface{ DecodeYAML(Node) error }

// An Enumerated string type lists the words it allows. Decoding refuses others, and the JSON Schema lists them.
type Enumerated interface{ SchemaEnum() []string }

// A Patterned type reads itself from text and describes that text for the JSON Schema.
type Patterned interface {
	SchemaPattern() (pattern string, examples []string)
}

// A Union reads itself (see [Decoder]) and lists, for the JSON Schema, a value of each type it may be written as.
type Union interface{ SchemaOneOf() []any }

var (
	decoderType    = reflect.TypeFor[Decoder]()
	enumType       = reflect.TypeFor[Enumerated]()
	patternedType  = reflect.TypeFor[Patterned]()
	unionType      = reflect.TypeFor[Union]()
	textType       = reflect.TypeFor[encoding.TextUnmarshaler]()
	timeType       = reflect.TypeFor[time.Time]()
	goDurationType = reflect.TypeFor[time.Duration]()
)

// does tells whether a pointer to t has the methods of the interface.
func does(t reflect.Type, iface reflect.Type) bool { return reflect.PointerTo(t).Implements(iface) }

// as returns a zero value of t seen through the interface, which [does] has found it to have.
func as[T any](t reflect.Type) T { return reflect.New(t).Interface().(T) }

// A field is a key that a struct may have in a file.
type field struct {
	name     string
	doc      string
	required bool
	index    []int
	typ      reflect.Type
}

// fields lists the keys of a struct, in the order of its fields. The error is a mistake in the type.
func fields(t reflect.Type) ([]field, error) {
	var all []field
	for i := range t.NumField() {
		f := t.Field(i)
		tag, tagged := f.Tag.Lookup("yaml")
		name, options, _ := strings.Cut(tag, ",")
		switch {
		case tag == "-" || !f.IsExported() && !tagged:
			continue
		case !f.IsExported() && !f.Anonymous:
			return nil, fmt.Errorf("strictyaml: field %s of %s has a yaml tag but is not exported", f.Name, t)
		case f.Anonymous && options == "inline" && name == "" && f.Type.Kind() == reflect.Struct:
			inner, err := fields(f.Type)
			if err != nil {
				return nil, err
			}
			for _, in := range inner {
				in.index = append([]int{i}, in.index...)
				all = append(all, in)
			}
			continue
		case name == "":
			return nil, fmt.Errorf(`strictyaml: field %s of %s has no name in its tag; write yaml:"name" or yaml:"-"`, f.Name, t)
		case !f.IsExported():
			return nil, fmt.Errorf("strictyaml: field %s of %s has a yaml tag but is not exported", f.Name, t)
		case options != "" && options != "required":
			return nil, fmt.Errorf("strictyaml: field %s of %s has the tag option %q; allowed: required, inline", f.Name, t, options)
		}
		all = append(all, field{name, f.Tag.Get("doc"), options == "required", []int{i}, f.Type})
	}
	seen := map[string]bool{}
	for _, f := range all {
		if seen[f.name] {
			return nil, fmt.Errorf("strictyaml: %s has two fields named %s", t, f.name)
		}
		seen[f.name] = true
	}
	return all, nil
}

// check finds mistakes in a type before a file is held against it.
func check(t reflect.Type, seen map[reflect.Type]bool) error {
	if seen[t] {
		return nil
	}
	seen[t] = true
	if t.Kind() != reflect.Pointer && (t == timeType || does(t, decoderType) || does(t, textType)) {
		return nil
	}
	switch t.Kind() {
	case reflect.Struct:
		all, err := fields(t)
		if err != nil {
			return err
		}
		for _, f := range all {
			if err := check(f.typ, seen); err != nil {
				return err
			}
		}
		return nil
	case reflect.Pointer, reflect.Slice, reflect.Array:
		return check(t.Elem(), seen)
	case reflect.Map:
		if t.Key().Kind() == reflect.String {
			return check(t.Elem(), seen)
		}
	case reflect.String, reflect.Bool, reflect.Float32, reflect.Float64,
		reflect.Int, reflect.Int8, reflect.Int16, reflect.Int32, reflect.Int64,
		reflect.Uint, reflect.Uint8, reflect.Uint16, reflect.Uint32, reflect.Uint64:
		if t != goDurationType {
			return nil
		}
		return fmt.Errorf("strictyaml: %s has no unit in a file; use units.Duration", t)
	}
	return fmt.Errorf("strictyaml: a file cannot be read into %s", t)
}

// wanted describes what a type is written as, for "allowed: ...".
func wanted(t reflect.Type) string {
	for t.Kind() == reflect.Pointer {
		t = t.Elem()
	}
	switch {
	case t == timeType:
		return "an instant such as 2026-06-01T12:00:00Z"
	case does(t, unionType):
		var all []string
		for _, v := range as[Union](t).SchemaOneOf() {
			all = append(all, wanted(reflect.TypeOf(v)))
		}
		return strings.Join(all, ", or ")
	case does(t, patternedType):
		if _, examples := as[Patterned](t).SchemaPattern(); len(examples) > 0 {
			return "a value such as " + examples[0]
		}
		return "text"
	case does(t, enumType):
		return "one of " + strings.Join(as[Enumerated](t).SchemaEnum(), ", ")
	case does(t, textType):
		return "text"
	}
	switch t.Kind() {
	case reflect.Struct:
		all, err := fields(t)
		if err != nil || len(all) == 0 {
			return "a mapping"
		}
		var names []string
		for _, f := range all {
			names = append(names, f.name)
		}
		return "a mapping with the keys " + strings.Join(names, ", ")
	case reflect.Map:
		return "a mapping of names"
	case reflect.Slice:
		return "a list"
	case reflect.Array:
		return fmt.Sprintf("a list of %d", t.Len())
	case reflect.String:
		return "text"
	case reflect.Bool:
		return "true or false"
	case reflect.Float32, reflect.Float64:
		return "a number"
	}
	return "a whole number"
}
