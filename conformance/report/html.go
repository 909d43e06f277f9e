package report

import (
	_ "embed"
	"encoding/hex"
	"fmt"
	"html/template"
	"io"
	"strings"

	"swellbench/conformance"
)

//go:embed page.html
var pageText string

var page = template.Must(template.New("page").Parse(pageText))

// HTML writes the verdict as one page that needs nothing else: no script, no picture or font from elsewhere. It reads in
// print, and every plot has its words and numbers.
func HTML(w io.Writer, v *conformance.Verdict) error {
	d := pageData{Suite: oneLine(v.Suite), About: oneLine(v.About), Outcome: strings.ToUpper(v.Outcome().String()), Class: class(v.Outcome()),
		Started: v.Started.UTC().Format("2006-01-02 15:04:05 UTC"), Elapsed: fmt.Sprintf("%.1f s", v.Elapsed.Seconds()),
		Command: commandText(v.Command), Caution: Caution, Interrupted: v.Interrupted, Stale: v.Stale, Shard: v.Shard.String()}
	count := v.Count()
	for o := conformance.Passed; o <= conformance.CouldNotRun; o++ {
		if count[o] > 0 {
			d.Counts = append(d.Counts, tally{o.String(), class(o), count[o]})
		}
	}
	for _, c := range v.Causes() {
		f := c.Best
		x := pageFinding{ID: f.ID, Title: clean(f.Title), Surety: f.Surety(), Cases: c.Cases, Checks: f.Checks, Change: f.Change, Impact: f.Impact}
		for _, e := range f.Evidence {
			x.Evidence = append(x.Evidence, clean(e))
		}
		for _, p := range f.Parameters {
			x.Parameters = append(x.Parameters, p.String())
		}
		for _, a := range f.NotTold {
			text := clean(a.Title)
			if a.Run != "" {
				text += " The scenario " + a.Run + " tells them apart."
			}
			x.NotTold = append(x.NotTold, text)
		}
		d.Findings = append(d.Findings, x)
	}
	d.columns(v)
	for i := range v.Cases {
		c, err := pageCaseOf(v, &v.Cases[i])
		if err != nil {
			return fmt.Errorf("report of case %s: %w", v.Cases[i].Name, err)
		}
		d.Cases = append(d.Cases, c)
	}
	return page.Execute(w, d)
}

type pageData struct {
	Suite, About, Outcome, Class, Started, Elapsed, Command, Caution string
	Stale                                                            []string
	Shard                                                            string
	Interrupted                                                      bool
	Counts                                                           []tally
	Checks                                                           []string
	Cases                                                            []pageCase
	Findings                                                         []pageFinding
}

type pageFinding struct {
	ID, Title, Surety, Change, Impact            string
	Evidence, Parameters, NotTold, Cases, Checks []string
}

type tally struct {
	Word, Class string
	N           int
}

type pageCase struct {
	Name, About, Outcome, Class string
	Facts                       [][2]string
	Incident                    string
	Notes                       []string
	Cells                       []cell // by the columns of the table
	Failed                      []pageCheck
	Others                      []pageCheck
	Again                       string // the command that plays this case alone
	Stderr                      string
	Plan                        *picture
}

type cell struct{ Word, Class, Title string }

type pageCheck struct {
	ID, Requirement, Source, Rule, Outcome, Class, Summary string
	Parts                                                  []conformance.Part
	PartTexts                                              [][3]string
	Quantities                                             [][]string
	Examples                                               []pageExample
	Pictures                                               []picture
	Messages                                               []pageMessage
}

type pageExample struct{ Time, Quantity, Expected, Observed, Source, Line string }

type pageMessage struct{ Time, Kind, What, Text, Hex string }

func class(o conformance.Outcome) string { return strings.ReplaceAll(o.String(), " ", "-") }

// columns are the checks that any case has, in the order of the catalogue.
func (d *pageData) columns(v *conformance.Verdict) {
	have := map[string]bool{}
	for _, c := range v.Cases {
		for _, r := range c.Results {
			have[r.Check] = true
		}
	}
	for _, c := range conformance.Checks {
		if have[c.ID] {
			d.Checks = append(d.Checks, c.ID)
		}
	}
}

// seedText is the option by which the cases were drawn anew.
func seedText(v *conformance.Verdict) string {
	if !v.Varied {
		return ""
	}
	return fmt.Sprintf(" --seed %d", v.Seed)
}

