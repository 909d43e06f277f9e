// Package strictyaml reads YAML into Go types and accepts nothing it does not understand.
//
// Everything wrong in a file is reported at once, sorted, each with file, line and column, what was found and what is
// allowed: unknown and duplicate keys, missing keys, wrong kinds, wrong units, words outside an enumeration.
//
// Fields carry the tag `yaml:"name"` or `yaml:"name,required"`, an embedded struct `yaml:",inline"`, and `yaml:"-"`
// what no file may set; a `doc:"..."` tag becomes the description in the JSON Schema. Fields may be structs,
// pointers, slices, arrays, maps with string keys, strings, bools, whole and floating numbers, [time.Time], and any
// type that reads itself: from text as an [encoding.TextUnmarshaler] (the quantities of package units do), from
// anything as a [Decoder]. What v held before stays where the file says nothing; an explicit null says nothing.
//
// In place of any mapping or list, {file: other.yaml} pulls that part in from another file, named relative to the
// one that asks, and never outside the file system given to [Decode].
//
// Files are untrusted: size, depth, number of parts and of included files are bounded, anchors, aliases, tags and
// several documents in one file are refused, and no input causes a panic.
//
// Read decode.go first. To add a kind of value, give its type UnmarshalText and SchemaPattern, or DecodeYAML and
// SchemaOneOf; nothing changes here.
package strictyaml
