package survey

import (
	"errors"
	"fmt"
	"strconv"
	"strings"

	"swellbench/scenarios/frame"
	"swellbench/scenarios/units"
)

// ParsePoses reads poses such as "127.6,0.4,-1.2": heading, pitch and roll of the vessel in deg. Errors name all that
// are wrong.
func ParsePoses(texts []string) ([]Pose, error) {
	if len(texts) > maxPoses {
		return nil, fmt.Errorf("there are %d poses; allowed: %d", len(texts), maxPoses)
	}
	var out []Pose
	var errs []error
	for _, t := range texts {
		parts := strings.Split(t, ",")
		var x [3]float64
		ok := len(parts) == 3
		for i := 0; ok && i < 3; i++ {
			var err error
			x[i], err = strconv.ParseFloat(strings.TrimSpace(parts[i]), 64)
			ok = err == nil && finite(x[i])
		}
		if !ok {
			errs = append(errs, fmt.Errorf("%q is no pose; allowed: heading,pitch,roll in deg, such as 127.6,0.4,-1.2", t))
			continue
		}
		p := Pose{Heading: units.Angle(frame.Rad(x[0])), Pitch: units.Angle(frame.Rad(x[1])), Roll: units.Angle(frame.Rad(x[2]))}
		s := Sheet{Poses: []Pose{p}}
		var ps problems
		s.validateRest(&ps)
		for _, q := range ps {
			errs = append(errs, fmt.Errorf("%q: %s: %s", t, strings.TrimPrefix(q.Path, "poses[0]."), q.Text))
		}
		out = append(out, p)
	}
	return out, errors.Join(errs...)
}
