package conformance

import (
	"cmp"
	"fmt"
	"slices"
)

// A Shard is one part of a suite that is split over several jobs. The zero Shard is the whole.
type Shard struct {
	Index int // from 1
	Of    int
}

// ParseShard reads "2/5".
func ParseShard(s string) (Shard, error) {
	var h Shard
	var rest string
	if n, _ := fmt.Sscanf(s+" .", "%d/%d %s", &h.Index, &h.Of, &rest); n != 3 || rest != "." || h.Of < 1 || h.Of > 1000 || h.Index < 1 || h.Index > h.Of {
		return Shard{}, usagef("shard is %q, allowed: i/n with i from 1 to n and n up to 1000, such as 2/5", s)
	}
	return h, nil
}

// String is what [ParseShard] reads; "" of the whole.
func (h Shard) String() string {
	if h.Of == 0 {
		return ""
	}
	return fmt.Sprintf("%d/%d", h.Index, h.Of)
}

// of takes the shard's cases, in the order of the suite. Which these are depends on the suite alone: the longest case goes
// to the shard that has least so far, and so on down, so that all shards take about as long.
func (h Shard) of(cases []Case) []Case {
	if h.Of == 0 {
		return cases
	}
	load := make([]float64, h.Of)
	mine := make([]bool, len(cases))
	for _, i := range longestFirst(cases) {
		least := slices.Index(load, slices.Min(load))
		load[least] += float64(cases[i].Scenario.Duration) + caseOverheadS
		mine[i] = least == h.Index-1
	}
	var out []Case
	for i := range cases {
		if mine[i] {
			out = append(out, cases[i])
		}
	}
	return out
}

// caseOverheadS is what a case takes beside its scenario, s: starting, draining, ending. Common practice, no source.
const caseOverheadS = 1.0

// Merge joins the verdicts of all shards of one run of a suite. Its error is a [UsageError]: verdicts of different suites
// or programs, a shard that is there twice or not at all, with what is missing.
func Merge(parts []Verdict) (Verdict, error) {
	if len(parts) == 0 {
		return Verdict{}, usagef("there is nothing to merge")
	}
	first := parts[0]
	out := first
	out.Shard, out.Cases = Shard{}, nil
	seen := map[int]bool{}
	for _, v := range parts {
		switch {
		case v.Suite != first.Suite || !slices.Equal(v.Whole, first.Whole):
			return Verdict{}, usagef("verdicts of two suites cannot be merged: %s of %d cases and %s of %d", first.Suite, len(first.Whole), v.Suite, len(v.Whole))
		case !slices.Equal(v.Command, first.Command):
			return Verdict{}, usagef("verdicts of two programs cannot be merged: %q and %q", first.Command, v.Command)
		case v.Varied != first.Varied || v.Seed != first.Seed:
			return Verdict{}, usagef("the cases of shard %s and shard %s were drawn from different seeds; play all shards with the same --seed", first.Shard, v.Shard)
		case v.Shard.Of != first.Shard.Of || v.Shard.Of == 0:
			return Verdict{}, usagef("shard %q and shard %q are not of one run; give the results of all of 1/n to n/n", first.Shard, v.Shard)
		case seen[v.Shard.Index]:
			return Verdict{}, usagef("shard %s is there twice", v.Shard)
		}
		seen[v.Shard.Index] = true
		out.Cases = append(out.Cases, v.Cases...)
		out.Elapsed = max(out.Elapsed, v.Elapsed)
		out.Interrupted = out.Interrupted || v.Interrupted
		if v.Started.Before(out.Started) {
			out.Started = v.Started
		}
	}
	var missing []string
	for i := 1; i <= first.Shard.Of; i++ {
		if !seen[i] {
			missing = append(missing, Shard{i, first.Shard.Of}.String())
		}
	}
	if len(missing) > 0 {
		return Verdict{}, usagef("the results of these shards are missing: %s", list(missing))
	}
	place := map[string]int{}
	for i, name := range first.Whole {
		place[name] = i
	}
	for i := range out.Cases {
		if _, ok := place[out.Cases[i].Name]; !ok {
			return Verdict{}, usagef("the case %s is none of the suite %s", out.Cases[i].Name, first.Suite)
		}
	}
	slices.SortStableFunc(out.Cases, func(a, b CaseResult) int { return cmp.Compare(place[a.Name], place[b.Name]) })
	for i := range out.Cases {
		if i > 0 && out.Cases[i].Name == out.Cases[i-1].Name {
			return Verdict{}, usagef("the case %s is in two shards", out.Cases[i].Name)
		}
	}
	if len(out.Cases) != len(first.Whole) && !out.Interrupted {
		return Verdict{}, usagef("the shards have %d cases together, the suite %d", len(out.Cases), len(first.Whole))
	}
	return out, nil
}
