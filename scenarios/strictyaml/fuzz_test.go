package strictyaml

import (
	"errors"
	"fmt"
	"strings"
	"testing"
	"testing/fstest"
	"time"

	"pgregory.net/rapid"
)

// Whatever the bytes are: no panic, an answer within a bounded time, and every error with its place within the file,
// on one line, in the order of the file, fit to be shown on a terminal.
func FuzzDecode(f *testing.F) {
	for _, s := range []string{
		"name: x\nspeed: 8 kn\ncrew: {count: 1, boss: {file: b.yaml}}\n", "a: [1, {b: c}, 'd', \"e\\n\"]\n- x\n", "&a *a !!str <<: ? : |\n >-\n", "{a: {b: [", "- - - -",
		"name: |\n  x\n\n y\n", "a:\n  b:\n c:\n", "\ufeff---\na: 1\n...\n---\n", "{file: a.yaml}", "{file: ../../x}", "legs:\n- to: x\n  sub: {file: l.yaml}\n",
		"\x00\xff\r\r\n\t", "\"\\u0000\\x41\": 1", "0x1F: .inf", "marks: {? a, b, c: }", "a: b: c", "%TAG ! x\n---\n", "name: >2-\n   x\n", "'a' 'b'", "a:\n\n\n-\n", "{,}", "[,]", "#", ": ", "-", "?", "name: !<x> y",
	} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		fsys := fstest.MapFS{"a.yaml": {Data: data}, "b.yaml": {Data: []byte("count: 2\n")}, "l.yaml": {Data: data}}
		lines := strings.Split(string(data), "\n")
		var v voyage
		begun := time.Now()
		doc, err := Decode(fsys, "a.yaml", &v)
		if took := time.Since(begun); took > 5*time.Second {
			t.Fatalf("took %v", took)
		}
		if doc == nil {
			t.Fatal("no Doc")
		}
		last := 0
		for _, e := range flatten(err) {
			le, ok := errors.AsType[*Error](e)
			if !ok {
				if !strings.HasPrefix(e.Error(), "and ") {
					t.Errorf("no place: %v", e)
				}
				continue
			}
			if strings.ContainsAny(e.Error(), "\n\r\x1b\x00") || le.Found == "" {
				t.Errorf("not fit for a terminal: %q", e)
			}
			if le.File == "a.yaml" {
				if le.Line < 1 || le.Col < 1 || le.Line > len(lines)+1 || le.Line < last {
					t.Errorf("place out of order or of the file: %v", e)
				}
				last = le.Line
			}
		}
		for _, path := range []string{"", "name", "legs[0].sub[0]", "crew.boss.count", string(data)} {
			if file, line, col := doc.Locate(path); file == "" || line < 1 || col < 1 {
				t.Errorf("%q is located at %s:%d:%d", path, file, line, col)
			}
		}
	})
}

