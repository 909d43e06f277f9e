package report

import (
	"bytes"
	"fmt"
	"html/template"
	"image/color"
	"math"
	"strings"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/plotter"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
	"gonum.org/v1/plot/vg/vgsvg"

	"swellbench/conformance"
)

// A picture is a plot with the words that say the same.
type picture struct {
	SVG template.HTML
	Alt string // what a person who does not see it needs to know
	// Rows are the numbers of the plot, thinned out: time, expected, observed, deviation, tolerance.
	Head []string
	Rows [][]string
}

// The colours tell apart for most colour-blind readers (Okabe and Ito, Color Universal Design, 2008); lines also differ in
// form, points in shape.
var (
	expectedColour = color.RGBA{0, 114, 178, 255}
	observedColour = color.RGBA{213, 94, 0, 255}
	bandColour     = color.RGBA{0, 158, 115, 255}
	inkColour      = color.RGBA{60, 60, 60, 255}
)

// deviation draws what was observed less what was expected over time, between the tolerances.
func deviation(s conformance.Series) (picture, error) {
	p := axes("scenario time, s", s.Quantity+", observed − expected, "+s.Unit)
	dots, high, low := plotter.XYs{}, plotter.XYs{}, plotter.XYs{}
	beyond, worst := 0, s.Points[0]
	for _, x := range s.Points {
		dots = append(dots, plotter.XY{X: x.T, Y: x.Deviation})
		high, low = append(high, plotter.XY{X: x.T, Y: x.Tolerance}), append(low, plotter.XY{X: x.T, Y: -x.Tolerance})
		if math.Abs(x.Deviation) > x.Tolerance {
			beyond++
		}
		if math.Abs(x.Deviation)/x.Tolerance > math.Abs(worst.Deviation)/worst.Tolerance {
			worst = x
		}
	}
	if err := add(p, "deviation", dots, observedColour, true); err != nil {
		return picture{}, err
	}
	if err := add(p, "tolerance", high, bandColour, false); err != nil {
		return picture{}, err
	}
	if err := add(p, "", low, bandColour, false); err != nil {
		return picture{}, err
	}
	alt := fmt.Sprintf("Deviation of %s over time: %d of the %d values drawn are beyond the tolerance; the worst is %s %s (tolerance %s) at %s s.",
		s.Quantity, beyond, len(s.Points), short(worst.Deviation), s.Unit, short(worst.Tolerance), short(worst.T))
	return finish(p, alt, s, 7*vg.Inch, 2.1*vg.Inch)
}

// over draws what was observed over what was expected.
func over(s conformance.Series) (picture, error) {
	p := axes("scenario time, s", s.Quantity+", "+s.Unit)
	want, got := plotter.XYs{}, plotter.XYs{}
	lowW, highW, lowG, highG := math.Inf(1), math.Inf(-1), math.Inf(1), math.Inf(-1)
	for _, x := range s.Points {
		want, got = append(want, plotter.XY{X: x.T, Y: x.Expected}), append(got, plotter.XY{X: x.T, Y: x.Observed})
		lowW, highW, lowG, highG = min(lowW, x.Expected), max(highW, x.Expected), min(lowG, x.Observed), max(highG, x.Observed)
	}
	if err := add(p, "expected", want, expectedColour, false); err != nil {
		return picture{}, err
	}
	if err := add(p, "observed", got, observedColour, true); err != nil {
		return picture{}, err
	}
	alt := fmt.Sprintf("%s over time: expected between %s and %s %s, observed between %s and %s %s.", s.Quantity,
		short(lowW), short(highW), s.Unit, short(lowG), short(highG), s.Unit)
	return finish(p, alt, s, 7*vg.Inch, 2.1*vg.Inch)
}

