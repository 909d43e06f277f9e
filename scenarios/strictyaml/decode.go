package strictyaml

import (
	"encoding"
	"errors"
	"fmt"
	"io/fs"
	"math"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"strconv"
	"strings"
)

// Decode reads the file called name in fsys, and those it pulls in, into v, a non-nil pointer.
//
// Errors: all that is wrong in the files, joined, each an [*Error]; anything else is a mistake in the type of v. The
// Doc is there even then, to locate further problems in what could be read. After an error v holds what could be read.
func Decode(fsys fs.FS, name string, v any) (*Doc, error) {
	shown := func(name string) string { return name }
	data, e := readFile(fsys.Open, name)
	if e != nil {
		e.File, e.Allowed = shown(name), nameIt
		return nil, e
	}
	l := &loader{fsys: fsys, shown: shown, tokens: maxTokens}
	return l.decode(name, data, v)
}

// DecodeFile reads a file of the operating system. What it pulls in must lie in its folder or below.
func DecodeFile(path string, v any) (*Doc, error) {
	// The file itself may be a link to elsewhere, or a pipe: the user named it. What it pulls in may not.
	data, e := readFile(os.Open, path)
	if e != nil {
		e.File, e.Allowed = path, nameIt
		return nil, e
	}
	folder, name := filepath.Split(path)
	shown := func(name string) string { return folder + filepath.FromSlash(name) }
	root, err := os.OpenRoot(filepath.Clean(folder))
	if err != nil {
		return nil, &Error{File: path, Found: reason(err), Allowed: nameIt, err: err}
	}
	defer root.Close()
	l := &loader{fsys: root.FS(), shown: shown, tokens: maxTokens}
	return l.decode(name, data, v)
}

// DecodeBytes reads data. It cannot pull in files; errors call it by name.
func DecodeBytes(name string, data []byte, v any) (*Doc, error) {
	l := &loader{shown: func(name string) string { return name }, tokens: maxTokens}
	return l.decode(name, data, v)
}

const nameIt = "name a file that can be read"

// A decoder holds nodes against a Go value and gathers what does not fit.
type decoder struct {
	load *loader
	errs []*Error
	bad  error // a mistake in a type
}

// result is all that was wrong.
func (d *decoder) result() error {
	if d.bad != nil {
		return d.bad
	}
	return join(d.errs, d.load.files)
}

// target is the variable that v points to, of a type that a file can be read into.
func target(v any) (reflect.Value, error) {
	p := reflect.ValueOf(v)
	if p.Kind() != reflect.Pointer || p.IsNil() {
		return p, fmt.Errorf("strictyaml: decode into %T; give a pointer to a variable", v)
	}
	return p.Elem(), check(p.Type().Elem(), map[reflect.Type]bool{})
}

// decode reads the data of the file called name and all that it pulls in.
func (l *loader) decode(name string, data []byte, v any) (*Doc, error) {
	p, err := target(v)
	if err != nil {
		return nil, err
	}
	d := &decoder{load: l}
	doc := &Doc{file: l.shown(name), load: l}
	root := l.parse(name, data, d)
	if root == nil {
		return doc, d.result()
	}
	e := &entry{file: root.file, line: root.line, col: root.col, value: root}
	if root.kind == Null {
		d.fail(e.at(), "", "the file is empty", "allowed: "+wanted(p.Type()))
		return doc, d.result()
	}
	doc.root = e
	l.stack = append(l.stack, name)
	d.decode(e, p, "")
	return doc, d.result()
}

func (d *decoder) fail(at position, path, found, allowed string) {
	d.errs = append(d.errs, &Error{File: at.file, Line: at.line, Col: at.col, Path: path, Found: found, Allowed: allowed})
}

// take adds the errors that a type which reads itself has returned.
func (d *decoder) take(err error, at position, path string) {
	for _, err := range flatten(err) {
		if e := (*Error)(nil); errors.As(err, &e) {
			d.errs = append(d.errs, e)
			continue
		}
		d.fail(at, path, label(path)+": "+err.Error(), "")
	}
}

// label is how an error calls a part: by its last key, with the numbers in lists.
func label(path string) string {
	name := ""
	for path != "" {
		var key string
		var index bool
		switch key, index, path = cut(path); {
		case index:
			name += "[" + key + "]"
		default:
			name = Quote(key)
		}
	}
	if name == "" {
		return "the file"
	}
	return name
}

// decode reads e.value, which is not null, into v. Where it stands for another file, e.value becomes what is there.
func (d *decoder) decode(e *entry, v reflect.Value, path string) {
	for v.Kind() == reflect.Pointer {
		v.Set(reflect.New(v.Type().Elem()))
		v = v.Elem()
	}
	t := v.Type()
	if d.pulls(e.value, t) {
		back, ok := d.load.include(e, d, path)
		if !ok {
			return
		}
		defer back()
	}
	n, at := e.value, e.at()
	switch {
	case does(t, decoderType):
		err := v.Addr().Interface().(Decoder).DecodeYAML(Node{e, d, path})
		d.take(err, at, path)
	case t == timeType || does(t, textType):
		d.text(n, v, at, path)
	default:
		switch t.Kind() {
		case reflect.Struct:
			d.structure(n, v, at, path)
		case reflect.Map:
			d.mapping(n, v, at, path)
		case reflect.Slice, reflect.Array:
			d.list(n, v, at, path)
		default:
			d.scalar(n, v, at, path)
		}
	}
}

// wrong reports that the part is of another kind than the type wants.
func (d *decoder) wrong(n *node, t reflect.Type, at position, path string) {
	d.fail(at, path, label(path)+" is "+n.describe(), "allowed: "+wanted(t))
}