// A tree written in any mixture of styles is read back, every part where it was written.
func TestLocateAnywhere(t *testing.T) {
	type written struct{ line, col int }
	rapid.Check(t, func(t *rapid.T) {
		var b strings.Builder
		want := map[string]written{}
		now := func() written {
			s := b.String()
			i := strings.LastIndexByte(s, '\n') + 1
			return written{strings.Count(s, "\n") + 1, len([]rune(s[i:])) + 1}
		}
		keys := rapid.SliceOfNDistinct(rapid.SampledFrom([]string{"a", "bé", "c d", "e.f", "g[0]", "12", "true"}), 1, 3, rapid.ID)
		spaces := func(least int) string { return strings.Repeat(" ", rapid.IntRange(least, 3).Draw(t, "spaces")) }
		scalar := func(path string) {
			want[path] = now()
			b.WriteString(rapid.SampledFrom([]string{"x", "'q: q'", `"d\td"`, "ü", "1 m", "it's"}).Draw(t, "scalar"))
		}
		var flow func(path string, depth int)
		flow = func(path string, depth int) {
			switch kind := rapid.IntRange(0, 2).Draw(t, "flow kind"); {
			case depth == 0 || kind == 0:
				scalar(path)
			case kind == 1:
				want[path] = now()
				b.WriteString("{")
				for i, k := range keys.Draw(t, "keys") {
					if i > 0 {
						b.WriteString("," + spaces(1))
					}
					fmt.Fprintf(&b, "%q:%s", k, spaces(1))
					flow(JoinPath(path, k), depth-1)
				}
				b.WriteString("}")
			default:
				want[path] = now()
				b.WriteString("[")
				for i := range rapid.IntRange(1, 3).Draw(t, "length") {
					if i > 0 {
						b.WriteString("," + spaces(1))
					}
					flow(fmt.Sprintf("%s[%d]", path, i), depth-1)
				}
				b.WriteString("]")
			}
		}
		var block func(path string, indent, depth int)
		block = func(path string, indent, depth int) {
			for _, k := range keys.Draw(t, "keys") {
				if rapid.Bool().Draw(t, "comment") {
					b.WriteString("# a comment: [ { \n")
				}
				b.WriteString(strings.Repeat(" ", indent))
				here, path := now(), JoinPath(path, k)
				if strings.ContainsAny(k, ".[") {
					fmt.Fprintf(&b, "%q:", k)
				} else {
					b.WriteString(k + ":")
				}
				switch rapid.IntRange(0, 2).Draw(t, "block kind") {
				case 0:
					b.WriteString(spaces(1))
					flow(path, depth)
					b.WriteString("\n")
				case 1:
					b.WriteString("\n")
					want[path] = here
					if depth == 0 {
						b.WriteString(strings.Repeat(" ", indent+2))
						scalar(path)
						b.WriteString("\n")
						continue
					}
					block(path, indent+rapid.IntRange(1, 4).Draw(t, "indent"), depth-1)
				default:
					b.WriteString("\n")
					want[path] = here
					for i := range rapid.IntRange(1, 3).Draw(t, "length") {
						b.WriteString(strings.Repeat(" ", indent+1) + "- ")
						flow(fmt.Sprintf("%s[%d]", path, i), depth)
						b.WriteString("\n")
					}
				}
			}
		}
		block("", 0, 3)
		var v anything
		doc, err := DecodeBytes("t.yaml", []byte(b.String()), &v)
		if err != nil {
			t.Fatalf("%v\n%s", err, b.String())
		}
		for path, w := range want {
			if _, line, col := doc.Locate(path); line != w.line || col != w.col {
				t.Fatalf("%s is located at %d:%d, was written at %d:%d\n%s", path, line, col, w.line, w.col, b.String())
			}
		}
		if v.count != len(want)+1 {
			t.Fatalf("%d parts read, %d written\n%s", v.count, len(want)+1, b.String())
		}
	})
}

// anything reads whatever is there, and counts the parts.
type anything struct{ count int }

func (a *anything) DecodeYAML(n Node) error {
	a.count++
	for _, item := range n.Items() {
		if err := a.DecodeYAML(item); err != nil {
			return err
		}
	}
	for _, key := range n.Keys() {
		item, ok := n.Key(key)
		if !ok {
			return n.Error("no "+key, "")
		}
		if err := a.DecodeYAML(item); err != nil {
			return err
		}
	}
	return nil
}

// The worst files that the bounds let through are answered in a few seconds.
func TestWorstCase(t *testing.T) {
	if testing.Short() {
		t.Skip("takes seconds")
	}
	n := maxTokens
	for name, text := range map[string]string{
		"keys":          strings.Repeat("a: 1\n", n/3),
		"null keys":     strings.Repeat("a:\n", n/2),
		"long keys":     strings.Repeat("name-of-something-that-is-not-known: 1\n", n/3),
		"flow keys":     "{" + strings.Repeat("a: 1, ", n/4-1) + "}",
		"flow nulls":    "{" + strings.Repeat("a:, ", n/3-1) + "}",
		"flow words":    "{" + strings.Repeat("a, ", n/2-1) + "}",
		"list":          "notes:\n" + strings.Repeat("- a\n", n/2-2),
		"null list":     strings.Repeat("-\n", n-1),
		"list of lists": "box:\n" + strings.Repeat("- [1 m, 2 m, 3 m]\n", n/8-2),
		"deep":          strings.Repeat("["+strings.Repeat("[", 62)+strings.Repeat("]", 62)+"],", n/127),
		"steps":         steps(n),
		"empty lines":   strings.Repeat("\n", maxBytes),
		"colons":        strings.Repeat(": ", n-1),
		"quotes":        strings.Repeat("'' ", n-1),
		"literal":       "name: |\n" + strings.Repeat(" x\n", maxBytes/4),
		"folded":        "name: >\n" + strings.Repeat(" x\n\n", maxBytes/5),
		"escapes":       "name: \"" + strings.Repeat("\\x41", maxBytes/5) + "\"",
		"many lines":    "name: x\n" + strings.Repeat(" x\n", maxBytes/4),
	} {
		var v voyage
		begun := time.Now()
		_, err := DecodeBytes("v.yaml", []byte(text), &v)
		took := time.Since(begun)
		if took > 20*time.Second {
			t.Errorf("%s: took %v", name, took)
		}
		t.Logf("%s: %v, %.100v", name, took, err)
	}
}

// steps is a staircase of block mappings, as deep as is allowed, again and again.
func steps(n int) string {
	var b strings.Builder
	for i := range n / 3 {
		fmt.Fprintf(&b, "%sa:\n", strings.Repeat(" ", i%60))
	}
	return b.String()
}