// plan draws, seen from above with the bow up, where things are on the vessel and how far positions were off.
func plan(points []conformance.VesselPoint, off []conformance.PlanPoint) (picture, error) {
	p := axes("to starboard, m", "forward, m")
	var places, spots plotter.XYs
	var names []string
	for _, x := range points {
		places, names = append(places, plotter.XY{X: x.Right, Y: x.Forward}), append(names, " "+x.Name)
	}
	var right, forward float64
	for _, x := range off {
		spots = append(spots, plotter.XY{X: x.Right, Y: x.Forward})
		right, forward = right+x.Right/float64(len(off)), forward+x.Forward/float64(len(off))
	}
	if err := add(p, "position observed − expected", spots, observedColour, true); err != nil {
		return picture{}, err
	}
	if len(places) > 0 {
		dots, err := plotter.NewScatter(places)
		if err != nil {
			return picture{}, err
		}
		dots.Color, dots.Shape, dots.Radius = expectedColour, draw.BoxGlyph{}, vg.Points(2.5)
		labels, err := plotter.NewLabels(plotter.XYLabels{XYs: places, Labels: names})
		if err != nil {
			return picture{}, err
		}
		for i := range labels.TextStyle {
			labels.TextStyle[i].Color, labels.TextStyle[i].Font.Size = inkColour, vg.Points(8)
		}
		p.Add(dots, labels)
		p.Legend.Add("point of the vessel", dots)
	}
	// One scale on both axes, centred, so that directions are true.
	half := max((p.X.Max-p.X.Min)/2, (p.Y.Max-p.Y.Min)/2, 0.5) * 1.15
	cx, cy := (p.X.Max+p.X.Min)/2, (p.Y.Max+p.Y.Min)/2
	p.X.Min, p.X.Max, p.Y.Min, p.Y.Max = cx-half, cx+half, cy-half, cy+half
	alt := fmt.Sprintf("Plan of the vessel, bow up: positions are off by %s m to starboard and %s m forward on average.", short(right), short(forward))
	pic, err := finish(p, alt, conformance.Series{}, 4*vg.Inch, 3.6*vg.Inch)
	pic.Head = []string{"point", "to starboard, m", "forward, m", "up, m"}
	for _, x := range points {
		pic.Rows = append(pic.Rows, []string{x.Name, short(x.Right), short(x.Forward), short(x.Up)})
	}
	return pic, err
}

func axes(x, y string) *plot.Plot {
	p := plot.New()
	p.X.Label.Text, p.Y.Label.Text = x, y
	for _, a := range []*plot.Axis{&p.X, &p.Y} {
		a.Label.TextStyle.Font.Size, a.Tick.Label.Font.Size = vg.Points(9), vg.Points(8)
	}
	p.Legend.Top, p.Legend.TextStyle.Font.Size = true, vg.Points(8)
	g := plotter.NewGrid()
	g.Horizontal.Color, g.Vertical.Color = color.Gray{225}, color.Gray{225}
	p.Add(g)
	return p
}

// add draws a line, or dots.
func add(p *plot.Plot, name string, xys plotter.XYs, c color.Color, dots bool) error {
	if len(xys) == 0 {
		return nil
	}
	if dots {
		s, err := plotter.NewScatter(xys)
		if err != nil {
			return err
		}
		s.Color, s.Shape, s.Radius = c, draw.CircleGlyph{}, vg.Points(1.3)
		p.Add(s)
		if name != "" {
			p.Legend.Add(name, s)
		}
		return nil
	}
	l, err := plotter.NewLine(xys)
	if err != nil {
		return err
	}
	l.Color, l.Width = c, vg.Points(1)
	p.Add(l)
	if name != "" {
		p.Legend.Add(name, l)
	}
	return nil
}

const tableRows = 12

// finish draws the plot and adds its numbers.
func finish(p *plot.Plot, alt string, s conformance.Series, w, h vg.Length) (picture, error) {
	if len(s.Points) > 0 { // room for the legend
		p.Y.Max += 0.22 * (p.Y.Max - p.Y.Min)
	}
	c := vgsvg.New(w, h)
	p.Draw(draw.New(c))
	var b bytes.Buffer
	if _, err := c.WriteTo(&b); err != nil {
		return picture{}, err
	}
	svg := b.String()
	if i := strings.Index(svg, "<svg"); i >= 0 {
		svg = svg[i:]
	}
	pic := picture{SVG: template.HTML(svg), Alt: alt} // our own numbers and words only: nothing a consumer wrote
	if len(s.Points) > 0 {
		pic.Head = []string{"time, s", "expected, " + s.Unit, "observed, " + s.Unit, "deviation, " + s.Unit, "tolerance, " + s.Unit}
		for i := range min(tableRows, len(s.Points)) {
			x := s.Points[i*len(s.Points)/min(tableRows, len(s.Points))]
			pic.Rows = append(pic.Rows, []string{short(x.T), short(x.Expected), short(x.Observed), short(x.Deviation), short(x.Tolerance)})
		}
	}
	return pic, nil
}

// short writes a number with four digits that count.
func short(x float64) string {
	if x == 0 {
		return "0"
	}
	return strings.Replace(fmt.Sprintf("%.4g", x), "-", "−", 1)
}
