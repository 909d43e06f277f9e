package port

import (
	"cmp"
	"errors"
	"slices"
)

// A Listed is one port that is there to be opened.
type Listed struct {
	Path string `json:"path"`
	What string `json:"what"` // one line for a person
	Ours bool   `json:"ours"` // a run of this program plays on it
}

// List returns the serial ports of this machine, and those that runs of this user play on now, in order of path.
// Where only a part can be found out, that part comes with the error.
func List() ([]Listed, error) {
	ours, errOurs := listLinks()
	serial, errSerial := listSerial()
	all := append(ours, serial...)
	slices.SortFunc(all, func(a, b Listed) int { return cmp.Compare(a.Path, b.Path) })
	return all, errors.Join(errOurs, errSerial)
}
