package emulator

import (
	"sort"

	"gonum.org/v1/gonum/spatial/r3"

	"swellbench/emulator/wire"
	"swellbench/scenarios"
	"swellbench/scenarios/geo"
	"swellbench/scenarios/opt"
)

// void fills in what the device leaves in its position fields while it has no fix. It is in no field of what the device
// believes: a status beside it calls it void.
func (d *Device) void(r *wire.Reading, noisy bool) {
	undulation := float64(d.scenario.Geoid.Undulation)
	switch kept := d.scenario.Device.NoFix; kept {
	case scenarios.Zero:
		r.Void, r.Undulation = opt.Of(geo.Position{Height: undulation}), opt.Of(undulation)
	case scenarios.Last, scenarios.CarriedOn:
		since, ok := d.lostAt(r.T)
		if !ok {
			return
		}
		last := d.reading(since-justBefore, noisy)
		p, ok := last.Position.Value()
		if !ok {
			return
		}
		if v, ok := last.VelocityEN.Value(); ok && kept == scenarios.CarriedOn {
			p = geo.LocalAt(p).Position(r3.Scale(r.T-since, r3.Vec{X: v[0], Y: v[1]}))
		}
		r.Void, r.Undulation = opt.Of(p), opt.Of(undulation)
	}
}

// justBefore an outage is the last instant with a fix, s.
const justBefore = 1e-3

// lostAt is when the outage began that t is in; ok is false where there was no fix before it.
func (d *Device) lostAt(t float64) (since float64, ok bool) {
	i := sort.Search(len(d.lost), func(i int) bool { return d.lost[i][0] > t }) - 1
	if i < 0 || t >= d.lost[i][1] || d.lost[i][0] <= 0 {
		return 0, false
	}
	return d.lost[i][0], true
}
