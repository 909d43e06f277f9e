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

// List returns the serial ports of this machine, and the ports of every kind that runs of this user play on now, in
// order of path. Where only a part can be found out, that part comes with the error.
func List() ([]Listed, error) {
	ours, errOurs := listOurs()
	serial, errSerial := listSerial()
	for _, s := range serial {
		if i := slices.IndexFunc(ours, func(o Listed) bool { return o.Path == s.Path }); i >= 0 {
			ours[i].What = s.What + "; " + ours[i].What
			continue
		}
		ours = append(ours, s)
	}
	slices.SortFunc(ours, func(a, b Listed) int { return cmp.Compare(a.Path, b.Path) })
	return ours, errors.Join(errOurs, errSerial)
}
