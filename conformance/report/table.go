package report

import (
	"slices"
	"strings"

	"swellbench/conformance"
)

// table shows cases against checks, a word in each cell. Where the checks do not fit beside one another the table goes
// on below, broken between groups of checks (the part of the id before the point) where that is possible.
func (t *text) table(v *conformance.Verdict) {
	if n := v.Count(); n[conformance.CouldNotRun] == sum(n) {
		return // a table of nothing
	}
	checks := checksOf(v)
	lead := 4
	for i := range v.Cases {
		lead = max(lead, len([]rune(v.Cases[i].Name)))
	}
	for _, part := range columns(checks, t.o.Width-2-lead) {
		t.line("")
		t.head(part, lead)
		for i := range v.Cases {
			c := &v.Cases[i]
			row := "  " + pad(c.Name, lead)
			for _, id := range part {
				word := "-" // the case is not about it
				out := word
				for _, r := range c.Results {
					if r.Check == id {
						word = words[r.Outcome].short
						out = t.paint(r.Outcome, word)
					}
				}
				row += gap + out + strings.Repeat(" ", width(id)-len(word))
			}
			t.line("%s", strings.TrimRight(row, " "))
		}
	}
}

func sum(counts map[conformance.Outcome]int) (n int) {
	for _, c := range counts {
		n += c
	}
	return n
}

const gap = "  "

// head writes the two lines above a part of the table: groups, and names in the group.
func (t *text) head(part []string, lead int) {
	groups, names := strings.Repeat(" ", lead+2), "  "+pad("case", lead)
	last := ""
	for _, id := range part {
		group, name, _ := strings.Cut(id, ".")
		said := ""
		if group != last {
			said = group
		}
		last = group
		groups += gap + pad(said, width(id))
		names += gap + pad(name, width(id))
	}
	t.line("%s", strings.TrimRight(groups, " "))
	t.line("%s", strings.TrimRight(names, " "))
}

// width is that of a column: of the words of outcomes, the group and the name.
func width(id string) int {
	group, name, _ := strings.Cut(id, ".")
	return max(5, len([]rune(group)), len([]rune(name)))
}

func pad(s string, n int) string { return s + strings.Repeat(" ", max(0, n-len([]rune(s)))) }

// columns divides the checks into parts that fit the room, each as many whole groups as go into it.
func columns(checks []string, room int) [][]string {
	var parts [][]string
	used := 0
	need := func(ids []string) (n int) {
		for _, id := range ids {
			n += len(gap) + width(id)
		}
		return n
	}
	add := func(ids []string) {
		if n := len(parts); n > 0 && used+need(ids) <= room {
			parts[n-1] = append(parts[n-1], ids...)
			used += need(ids)
			return
		}
		parts = append(parts, slices.Clone(ids))
		used = need(ids)
	}
	for len(checks) > 0 {
		group, _, _ := strings.Cut(checks[0], ".")
		n := 1
		for n < len(checks) && strings.HasPrefix(checks[n], group+".") {
			n++
		}
		if need(checks[:n]) <= room {
			add(checks[:n])
		} else { // a group wider than a line
			for _, id := range checks[:n] {
				add([]string{id})
			}
		}
		checks = checks[n:]
	}
	return parts
}

// checksOf lists the checks of all cases, in the order of the table of checks; unknown ones come last.
func checksOf(v *conformance.Verdict) []string {
	var ids []string
	has := map[string]bool{}
	for i := range v.Cases {
		for _, r := range v.Cases[i].Results {
			if !has[r.Check] {
				has[r.Check] = true
				ids = append(ids, r.Check)
			}
		}
	}
	var order []string
	for _, c := range conformance.Checks {
		if has[c.ID] {
			order = append(order, c.ID)
		}
	}
	for _, id := range ids {
		if !slices.Contains(order, id) {
			order = append(order, id)
		}
	}
	return order
}
