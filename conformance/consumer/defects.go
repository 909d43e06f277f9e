package consumer

import (
	"fmt"
	"slices"
	"strings"
)

// A Defect is a well-known mistake that the consumer can be told to make.
type Defect struct {
	Name  string
	What  string // what a program with this mistake does
	Stage Stage  // where in the program it sits
	// Expect is the id of the check that has to catch it.
	Expect string
	seed   func(*stages)
}

// Defects is the table of seeded defects. To add one: a row, and a function in the file of its stage which replaces
// or wraps the function of that stage. The classes are those of common practice, no published list.
var Defects = []Defect{
	{"roll-sign", "takes starboard up for positive roll", Read, "parse.values", rollSign},
	{"pitch-roll-swapped", "takes the pitch for the roll and the roll for the pitch", Read, "parse.values", pitchRollSwapped},
	{"minutes-as-decimal-degrees", "takes the minutes of latitude and longitude for hundredths of a degree", Read, "parse.values", minutesAsDecimalDegrees},
	{"west-as-east", "ignores the letter of the longitude, so that west comes out east", Read, "parse.hemisphere", westAsEast},
	{"stale-for-null", "keeps the last value where a field is null", Gather, "parse.null", staleForNull},
	{"arrival-stamp", "stamps with the host's clock when the last line of the epoch is complete", Stamp, "time.validity", arrivalStamp},
	{"mounting-subtracted", "subtracts the mounting angles instead of composing the rotations", Attitude, "offset.mounting", mountingSubtracted},
	{"lever-arm-order", "takes the lever arm as forward, right, up", Turn, "offset.lever-arm", leverArmOrder},
	{"lever-arm-not-rotated", "adds the lever arm as if right were east and forward north", Turn, "offset.lever-arm", leverArmNotRotated},
	{"lever-arm-twice", "applies the lever arm once when reading and again when publishing", Place, "offset.lever-arm", leverArmTwice},
}

// An UnknownDefectError says that a defect of that name is not in the table.
type UnknownDefectError struct{ Name string }

// Error names the defects there are.
func (e *UnknownDefectError) Error() string {
	var names []string
	for _, d := range Defects {
		names = append(names, d.Name)
	}
	return fmt.Sprintf("consumer: unknown defect %q, known: %s", e.Name, strings.Join(names, ", "))
}

// seeded is the program with the named defects, in that order.
func seeded(names []string) (*stages, error) {
	s := correct()
	for _, name := range names {
		i := slices.IndexFunc(Defects, func(d Defect) bool { return d.Name == name })
		if i < 0 {
			return nil, &UnknownDefectError{name}
		}
		Defects[i].seed(s)
	}
	return s, nil
}
