package strictyaml

import (
	"cmp"
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"
)

// maxErrors is how many errors of one decoding are told; a person mends no more at once.
const maxErrors = 100

// An Error is one thing wrong in a file.
type Error struct {
	File      string // as the user knows it; "" where nothing was read from a file
	Line, Col int    // from 1, in characters
	Path      string // such as "streams[0].messages[2].rate"
	Found     string // what was found
	Allowed   string // what is allowed or what to do; may be ""

	err error // why a file cannot be read
}

// Unwrap gives the error of the file system where a file cannot be read, else nil.
func (e *Error) Unwrap() error { return e.err }

// Error writes "file:line:col: found; allowed".
func (e *Error) Error() string {
	s := e.Found
	if e.Allowed != "" {
		s += "; " + e.Allowed
	}
	switch {
	case e.File != "" && e.Line > 0:
		return fmt.Sprintf("%s:%d:%d: %s", e.File, e.Line, e.Col, s)
	case e.File != "":
		return e.File + ": " + s
	case e.Path != "":
		return e.Path + ": " + s
	}
	return s
}

// flatten lists what errors.Join joined.
func flatten(err error) []error {
	if j, ok := err.(interface{ Unwrap() []error }); ok {
		var all []error
		for _, e := range j.Unwrap() {
			all = append(all, flatten(e)...)
		}
		return all
	}
	if err == nil {
		return nil
	}
	return []error{err}
}

// join sorts the errors by file (in the order of files), line and column, drops repetitions and joins them.
func join(errs []*Error, files []string) error {
	order := func(name string) int {
		if i := slices.Index(files, name); i >= 0 {
			return i
		}
		return len(files)
	}
	slices.SortStableFunc(errs, func(a, b *Error) int {
		return cmp.Or(cmp.Compare(order(a.File), order(b.File)), cmp.Compare(a.File, b.File),
			cmp.Compare(a.Line, b.Line), cmp.Compare(a.Col, b.Col))
	})
	errs = slices.CompactFunc(errs, func(a, b *Error) bool { return a.Error() == b.Error() && a.Path == b.Path })
	var all []error
	for i, e := range errs {
		if i == maxErrors {
			all = append(all, fmt.Errorf("and %d more", len(errs)-i))
			break
		}
		all = append(all, e)
	}
	return errors.Join(all...)
}

// Quote shows text from a file in an error: as it stands where that is harmless, else with escapes, and never all of
// something long.
func Quote(s string) string {
	const most = 60
	plain := utf8.ValidString(s) && s != ""
	for _, r := range s {
		plain = plain && unicode.IsPrint(r)
	}
	if utf8.RuneCountInString(s) > most {
		s = string([]rune(s)[:most]) + "..."
	}
	if plain {
		return s
	}
	return strconv.Quote(s)
}

// quoteAll lists words from a file.
func quoteAll(words []string) string {
	var all []string
	for _, w := range words {
		all = append(all, Quote(w))
	}
	return strings.Join(all, ", ")
}

// Allowed words an enumeration for an error, with the nearest word in front: "did you mean pitch? allowed: heading,
// pitch, roll".
func Allowed(found string, words []string) string {
	if len(words) == 0 {
		return ""
	}
	s := "allowed: " + quoteAll(words)
	if near := nearest(found, words); near != "" {
		s = "did you mean " + Quote(near) + "? " + s
	}
	return s
}

// nearest returns the word most like s, or "" where none is like it. Of several the first one counts.
func nearest(s string, words []string) string {
	const longest = 64 // no word of ours is longer, and the work grows with the square
	if len(s) > longest {
		return ""
	}
	fold := func(s string) string { return strings.ReplaceAll(strings.ToLower(s), "_", "-") }
	best, least := "", min(max(1, len(s)/3), 4)+1
	for _, w := range words {
		if len(w)-len(s) >= least || len(s)-len(w) >= least {
			continue // at least that far apart
		}
		if d := distance(fold(s), fold(w)); d < least {
			best, least = w, d
		}
	}
	return best
}

// distance counts the single-letter changes (insert, delete, replace, swap of neighbours) from a to b.
// Source: optimal string alignment, Damerau, Comm. ACM 7 (1964) 171.
func distance(a, b string) int {
	x, y := []rune(a), []rune(b)
	d := make([][]int, len(x)+1)
	for i := range d {
		d[i] = make([]int, len(y)+1)
		d[i][0] = i
	}
	for j := range d[0] {
		d[0][j] = j
	}
	for i := 1; i <= len(x); i++ {
		for j := 1; j <= len(y); j++ {
			change := 1
			if x[i-1] == y[j-1] {
				change = 0
			}
			d[i][j] = min(d[i-1][j]+1, d[i][j-1]+1, d[i-1][j-1]+change)
			if i > 1 && j > 1 && x[i-1] == y[j-2] && x[i-2] == y[j-1] {
				d[i][j] = min(d[i][j], d[i-2][j-2]+1)
			}
		}
	}
	return d[len(x)][len(y)]
}