func pageCaseOf(v *conformance.Verdict, c *conformance.CaseResult) (pageCase, error) {
	p := pageCase{Name: c.Name, About: oneLine(c.About), Outcome: c.Outcome().String(), Class: class(c.Outcome()), Stderr: clean(c.Stderr)}
	for _, n := range c.Notes {
		p.Notes = append(p.Notes, clean(n))
	}
	if c.Incident != nil {
		p.Incident = clean(c.Incident.Text)
	}
	fact := func(name, format string, a ...any) {
		p.Facts = append(p.Facts, [2]string{name, oneLine(fmt.Sprintf(format, a...))})
	}
	fact("stream", "%s on a line of %s", c.Format, c.Settings)
	if !c.Start.IsZero() {
		fact("scenario", "%.0f s from %s, seed %d", c.Duration.Seconds(), c.Start.UTC().Format("2006-01-02 15:04:05 UTC"), c.Seed)
	}
	if len(c.Environment) > 0 {
		fact("environment", "%s", strings.Join(c.Environment, " "))
	}
	fact("messages sent", "%d", c.Sent)
	fact("observations", "%d", c.Observed)
	if c.HostLateS > 0 {
		fact("host late by at most", "%.1f ms", 1e3*c.HostLateS)
	}
	if c.Exit != "" {
		fact("program", "%s", c.Exit)
	}
	if v.Suite != "log" {
		p.Again = fmt.Sprintf("swellbench check %s%s --case %s -- %s", v.Suite, seedText(v), c.Name, commandText(v.Command))
	}
	for _, check := range conformance.Checks {
		for i := range c.Results {
			if r := &c.Results[i]; r.Check == check.ID {
				x, err := pageCheckOf(check, c, r)
				if err != nil {
					return p, err
				}
				if r.Outcome == conformance.Failed && r.Known == "" {
					p.Failed = append(p.Failed, x)
				} else {
					p.Others = append(p.Others, x)
				}
			}
		}
	}
	for _, f := range p.Failed {
		if f.ID == "offset.lever-arm" && len(c.Plan) > 0 {
			pic, err := plan(c.Points, c.Plan)
			if err != nil {
				return p, err
			}
			p.Plan = &pic
		}
	}
	return p, nil
}

// Cell is what the table shows of a check in this case.
func (p pageCase) Cell(id string) cell {
	for _, list := range [][]pageCheck{p.Failed, p.Others} {
		for _, x := range list {
			if x.ID == id {
				return cell{x.Outcome, x.Class, x.Summary}
			}
		}
	}
	return cell{"–", "none", "not asked of this case"}
}

func pageCheckOf(check conformance.Check, c *conformance.CaseResult, r *conformance.Result) (pageCheck, error) {
	x := pageCheck{ID: r.Check, Requirement: check.Requirement, Source: check.Source, Rule: check.Tolerance, Outcome: r.Outcome.String(), Class: class(r.Outcome), Summary: clean(r.Summary)}
	if r.Known != "" {
		x.Outcome, x.Class, x.Summary = "known", "inconclusive", clean(r.Known+": "+r.Summary)
		return x, nil
	}
	if r.Reason != "" && r.Outcome != conformance.Failed {
		x.Summary = clean(r.Reason)
	}
	for _, p := range r.ToleranceParts {
		x.PartTexts = append(x.PartTexts, [3]string{p.Name, short(p.Value) + " " + p.Unit, p.Why})
	}
	for _, q := range r.Quantities {
		x.Quantities = append(x.Quantities, []string{q.Name, q.Unit, fmt.Sprint(q.N), fmt.Sprint(q.Beyond), short(q.Mean), short(q.RMS), short(q.P95), short(q.Max), short(q.Worst), short(q.Tolerance)})
	}
	if r.Outcome != conformance.Failed {
		return x, nil
	}
	for _, e := range r.Examples {
		y := pageExample{Quantity: e.Quantity, Expected: clean(e.Expected), Observed: clean(e.Observed), Source: clean(e.Source)}
		if !e.Time.IsZero() {
			y.Time = e.Time.UTC().Format("2006-01-02 15:04:05.000 UTC")
		}
		if e.Line > 0 {
			y.Line = fmt.Sprint(e.Line)
		}
		x.Examples = append(x.Examples, y)
	}
	for _, m := range r.Around {
		x.Messages = append(x.Messages, messageOf(m))
	}
	for _, q := range r.Quantities {
		if q.Beyond == 0 {
			continue
		}
		for _, s := range c.Series {
			if s.Quantity != q.Name || len(s.Points) < 2 {
				continue
			}
			pic, err := deviation(s)
			if err != nil {
				return x, err
			}
			x.Pictures = append(x.Pictures, pic)
			if q.Name == "latitude" || q.Name == "longitude" {
				continue // the plan shows it
			}
			if pic, err = over(s); err != nil {
				return x, err
			}
			x.Pictures = append(x.Pictures, pic)
		}
	}
	return x, nil
}

func messageOf(m conformance.SentMessage) pageMessage {
	p := pageMessage{Time: fmt.Sprintf("%.3f s", m.ValidS), Kind: m.Kind, Hex: hex.EncodeToString(m.Bytes)}
	var spaced strings.Builder
	for i := 0; i < len(p.Hex); i += 2 {
		if i > 0 {
			spaced.WriteByte(' ')
		}
		spaced.WriteString(p.Hex[i : i+2])
	}
	p.Hex = spaced.String()
	p.Text = strings.TrimRight(string(m.Bytes), "\r\n")
	for _, b := range []byte(p.Text) {
		if b < ' ' || b > '~' {
			p.Text = ""
			break
		}
	}
	switch {
	case m.Lost != "":
		p.What = "lost: " + m.Lost
	case m.Hurt != "":
		p.What = "hurt: " + m.Hurt
	}
	return p
}

// commandText writes a command as a shell would take it.
func commandText(args []string) string {
	var out []string
	for _, a := range args {
		a = oneLine(a)
		if a == "" || strings.ContainsAny(a, " '\"$&;|<>()*?\\") {
			a = "'" + strings.ReplaceAll(a, "'", `'\''`) + "'"
		}
		out = append(out, a)
	}
	return strings.Join(out, " ")
}
