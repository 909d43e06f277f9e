package strictyaml

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path"
	"reflect"
	"slices"
	"strings"
)

// The bounds of pulling in: how deep, and how often in one decoding.
const (
	maxIncludeDepth = 8
	maxIncludes     = 64
)

// A loader reads the files of one decoding.
type loader struct {
	fsys   fs.FS // nil where nothing can be pulled in
	shown  func(name string) string
	files  []string // as shown, in the order of their first use
	stack  []string // the files that are being decoded, each pulled in by the one before
	count  int
	tokens int
}

// parse reads one file into nodes, or reports why it cannot and returns nil.
func (l *loader) parse(name string, data []byte, d *decoder) *node {
	shown := l.shown(name)
	if !slices.Contains(l.files, shown) {
		l.files = append(l.files, shown)
	}
	root, errs := parse(shown, path.Dir(name), data, &l.tokens)
	d.errs = append(d.errs, errs...)
	return root
}

// pulls tells whether the part asks for another file: {file: name}, where the type has no key "file" of its own and
// is no scalar.
func (d *decoder) pulls(n *node, t reflect.Type) bool {
	if n.kind != Mapping || n.get("file") == nil {
		return false
	}
	switch {
	case t == timeType || does(t, textType):
		return false
	case t.Kind() == reflect.Struct:
		all, err := fields(t)
		return err != nil || !slices.ContainsFunc(all, func(f field) bool { return f.name == "file" })
	}
	return t.Kind() == reflect.Map || t.Kind() == reflect.Slice || t.Kind() == reflect.Array
}

// include puts what another file holds in the place of {file: name}. Call back when it has been decoded.
func (l *loader) include(e *entry, d *decoder, where string) (back func(), ok bool) {
	key := e.value.get("file")
	at := position{key.value.file, key.value.line, key.value.col}
	name := key.value.text
	fail := func(found, allowed string) (func(), bool) {
		d.fail(at, JoinPath(where, "file"), found, allowed)
		return nil, false
	}
	switch {
	case len(e.value.entries) > 1:
		at = position{key.file, key.line, key.col}
		return fail("the key file pulls in another file, but has other keys beside it", "let it stand alone, and write the other keys into that file")
	case key.value.kind != String || name == "":
		return fail("file is "+key.value.describe(), "write the name of a YAML file, relative to this one")
	case l.fsys == nil:
		return fail("no file can be pulled in here", "write the part out")
	case strings.Contains(name, `\`):
		return fail("file is "+Quote(name), "write / between folders")
	case path.IsAbs(name):
		return fail("file is "+Quote(name), "write the name relative to this file, without a leading /")
	}
	full := path.Join(e.value.dir, name)
	if !fs.ValidPath(full) {
		return fail("file leads out of the folder of "+l.shown(l.stack[0]), "move it there, or below")
	}
	if i := slices.Index(l.stack, full); i >= 0 {
		var ring []string
		for _, s := range l.stack[i:] {
			ring = append(ring, l.shown(s))
		}
		return fail("the files pull each other in without end: "+strings.Join(append(ring, l.shown(full)), " → "), "write one of the parts out")
	}
	if len(l.stack) > maxIncludeDepth {
		return fail(fmt.Sprintf("files pull in files more than %d deep", maxIncludeDepth), "write one of the parts out")
	}
	if l.count++; l.count > maxIncludes+1 {
		return nil, false // it has been told once
	} else if l.count > maxIncludes {
		return fail(fmt.Sprintf("files are pulled in more than %d times", maxIncludes), "write some of the parts out")
	}
	// Whoever opens a named pipe may wait for ever.
	if info, err := fs.Stat(l.fsys, full); err == nil && !info.Mode().IsRegular() {
		return fail(l.shown(full)+" is no regular file", "name a YAML file, relative to this one")
	}
	data, bad := readFile(l.fsys.Open, full)
	if bad != nil {
		return fail(l.shown(full)+" cannot be pulled in: "+bad.Found, "name a YAML file, relative to this one")
	}
	root := l.parse(full, data, d)
	if root == nil {
		return nil, false
	}
	if root.kind == Null {
		d.fail(position{root.file, root.line, root.col}, where, "the file is empty", "write "+label(where)+" into it")
		return nil, false
	}
	e.value = root
	l.stack = append(l.stack, full)
	return func() { l.stack = l.stack[:len(l.stack)-1] }, true
}

// readFile reads a file of bounded size. The error says why it cannot, without the name.
func readFile[F fs.File](open func(string) (F, error), name string) ([]byte, *Error) {
	f, err := open(name)
	if err != nil {
		return nil, &Error{Found: reason(err), err: err}
	}
	defer f.Close()
	if info, err := f.Stat(); err == nil && info.IsDir() {
		return nil, &Error{Found: "it is a folder"}
	}
	data, err := io.ReadAll(io.LimitReader(f, maxBytes+1))
	if err != nil {
		return nil, &Error{Found: reason(err), err: err}
	}
	return data, nil
}

// reason is why a file cannot be read, without its name.
func reason(err error) string {
	if errors.Is(err, os.ErrNotExist) {
		return "there is no such file"
	}
	if pe := (*fs.PathError)(nil); errors.As(err, &pe) {
		return pe.Err.Error()
	}
	return err.Error()
}
