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
	// Finding is what it is to be called first: an id of package diagnose, or several where no case can tell them apart.
	Finding string
	seed    func(*stages)
}

// Defects is the table of seeded defects, in the order of the stages. To add one: a row, and a function in the file of
// its stage which replaces or wraps the function of that stage. The classes are those of common practice, no published
// list.
var Defects = slices.Concat(lineDefects, parseDefects, textDefects, headingDefects, timeDefects, geometryDefects, outageDefects)

// AllDefects are the seeded defects of all formats.
func AllDefects() []Defect { return slices.Concat(Defects, BinaryDefects) }

// An UnknownDefectError says that a defect of that name is not in the table.
type UnknownDefectError struct{ Name string }

// Error names the defects there are.
func (e *UnknownDefectError) Error() string {
	var names []string
	for _, d := range AllDefects() {
		names = append(names, d.Name)
	}
	return fmt.Sprintf("consumer: unknown defect %q, known: %s", e.Name, strings.Join(names, ", "))
}

// seeded is the program with the named defects, in that order.
func seeded(names []string) (*stages, error) {
	s := correct()
	for _, name := range names {
		all := AllDefects()
		i := slices.IndexFunc(all, func(d Defect) bool { return d.Name == name })
		if i < 0 {
			return nil, &UnknownDefectError{name}
		}
		all[i].seed(s)
	}
	return s, nil
}
