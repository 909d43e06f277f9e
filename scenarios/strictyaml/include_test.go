package strictyaml

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"testing/fstest"
)

func TestInclude(t *testing.T) {
	fsys := fstest.MapFS{
		"a.yaml":               {Data: []byte("name: x\nspeed: 8 kn\ncrew: {file: parts/crew.yaml}\nlegs:\n  file: legs.yaml\nchart: {file: a.png}\nmarks: {file: parts/marks.yaml}\n")},
		"parts/crew.yaml":      {Data: []byte("count: 1\nboss: {file: deep/boss.yaml}\n")},
		"parts/deep/boss.yaml": {Data: []byte("# boss\ncount: 2\nboss: {file: ../../last.yaml}\n")},
		"last.yaml":            {Data: []byte("count: 3\n")},
		"legs.yaml":            {Data: []byte("- to: a\n- to: b\n  pause: 2 s\n")},
		"parts/marks.yaml":     {Data: []byte("north: 1\n")},
	}
	var v voyage
	doc, err := Decode(fsys, "a.yaml", &v)
	if err != nil {
		t.Fatal(err)
	}
	if v.Crew.Boss.Boss.Count != 3 || len(v.Legs) != 2 || v.Legs[1].Pause != 2 || v.Chart.File != "a.png" || v.Marks["north"] != 1 {
		t.Errorf("got %+v", v)
	}
	for _, r := range []struct {
		path, file string
		line, col  int
	}{
		{"crew", "parts/crew.yaml", 1, 1}, {"crew.boss", "parts/deep/boss.yaml", 2, 1}, {"crew.boss.boss.count", "last.yaml", 1, 8},
		{"crew.boss.nothing", "parts/deep/boss.yaml", 2, 1}, {"legs[1].pause", "legs.yaml", 3, 10}, {"legs[7]", "legs.yaml", 1, 1},
		{"chart.file", "a.yaml", 6, 15}, {"marks.north", "parts/marks.yaml", 1, 8}, {"speed", "a.yaml", 2, 8},
	} {
		file, line, col := doc.Locate(r.path)
		if file != r.file || line != r.line || col != r.col {
			t.Errorf("%q is located at %s:%d:%d, want %s:%d:%d", r.path, file, line, col, r.file, r.line, r.col)
		}
	}
	err = doc.Problems([]Problem{{"crew.boss.count", "two is too many"}, {"speed", "too fast"}, {"", "bad"}})
	want := "a.yaml:1:1: bad\na.yaml:2:8: too fast\nparts/deep/boss.yaml:2:8: two is too many"
	if err == nil || err.Error() != want {
		t.Errorf("problems %v\nwant %s", err, want)
	}
	if err := doc.Problems(nil); err != nil {
		t.Errorf("no problems are %v", err)
	}
}

