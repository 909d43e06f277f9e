package track

import (
	"math"

	"swellbench/scenarios/frame"
	"swellbench/scenarios/geo"
	"swellbench/scenarios/units"
)

// do goes through the goal of that number.
func (p *pilot) do(i int, g *goal) error {
	p.stage(g.name, g.path)
	switch m := g.m; {
	case g.to != nil:
		return p.runTo(i, g)
	case m.Run != nil:
		return p.run(i, g, m.Run)
	case m.Turn != nil:
		return p.turnTo(g, m.Turn)
	case m.Hold != nil:
		return p.hold(m.Hold)
	case m.Keep != nil:
		return p.keepStation(m.Keep)
	case m.Lines != nil:
		return p.lines(g, m.Lines)
	case m.Calibration != nil:
		return p.calibration(g, m.Calibration)
	case m.Eight != nil:
		return p.eight(g, m.Eight)
	}
	return nil
}

// sharpest is a change of course, rad, beyond which a corner cannot be rounded on its inner side.
const sharpest = 170 * math.Pi / 180

// closeM is how near two way-points may not be, m.
const closeM = 0.01

// runTo runs to a way-point, or as far as the turn at it allows where there is a next one.
func (p *pilot) runTo(i int, g *goal) error {
	far, azimuth, _ := geo.Inverse(p.at, *g.to)
	if g.first && far < hereM {
		return nil
	}
	own, err := p.ordered(g)
	if err != nil {
		return err
	}
	radius := p.radiusOf(g)
	if far < closeM {
		return g.refuse("to", "the way-point is where the vessel is; move it, or leave it out")
	}
	if p.own == 0 {
		err = p.depart(azimuth, own)
	} else {
		if err := p.tooTight(g, radius); err != nil {
			return err
		}
		bearing := frame.Deg(frame.AngleDiff(azimuth, p.course))
		ok, failed := p.turnTowards(*g.to, radius)
		if failed != nil {
			return failed
		}
		if !ok {
			return g.refuse("to", "the way-point lies %.1f m away, %.1f deg off the course, closer than a turn of radius %v allows; move it, or give a smaller radius",
				far, bearing, units.Length(radius).In("m"))
		}
		err = p.ramp(own)
	}
	if err != nil {
		return err
	}

	left, azimuth, arrival := geo.Inverse(p.at, *g.to)
	if math.Abs(frame.AngleDiff(azimuth, p.course)) > math.Pi/2 {
		left = -left
	}
	need, what := 0.0, ""
	next := p.after(i)
	if next != nil {
		switch {
		case next.rests():
			need, what = p.stopLength(), "coming to rest"
		case next.to != nil:
			apart, onward, _ := geo.Inverse(*g.to, *next.to)
			turn := frame.AngleDiff(onward, arrival)
			if apart < closeM {
				turn = 0 // there is no going on to it
			}
			if math.Abs(turn) > sharpest {
				return g.refuse("to", "the course changes by %.1f deg at the way-point; allowed: at most %.0f deg, so put a way-point or a turn between",
					frame.Deg(turn), frame.Deg(sharpest))
			}
			radius := p.radiusOf(next)
			if math.Abs(turn) > aimTol {
				need, what = p.bend(turn, radius).tangent(turn), "the turn at it"
			}
		}
	}
	if left < need-1e-6 {
		return g.refuse("to", "the way-point is too close: %.1f m from where the way to it begins, of which %.1f m are left after turn and change of speed%s; move it, or give a smaller radius or a slower speed",
			far, left, needs(need, what))
	}
	if err := p.straight(left - need); err != nil {
		return err
	}
	if next != nil && next.rests() {
		return p.stop()
	}
	return nil
}

// after is the goal that follows the one of that number, a way-point: without the first way-point of a route where that
// is the same.
func (p *pilot) after(i int) *goal {
	to := p.goals[i].to
	for i++; i < len(p.goals); i++ {
		next := &p.goals[i]
		if next.first {
			if apart, _, _ := geo.Inverse(*to, *next.to); apart < hereM {
				continue
			}
		}
		return next
	}
	return nil
}

