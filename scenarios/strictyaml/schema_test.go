package strictyaml

import (
	"bytes"
	"encoding/json"
	"flag"
	"os"
	"os/exec"
	"strings"
	"testing"
)

var update = flag.Bool("update", false, "rewrite the golden files")

func TestSchemaGolden(t *testing.T) {
	got, err := Schema(&voyage{}, "Voyage")
	if err != nil {
		t.Fatal(err)
	}
	const golden = "testdata/voyage.schema.json"
	if *update {
		if err := os.WriteFile(golden, got, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(golden)
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(got, want) {
		t.Errorf("the schema is not that of %s; look at the difference, then run with -update:\n%s", golden, got)
	}
	for range 5 {
		if again, _ := Schema(voyage{}, "Voyage"); !bytes.Equal(again, got) {
			t.Fatal("the same type gives other bytes")
		}
	}
}

// The schema is held against files by a validator that is not ours (Python's jsonschema), with the YAML read by a
// parser that is not ours (PyYAML). What the schema allows must decode; each file says whether both allow it.
func TestSchemaWithOtherValidator(t *testing.T) {
	const script = `
import sys, json
try:
    import yaml, jsonschema
except ImportError as e:
    print("skip:", e); sys.exit(0)
class Loader(yaml.BaseLoader): pass
import re
for tag, exp, first in [("bool", "^(true|True|TRUE|false|False|FALSE)$", "tTfF"), ("int", "^[-+]?[0-9]+$", "-+0123456789"),
    ("float", "^[-+]?([.][0-9]+|[0-9]+([.][0-9]*)?)([eE][-+]?[0-9]+)?$", "-+.0123456789")]:
    Loader.add_implicit_resolver("tag:yaml.org,2002:" + tag, re.compile(exp), list(first))
for tag, f in [("bool", lambda s: s[0] in "tT"), ("int", int), ("float", float)]:
    Loader.add_constructor("tag:yaml.org,2002:" + tag, lambda l, n, f=f: f(l.construct_scalar(n)))
case = json.load(sys.stdin)
schema = case["schema"]
jsonschema.Draft202012Validator.check_schema(schema)
v = jsonschema.Draft202012Validator(schema)
print(json.dumps([not list(v.iter_errors(yaml.load(text, Loader))) for text in case["files"]]))
`
	python, err := exec.LookPath("python3")
	if err != nil {
		t.Skip("no python3 here, so no validator of another make")
	}
	const ok = "name: x\nspeed: 8 kn\n"
	rows := []struct {
		text string
		ok   bool
	}{
		{ok, true}, {ok + "start: now\n", true}, {ok + "start: 2026-06-01T12:00:00Z\n", true}, {ok + "crew: {count: 1, boss: {count: 2}}\n", true},
		{ok + "box: [1 m, -2.5 mm, .5e1 NM]\n", true}, {ok + "marks: {a: 1, b: 2.5}\n", true}, {ok + "flag: red\n", true},
		{ok + "chart: {file: a.png, scale: 3}\n", true}, {ok + "notes: [a, \"1\"]\n", true}, {ok + "legs: [{to: a, sub: [{to: b}]}]\n", true},
		{ok + "port: bay\nloud: true\nseed: 18446744073709551615\noffset: -128\n", true},
		{"name: x\n", false}, {"name: x\nspeed: 8\n", false}, {"name: x\nspeed: 8 m\n", false}, {ok + "crew: {}\n", false},
		{ok + "crew: {count: 1, bos: {count: 2}}\n", false}, {ok + "box: [1 m, 2 m]\n", false}, {ok + "box: [1 m, 2 m, 3 m, 4 m]\n", false},
		{ok + "flag: blue\n", false}, {ok + "seed: -1\n", false}, {ok + "offset: 128\n", false}, {ok + "factor: lots\n", false},
		{ok + "loud: yes\n", false}, {ok + "marks: {a: x}\n", false}, {ok + "legs: {to: x}\n", false}, {ok + "start: [now]\n", false},
		{ok + "notes: [1]\n", false}, {"[]", false},
		{ok + "crew: {file: crew.yaml, count: 1}\n", false}, {ok + "speed2: 3 kn\n", false},
	}
	schema, err := Schema(voyage{}, "Voyage")
	if err != nil {
		t.Fatal(err)
	}
	in := struct {
		Schema json.RawMessage `json:"schema"`
		Files  []string        `json:"files"`
	}{Schema: schema}
	for _, r := range rows {
		in.Files = append(in.Files, r.text)
	}
	in.Files = append(in.Files, ok+"crew: {file: crew.yaml}\nlegs: {file: l.yaml}\nmarks: {file: m.yaml}\n") // only the schema can tell
	stdin, err := json.Marshal(in)
	if err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command(python, "-c", script)
	cmd.Stdin = bytes.NewReader(stdin)
	var stderr strings.Builder
	cmd.Stderr = &stderr
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("python3: %v\n%s", err, stderr.String())
	}
	if why, ok := strings.CutPrefix(string(out), "skip:"); ok {
		t.Skip("python3 lacks a validator: " + strings.TrimSpace(why))
	}
	var verdicts []bool
	if err := json.Unmarshal(out, &verdicts); err != nil || len(verdicts) != len(rows)+1 {
		t.Fatalf("python3 wrote %q (%v)", out, err)
	}
	for i, r := range rows {
		var v voyage
		_, err := DecodeBytes("v.yaml", []byte(r.text), &v)
		if verdicts[i] != r.ok || (err == nil) != r.ok {
			t.Errorf("%q: the schema says %v, Decode says %v, want %v", r.text, verdicts[i], err, r.ok)
		}
	}
	if !verdicts[len(rows)] {
		t.Error("the schema refuses {file: ...}")
	}
}

type silent struct{}

func (*silent) DecodeYAML(Node) error { return nil }

func TestSchemaErrors(t *testing.T) {
	for _, r := range []struct {
		v    any
		want string
	}{
		{nil, "strictyaml: schema of nil; give a value of the type"},
		{struct {
			A chan int `yaml:"a"`
		}{}, "strictyaml: a file cannot be read into chan int"},
		{silent{}, "strictyaml: strictyaml.silent has no keys; a type that reads itself needs SchemaOneOf or SchemaPattern"},
	} {
		if _, err := Schema(r.v, "x"); err == nil || err.Error() != r.want {
			t.Errorf("error %v\nwant  %s", err, r.want)
		}
	}
}
