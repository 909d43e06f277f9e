package layout

import (
	"bytes"
	"fmt"
	"math"
	"regexp"
	"strings"
	"testing"
	"testing/fstest"

	"swellbench/emulator/wire"
	"swellbench/emulator/wire/mixed"
	"swellbench/scenarios/opt"
)

func example(t testing.TB, name string) *Layout {
	t.Helper()
	l, err := Load(Examples, "examples/"+name+".yaml")
	if err != nil {
		t.Fatal(err)
	}
	return l
}

func encoder(t testing.TB, l *Layout, kind string) wire.Encoder {
	t.Helper()
	e, err := l.New(kind)
	if err != nil {
		t.Fatal(err)
	}
	return e
}

// Every table row has a name of its own, and no two kinds of quantities share one.
func TestTables(t *testing.T) {
	seen := map[string]bool{}
	for _, n := range quantityNames() {
		if seen[n] {
			t.Errorf("%s is there twice", n)
		}
		seen[n] = true
	}
	for _, q := range quantities {
		if q.what == "" || q.dim == nil || q.top <= 0 || (q.ways[0] == "") != (q.ways[1] == "") {
			t.Errorf("%s lacks something", q.name)
		}
		// What is set is there, and what is made absent is not.
		r := Sample()
		d := draft{r: &r}
		if q.name == "inclination-right" || q.name == "running-time" {
			continue
		}
		q.put(&d, q.top/4, true)
		if strings.HasPrefix(q.name, "l") { // one of a pair
			d.hasLat, d.hasLon = 1, 1
		}
		d.finish()
		if got, ok := q.get(&r); !ok || math.Abs(got-q.top/4) > 1e-9 {
			t.Errorf("%s: set %g, got %g", q.name, q.top/4, got)
		}
		d = draft{r: &r}
		q.put(&d, 0, false)
		d.finish()
		if _, ok := q.get(&r); ok && q.name != "height" && q.name != "altitude" {
			t.Errorf("%s is there though it is not known", q.name)
		}
	}
}

// A message says nothing of what is not known, each in its way, and is read so.
func TestAbsent(t *testing.T) {
	for _, name := range ExampleNames() {
		l := example(t, name)
		for _, k := range l.Kinds() {
			none := wire.Reading{}
			b, err := encoder(t, l, k).Append(nil, &none)
			if err != nil || len(b) == 0 {
				t.Fatalf("%s: %q, %v", k, b, err)
			}
			r := Sample()
			if _, _, err := l.Read(b, &r); err != nil {
				t.Fatal(err)
			}
			if name == "hull-box" && (r.Position.Has() || r.Heading.Has()) || r.UTC.Has() || r.Pitch.Has() || r.Roll.Has() || r.HeaveM.Has() || r.Fix != wire.FixNone {
				t.Errorf("%s reads as %+v", k, r)
			}
			if !r.SwayM.Has() || !r.SpeedMS.Has() {
				t.Errorf("%s took away what it does not speak of", k)
			}
		}
	}
	l, err := Parse("x.yaml", []byte("name: x\nmessages:\n- name: M\n  start: \"$\"\n  fields:\n  - {name: a, quantity: heave, unit: m, as: int8}\n"))
	if err != nil {
		t.Fatal(err)
	}
	e := encoder(t, l, "M").(*Encoder)
	var none wire.Reading
	if b, err := e.Append([]byte("kept"), &none); string(b) != "kept" || err != nil {
		t.Errorf("%q, %v; want nothing added", b, err)
	}
	if got := fmt.Sprint(e.Needs(), e.Lacks(&none)); got != "[heave] [heave]" {
		t.Error(got)
	}
	nan := wire.Reading{HeaveM: opt.Of(math.NaN())}
	if b, err := e.Append(nil, &nan); len(b) > 0 || err != nil {
		t.Errorf("not a number gives %q, %v", b, err)
	}
}

