package strictyaml

import "fmt"

// A Kind is what a part of a file is.
type Kind int

// The kinds.
const (
	Null Kind = iota
	String
	Bool
	Int
	Float // also .inf and .nan
	Sequence
	Mapping
)

var kindNames = [...]string{"nothing", "text", "true or false", "a whole number", "a number", "a list", "a mapping"}

// String gives the kind with its article, as errors use it.
func (k Kind) String() string {
	if k < 0 || int(k) >= len(kindNames) {
		return "unknown"
	}
	return kindNames[k]
}

// A node is a part of a file, free of the parser that read it.
type node struct {
	kind      Kind
	text      string // of a scalar, without its quotes
	file      string // as shown to the user
	dir       string // folder in the file system that a {file: ...} here is relative to
	line, col int
	entries   []entry // of a mapping or a list, in the order of the file; of a repeated key only the first
}

// An entry is a key of a mapping, or a place in a list, and what stands there.
type entry struct {
	key       string // "" in a list
	file      string
	line, col int
	value     *node // where that is {file: ...}, what the file holds, once it has been decoded
}

// get returns the entry of a mapping with that key, or nil.
func (n *node) get(key string) *entry {
	if n.kind != Mapping {
		return nil
	}
	for i := range n.entries {
		if n.entries[i].key == key {
			return &n.entries[i]
		}
	}
	return nil
}

// A position is a place in a file.
type position struct {
	file      string
	line, col int
}

// at is where an error about the whole value is shown: where the value begins if that is on the line of its key,
// else at the key, since that is where a person looks.
func (e *entry) at() position {
	if n := e.value; n.file != e.file || n.line == e.line || n.kind < Sequence {
		return position{n.file, n.line, n.col}
	}
	return position{e.file, e.line, e.col}
}

// A Node is a located part of a file, handed to a type that reads itself. The zero Node is Null.
type Node struct {
	e    *entry
	d    *decoder
	path string
}

// Kind tells what the part is.
func (n Node) Kind() Kind {
	if n.e == nil {
		return Null
	}
	return n.e.value.kind
}

// Text is a scalar as written, without its quotes; "" for lists and mappings.
func (n Node) Text() string {
	if n.e == nil {
		return ""
	}
	return n.e.value.text
}

// Path is the place of the part in the whole, such as "streams[0].messages[2]".
func (n Node) Path() string { return n.path }

// Items are the entries of a list; none for anything else.
func (n Node) Items() []Node {
	if n.Kind() != Sequence {
		return nil
	}
	var all []Node
	for i := range n.e.value.entries {
		all = append(all, Node{&n.e.value.entries[i], n.d, fmt.Sprintf("%s[%d]", n.path, i)})
	}
	return all
}

// Keys are the keys of a mapping, in the order of the file; none for anything else.
func (n Node) Keys() []string {
	if n.Kind() != Mapping {
		return nil
	}
	var all []string
	for _, e := range n.e.value.entries {
		all = append(all, e.key)
	}
	return all
}

// Key is the value of a key; false where it is missing or null.
func (n Node) Key(key string) (Node, bool) {
	if n.Kind() != Mapping {
		return Node{}, false
	}
	e := n.e.value.get(key)
	if e == nil || e.value.kind == Null {
		return Node{}, false
	}
	return Node{e, n.d, JoinPath(n.path, key)}, true
}

// Decode reads the part into v, a pointer, by the ordinary rules. The errors are located and may be returned as
// they are.
func (n Node) Decode(v any) error {
	p, err := target(v)
	if err != nil {
		return err
	}
	if n.Kind() == Null {
		return n.Error("nothing is written here", "allowed: "+wanted(p.Type()))
	}
	d := &decoder{load: n.d.load}
	d.decode(n.e, p, n.path)
	return d.result()
}

// Error makes a located error about the whole part: what was found, and what is allowed or what to do.
func (n Node) Error(found, allowed string) *Error {
	e := &Error{Path: n.path, Found: found, Allowed: allowed}
	if n.e != nil {
		at := n.e.at()
		e.File, e.Line, e.Col = at.file, at.line, at.col
	}
	return e
}
