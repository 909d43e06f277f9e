package conformance

import "swellbench/conformance/compare"

func judgeMounting(e *Evidence) Result {
	t := e.tallied()
	return t.measured(ownMounting, func() string {
		if t.cmp.Need(compare.Pitch) != compare.Mounting && t.cmp.Need(compare.Heading) != compare.Mounting {
			return "nothing to apply: the device stands straight, or its mounting was entered and it reports the attitude of the vessel"
		}
		return t.absent(ownMounting, compare.Heading, compare.Pitch, compare.Roll)
	})
}

func judgeBaseline(e *Evidence) Result {
	t := e.tallied()
	return t.measured(ownBaseline, func() string {
		if t.cmp.Need(compare.Heading) != compare.Baseline {
			return "nothing to apply: the heading on the wire is not the azimuth of a baseline off the forward axis"
		}
		return t.absent(ownBaseline, compare.Heading)
	})
}

func judgeLeverArm(e *Evidence) Result {
	t := e.tallied()
	return t.measured(ownLeverArm, func() string {
		if t.cmp.Need(compare.Lat) != compare.LeverArm {
			return "nothing to apply: the position on the wire is that of the output point"
		}
		return t.absent(ownLeverArm, compare.Lat, compare.Lon, compare.Height)
	})
}

func judgeHeave(e *Evidence) Result {
	t := e.tallied()
	return t.measured(ownHeave, func() string {
		if t.cmp.Need(compare.Heave) != compare.HeaveArm {
			return "nothing to apply: the heave on the wire is that of the output point"
		}
		return t.absent(ownHeave, compare.Heave)
	})
}
