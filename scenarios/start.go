package scenarios

import (
	"math"
	"strings"
	"time"

	"swellbench/scenarios/strictyaml"
)

// A Start is the UTC instant of scenario time 0: a fixed one, or the moment of the run.
type Start struct {
	Now  bool      // the moment of the run, which the run says with [Scenario.WithStart]
	Time time.Time // in UTC, where Now is false
}

// startNow is what a file says for the moment of the run.
const startNow = "now"

// Years that messages can carry and receivers can know: GPS time begins with the first.
const (
	firstYear = 1980
	lastYear  = 2099
)

// StandIn is the start of a scenario that starts now when nobody said when now is: so that what is rendered without a
// clock is the same each time.
var StandIn = time.Date(2026, time.June, 1, 12, 0, 0, 0, time.UTC)

// DecodeYAML reads "now" or an RFC 3339 instant in UTC.
func (s *Start) DecodeYAML(n strictyaml.Node) error {
	const allowed = "allowed: now, or an instant in UTC such as 2026-06-01T12:00:00Z"
	if n.Kind() != strictyaml.String {
		return n.Error("start is "+n.Kind().String(), allowed)
	}
	text := n.Text()
	if text == startNow {
		*s = Start{Now: true}
		return nil
	}
	t, err := time.Parse(time.RFC3339Nano, text)
	switch {
	case err != nil && strings.Contains(text, ":60"):
		return n.Error("start is "+strictyaml.Quote(text)+", within a leap second", "take an instant before or after it")
	case err != nil:
		return n.Error("start is "+strictyaml.Quote(text), allowed)
	case !strings.HasSuffix(text, "Z"):
		return n.Error("start is "+text+", not in UTC", "write it in UTC, "+t.UTC().Format(time.RFC3339Nano))
	case t.Year() < firstYear || t.Year() > lastYear:
		return n.Error("start is in the year "+text[:4], "allowed: the years 1980 to 2099")
	}
	*s = Start{Time: t.UTC()}
	return nil
}

// SchemaPattern describes the text form.
func (Start) SchemaPattern() (pattern string, examples []string) {
	return `^(now|(19[89][0-9]|20[0-9][0-9])-[0-9]{2}-[0-9]{2}T[0-9]{2}:[0-9]{2}:[0-9]{2}(\.[0-9]+)?Z)$`,
		[]string{startNow, "2026-06-01T12:00:00Z"}
}

// WithStart returns a copy of the scenario that starts at the instant t; where its start is "now", this is how the run
// says when that is.
func (s *Scenario) WithStart(t time.Time) *Scenario {
	c := *s
	c.Start = Start{Time: t.UTC()}
	return &c
}

// UTC is the instant of scenario time t, in s, to the nearest nanosecond. A scenario that starts now and was not told
// when that is counts from [StandIn].
func (s *Scenario) UTC(t float64) time.Time {
	start := s.Start.Time
	if s.Start.Now || start.IsZero() {
		start = StandIn
	}
	whole, frac := math.Modf(t) // so that a late t keeps its nanoseconds
	return start.Add(time.Duration(whole)*time.Second + time.Duration(math.Round(frac*1e9)))
}
