package strictyaml

import (
	"errors"
	"fmt"
	"strings"
	"unicode/utf8"

	yaml "github.com/goccy/go-yaml"
	"github.com/goccy/go-yaml/ast"
	"github.com/goccy/go-yaml/lexer"
	"github.com/goccy/go-yaml/parser"
	"github.com/goccy/go-yaml/token"
)

// The bounds of what is read. The parser takes time in the square of the number of keys in one mapping (1 s at the
// bound) and stack with the depth, so both are bounded before it starts.
const (
	maxBytes  = 4 << 20 // of one file
	maxTokens = 40_000  // of all files of one decoding
	maxDepth  = 64
)

// parse turns YAML text into nodes. It returns nil where it reports an error that leaves nothing to look at.
// tokens is how many tokens it may still use up.
func parse(file, dir string, data []byte, tokens *int) (root *node, errs []*Error) {
	fail := func(line, col int, found, allowed string) (*node, []*Error) {
		return nil, append(errs, &Error{File: file, Line: line, Col: col, Found: found, Allowed: allowed})
	}
	if len(data) > maxBytes {
		return fail(1, 1, fmt.Sprintf("the file has %d bytes", len(data)), fmt.Sprintf("allowed: %d at most", maxBytes))
	}
	text := strings.TrimPrefix(string(data), "\ufeff")
	if line, col, what := strange(text); what != "" {
		return fail(line, col, what, "write plain text in UTF-8, with lines that end in LF or CR LF")
	}
	// The parser is not ours: what it does not survive is an error in the file like any other.
	defer func() {
		if r := recover(); r != nil {
			root, errs = fail(1, 1, fmt.Sprintf("this cannot be read as YAML (%v)", r), "check indentation, quotes and brackets")
		}
	}()
	tks := lexer.Tokenize(text)
	if *tokens -= len(tks); *tokens < 0 {
		return fail(1, 1, "the file has too many parts", fmt.Sprintf("allowed: about %d values, with all files it pulls in", maxTokens/4))
	}
	if e := forbidden(tks); e != nil {
		return fail(e.Line, e.Col, e.Found, e.Allowed)
	}
	f, err := parser.Parse(tks, 0, parser.AllowDuplicateMapKey())
	if err != nil {
		line, col, msg := 1, 1, ""
		if se := (*yaml.SyntaxError)(nil); errors.As(err, &se) {
			msg = se.Message
			if se.Token != nil && se.Token.Position != nil {
				line, col = se.Token.Position.Line, se.Token.Position.Column
			}
		} else {
			msg = err.Error()
		}
		found, allowed := explain(msg)
		return fail(max(line, 1), max(col, 1), found, allowed)
	}
	c := converter{file: file, dir: dir}
	var body ast.Node
	for _, doc := range f.Docs {
		if doc.Body != nil {
			body = doc.Body
		}
	}
	root = c.convert(body, &token.Position{Line: 1, Column: 1}, 0)
	return root, c.errs
}

// strange finds the first byte that has no place in a text file.
func strange(s string) (line, col int, what string) {
	line, col = 1, 1
	for i, r := range s {
		switch {
		case r == '\n':
			line, col = line+1, 0
		case r == utf8.RuneError && !strings.HasPrefix(s[i:], "\ufffd"):
			return line, col, fmt.Sprintf("the byte %#02x is no UTF-8", s[i])
		case r == '\r' && !strings.HasPrefix(s[i:], "\r\n"):
			return line, col, "there is a carriage return without a line feed"
		case r < ' ' && r != '\t' && r != '\r' || r == 0x7f:
			return line, col, fmt.Sprintf("there is the control character %#02x", r)
		}
		col++
	}
	return 0, 0, ""
}

// forbidden finds the first thing in the tokens that YAML has and we do not, among them nesting deeper than the
// parser is to be trusted with.
func forbidden(tks token.Tokens) *Error {
	const pull = "write the part out, or pull it in from another file with {file: other.yaml}"
	at := func(tk *token.Token, found, allowed string) *Error {
		return &Error{Line: max(tk.Position.Line, 1), Col: max(tk.Position.Column, 1), Found: found, Allowed: allowed}
	}
	var columns []int // of the open block collections
	flow, headers, begun := 0, 0, false
	for i, tk := range tks {
		switch tk.Type {
		case token.AnchorType:
			return at(tk, "there is an anchor (&)", pull)
		case token.AliasType:
			return at(tk, "there is an alias (*)", pull+"; quote a text that begins with *")
		case token.MergeKeyType:
			return at(tk, "there is a merge key (<<)", pull)
		case token.TagType:
			return at(tk, "there is a tag (!)", "leave it out; quote a text that begins with !")
		case token.DirectiveType:
			return at(tk, "there is a directive (%)", "leave it out; quote a text that begins with %")
		case token.MappingKeyType:
			return at(tk, "there is a key marked with ?", "write key: value")
		case token.DocumentHeaderType:
			if headers++; headers > 1 || begun {
				return at(tk, "a second document begins here", "one file holds one; move it to a file of its own")
			}
			continue
		case token.DocumentEndType:
			if i+1 < len(tks) && tks[i+1].Type != token.CommentType {
				return at(tks[i+1], "there is something after the end of the document (...)", "one file holds one; move it to a file of its own")
			}
			continue
		case token.MappingStartType, token.SequenceStartType:
			flow++
		case token.MappingEndType, token.SequenceEndType:
			flow--
		case token.SequenceEntryType, token.MappingValueType:
			if flow > 0 {
				break
			}
			col := tk.Position.Column
			if tk.Type == token.MappingValueType && i > 0 {
				col = tks[i-1].Position.Column
			}
			for len(columns) > 0 && columns[len(columns)-1] >= col {
				columns = columns[:len(columns)-1]
			}
			columns = append(columns, col)
		case token.CommentType:
			continue
		}
		begun = true
		if flow+len(columns) > maxDepth {
			return at(tk, fmt.Sprintf("parts are nested more than %d deep", maxDepth), "no file needs that; check brackets and indentation")
		}
	}
	return nil
}

