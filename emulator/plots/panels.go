package plots

import (
	"image/color"
	"math"
	"slices"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/plotter"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"swellbench/emulator/wire"
	"swellbench/scenarios/opt"
)

// The colours tell apart for most colour-blind readers (Okabe and Ito, Color Universal Design, 2008), and every line
// has its words in the legend.
var (
	blue    = color.RGBA{0, 114, 178, 255}
	orange  = color.RGBA{230, 159, 0, 255}
	green   = color.RGBA{0, 158, 115, 255}
	crimson = color.RGBA{213, 94, 0, 255}
	grey    = color.RGBA{120, 120, 120, 255}
)

// panels is the table of what is drawn over time, from top to bottom.
var panels = []struct {
	draw    func(*samples) (*plot.Plot, error)
	entries int     // of its legend
	least   float64 // height in its own units: less is not blown up
}{
	{headingPanel, 2, 1}, {tiltPanel, 4, 0.5}, {heavePanel, 2, 0.05}, {errorPanel, 4, 0.02}, {skyPanel, 2, 2}, {fixPanel, 0, 0},
}

// curve is one line of a panel.
type curve struct {
	name   string
	colour color.Color
	dashed bool
	at     func(s *samples, i int) float64 // NaN: a gap
}

// lines adds curves to a panel; a curve has a gap where its value is not a number, and jumps of more than wrap, if wrap is
// not 0, are drawn as gaps.
func lines(p *plot.Plot, s *samples, wrap float64, curves ...curve) error {
	for _, c := range curves {
		first := true
		var run plotter.XYs
		flush := func() error {
			if len(run) < 2 {
				run = nil
				return nil
			}
			l, err := plotter.NewLine(run)
			if err != nil {
				return err
			}
			l.Color, l.Width = c.colour, vg.Points(1)
			if c.dashed {
				l.Dashes = []vg.Length{vg.Points(4), vg.Points(2)}
			}
			p.Add(l)
			if first && c.name != "" {
				p.Legend.Add(c.name, l)
				first = false
			}
			run = nil
			return nil
		}
		for i := range s.t {
			y := c.at(s, i)
			if n := len(run); math.IsNaN(y) || n > 0 && wrap > 0 && math.Abs(y-run[n-1].Y) > wrap {
				if err := flush(); err != nil {
					return err
				}
			}
			if !math.IsNaN(y) {
				run = append(run, plotter.XY{X: s.t[i], Y: y})
			}
		}
		if err := flush(); err != nil {
			return err
		}
	}
	return nil
}

func panel(label string) *plot.Plot {
	p := plot.New()
	p.Y.Label.Text = label
	p.Legend.Top = true
	p.Legend.TextStyle.Font.Size = vg.Points(8)
	p.Legend.YOffs = vg.Points(-1)
	p.X.Tick.Label.Font.Size, p.Y.Tick.Label.Font.Size = vg.Points(8), vg.Points(8)
	p.X.Label.TextStyle.Font.Size, p.Y.Label.TextStyle.Font.Size = vg.Points(9), vg.Points(9)
	g := plotter.NewGrid()
	g.Horizontal.Color, g.Vertical.Color = color.Gray{225}, color.Gray{225}
	p.Add(g)
	return p
}

func degrees(o opt.Opt[float64]) float64 {
	v, ok := o.Value()
	if !ok {
		return math.NaN()
	}
	return v * 180 / math.Pi
}

func headingPanel(s *samples) (*plot.Plot, error) {
	p := panel("heading, °")
	return p, lines(p, s, 180,
		curve{"vessel, true", blue, false, func(s *samples, i int) float64 { return s.truth[i].Attitude.Canonical().Heading * 180 / math.Pi }},
		curve{"heading sentences", orange, true, func(s *samples, i int) float64 { return degrees(s.read[i].Heading) }})
}

func tiltPanel(s *samples) (*plot.Plot, error) {
	p := panel("pitch, roll, °")
	return p, lines(p, s, 180,
		curve{"pitch, true", blue, false, func(s *samples, i int) float64 { return s.truth[i].Attitude.Canonical().Pitch * 180 / math.Pi }},
		curve{"roll, true", green, false, func(s *samples, i int) float64 { return s.truth[i].Attitude.Canonical().Roll * 180 / math.Pi }},
		curve{"pitch as sent", orange, true, func(s *samples, i int) float64 { return degrees(s.read[i].Pitch) }},
		curve{"roll as sent", crimson, true, func(s *samples, i int) float64 { return degrees(s.read[i].Roll) }})
}

func heavePanel(s *samples) (*plot.Plot, error) {
	p := panel("heave, m")
	return p, lines(p, s, 0,
		curve{s.heaveName + ", true", blue, false, func(s *samples, i int) float64 { return s.heave[i] }},
		curve{"as sent", orange, true, func(s *samples, i int) float64 { return s.read[i].HeaveM.Or(math.NaN()) }})
}