// A flag that says no makes absent what it speaks of, wherever it stands.
func TestFlags(t *testing.T) {
	l := example(t, "hull-box")
	r := Sample()
	b, err := encoder(t, l, "MOTION").Append(nil, &r)
	if err != nil {
		t.Fatal(err)
	}
	b[33] &^= 0x80
	m := l.messages[0]
	m.putSum(b, m.sums[0], m.spans)
	if _, _, err := l.Read(b, &r); err != nil || r.Heading.Has() || !r.Pitch.Has() {
		t.Errorf("%v, heading %v", err, r.Heading)
	}
}

// Hurt messages, of every byte in turn: none is taken for whole.
func TestHurt(t *testing.T) {
	for _, name := range ExampleNames() {
		l := example(t, name)
		fam := l.Family()
		r := Sample()
		b, err := encoder(t, l, l.Kinds()[0]).Append(nil, &r)
		if err != nil {
			t.Fatal(err)
		}
		for i := range b {
			h := bytes.Clone(b)
			h[i] ^= 0x04
			if p := fam.Probe(h, true); p.Verdict == wire.Whole {
				t.Errorf("%s with byte %d changed is whole: %q", name, i, h)
			} else if p.Verdict == wire.Broken && (p.Len < 1 || p.Len > len(h)) {
				t.Errorf("%s with byte %d changed: %+v", name, i, p)
			}
			if _, _, err := l.Read(h, &r); err == nil {
				t.Errorf("%s with byte %d changed is read", name, i)
			}
		}
	}
}

// Both examples on one line, with rubbish and hurt messages between them: each good message is found.
func TestMixed(t *testing.T) {
	tilt, box := example(t, "quay-tilt"), example(t, "hull-box")
	a, b := encoder(t, tilt, "TILT"), encoder(t, box, "MOTION")
	s := mixed.New(tilt.Family(), box.Family())
	var in []byte
	good := 0
	for i := range 200 {
		r := Sample()
		r.Count = uint32(i)
		enc := a
		if i%3 == 0 {
			enc = b
		}
		at := len(in)
		var err error
		if in, err = enc.Append(in, &r); err != nil {
			t.Fatal(err)
		}
		switch i % 7 {
		case 2:
			in[at+12] ^= 1
		case 4:
			in = in[:at+9]
		case 5:
			in = append(in, "@TI\xB5\xB5M@ noise"...)
			good++
		default:
			good++
		}
	}
	found := 0
	for len(in) > 0 {
		n := min(len(in), 11)
		s.Push(in[:n])
		if in = in[n:]; len(in) == 0 {
			s.Flush()
		}
		for e, ok := s.Next(); ok; e, ok = s.Next() {
			if e.Kind == mixed.Message {
				found++
				var r wire.Reading
				if _, _, err := e.Family.Read(e.Bytes, &r); err != nil {
					t.Error(err)
				}
			}
		}
	}
	if found != good {
		t.Errorf("%d of %d good messages are found", found, good)
	}
}

func TestAllocates(t *testing.T) {
	for _, name := range ExampleNames() {
		l := example(t, name)
		fam := l.Family()
		enc := encoder(t, l, l.Kinds()[0])
		r := Sample()
		buf, err := enc.Append(make([]byte, 0, 256), &r)
		if err != nil {
			t.Fatal(err)
		}
		if n := testing.AllocsPerRun(100, func() { buf, _ = enc.Append(buf[:0], &r) }); n > 0 {
			t.Errorf("%s: encoding allocates %g times", name, n)
		}
		if n := testing.AllocsPerRun(100, func() { fam.Probe(buf, false) }); n > 0 {
			t.Errorf("%s: probing allocates %g times", name, n)
		}
		if n := testing.AllocsPerRun(100, func() {
			if _, _, err := fam.Read(buf, &r); err != nil {
				t.Fatal(err)
			}
		}); n > 0 {
			t.Errorf("%s: reading allocates %g times", name, n)
		}
	}
}

