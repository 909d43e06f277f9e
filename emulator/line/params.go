package line

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"
)

// A ParamError is a parameter of a fault that is wrong.
type ParamError struct {
	Key  string // as scenario files have it: "from", "every", ...; "fault" is the name
	Text string
}

func (e *ParamError) Error() string { return "fault: " + e.Text }

// A Key is a parameter that a fault takes.
type Key struct {
	Name        string // as scenario files have it
	Least, Most float64
	Default     float64 // 0: the fault says what it does then
	Unit        string
	Words       []string // in place of a number; the first is the default
	Required    bool
}

func forKey(def, most float64) Key {
	return Key{Name: "for", Least: 1e-6, Most: most, Default: def, Unit: "s"}
}

func countKey(def, least, most float64, unit string) Key {
	return Key{Name: "count", Least: least, Most: most, Default: def, Unit: unit}
}

func latencyKey(def float64) Key {
	return Key{Name: "latency", Least: 1e-4, Most: 1, Default: def, Unit: "s"}
}

func blockKey(def float64) Key {
	return Key{Name: "block", Least: 1, Most: 4096, Default: def, Unit: "bytes"}
}

var (
	baudKey   = Key{Name: "baud", Least: 1, Most: MaxBaud, Unit: "bits a second", Required: true}
	endingKey = Key{Name: "ending", Words: []string{"lf", "cr", "none"}}
)

// param is one of the parameters that only some faults take.
type param struct {
	name  string
	value float64
	set   func(float64)
}

func (p *Params) special() []param {
	return []param{
		{"for", p.For, func(x float64) { p.For = x }},
		{"count", float64(p.Count), func(x float64) { p.Count = int(x) }},
		{"baud", float64(p.Baud), func(x float64) { p.Baud = int(x) }},
		{"latency", p.LatencyS, func(x float64) { p.LatencyS = x }},
		{"block", float64(p.Block), func(x float64) { p.Block = int(x) }},
	}
}

// settle gives the parameters the fault's defaults, and reports those that it does not take or that are out of range.
func (r *FaultRow) settle(p *Params) error {
	var errs []error
	add := func(key, format string, args ...any) {
		errs = append(errs, &ParamError{key, fmt.Sprintf(format, args...)})
	}
	takes := func(name string) *Key {
		if i := slices.IndexFunc(r.Keys, func(k Key) bool { return k.Name == name }); i >= 0 {
			return &r.Keys[i]
		}
		return nil
	}
	for _, x := range p.special() {
		k := takes(x.name)
		switch {
		case x.value == 0 && (k == nil || !k.Required):
			if k != nil {
				x.set(k.Default)
			}
		case x.value == 0:
			add(x.name, "%s needs %s: %g to %.0f %s", r.Name, x.name, k.Least, k.Most, k.Unit)
		case k == nil:
			add(x.name, "%s takes no %s, allowed: %s", r.Name, x.name, r.takes())
		case !(x.value >= k.Least && x.value <= k.Most):
			add(x.name, "%s of %s is %g %s, allowed: %g to %.0f %s", x.name, r.Name, x.value, k.Unit, k.Least, k.Most, k.Unit)
		}
	}
	switch k := takes("ending"); {
	case k == nil && p.Ending != "":
		add("ending", "%s takes no ending, allowed: %s", r.Name, r.takes())
	case k != nil && p.Ending == "":
		p.Ending = k.Words[0]
	case k != nil && !slices.Contains(k.Words, p.Ending):
		add("ending", "ending of %s is %q, allowed: %s", r.Name, p.Ending, strings.Join(k.Words, ", "))
	}
	if r.Once && p.Every == 0 && p.Share == 0 && p.Rate == 0 && p.Times == 0 {
		p.Times = 1
	}
	return errors.Join(errs...)
}

// takes lists the parameters of the row for error texts.
func (r *FaultRow) takes() string {
	names := []string{"from", "until", "message", "every", "share", "rate", "times"}
	for _, k := range r.Keys {
		names = append(names, k.Name)
	}
	return strings.Join(names, ", ")
}

// Validate reports all that is wrong with the parameters that every fault takes, at once.
func (p Params) Validate() error {
	var errs []error
	add := func(key, format string, args ...any) {
		errs = append(errs, &ParamError{key, fmt.Sprintf(format, args...)})
	}
	finite := func(x float64) bool { return !math.IsNaN(x) && !math.IsInf(x, 0) }
	if !finite(p.From) {
		add("from", "it begins at %g s, allowed: a finite time", p.From)
	}
	if !finite(p.Until) {
		add("until", "it ends at %g s, allowed: a finite time, or 0 for the end of the run", p.Until)
	}
	if p.Until != 0 && p.Until <= p.From {
		add("until", "it ends at %g s and begins at %g s, allowed: an end after the beginning, or 0 for the end of the run", p.Until, p.From)
	}
	if p.Every < 0 {
		add("every", "every is %d, allowed: 1 (all), 2, 3, ... (0 is 1)", p.Every)
	}
	if !(p.Share >= 0 && p.Share <= 1) {
		add("share", "share is %g, allowed: 0 to 1, such as 0.01 for one message in a hundred (0 is all)", p.Share)
	}
	if !(p.Rate >= 0 && p.Rate <= maxFaultRate) {
		add("rate", "rate is %g Hz, allowed: 0 to %d Hz (0 is all)", p.Rate, maxFaultRate)
	}
	if p.Every > 0 && (p.Share != 0 || p.Rate != 0) || p.Share != 0 && p.Rate != 0 {
		key := "rate"
		if p.Rate == 0 {
			key = "share"
		}
		add(key, "of every, share and rate more than one is set, allowed: one of them")
	}
	if p.Times < 0 {
		add("times", "times is %d, allowed: 1, 2, ... (0 is no limit)", p.Times)
	}
	if p.Line != (Settings{}) {
		if err := p.Line.Validate(); err != nil {
			errs = append(errs, err)
		}
	}
	return errors.Join(errs...)
}

// maxFaultRate is the highest mean rate of a fault, Hz: no device sends messages faster.
const maxFaultRate = 1000