func errorPanel(s *samples) (*plot.Plot, error) {
	p := panel("position error, m")
	return p, lines(p, s, 0,
		curve{"east", blue, false, func(s *samples, i int) float64 { return s.off[i].X }},
		curve{"north", green, false, func(s *samples, i int) float64 { return s.off[i].Y }},
		curve{"up", crimson, false, func(s *samples, i int) float64 { return s.off[i].Z }},
		curve{"±2 sigma of the worse horizontal axis, as the device believes", grey, true, func(s *samples, i int) float64 { return 2 * worse(s.read[i]) }},
		curve{"", grey, true, func(s *samples, i int) float64 { return -2 * worse(s.read[i]) }})
}

func skyPanel(s *samples) (*plot.Plot, error) {
	p := panel("satellites, HDOP")
	return p, lines(p, s, 0,
		curve{"satellites used", blue, false, func(s *samples, i int) float64 {
			if n, ok := s.read[i].Satellites.Value(); ok {
				return float64(n)
			}
			return math.NaN()
		}},
		curve{"horizontal dilution of precision", orange, true, func(s *samples, i int) float64 { return s.read[i].HDOP.Or(math.NaN()) }})
}

// worse is the larger of the sigmas east and north, m; not a number where the device states none.
func worse(r wire.Reading) float64 {
	s, ok := r.Sigma.Value()
	if !ok {
		return math.NaN()
	}
	return max(s.X, s.Y)
}

func fixPanel(s *samples) (*plot.Plot, error) {
	p := panel("fix")
	var seen []wire.Fix
	for _, r := range s.read {
		if !slices.Contains(seen, r.Fix) {
			seen = append(seen, r.Fix)
		}
	}
	slices.Sort(seen)
	ticks := make(plot.ConstantTicks, len(seen))
	for i, f := range seen {
		ticks[i] = plot.Tick{Value: float64(i), Label: f.String()}
	}
	xys := make(plotter.XYs, len(s.t))
	for i, t := range s.t {
		xys[i] = plotter.XY{X: t, Y: float64(slices.Index(seen, s.read[i].Fix))}
	}
	l, err := plotter.NewLine(xys)
	if err != nil {
		return nil, err
	}
	l.StepStyle, l.Color, l.Width = plotter.PostStep, blue, vg.Points(2)
	p.Add(l)
	p.Y.Tick.Marker = ticks
	p.Y.Min, p.Y.Max = -0.5, float64(len(seen))-0.5
	return p, nil
}

// planPanel is the track seen from above, both axes to one scale.
func planPanel(s *samples) (*plot.Plot, error) {
	p := panel("north of the start, m")
	p.X.Label.Text = "east of the start, m"
	truth := make(plotter.XYs, len(s.t))
	var sent plotter.XYs
	for i, v := range s.plan {
		truth[i] = plotter.XY{X: v.X, Y: v.Y}
		if !math.IsNaN(s.off[i].X) && i%max(1, len(s.t)/400) == 0 {
			sent = append(sent, plotter.XY{X: v.X + s.off[i].X, Y: v.Y + s.off[i].Y})
		}
	}
	l, err := plotter.NewLine(truth)
	if err != nil {
		return nil, err
	}
	l.Color, l.Width = blue, vg.Points(1.5)
	p.Add(l)
	p.Legend.Add("track of "+s.name+", true", l)
	if len(sent) > 0 {
		dots, err := plotter.NewScatter(sent)
		if err != nil {
			return nil, err
		}
		dots.GlyphStyle = draw.GlyphStyle{Color: orange, Radius: vg.Points(1.2), Shape: draw.CircleGlyph{}}
		p.Add(dots)
		p.Legend.Add("as sent", dots)
	}
	start, err := plotter.NewScatter(truth[:1])
	if err != nil {
		return nil, err
	}
	start.GlyphStyle = draw.GlyphStyle{Color: grey, Radius: vg.Points(4), Shape: draw.RingGlyph{}}
	p.Add(start)
	p.Legend.Add("start", start)
	// One scale for both axes: the panel is about 21 cm by 7.2 cm inside.
	const aspect = 21 / 7.2
	cx, cy := (p.X.Min+p.X.Max)/2, (p.Y.Min+p.Y.Max)/2
	half := max((p.X.Max-p.X.Min)/2/aspect, (p.Y.Max-p.Y.Min)/2, 0.5) * 1.08
	p.X.Min, p.X.Max, p.Y.Min, p.Y.Max = cx-half*aspect, cx+half*aspect, cy-half, cy+half
	return p, nil
}