// Requests are heard however they are cut, and among other bytes.
func TestRequests(t *testing.T) {
	l := example(t, "quay-tilt")
	if got := len(l.Requests()); got != 3 {
		t.Fatalf("%d requests", got)
	}
	in := []byte("x?T\r!RUN7\r!RUN42\r!!HALT\r?T?T\r")
	want := "[once begin halt once]"
	for n := 1; n <= len(in); n++ {
		h := l.Listener()
		var got []string
		for p := in; len(p) > 0; p = p[min(n, len(p)):] {
			h.Hear(p[:min(n, len(p))], func(a Action) { got = append(got, a.Request) })
		}
		if fmt.Sprint(got) != want {
			t.Errorf("in pieces of %d: %v, want %s", n, got, want)
		}
	}
	var a Action
	h := l.Listener()
	h.Hear([]byte("!RUN10\r"), func(x Action) { a = x })
	if a.Streaming != Starts || string(a.Answer) != "OK\r\n" || a.Reply != "" {
		t.Errorf("%+v", a)
	}
}

// A layout may pull its parts in from files beside it.
func TestLoad(t *testing.T) {
	fsys := fstest.MapFS{
		"a/l.yaml": {Data: []byte("name: x\nmessages: [{name: M, start: \"$\", fields: {file: f.yaml}}]\n")},
		"a/f.yaml": {Data: []byte("- {name: a, as: int8, quantity: heave, unit: rad}\n")},
	}
	_, err := Load(fsys, "a/l.yaml")
	if want := "a/f.yaml:1:46: unit is rad, but heave is a length; allowed: m, dm, cm, mm, um, km, ft, NM"; err == nil || err.Error() != want {
		t.Errorf("%v\nwant %s", err, want)
	}
	if _, err := Load(fsys, "b.yaml"); err == nil {
		t.Error("a file that is not there is loaded")
	}
	l := example(t, "quay-tilt")
	if _, err := l.New("TULT"); err == nil || err.Error() != `layout quay-tilt has no message "TULT"; it has: TILT` {
		t.Error(err)
	}
}

// The guide shows the examples as they are, and the samples as they are sent; all its other YAML can be read.
func TestGuide(t *testing.T) {
	for _, name := range ExampleNames() {
		b, err := Examples.ReadFile("examples/" + name + ".yaml")
		if err != nil {
			t.Fatal(err)
		}
		if !strings.Contains(Guide, "```yaml\n"+string(b)+"```") {
			t.Errorf("the guide does not show %s as it is", name)
		}
		l := example(t, name)
		r := Sample()
		s, err := l.Sheet(&r)
		if err != nil {
			t.Fatal(err)
		}
		for _, m := range s.Messages {
			if shown := m.Text + m.Hex; !m.Fits || !strings.Contains(Guide, "\n"+strings.TrimPrefix(shown, m.Hex)) && !strings.Contains(Guide, "\n"+m.Text+"\n") || m.Text == "" && !strings.Contains(Guide, "\n"+m.Hex+"\n") {
				t.Errorf("the guide does not show the sample of %s: %s", name, shown)
			}
			if len(m.Warnings) > 0 {
				t.Errorf("%s: %v", name, m.Warnings)
			}
		}
	}
	n := 0
	for _, m := range regexp.MustCompile("(?s)```yaml\n(.*?)```").FindAllStringSubmatch(Guide, -1) {
		text := m[1]
		switch {
		case strings.Contains(text, "\nname: ") || strings.HasPrefix(text, "name: "):
		case strings.HasPrefix(text, "- {"): // fields
			text = "name: x\nmessages:\n- name: M\n  start: \"$\"\n  end: \";\"\n  separator: \",\"\n  fields:\n  " + strings.ReplaceAll(strings.TrimSpace(text), "\n", "\n  ") + "\n"
		default:
			continue
		}
		n++
		if _, err := Parse("guide.yaml", []byte(text)); err != nil {
			t.Errorf("%s\n%v", text, err)
		}
	}
	if n < 3 {
		t.Errorf("only %d pieces of YAML in the guide", n)
	}
	for _, q := range quantityNames() { // all are told
		if !strings.Contains(Guide, "`"+q+"`") {
			t.Errorf("the guide does not tell of %s", q)
		}
	}
}
