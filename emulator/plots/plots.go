// Package plots draws a scenario: where the vessel goes, how it moves, what the device says of it and how far off that
// is. It is the picture a person checks before trusting a scenario.
//
// Start with [Write]; each panel is one function in panels.go, and the table of panels says their order.
package plots

import (
	"cmp"
	"fmt"
	"io"
	"math"
	"slices"
	"strings"

	"gonum.org/v1/gonum/spatial/r3"
	"gonum.org/v1/plot"
	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"swellbench/emulator"
	"swellbench/emulator/wire"
	"swellbench/scenarios"
	"swellbench/scenarios/geo"
)

// Formats are the picture formats that [Write] knows.
var Formats = []string{"png", "svg", "pdf"}

// Size of the picture.
const (
	width  = 24 * vg.Centimeter
	height = 30 * vg.Centimeter
)

// maxSamples bounds the picture's points, whatever the length of the scenario.
const maxSamples = 4000

// Write draws the scenario of d into w, in one of [Formats].
func Write(w io.Writer, d *emulator.Device, format string) error {
	if !slices.Contains(Formats, format) {
		return fmt.Errorf("plot: unknown picture format %q; known: %s", format, strings.Join(Formats, ", "))
	}
	s := gather(d)
	c, err := draw.NewFormattedCanvas(width, height, format)
	if err != nil {
		return fmt.Errorf("plot: %w", err)
	}
	dc := draw.New(c)
	title := plot.New()
	title.Title.Text = fmt.Sprintf("%s: %s, %g s from %s", d.Scenario().Name, place(s.origin), s.end, d.UTC(0).Format("2006-01-02 15:04:05 UTC"))
	title.Title.TextStyle.Font = font.From(plot.DefaultFont, 13)
	title.HideAxes()
	const head = 1 * vg.Centimeter
	title.Draw(draw.Crop(dc, 0, 0, height-head, 0))

	top := 9 * vg.Centimeter
	plan, err := planPanel(s)
	if err != nil {
		return fmt.Errorf("plot: %w", err)
	}
	plan.Draw(draw.Crop(dc, 0, 0, height-head-top, -head))

	// The panels over time share their time axis and their left edge.
	column := make([][]*plot.Plot, 0, len(panels))
	for _, p := range panels {
		made, err := p.draw(s)
		if err != nil {
			return fmt.Errorf("plot: %w", err)
		}
		made.X.Min, made.X.Max = 0, s.end
		if middle := (made.Y.Min + made.Y.Max) / 2; math.IsInf(middle, 0) || math.IsNaN(middle) { // nothing is drawn
			made.Y.Min, made.Y.Max = 0, max(1, p.least)
		} else if made.Y.Max-made.Y.Min < p.least {
			made.Y.Min, made.Y.Max = middle-p.least/2, middle+p.least/2
		}
		made.Y.Max += (0.1 + 0.17*float64(p.entries)) * (made.Y.Max - made.Y.Min) // room for the legend
		column = append(column, []*plot.Plot{made})
	}
	column[len(column)-1][0].X.Label.Text = "scenario time, s"
	tiles := draw.Tiles{Rows: len(column), Cols: 1, PadY: 2 * vg.Millimeter}
	canvases := plot.Align(column, tiles, draw.Crop(dc, 0, -4*vg.Millimeter, 2*vg.Millimeter, -head-top))
	for i := range column {
		column[i][0].Draw(canvases[i][0])
	}
	_, err = c.WriteTo(w)
	return err
}

// samples are what the panels draw: truth and readings on one grid of time.
type samples struct {
	end       float64
	origin    geo.Position
	t         []float64
	truth     []scenarios.State
	point     []scenarios.PointState // of the point that the device reports
	read      []wire.Reading
	plan      []r3.Vec  // truth of that point from the origin, east north up, m
	off       []r3.Vec  // reported minus true position, east north up, m; NaN where there is none
	name      string    // of the point
	heave     []float64 // true, of the point whose heave the device reports, m
	heaveName string
}

func gather(d *emulator.Device) *samples {
	sc := d.Scenario()
	s := &samples{end: float64(sc.Duration)}
	step := max(0.05, s.end/maxSamples)
	rep := sc.Installation.Reported()
	s.name, s.heaveName = cmp.Or(rep.PositionName, "the point as typed"), cmp.Or(rep.HeaveName, "the point as typed")
	s.origin = d.Truth().At(0).Point(rep.PositionAt).Position
	local := geo.LocalAt(s.origin)
	for k := 0; float64(k)*step < s.end; k++ {
		t := float64(k) * step
		state, r := d.Truth().At(t), d.Reading(t)
		if t < float64(sc.Device.StartUp.Silence) {
			r = wire.Reading{T: t} // nobody hears it
		}
		p := state.Point(rep.PositionAt)
		s.heave = append(s.heave, state.Point(rep.HeaveAt).HeaveM)
		off := r3.Vec{X: math.NaN(), Y: math.NaN(), Z: math.NaN()}
		if pos, ok := r.Position.Value(); ok {
			off = geo.LocalAt(p.Position).ENU(pos)
		}
		s.t, s.truth, s.point, s.read = append(s.t, t), append(s.truth, state), append(s.point, p), append(s.read, r)
		s.plan, s.off = append(s.plan, local.ENU(p.Position)), append(s.off, off)
	}
	return s
}

// place writes a position for a person.
func place(p geo.Position) string {
	one := func(rad float64, width int, plus, minus string) string {
		letter := plus
		if rad < 0 {
			letter = minus
		}
		minutes := math.Round(math.Abs(rad)*180/math.Pi*60*1000) / 1000
		return fmt.Sprintf("%0*d° %06.3f′ %s", width, int(minutes/60), math.Mod(minutes, 60), letter)
	}
	return one(p.Lat, 2, "N", "S") + " " + one(p.Lon, 3, "E", "W")
}