func TestIncludeErrors(t *testing.T) {
	head := "name: x\nspeed: 8 kn\n"
	chain := fstest.MapFS{"a.yaml": {Data: []byte(head + "crew: {file: 1.yaml}\n")}}
	for i := 1; i < 20; i++ {
		chain[string(rune('0'+i))+".yaml"] = &fstest.MapFile{Data: []byte("count: 1\nboss: {file: " + string(rune('1'+i)) + ".yaml}\n")}
	}
	for _, r := range []struct {
		name string
		fsys fs.FS
		want string
	}{
		{"no main file", fstest.MapFS{}, "a.yaml: there is no such file; name a file that can be read"},
		{"main is a folder", fstest.MapFS{"a.yaml/b": {}}, "a.yaml: it is a folder; name a file that can be read"},
		{"missing", fstest.MapFS{"a.yaml": {Data: []byte(head + "crew: {file: c.yaml}\n")}},
			"a.yaml:3:14: c.yaml cannot be pulled in: there is no such file; name a YAML file, relative to this one"},
		{"folder", fstest.MapFS{"a.yaml": {Data: []byte(head + "crew: {file: c}\n")}, "c/d.yaml": {}},
			"a.yaml:3:14: c is no regular file; name a YAML file, relative to this one"},
		{"pipe", fstest.MapFS{"a.yaml": {Data: []byte(head + "crew: {file: c}\n")}, "c": {Mode: fs.ModeNamedPipe}},
			"a.yaml:3:14: c is no regular file; name a YAML file, relative to this one"},
		{"outside", fstest.MapFS{"a.yaml": {Data: []byte(head + "crew: {file: ../c.yaml}\n")}},
			"a.yaml:3:14: file leads out of the folder of a.yaml; move it there, or below"},
		{"absolute", fstest.MapFS{"a.yaml": {Data: []byte(head + "crew: {file: /etc/c.yaml}\n")}},
			"a.yaml:3:14: file is /etc/c.yaml; write the name relative to this file, without a leading /"},
		{"backslash", fstest.MapFS{"a.yaml": {Data: []byte(head + "crew: {file: 'b\\c.yaml'}\n")}},
			`a.yaml:3:14: file is b\c.yaml; write / between folders`},
		{"no text", fstest.MapFS{"a.yaml": {Data: []byte(head + "crew: {file: [c.yaml]}\n")}},
			"a.yaml:3:14: file is a list; write the name of a YAML file, relative to this one"},
		{"not alone", fstest.MapFS{"a.yaml": {Data: []byte(head + "crew: {count: 1, file: c.yaml}\n")}},
			"a.yaml:3:18: the key file pulls in another file, but has other keys beside it; let it stand alone, and write the other keys into that file"},
		{"itself", fstest.MapFS{"a.yaml": {Data: []byte(head + "crew: {file: a.yaml}\n")}},
			"a.yaml:3:14: the files pull each other in without end: a.yaml → a.yaml; write one of the parts out"},
		{"ring", fstest.MapFS{"a.yaml": {Data: []byte(head + "crew: {file: c/c.yaml}\n")}, "c/c.yaml": {Data: []byte("count: 1\nboss: {file: ../c/c.yaml}\n")}},
			"c/c.yaml:2:14: the files pull each other in without end: c/c.yaml → c/c.yaml; write one of the parts out"},
		{"deep", chain, "8.yaml:2:14: files pull in files more than 8 deep; write one of the parts out"},
		{"empty", fstest.MapFS{"a.yaml": {Data: []byte(head + "crew: {file: c.yaml}\n")}, "c.yaml": {}},
			"c.yaml:1:1: the file is empty; write crew into it"},
		{"wrong inside, main file first", fstest.MapFS{
			"a.yaml": {Data: []byte(head + "crew: {file: 0.yaml}\nseed: -1\n")},
			"0.yaml": {Data: []byte("count: x\n# more\nbos: 1\n")}},
			"a.yaml:4:7: seed is -1; allowed: 0 to 18446744073709551615\n0.yaml:1:8: count is the text x; allowed: a whole number\n" +
				"0.yaml:3:1: the key bos is not known here; did you mean boss? allowed: count, boss"},
		{"missing inside", fstest.MapFS{"a.yaml": {Data: []byte(head + "crew: {file: c.yaml}\n")}, "c.yaml": {Data: []byte("# x\nboss: {count: 1}\n")}},
			"c.yaml:2:1: crew lacks count; add count: (a whole number)"},
		{"broken inside", fstest.MapFS{"a.yaml": {Data: []byte(head + "crew: {file: c.yaml}\n")}, "c.yaml": {Data: []byte("count: [")}},
			"c.yaml:1:8: a list [...] is not closed; end it with ]"},
	} {
		t.Run(r.name, func(t *testing.T) {
			var v voyage
			_, err := Decode(r.fsys, "a.yaml", &v)
			if err == nil || err.Error() != r.want {
				t.Errorf("error %v\nwant  %s", err, r.want)
			}
		})
	}
}