// describe says what stands there, as in "the number 1.5".
func (n *node) describe() string {
	switch n.kind {
	case String, Int, Float:
		return "the " + strings.TrimPrefix(n.kind.String(), "a ") + " " + Quote(n.text)
	case Bool:
		return n.text
	}
	return n.kind.String()
}

// structure reads a mapping into a struct.
func (d *decoder) structure(n *node, v reflect.Value, at position, path string) {
	all, err := fields(v.Type())
	if err != nil {
		d.bad = err
		return
	}
	if n.kind != Mapping {
		d.wrong(n, v.Type(), at, path)
		return
	}
	var names, missing, samples []string
	for _, f := range all {
		names = append(names, f.name)
		if e := n.get(f.name); f.required && (e == nil || e.value.kind == Null) {
			missing = append(missing, f.name)
			samples = append(samples, f.name+": ("+wanted(f.typ)+")")
		}
	}
	if len(missing) > 0 {
		d.fail(at, path, label(path)+" lacks "+strings.Join(missing, ", "), "add "+strings.Join(samples, " and "))
	}
	for i := range n.entries {
		e := &n.entries[i]
		at := slices.Index(names, e.key)
		if at < 0 {
			d.fail(position{e.file, e.line, e.col}, JoinPath(path, e.key), "the key "+Quote(e.key)+" is not known here", Allowed(e.key, names))
			continue
		}
		if e.value.kind != Null {
			d.decode(e, v.FieldByIndex(all[at].index), JoinPath(path, e.key))
		}
	}
}

// mapping reads a mapping into a map with string keys.
func (d *decoder) mapping(n *node, v reflect.Value, at position, path string) {
	if n.kind != Mapping {
		d.wrong(n, v.Type(), at, path)
		return
	}
	m := reflect.MakeMapWithSize(v.Type(), len(n.entries))
	for i := range n.entries {
		e := &n.entries[i]
		if e.value.kind == Null {
			continue
		}
		item := reflect.New(v.Type().Elem()).Elem()
		d.decode(e, item, JoinPath(path, e.key))
		m.SetMapIndex(reflect.ValueOf(e.key).Convert(v.Type().Key()), item)
	}
	v.Set(m)
}

// list reads a list into a slice or an array.
func (d *decoder) list(n *node, v reflect.Value, at position, path string) {
	if n.kind != Sequence {
		d.wrong(n, v.Type(), at, path)
		return
	}
	if v.Kind() == reflect.Slice {
		v.Set(reflect.MakeSlice(v.Type(), len(n.entries), len(n.entries)))
	} else if len(n.entries) != v.Len() {
		d.fail(at, path, fmt.Sprintf("%s has %d entries", label(path), len(n.entries)), "allowed: "+wanted(v.Type()))
		return
	}
	for i := range n.entries {
		e, path := &n.entries[i], fmt.Sprintf("%s[%d]", path, i)
		if e.value.kind == Null {
			d.fail(e.at(), path, label(path)+" is empty", "allowed: "+wanted(v.Type().Elem()))
			continue
		}
		d.decode(e, v.Index(i), path)
	}
}

// text reads a scalar into an instant or a type that reads itself from text.
func (d *decoder) text(n *node, v reflect.Value, at position, path string) {
	if n.kind >= Sequence {
		d.wrong(n, v.Type(), at, path)
		return
	}
	var err error
	if v.Type() == timeType {
		t, e := parseTime(n.text)
		if err = e; err == nil {
			v.Set(reflect.ValueOf(t))
		}
	} else {
		err = v.Addr().Interface().(encoding.TextUnmarshaler).UnmarshalText([]byte(n.text))
	}
	if err != nil {
		d.fail(at, path, label(path)+": "+err.Error(), "")
	}
}

// scalar reads text, a number or a truth value.
func (d *decoder) scalar(n *node, v reflect.Value, at position, path string) {
	t := v.Type()
	switch {
	case t.Kind() == reflect.String && n.kind == String:
		if does(t, enumType) {
			if words := as[Enumerated](t).SchemaEnum(); !slices.Contains(words, n.text) {
				d.fail(at, path, label(path)+" is "+Quote(n.text), Allowed(n.text, words))
				return
			}
		}
		v.SetString(n.text)
	case t.Kind() == reflect.String && n.kind < Sequence && !does(t, enumType):
		d.fail(at, path, label(path)+" is "+n.describe(), "allowed: text; if it is meant as text, put it in quotes")
	case t.Kind() == reflect.Bool && n.kind == Bool:
		v.SetBool(n.text[0] == 't' || n.text[0] == 'T')
	case v.CanFloat() && (n.kind == Int || n.kind == Float):
		f, err := parseFloat(n.text)
		if err != nil || math.IsInf(f, 0) || math.IsNaN(f) || v.OverflowFloat(f) {
			d.fail(at, path, label(path)+" is "+Quote(n.text), "allowed: a number that is neither infinite nor too large")
			return
		}
		v.SetFloat(f)
	case (v.CanInt() || v.CanUint()) && n.kind == Int:
		if !setInt(v, n.text) {
			d.fail(at, path, label(path)+" is "+Quote(n.text), "allowed: "+intRange(t))
		}
	default:
		d.wrong(n, t, at, path)
	}
}

// parseFloat reads a plain number of YAML.
func parseFloat(s string) (float64, error) {
	if len(s) > 1 && s[0] == '0' && (s[1] == 'x' || s[1] == 'o') {
		m, _, err := parseInt(s)
		return float64(m), err
	}
	return strconv.ParseFloat(s, 64)
}
