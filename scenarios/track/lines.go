package track

import (
	"fmt"
	"math"

	"swellbench/scenarios/units"
)

// sign is +1 to starboard, which nothing means too, and −1 to port.
func (d Direction) sign() float64 {
	if d == Port {
		return -1
	}
	return 1
}

// lines runs survey lines to and fro.
func (p *pilot) lines(g *goal, l *Lines) error {
	side := l.Side.sign()
	return p.toAndFro(g, l.Course, float64(l.Length), float64(l.RunIn), l.Count, func(int) (float64, float64) {
		side = -side // the next turn, seen from the bow, is to the other side
		return -side, float64(l.Spacing)
	})
}

// calibration runs one line in opposite directions.
func (p *pilot) calibration(g *goal, c *Calibration) error {
	return p.toAndFro(g, c.Course, float64(c.Length), float64(c.RunIn), 2*or(c.Pairs, 1), func(int) (float64, float64) {
		return c.Side.sign(), 0
	})
}

// toAndFro runs count lines; next tells, after each, to which side the next lies and how far.
func (p *pilot) toAndFro(g *goal, course *units.Angle, length, runIn float64, count int, next func(done int) (side, spacing float64)) error {
	if err := p.setOff(g, course); err != nil {
		return err
	}
	radius := p.radiusOf(g)
	if err := p.tooTight(g, radius); err != nil {
		return err
	}
	if err := p.straight(runIn); err != nil {
		return err
	}
	for i := 1; ; i++ {
		p.stage(fmt.Sprintf("line %d of %d", i, count), g.path)
		if err := p.straight(length); err != nil {
			return err
		}
		if i < count {
			p.stage(fmt.Sprintf("turn to line %d of %d", i+1, count), g.path)
		} else {
			p.stage("run out", g.path)
		}
		if err := p.straight(runIn); err != nil || i == count {
			return err
		}
		side, spacing := next(i)
		if err := p.turnRound(side, spacing, radius); err != nil {
			return err
		}
		if err := p.straight(runIn); err != nil {
			return err
		}
	}
}

// turnRound turns to the opposite course on a line to the side at the distance spacing, and ends abeam of where it began:
// by two quarters with a straight way between where there is room, by one half where that needs a wider radius, else
// by a turn away first and a longer one back.
func (p *pilot) turnRound(side, spacing, radius float64) error {
	bend := func(turn, radius float64) bend { return p.bend(side*turn, radius) }
	width := func(turn, radius float64) float64 {
		right, _ := bend(turn, radius).chord()
		return side * right
	}
	if quarter := width(math.Pi/2, radius); spacing >= 2*quarter {
		if err := p.turn(bend(math.Pi/2, radius)); err != nil {
			return err
		}
		if err := p.straight(spacing - 2*quarter); err != nil {
			return err
		}
		return p.turn(bend(math.Pi/2, radius))
	}
	if narrow := width(math.Pi, radius); spacing >= narrow {
		miss := func(r float64) float64 { return width(math.Pi, r) - spacing }
		wide := max(radius, spacing/2)
		if m := miss(wide); m > 0 {
			wide = root(miss, radius, wide, narrow-spacing, m)
		}
		return p.turn(bend(math.Pi, wide))
	}
	// Away by the angle, then back by that and half a turn.
	end := func(angle float64) (right, ahead float64) {
		r1, a1 := bend(-angle, radius).chord()
		r2, a2 := bend(math.Pi+angle, radius).chord()
		sin, cos := math.Sincos(-side * angle)
		return side * (r1 + r2*cos + a2*sin), a1 - r2*sin + a2*cos
	}
	miss := func(angle float64) float64 { right, _ := end(angle); return right - spacing }
	const steps = 64
	lo, flo := 0.0, miss(0)
	for i := 1; i <= steps; i++ {
		hi := math.Pi * float64(i) / steps
		if fhi := miss(hi); fhi <= 0 {
			lo = root(miss, lo, hi, flo, fhi)
			break
		} else {
			lo, flo = hi, fhi
		}
	}
	_, ahead := end(lo)
	if err := p.straight(-ahead); err != nil {
		return err
	}
	if err := p.turn(bend(-lo, radius)); err != nil {
		return err
	}
	if err := p.turn(bend(math.Pi+lo, radius)); err != nil {
		return err
	}
	return p.straight(ahead)
}

// loop is how far each loop of a figure of eight turns, rad: its ways cross at a right angle.
const loop = 1.5 * math.Pi

// eight runs a figure of eight.
func (p *pilot) eight(g *goal, e *Eight) error {
	if err := p.setOff(g, nil); err != nil {
		return err
	}
	side, radius := e.Direction.sign(), float64(e.Radius)
	if err := p.tooTight(g, radius); err != nil {
		return err
	}
	first, second := p.bend(side*loop, radius), p.bend(-side*loop, radius)
	reach := -first.tangent(loop) // from the crossing to the loop
	rounds := or(e.Rounds, 1)
	for i := range rounds {
		p.stage(fmt.Sprintf("eight %d of %d", i+1, rounds), g.path)
		for _, b := range [2]bend{first, second} {
			if err := p.straight(reach); err != nil {
				return err
			}
			if err := p.turn(b); err != nil {
				return err
			}
			if err := p.straight(reach); err != nil {
				return err
			}
		}
	}
	return nil
}
