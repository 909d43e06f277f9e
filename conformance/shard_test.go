package conformance

import (
	"fmt"
	"slices"
	"strings"
	"testing"
	"testing/fstest"

	"swellbench/scenarios"
	"swellbench/scenarios/units"
)

func casesOf(n int) []Case {
	var out []Case
	for i := range n {
		out = append(out, Case{Name: fmt.Sprint("case-", i), Scenario: &scenarios.Scenario{Duration: units.Duration(1 + i*7%13)}})
	}
	return out
}

// The shards of a suite share its cases out, each case once, take about as long, and are the same on every run.
func TestShards(t *testing.T) {
	for n := 0; n < 40; n++ {
		cases := casesOf(n)
		for of := 1; of <= 6; of++ {
			seen := map[string]int{}
			var loads []float64
			for i := 1; i <= of; i++ {
				mine := Shard{i, of}.of(cases)
				load := 0.0
				for k, c := range mine {
					seen[c.Name]++
					load += float64(c.Scenario.Duration) + caseOverheadS
					if k > 0 && slices.IndexFunc(cases, func(x Case) bool { return x.Name == c.Name }) < slices.IndexFunc(cases, func(x Case) bool { return x.Name == mine[k-1].Name }) {
						t.Fatal("not in the order of the suite")
					}
				}
				loads = append(loads, load)
			}
			if len(seen) != n || slices.Max(loads)-slices.Min(loads) > 14 { // the longest case
				t.Errorf("%d cases in %d shards: %d seen, loads %v", n, of, len(seen), loads)
			}
		}
	}
	for text, ok := range map[string]bool{"1/1": true, "3/5": true, "0/5": false, "6/5": false, "1": false, "1/": false, "1/2x": false, "-1/2": false, "1/2/3": false} {
		if _, err := ParseShard(text); (err == nil) != ok {
			t.Errorf("%q: %v", text, err)
		}
	}
}

func shardVerdict(i, of int, outcome Outcome) Verdict {
	v := Verdict{Suite: "s", Command: []string{"p"}, Shard: Shard{i, of}}
	for k := range 4 {
		name := fmt.Sprint("case-", k)
		v.Whole = append(v.Whole, name)
		if k%of == i-1 {
			v.Cases = append(v.Cases, CaseResult{Name: name, Results: []Result{{Check: "parse.values", Outcome: outcome}}})
		}
	}
	return v
}

func TestMerge(t *testing.T) {
	a, b := shardVerdict(1, 2, Passed), shardVerdict(2, 2, Failed)
	v, err := Merge([]Verdict{b, a})
	if err != nil || len(v.Cases) != 4 || v.Cases[1].Name != "case-1" || v.ExitCode() != 1 || v.Shard.Of != 0 {
		t.Errorf("%v %+v", err, v)
	}
	other := shardVerdict(2, 2, Passed)
	other.Suite = "t"
	program := shardVerdict(2, 2, Passed)
	program.Command = []string{"q"}
	for want, parts := range map[string][]Verdict{
		"the results of these shards are missing: 2/2": {a}, "shard 1/2 is there twice": {a, a}, "of two suites": {a, other}, "of two programs": {a, program},
		"are not of one run": {a, shardVerdict(2, 3, Passed)}, "nothing to merge": {},
	} {
		if _, err := Merge(parts); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%v, want %q", err, want)
		}
	}
}

// What is known to fail does not fail the run; what passes though it is known to fail does, and names its line; names that
// nobody knows are refused with their place.
func TestKnownFailing(t *testing.T) {
	load := func(text string) (*Known, error) {
		return LoadKnownFS(fstest.MapFS{"known.yaml": {Data: []byte(text)}}, "known.yaml")
	}
	k, err := load("failing:\n  - {case: case-1, check: parse.values, because: ticket 12}\n")
	if err != nil {
		t.Fatal(err)
	}
	v := shardVerdict(1, 1, Passed)
	v.Cases[1].Results[0].Outcome = Failed
	if v.ExitCode() != 1 {
		t.Fatal("it passes without the file")
	}
	if stale, err := k.Apply(&v); err != nil || stale != nil || v.ExitCode() != 0 || v.Cases[1].Results[0].Known != "known to fail: ticket 12" {
		t.Errorf("%v %v %d %+v", stale, err, v.ExitCode(), v.Cases[1])
	}
	v = shardVerdict(1, 1, Passed)
	stale, err := k.Apply(&v)
	if want := []string{"known.yaml:2: parse.values passes in case-1 now; delete this line"}; err != nil || !slices.Equal(stale, want) || v.ExitCode() != 1 {
		t.Errorf("%q %v %d", stale, err, v.ExitCode())
	}
	part := shardVerdict(1, 2, Passed) // the case is in the other shard
	if stale, err := k.Apply(&part); err != nil || stale != nil || part.ExitCode() != 0 {
		t.Errorf("%q %v", stale, err)
	}
	if _, err := load("failing:\n  - {case: a, check: parse.valus}\n"); err == nil || !strings.HasPrefix(err.Error(), "known.yaml:2:22: there is no check parse.valus; did you mean parse.values?") {
		t.Error(err)
	}
	k, err = load("failing:\n  - {case: case-9, check: parse.values}\n  - {case: case-1, check: parse.loss}\n")
	if err != nil {
		t.Fatal(err)
	}
	v = shardVerdict(1, 1, Passed)
	if _, err := k.Apply(&v); err == nil || !strings.Contains(err.Error(), "known.yaml:2:12: the suite s has no case case-9;") || !strings.Contains(err.Error(), "known.yaml:3:27: the case case-1 does not ask for parse.loss; remove the line") {
		t.Error(err)
	}
}
