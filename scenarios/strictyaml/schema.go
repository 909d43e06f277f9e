package strictyaml

import (
	"bytes"
	"encoding/json"
	"fmt"
	"path"
	"reflect"
	"strings"
)

// Schema writes the JSON Schema (draft 2020-12) of files that [Decode] reads into the type of v, so that editors
// complete and check while a person types. The same type gives the same bytes.
//
// What the schema allows, Decode reads, as far as a schema can tell: it knows no other files, no repeated keys, and
// not what a validator adds. Decode also takes an explicit null for an absent key, which the schema does not suggest.
func Schema(v any, title string) ([]byte, error) {
	t := reflect.TypeOf(v)
	for t != nil && t.Kind() == reflect.Pointer {
		t = t.Elem()
	}
	if t == nil {
		return nil, fmt.Errorf("strictyaml: schema of nil; give a value of the type")
	}
	if err := check(t, map[reflect.Type]bool{}); err != nil {
		return nil, err
	}
	s := schemer{types: map[string]reflect.Type{}, defs: map[string]object{}}
	root, err := s.of(t)
	if err != nil {
		return nil, err
	}
	s.defs["file"] = object{
		{"type", "object"},
		{"description", "pulls this part in from another file"},
		{"properties", object{{"file", object{{"type", "string"}, {"minLength", 1}, {"description", "name of a YAML file, relative to this one"}}}}},
		{"required", []string{"file"}},
		{"additionalProperties", false},
	}
	all := object{{"$schema", "https://json-schema.org/draft/2020-12/schema"}, {"title", title}}
	all = append(all, root...)
	all = append(all, member{"$defs", s.defs})
	raw, err := json.Marshal(all)
	if err != nil {
		return nil, err
	}
	var out bytes.Buffer
	if err := json.Indent(&out, raw, "", "  "); err != nil {
		return nil, err
	}
	out.WriteByte('\n')
	return out.Bytes(), nil
}

// An object is a JSON object that keeps the order of its members.
type object []member

type member struct {
	name  string
	value any
}

// MarshalJSON writes the members in their order.
func (o object) MarshalJSON() ([]byte, error) {
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	b.WriteByte('{')
	for i, m := range o {
		if i > 0 {
			b.WriteByte(',')
		}
		if err := e.Encode(m.name); err != nil {
			return nil, err
		}
		b.WriteByte(':')
		if err := e.Encode(m.value); err != nil {
			return nil, err
		}
	}
	b.WriteByte('}')
	return b.Bytes(), nil
}

// A schemer gathers the definitions of the structs that a schema refers to.
type schemer struct {
	types map[string]reflect.Type
	defs  map[string]object
}

// of is the schema of one type.
func (s *schemer) of(t reflect.Type) (object, error) {
	for t.Kind() == reflect.Pointer {
		t = t.Elem()
	}
	switch {
	case t == timeType:
		return object{{"type", "string"}, {"format", "date-time"}, {"examples", []string{"2026-06-01T12:00:00Z"}}}, nil
	case does(t, unionType):
		var ways []object
		for _, v := range as[Union](t).SchemaOneOf() {
			way, err := s.of(reflect.TypeOf(v))
			if err != nil {
				return nil, err
			}
			ways = append(ways, way)
		}
		return object{{"anyOf", ways}}, nil
	case does(t, enumType):
		return object{{"type", "string"}, {"enum", as[Enumerated](t).SchemaEnum()}}, nil
	case does(t, patternedType):
		pattern, examples := as[Patterned](t).SchemaPattern()
		return object{{"type", "string"}, {"pattern", pattern}, {"examples", examples}}, nil
	case does(t, textType):
		return object{{"type", "string"}}, nil
	}
	switch t.Kind() {
	case reflect.Struct:
		return s.structure(t)
	case reflect.Map:
		elem, err := s.of(t.Elem())
		return orFile(object{{"type", "object"}, {"additionalProperties", elem}}), err
	case reflect.Slice:
		elem, err := s.of(t.Elem())
		return orFile(object{{"type", "array"}, {"items", elem}}), err
	case reflect.Array:
		elem, err := s.of(t.Elem())
		return orFile(object{{"type", "array"}, {"items", elem}, {"minItems", t.Len()}, {"maxItems", t.Len()}}), err
	case reflect.String:
		return object{{"type", "string"}}, nil
	case reflect.Bool:
		return object{{"type", "boolean"}}, nil
	case reflect.Float32, reflect.Float64:
		return object{{"type", "number"}}, nil
	}
	// Bounds of 64 bits say nothing to editors, many of which count in float64.
	o := object{{"type", "integer"}}
	bits, unsigned := t.Bits(), t.Kind() >= reflect.Uint && t.Kind() <= reflect.Uint64
	switch {
	case unsigned && bits == 64:
		o = append(o, member{"minimum", 0})
	case unsigned:
		o = append(o, member{"minimum", 0}, member{"maximum", uint64(1)<<bits - 1})
	case bits < 64:
		o = append(o, member{"minimum", int64(-1) << (bits - 1)}, member{"maximum", int64(1)<<(bits-1) - 1})
	}
	return o, nil
}

// orFile allows {file: other.yaml} beside what is there.
func orFile(o object) object {
	return object{{"anyOf", []object{o, {{"$ref", "#/$defs/file"}}}}}
}

// structure puts the schema of a struct among the definitions and refers to it.
func (s *schemer) structure(t reflect.Type) (object, error) {
	name := path.Base(t.PkgPath()) + "." + strings.NewReplacer("/", ".", "[", ".", "]", "").Replace(t.Name())
	if t.Name() == "" {
		name = fmt.Sprintf("part%d", len(s.types))
	}
	if other, ok := s.types[name]; ok && other != t {
		return nil, fmt.Errorf("strictyaml: two types are called %s; rename one", name)
	}
	ref := object{{"$ref", "#/$defs/" + name}}
	if s.types[name] == t {
		return ref, nil
	}
	s.types[name] = t
	all, err := fields(t)
	if err != nil {
		return nil, err
	}
	if len(all) == 0 {
		return nil, fmt.Errorf("strictyaml: %s has no keys; a type that reads itself needs SchemaOneOf or SchemaPattern", t)
	}
	properties, required, ownFile := object{}, []string{}, false
	for _, f := range all {
		p, err := s.of(f.typ)
		if err != nil {
			return nil, err
		}
		if f.doc != "" {
			p = append(object{{"description", f.doc}}, p...)
		}
		properties = append(properties, member{f.name, p})
		if f.required {
			required = append(required, f.name)
		}
		ownFile = ownFile || f.name == "file"
	}
	def := object{{"type", "object"}, {"properties", properties}}
	if len(required) > 0 {
		def = append(def, member{"required", required})
	}
	def = append(def, member{"additionalProperties", false})
	if !ownFile {
		def = orFile(def)
	}
	s.defs[name] = def
	return ref, nil
}