// explain turns a complaint of the parser into what a person can act on.
func explain(msg string) (found, allowed string) {
	for _, e := range [...]struct{ part, found, allowed string }{
		{"cannot start any token", "a tab stands where YAML wants spaces", "indent with spaces"},
		{"mapping value is not allowed", "a colon is not allowed here", "keys of one mapping begin in the same column; quote a text that contains a colon and a space"},
		{"',' or ']'", "a list [...] is not closed, or lacks a comma", "separate entries by commas and end with ]"},
		{"',' or '}'", "a mapping {...} is not closed, or lacks a comma", "separate entries by commas and end with }"},
		{"sequence end token", "a list [...] is not closed", "end it with ]"},
		{"flow mapping end token", "a mapping {...} is not closed", "end it with }"},
		{"corresponding to ']'", "a ] closes no list", "leave it out, or open the list with ["},
		{"unexpected scalar value type", "there is nothing between two commas or after a bracket", "write the value there, or leave the comma out"},
		{"could not find end character", "a quoted text is not closed", "end it with the quote it began with"},
		{"is a reserved character", "a text begins with a character that YAML reserves", "put the text in quotes"},
	} {
		if strings.Contains(msg, e.part) {
			return e.found, e.allowed
		}
	}
	return "this cannot be read as YAML: " + Quote(msg), "check indentation, quotes and brackets"
}

// A converter makes our nodes of the parser's.
type converter struct {
	file, dir string
	errs      []*Error
}

// convert copies one part. The fallback is the place of a part that has none.
func (c *converter) convert(a ast.Node, fallback *token.Position, depth int) *node {
	n := &node{file: c.file, dir: c.dir, line: max(fallback.Line, 1), col: max(fallback.Column, 1)}
	if a == nil {
		return n
	}
	pos := fallback
	if tk := a.GetToken(); tk != nil && tk.Position != nil {
		pos = tk.Position
	}
	n.line, n.col = max(pos.Line, 1), max(pos.Column, 1)
	if depth > 2*maxDepth { // forbidden keeps this from happening
		c.errs = append(c.errs, &Error{File: c.file, Line: n.line, Col: n.col, Found: "parts are nested too deep", Allowed: "check brackets and indentation"})
		return n
	}
	switch a := a.(type) {
	case *ast.NullNode:
	case *ast.LiteralNode:
		n.kind = String
		if a.Value != nil {
			n.text = a.Value.Value
		}
	case *ast.StringNode:
		n.kind, n.text = String, a.Value
		if tk := a.Token; tk.Type == token.StringType {
			n.kind = plainKind(a.Value)
		}
	case *ast.MappingValueNode: // a block mapping of one key, in some places
		c.mapping(n, []*ast.MappingValueNode{a}, pos, depth)
		n.first()
	case *ast.MappingNode:
		c.mapping(n, a.Values, pos, depth)
		if !a.IsFlowStyle {
			n.first()
		}
	case *ast.SequenceNode:
		n.kind = Sequence
		for _, v := range a.Values {
			item := c.convert(v, pos, depth+1)
			n.entries = append(n.entries, entry{file: c.file, line: item.line, col: item.col, value: item})
		}
	case ast.ScalarNode:
		if tk := a.GetToken(); tk != nil {
			n.text = tk.Value
		}
		n.kind = plainKind(n.text)
	default:
		c.errs = append(c.errs, &Error{File: c.file, Line: n.line, Col: n.col, Found: "this part of YAML is not supported", Allowed: "write a plain value"})
	}
	return n
}

// first moves a block mapping to its first key.
func (n *node) first() {
	if len(n.entries) > 0 {
		n.line, n.col = n.entries[0].line, n.entries[0].col
	}
}

// mapping copies the keys of a mapping and reports those that repeat another or are no text.
func (c *converter) mapping(n *node, values []*ast.MappingValueNode, pos *token.Position, depth int) {
	n.kind = Mapping
	seen := map[string]int{} // the line of each key
	for _, v := range values {
		key := c.convert(v.Key, pos, depth+1)
		if key.kind == Null || key.kind >= Sequence {
			c.errs = append(c.errs, &Error{File: c.file, Line: key.line, Col: key.col, Found: "a key is " + key.kind.String(), Allowed: "a key is a word, followed by a colon"})
			continue
		}
		if line, ok := seen[key.text]; ok {
			c.errs = append(c.errs, &Error{File: c.file, Line: key.line, Col: key.col,
				Found: fmt.Sprintf("the key %s is there twice, first in line %d", Quote(key.text), line), Allowed: "leave one out"})
			continue
		}
		at := &token.Position{Line: key.line, Column: key.col}
		n.entries = append(n.entries, entry{key.text, c.file, key.line, key.col, c.convert(v.Value, at, depth+1)})
		seen[key.text] = key.line
	}
}
