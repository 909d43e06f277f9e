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
	set        func(*wire.Reading, int)
	void       voiding // it is a flag about something else
	leap       bool    // it is about the stamp
	usual      int     // the state that a code stands for which stands for several that the file does not name
}

var noYes = []string{"no", "yes"}

// valid makes the row of a flag that says whether something is known. It speaks of other fields when it is read: what
// they say counts for nothing where the flag says no.
func valid(name, what string, has func(*wire.Reading) bool, void voiding) status {
	return status{name: name, what: what, words: noYes, void: void, get: func(r *wire.Reading) int {
		if has(r) {
			return 1
		}
		return 0
	}}
}

// A voiding is what a flag says is not known.
type voiding uint8

const (
	voidNone voiding = iota
	voidHeading
	voidPosition
	voidTime
	voidAttitude
	voidHeave
)

// statuses is the table of them.
var statuses = []status{
	{name: "fix", what: "state of the position solution", words: allFixWords, usual: int(wire.FixAutonomous),
		get: func(r *wire.Reading) int { return min(max(int(r.Fix), 0), len(allFixWords)-1) },
		set: func(r *wire.Reading, i int) { r.Fix = wire.Fix(i) }},
	{name: "heading-source", what: "whether the heading comes from the inertial sensor", words: []string{"measured", "estimated"},
		get: func(r *wire.Reading) int {
			if r.HeadingEstimated {
				return 1
			}
			return 0
		}, set: func(r *wire.Reading, i int) { r.HeadingEstimated = i == 1 }},
	{name: "leap-second", what: "whether the UTC day ends with a second 60, or the time is in it", words: []string{"none", "ahead", "now"},
		get: func(r *wire.Reading) int { return min(int(r.Leap), 2) }, leap: true},
	valid("heading-valid", "whether the heading is known", func(r *wire.Reading) bool { return r.Heading.Has() }, voidHeading),
	valid("position-valid", "whether the position is known", func(r *wire.Reading) bool { return r.Position.Has() }, voidPosition),
	valid("time-valid", "whether the time is known", func(r *wire.Reading) bool { return r.UTC.Has() }, voidTime),
	valid("attitude-valid", "whether pitch and roll are known", func(r *wire.Reading) bool { return r.Pitch.Has() && r.Roll.Has() }, voidAttitude),
	valid("heave-valid", "whether the heave is known", func(r *wire.Reading) bool { return r.HeaveM.Has() }, voidHeave),
}

// put sets a state, or lets it wait until all else is read.
func (s *status) put(d *draft, i int) {
	switch {
	case s.leap:
		d.time.leap, d.time.hasLeap = wire.Leap(i), true
	case s.void != voidNone:
		d.void[s.void] = d.void[s.void] || i == 0
	default:
		s.set(d.r, i)
	}
}

var allFixWords = func() (all []string) {
	for f := wire.FixNone; f <= wire.FixSimulated; f++ {
		all = append(all, f.String())
	}
	return all
}()

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
	d.time.finish(r, d.void[voidTime])
	none := opt.None[float64]()
	if d.hasInclination != 0 {
		r.Roll = rollOf(d.inclination, r.Pitch, d.hasInclination > 0)
	}
	if d.void[voidHeading] {
		r.Heading, r.HeadingSigma, r.HeadingEstimated = none, none, false
	}
	if d.void[voidAttitude] {
		r.Pitch, r.Roll = none, none
	}
	if d.void[voidHeave] {
		r.HeaveM = none
	}
}