// The same file a thousand times, each of them with a thousand more: refused after a bounded number.
func TestIncludeBomb(t *testing.T) {
	bomb := func(next string) *fstest.MapFile {
		return &fstest.MapFile{Data: []byte(strings.Repeat("- {to: x, sub: {file: "+next+"}}\n", 1000))}
	}
	fsys := fstest.MapFS{
		"a.yaml": {Data: []byte("name: x\nspeed: 8 kn\nlegs: {file: b.yaml}\n")},
		"b.yaml": bomb("c.yaml"), "c.yaml": bomb("d.yaml"), "d.yaml": {Data: []byte("[]")},
	}
	var v voyage
	_, err := Decode(fsys, "a.yaml", &v)
	if want := "c.yaml:63:23: files are pulled in more than 64 times; write some of the parts out"; err == nil || err.Error() != want {
		t.Errorf("error %.400v\nwant %s", err, want)
	}
}

func TestBounds(t *testing.T) {
	var v voyage
	for _, r := range []struct{ name, text, want string }{
		{"bytes", "#" + strings.Repeat(" ", maxBytes), "v.yaml:1:1: the file has 4194305 bytes; allowed: 4194304 at most"},
		{"parts", "notes: [" + strings.Repeat("a,", maxTokens/2) + "]", "v.yaml:1:1: the file has too many parts; allowed: about 10000 values, with all files it pulls in"},
		{"parts with what is pulled in", "name: x\nspeed: 8 kn\nnotes: {file: half.yaml}\nlegs: {file: half.yaml}",
			"half.yaml:1:1: the file has too many parts; allowed: about 10000 values, with all files it pulls in"},
	} {
		half := "[" + strings.Repeat("a,", maxTokens/4) + "]"
		fsys := fstest.MapFS{"v.yaml": {Data: []byte(r.text)}, "half.yaml": {Data: []byte(half)}}
		if _, err := Decode(fsys, "v.yaml", &v); err == nil || err.Error() != r.want {
			t.Errorf("%s: error %.300v\nwant  %s", r.name, err, r.want)
		}
	}
}

func TestDecodeFile(t *testing.T) {
	dir := t.TempDir()
	write := func(name, text string) string {
		p := filepath.Join(dir, name)
		if err := os.MkdirAll(filepath.Dir(p), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(p, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
		return p
	}
	secret := write("secret.yaml", "count: 1\n")
	write("in/crew.yaml", "count: x\n")
	var v voyage

	main := write("in/a.yaml", "name: x\nspeed: 8 kn\ncrew: {file: crew.yaml}\n")
	_, err := DecodeFile(main, &v)
	want := filepath.Join(dir, "in", "crew.yaml") + ":1:8: count is the text x; allowed: a whole number"
	if err == nil || err.Error() != want {
		t.Errorf("error %v\nwant  %s", err, want)
	}

	if err := os.Symlink(secret, filepath.Join(dir, "in", "link.yaml")); err != nil {
		t.Skipf("no symbolic links here: %v", err)
	}
	main = write("in/b.yaml", "name: x\nspeed: 8 kn\ncrew: {file: link.yaml}\n")
	if _, err = DecodeFile(main, &v); err == nil || !strings.Contains(err.Error(), "link.yaml cannot be pulled in") {
		t.Errorf("a link out of the folder: %v", err)
	}

	_, err = DecodeFile(filepath.Join(dir, "no", "such.yaml"), &v)
	if want := filepath.Join(dir, "no", "such.yaml") + ": there is no such file; name a file that can be read"; err == nil || err.Error() != want {
		t.Errorf("error %v\nwant  %s", err, want)
	}
	if !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("%v is no fs.ErrNotExist", err)
	}

	t.Chdir(filepath.Join(dir, "in"))
	write("in/c.yaml", "name: x\n")
	_, err = DecodeFile("c.yaml", &v)
	if want := "c.yaml:1:1: the file lacks speed; add speed: (a value such as 8 kn)"; err == nil || err.Error() != want {
		t.Errorf("error %v\nwant  %s", err, want)
	}
}
