package gnss

import (
	"fmt"
	"math"

	"swellbench/scenarios/strictyaml"
	"swellbench/scenarios/units"
)

// Warnings returns what is possible but probably not meant, as far as it is known without the sky, with paths relative
// to the section. [Receiver.Warnings] knows the sky.
func (s Spec) Warnings() []strictyaml.Problem {
	var ps problems
	if m := s.Mask; m != nil && *m >= 40*degree {
		ps.add("mask", "a mask of %v leaves few satellites; 5 deg to 15 deg is usual", m.In("deg"))
	}
	for i, x := range sectorsOf(s.Sectors) {
		if x.width >= 2*math.Pi && x.above <= 0 && x.below >= math.Pi/2 {
			ps.add(fmt.Sprintf("sectors[%d]", i), "the sector hides the whole sky; give it edges, or an elevation below which it hides")
		}
	}
	best := bestRung(s.Fix)
	corrected := best >= precise
	if c := s.Corrections.settings(); corrected {
		if oldest := c.interval + c.latency; oldest > c.fixed && best == fixed {
			ps.add("corrections", "corrections get %v old before the next is in, integers hold until %v: rtk-fixed comes and goes", units.Duration(oldest), units.Duration(c.fixed))
		} else if oldest > c.differential {
			ps.add("corrections", "corrections get %v old before the next is in, and are used until %v: the fix comes and goes", units.Duration(oldest), units.Duration(c.differential))
		}
	}
	_, two := s.Baseline.Value()
	for i, c := range s.Conditions {
		at := fmt.Sprintf("conditions[%d]", i)
		switch c.Condition {
		case CorrectionsLost:
			if !corrected {
				ps.add(at, "no corrections are used with fix %s; corrections-lost changes nothing", bestWord(s.Fix))
			}
		case SecondaryLost, WrongInteger:
			if !two {
				ps.add(at, "there is no second antenna; %s changes nothing", c.Condition)
			}
		case Blocked, PartlyBlocked, Interference, BothLost, Multipath, PositionJump:
			if s.Fix == None {
				ps.add(at, "with fix none there is never a fix; %s changes nothing", c.Condition)
			}
		}
	}
	if s.Entered != nil && (s.StartUp == "" || s.StartUp == Running) && !s.Holds(Blocked, 0) && !s.Holds(BothLost, 0) && s.Fix != None {
		ps.add("entered-position", "the receiver has a fix from the beginning; give start-up: cold, or block it at 0 s, for the entered position to show")
	}
	return ps
}

func bestWord(f Fix) Fix {
	if f == "" {
		return Autonomous
	}
	return f
}

// Warnings returns what is wrong with the sky of this run, with paths relative to the section, and what [Spec.Warnings]
// finds.
func (r *Receiver) Warnings() []strictyaml.Problem {
	ps := problems(r.spec.Warnings())
	what := "the sky"
	if r.spec.Almanac != nil {
		what = "the almanac"
	}
	fix := false
	for _, iv := range r.intervals {
		fix = fix || iv.state.rung >= autonomous
	}
	switch {
	case r.spec.Fix == None:
	case r.seen.above < 4:
		ps.add("mask", "the mask of %v hides everything: at most %d satellites of %s stand above it at any time of the run, a fix needs 4",
			units.Angle(or(r.spec.Mask, maskDefault)).In("deg"), r.seen.above, what)
	case r.seen.clear < 4:
		ps.add("sectors", "the sectors hide everything: they leave at most %d satellites of %s at any time of the run, a fix needs 4", r.seen.clear, what)
	case !fix:
		ps.add("", "there is no fix at any time of the run: the conditions, the geometry or the times to a fix leave none")
	}
	if r.spec.Almanac != nil && len(r.satellites) > 0 {
		if days := math.Abs(r.startUnix-r.satellites[0].Orbit.EpochUnix) / 86400; days > 90 {
			ps.add("almanac", "the almanac is %.0f days away from the run; its satellites have moved elsewhere since", days)
		}
	}
	return ps
}
