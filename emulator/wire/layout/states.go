package layout

import (
	"swellbench/emulator/wire"
	"swellbench/scenarios/opt"
)

// A status is what a reading is in one of several states of, each with its word.
type status struct {
	name, what string
	words      []string
	get        func(*wire.Reading) int
	set        func(*draft, int)
}

var noYes = []string{"no", "yes"}

// valid makes the row of a flag that says whether something is known. It speaks of other fields when it is read: what
// they say counts for nothing where the flag says no.
func valid(name, what string, has func(*wire.Reading) bool, void func(*draft) *bool) status {
	return status{name, what, noYes, func(r *wire.Reading) int {
		if has(r) {
			return 1
		}
		return 0
	}, func(d *draft, i int) { *void(d) = *void(d) || i == 0 }}
}

// statuses is the table of them.
var statuses = []status{
	{"fix", "state of the position solution", fixWords(),
		func(r *wire.Reading) int { return min(max(int(r.Fix), 0), len(fixWords())-1) },
		func(d *draft, i int) { d.r.Fix = wire.Fix(i) }},
	{"heading-source", "whether the heading comes from the inertial sensor", []string{"measured", "estimated"},
		func(r *wire.Reading) int {
			if r.HeadingEstimated {
				return 1
			}
			return 0
		}, func(d *draft, i int) { d.r.HeadingEstimated = i == 1 }},
	{"leap-second", "whether the UTC day ends with a second 60, or the time is in it", []string{"none", "ahead", "now"},
		func(r *wire.Reading) int { return int(r.Leap) }, func(d *draft, i int) { d.time.leap, d.time.hasLeap = wire.Leap(i), true }},
	valid("heading-valid", "whether the heading is known", func(r *wire.Reading) bool { return r.Heading.Has() }, func(d *draft) *bool { return &d.voidHeading }),
	valid("position-valid", "whether the position is known", func(r *wire.Reading) bool { return r.Position.Has() }, func(d *draft) *bool { return &d.voidPosition }),
	valid("time-valid", "whether the time is known", func(r *wire.Reading) bool { return r.UTC.Has() }, func(d *draft) *bool { return &d.voidTime }),
	valid("attitude-valid", "whether pitch and roll are known", func(r *wire.Reading) bool { return r.Pitch.Has() && r.Roll.Has() }, func(d *draft) *bool { return &d.voidAttitude }),
	valid("heave-valid", "whether the heave is known", func(r *wire.Reading) bool { return r.HeaveM.Has() }, func(d *draft) *bool { return &d.voidHeave }),
}

var allFixWords = func() (all []string) {
	for f := wire.FixNone; f <= wire.FixSimulated; f++ {
		all = append(all, f.String())
	}
	return all
}()

func fixWords() []string { return allFixWords }

func findStatus(name string) *status {
	for i := range statuses {
		if statuses[i].name == name {
			return &statuses[i]
		}
	}
	return nil
}

// finish puts together what came in several fields.
func (d *draft) finish() {
	r := d.r
	d.position()
	d.time.finish(r, d.voidTime)
	none := opt.None[float64]()
	if d.hasInclination != 0 {
		r.Roll = rollOf(d.inclination, r.Pitch, d.hasInclination > 0)
	}
	if d.voidHeading {
		r.Heading, r.HeadingSigma, r.HeadingEstimated = none, none, false
	}
	if d.voidAttitude {
		r.Pitch, r.Roll = none, none
	}
	if d.voidHeave {
		r.HeaveM = none
	}
}
