package strictyaml

import (
	"regexp"
	"strconv"
	"strings"
)

// A Doc remembers where everything stood in the files that were decoded. A nil Doc knows no places.
type Doc struct {
	file string
	root *entry // nil where nothing could be read
	load *loader
}

// Locate finds the place of a part by its path, such as "streams[0].messages[2].rate"; where there is no such part,
// that of the nearest part around it.
//
// A value on the line of its key is where the value begins; a list or mapping below its key is where the key is.
func (d *Doc) Locate(path string) (file string, line, col int) {
	if d == nil {
		return "", 0, 0
	}
	if d.root == nil {
		return d.file, 1, 1
	}
	e := d.root
	for path != "" {
		var key string
		var index bool
		key, index, path = cut(path)
		next := e.value.get(key)
		if i, err := strconv.Atoi(key); index && err == nil && e.value.kind == Sequence && i < len(e.value.entries) {
			next = &e.value.entries[i]
		}
		if next == nil {
			break
		}
		e = next
	}
	at := e.at()
	return at.file, at.line, at.col
}

var (
	bracketed = regexp.MustCompile(`^\[([0-9]+|"(\\.|[^"\\])*")\]`)
	bare      = regexp.MustCompile(`^[^.\[\]"]+$`)
)

// cut takes the first part off a path: a key, or the number in a list (then index is set).
func cut(path string) (key string, index bool, rest string) {
	path = strings.TrimPrefix(path, ".")
	if m := bracketed.FindString(path); m != "" {
		part, rest := m[1:len(m)-1], path[len(m):]
		if key, err := strconv.Unquote(part); err == nil {
			return key, false, rest
		}
		return part, part[0] != '"', rest
	}
	if i := strings.IndexAny(path, ".["); i > 0 {
		return path[:i], false, path[i:]
	}
	return path, false, ""
}

// JoinPath appends a key to a path. A key with characters that paths use is put in brackets and quotes.
func JoinPath(base, key string) string {
	switch {
	case !bare.MatchString(key):
		return base + "[" + strconv.Quote(key) + "]"
	case base == "":
		return key
	}
	return base + "." + key
}

// A Problem is something wrong with a part that was read well, found when it was held against the others.
type Problem struct {
	Path string // the part, such as "faults[1].until"; "" is the whole
	Text string // what was found; what is allowed or what to do
}

// Under puts base, the path of a part, in front of the paths of problems within it.
func Under(base string, problems []Problem) []Problem {
	var all []Problem
	for _, p := range problems {
		switch {
		case p.Path == "":
			p.Path = base
		case base != "" && p.Path[0] != '[':
			p.Path = base + "." + p.Path
		default:
			p.Path = base + p.Path
		}
		all = append(all, p)
	}
	return all
}

// Problems gives the problems their places and joins them, sorted; nil where there are none.
func (d *Doc) Problems(problems []Problem) error {
	var errs []*Error
	var files []string
	if d != nil && d.load != nil {
		files = d.load.files
	}
	for _, p := range problems {
		file, line, col := d.Locate(p.Path)
		errs = append(errs, &Error{File: file, Line: line, Col: col, Path: p.Path, Found: p.Text})
	}
	return join(errs, files)
}