// run runs over a distance or for a time.
func (p *pilot) run(i int, g *goal, r *Run) error {
	far := func() float64 { speed, _ := p.over(p.own); return speed }
	before := p.own
	if r.Course != nil && before != 0 { // the turn comes first, then what is measured
		hold := *g
		hold.speed = (*units.Speed)(&before)
		if err := p.setOff(&hold, r.Course); err != nil {
			return err
		}
		p.stage(g.name, g.path)
	}
	own, err := p.ordered(g)
	if err != nil {
		return err
	}
	from := far()
	if before == 0 {
		if err := p.setOff(g, r.Course); err != nil {
			return err
		}
	} else if err := p.ramp(own); err != nil {
		return err
	}
	to := far()
	stops := i+1 < len(p.goals) && p.goals[i+1].rests()
	switch {
	case r.Distance != nil:
		need := p.rampLength(from, to)
		if stops {
			need += p.stopLength()
		}
		left := float64(*r.Distance) - need
		if left < -1e-6 {
			return g.refuse("distance", "distance is %v, too short: the changes of speed take %.1f m; make it longer, or the speed less", *r.Distance, need)
		}
		if err := p.straight(left); err != nil {
			return err
		}
	default:
		need := p.rampTime(from, to)
		if stops {
			need += p.rampTime(to, 0)
		}
		left := float64(*r.For) - need
		if left < -1e-6 {
			return g.refuse("for", "the run lasts %v, too short: the changes of speed take %.1f s; make it longer, or the speed less", *r.For, need)
		}
		if left > 0 {
			if err := p.steady(left); err != nil {
				return err
			}
		}
	}
	if stops {
		return p.stop()
	}
	return nil
}

func needs(need float64, what string) string {
	if what == "" {
		return ""
	}
	return ", and " + what + " needs " + units.Length(math.Ceil(need*10)/10).In("m")
}

// turnTo turns, or swings on the spot.
func (p *pilot) turnTo(g *goal, t *TurnTo) error {
	if p.own == 0 {
		if t.Radius != nil {
			return g.refuse("radius", "radius is %v but the vessel does not move; give a rate instead, or let it run first", *t.Radius)
		}
		p.free = false
		rate := float64(or(t.Rate, units.AngularRate(p.handling.spotRate)))
		if t.By != nil {
			return p.swing(float64(*t.By), rate)
		}
		turn := frame.AngleDiff(float64(*t.To), p.heading)
		switch {
		case t.Direction == Starboard && turn < -aimTol:
			turn += 2 * math.Pi
		case t.Direction == Port && turn > aimTol:
			turn -= 2 * math.Pi
		}
		return p.swing(turn, rate)
	}
	radius := float64(or(t.Radius, units.Length(p.handling.radius)))
	if t.Rate != nil {
		radius = p.own / float64(*t.Rate)
		if radius > float64(maxTurnRadius) || radius < float64(minTurnRadius) {
			return g.refuse("rate", "rate is %v, which at %v makes a radius of %.4g m; allowed: %v to %v", t.Rate.In("deg/s"), units.Speed(p.own), radius, minTurnRadius.In("m"), maxTurnRadius.In("km"))
		}
	}
	if err := p.tooTight(g, radius); err != nil {
		return err
	}
	if t.By != nil {
		return p.turn(p.bend(float64(*t.By), radius))
	}
	return p.steer(float64(*t.To), t.Direction, radius)
}

// hold lies still.
func (p *pilot) hold(h *Hold) error {
	if err := p.stop(); err != nil {
		return err
	}
	return p.steady(float64(h.For))
}

// keepStation lies still but for a wander.
func (p *pilot) keepStation(k *Keep) error {
	if err := p.stop(); err != nil {
		return err
	}
	if k.Heading != nil {
		p.free = false
		if err := p.swing(frame.AngleDiff(float64(*k.Heading), p.heading), p.handling.spotRate); err != nil {
			return err
		}
	}
	return p.keep(float64(k.For), float64(k.Radius), float64(or(k.Period, defaultPeriod)))
}
