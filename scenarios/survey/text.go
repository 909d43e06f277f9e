package survey

import (
	"fmt"
	"io"
	"math"
	"strings"
	"unicode/utf8"
)

// A table is rows of cells, told in columns: the first and the last to the left, numbers between to the right.
type table struct {
	rows [][]string
	left map[int]bool // columns to the left besides the first
}

func (t *table) row(cells ...string) { t.rows = append(t.rows, cells) }

func (t *table) write(w *strings.Builder) {
	var width []int
	for _, r := range t.rows {
		for i, c := range r {
			if i == len(width) {
				width = append(width, 0)
			}
			width[i] = max(width[i], utf8.RuneCountInString(c))
		}
	}
	for _, r := range t.rows {
		line := " "
		for i, c := range r {
			pad := strings.Repeat(" ", width[i]-utf8.RuneCountInString(c))
			if i == 0 || t.left[i] {
				line += " " + c + pad
			} else {
				line += " " + pad + c
			}
			line += " "
		}
		w.WriteString(strings.TrimRight(line, " ") + "\n")
	}
	w.WriteString("\n")
}

// num writes a number with its sign and so many decimals.
func num(x float64, decimals int) string {
	if !finite(x) {
		return "-"
	}
	return fmt.Sprintf("%+.*f", decimals, round(x, math.Pow(10, float64(decimals))))
}

// with writes a number and its standard deviation.
func with(v Value, decimals int) string { return num(v.Value, decimals) + " " + sd(v.Sigma, decimals) }

// plus writes a number that has no sign, such as a heading, and its standard deviation.
func plus(v Value, decimals int) string {
	x := round(v.Value, math.Pow(10, float64(decimals)))
	if x == 360 {
		x = 0
	}
	if !finite(x) {
		return "-"
	}
	return fmt.Sprintf("%.*f %s", decimals, x, sd(v.Sigma, decimals))
}

// sd writes a standard deviation with the same number of decimals, rounded up in the last where it would vanish.
func sd(s float64, decimals int) string {
	if least := math.Pow(10, -float64(decimals)); s > 1e-9 && s < least {
		s = least
	}
	if !finite(s) {
		return "± ?"
	}
	return fmt.Sprintf("± %.*f", decimals, s)
}

// Text writes the report for a person.
func (r Report) Text(w io.Writer) error {
	var b strings.Builder
	if r.About != "" {
		fmt.Fprintf(&b, "%s\n\n", strings.Join(wrap(strings.Join(strings.Fields(r.About), " "), 110), "\n"))
	}
	for _, c := range r.Caution {
		fmt.Fprintf(&b, "! %s\n", c)
	}
	b.WriteString("  ± is one standard deviation, ? where there is none. Lengths in m, angles in deg.\n\n")
	r.verdict(&b)
	r.places(&b)
	r.stands(&b)
	r.spans(&b)
	r.arms(&b)
	r.compared(&b)
	r.heave(&b)
	for _, p := range r.Poses {
		p.text(&b)
	}
	_, err := io.WriteString(w, b.String())
	return err
}

// Disagree counts the checks that do not agree.
func (r Report) Disagree() (n int) {
	for _, c := range r.Checks {
		if !c.Agrees {
			n++
		}
	}
	return n
}

func (r Report) verdict(b *strings.Builder) {
	switch n := r.Disagree(); {
	case len(r.Checks) == 0:
		b.WriteString("NOTHING TO COMPARE: no number in the sheet is there twice. Add marks, tie points, what was entered, or the receiver's baseline.\n\n")
	case n == 0:
		fmt.Fprintf(b, "ALL AGREES: %d comparisons, each within %g standard deviations.\n\n", len(r.Checks), r.Coverage)
	default:
		fmt.Fprintf(b, "%d OF %d COMPARISONS DO NOT AGREE within %g standard deviations:\n", n, len(r.Checks), r.Coverage)
		for _, c := range r.Checks {
			if !c.Agrees {
				for i, l := range wrap(fmt.Sprintf("%s: %s off by %s. Advice: %s.", c.ID, c.what(), c.amount(), c.Advice), 108) {
					fmt.Fprintf(b, "%s%s\n", []string{"  * ", "    "}[min(i, 1)], l)
				}
			}
		}
		b.WriteString("\n")
	}
}

// what says what is compared.
func (c Check) what() string {
	if c.Which == "" {
		return c.Subject
	}
	return c.Subject + ", " + c.Which + ","
}

// amount writes the difference and what is allowed.
func (c Check) amount() string {
	d := map[string]int{"m": 3, "deg": 2}[c.Unit]
	if d == 0 {
		return fmt.Sprintf("%+.2f %% (allowed ± %.2f)", 100*c.Difference, 100*c.Limit)
	}
	return fmt.Sprintf("%s %s (allowed %s)", num(c.Difference, d), c.Unit, sd(c.Limit, d))
}

func (r Report) places(b *strings.Builder) {
	b.WriteString("WHERE THINGS ARE, from the vessel reference point\n")
	t := table{left: map[int]bool{4: true}}
	t.row("point", "right", "forward", "up", "in words")
	for _, p := range r.Points {
		t.row(p.Name, with(p.Position[0], 3), with(p.Position[1], 3), with(p.Position[2], 3), p.Words)
	}
	t.write(b)
	tied := false
	for _, s := range r.Sets {
		if s.TiedBy == nil {
			continue
		}
		tied = true
		fmt.Fprintf(b, "  %s (%s) is tied to the vessel by %s; residuals %.1f mm (root mean square).\n", s.Name, s.Axes, strings.Join(s.TiedBy, ", "), 1000*s.RMS)
		if a := s.Vessel; a != nil {
			fmt.Fprintf(b, "  If it was levelled, the vessel then had pitch %s%s, roll %s%s, and headed %s from its north.\n",
				with(a.Pitch, 2), side(a.Pitch.Value, " (bow up)", " (bow down)"), with(a.Roll, 2), side(a.Roll.Value, " (starboard side down)", " (port side down)"), plus(a.Heading, 2))
		}
	}
	if tied {
		b.WriteString("\n")
	}
}

func (r Report) stands(b *strings.Builder) {
	m := r.Mounting
	fmt.Fprintf(b, "HOW THE DEVICE STANDS on the vessel: %s\n", map[string]string{
		"marks": "from its marks", "stated": "as stated in the sheet", "entered": "not measured, taken as entered",
		"assumed": "not measured, taken as aligned",
	}[m.From])
	t := table{left: map[int]bool{2: true}}
	t.row("heading", plus(m.Heading, 2), "positive: turned clockwise, seen from above")
	t.row("pitch", with(m.Pitch, 2), "positive: its forward axis raised")
	t.row("roll", with(m.Roll, 2), "positive: its right axis lowered")
	t.write(b)
	fmt.Fprintf(b, "  In words: %s.\n", m.Words)
	if m.From == "entered" || m.From == "assumed" {
		b.WriteString("  How far it is off is not known, and is in no standard deviation below; measure three marks or more on the device.\n")
	}
	if math.Abs(m.Pitch.Value) > 80 {
		b.WriteString("  With its forward axis so near the vertical, heading and roll are hard to tell apart; type all three as they stand here.\n")
	}
	if m.Heading.Main != "" && finite(m.Heading.Sigma) {
		fmt.Fprintf(b, "  The heading hangs most on %s (%.0f %% of its variance).\n", m.Heading.Main, 100*m.Heading.Share)
	}
	if m.Marks != nil {
		var parts []string
		for _, k := range m.Marks {
			parts = append(parts, fmt.Sprintf("%s %.1f mm", k.Name, 1000*math.Sqrt(k.Residual[0]*k.Residual[0]+k.Residual[1]*k.Residual[1]+k.Residual[2]*k.Residual[2])))
		}
		fmt.Fprintf(b, "  Left over at the marks: %s.\n", strings.Join(parts, ", "))
	}
	b.WriteString("\n  The same in other conventions (type these only where the device asks so):\n")
	t = table{left: map[int]bool{4: true}}
	for _, c := range m.Others {
		var cells []string
		for i := range 3 {
			cells = append(cells, c.Labels[i]+" "+num(c.Deg[i], 2))
		}
		t.row(append(append([]string{"  " + c.Name}, cells...), c.About)...)
	}
	t.write(b)
}

func (r Report) spans(b *strings.Builder) {
	s := r.Baseline
	if s == nil {
		return
	}
	fmt.Fprintf(b, "BASELINE, from primary to secondary antenna: the secondary is %s\n", s.Words)
	t := table{left: map[int]bool{2: true}}
	t.row("azimuth", plus(s.Azimuth, 2), "from forward towards right")
	t.row("elevation", with(s.Elevation, 2), "above the lateral plane")
	t.row("length", plus(s.Length, 3), "")
	t.write(b)
	if s.Azimuth.Main != "" && finite(s.Azimuth.Sigma) {
		fmt.Fprintf(b, "  The azimuth hangs most on %s (%.0f %% of its variance).\n", s.Azimuth.Main, 100*s.Azimuth.Share)
	}
	for _, l := range wrap(s.Advice, 108) {
		fmt.Fprintf(b, "  %s\n", l)
	}
	b.WriteString("\n")
}

func (r Report) arms(b *strings.Builder) {
	b.WriteString("LEVER ARMS in three conventions; the columns are in the order in which each is typed\n")
	var t table
	head := ""
	flush := func() {
		if len(t.rows) > 0 {
			t.write(b)
		}
		t = table{left: map[int]bool{10: true, 11: true}}
	}
	for _, l := range r.Levers {
		h := fmt.Sprintf("from %s, along the %s axes", l.From, map[string]string{"vessel": "vessel's", "device": "device's own"}[l.Along])
		if h != head {
			flush()
			head = h
			fmt.Fprintf(b, "  %s\n", h)
			t.row("to", "right", "forward", "up", "| forward", "right", "down", "| forward", "left", "up", "| ± right forward up", "in words")
		}
		cells := []string{l.To}
		for i, x := range [][3]float64{l.RFU, l.FRD, l.FLU} {
			for j, y := range x {
				c := num(y, 3)
				if i > 0 && j == 0 {
					c = "| " + c
				}
				cells = append(cells, c)
			}
		}
		t.row(append(cells, fmt.Sprintf("| %.3f %.3f %.3f", l.Sigma[0], l.Sigma[1], l.Sigma[2]), l.Words)...)
	}
	flush()
}

func (r Report) compared(b *strings.Builder) {
	if len(r.Checks) == 0 {
		return
	}
	numbers := 0
	for _, c := range r.Checks {
		numbers += c.Numbers
	}
	fmt.Fprintf(b, "COMPARISONS; of %d numbers in them, about %.2g would exceed the limit by chance alone\n", numbers, float64(numbers)*math.Erfc(r.Coverage/math.Sqrt2))
	t := table{left: map[int]bool{1: true, 2: true, 3: true}}
	for _, c := range r.Checks {
		verdict := "agrees"
		if !c.Agrees {
			verdict = "DOES NOT AGREE"
		}
		t.row(c.ID, strings.TrimSuffix(c.what(), ","), c.amount(), verdict)
	}
	t.write(b)
}

func (p PoseFor) text(b *strings.Builder) {
	b.WriteString(strings.TrimSpace("WORKSHEET "+p.Name) + fmt.Sprintf(": what to read with the vessel at heading %.2f, pitch %s%s, roll %s%s\n", p.Heading,
		num(p.Pitch, 2), side(p.Pitch, " (bow up)", " (bow down)"), num(p.Roll, 2), side(p.Roll, " (starboard side down)", " (port side down)")))
	var t table
	heads := map[string]string{"raw": "raw device", "set-up": "set up as measured", "as-entered": "set up as entered"}
	left := map[int]bool{}
	head := []string{""}
	for i, d := range p.Devices {
		head = append(head, heads[d.Setting], "of")
		left[2*i+2] = true
	}
	t.left = left
	t.row(append(head, "read")...)
	var order []string
	for _, d := range p.Devices {
		for _, s := range d.Shows {
			order = appendNew(order, s.Name)
		}
	}
	for _, name := range order {
		cells := []string{name}
		for _, d := range p.Devices {
			text, of := "-", ""
			for _, s := range d.Shows {
				if s.Name == name {
					of = s.Of
					switch {
					case s.Unit == "m":
						text = with(s.Value, 3)
					case name == "heading" || name == "yaw with attitude":
						text = plus(s.Value, 2)
					default:
						text = with(s.Value, 2)
					}
				}
			}
			cells = append(cells, text, of)
		}
		t.row(append(cells, "________")...)
	}
	t.write(b)
	var moves []string
	for _, m := range p.Moves {
		moves = append(moves, fmt.Sprintf("%s, and a raw device's pitch changes by %s, its roll by %s", m.Vessel, num(m.RawPitch, 2), num(m.RawRoll, 2)))
	}
	if moves != nil {
		fmt.Fprintf(b, "  Try it: %s.\n", strings.Join(moves, "; "))
	} else {
		b.WriteString("  A raw device has its forward axis near the vertical here, so its heading and roll jump at the least tilt.\n")
	}
	b.WriteString("  Real-time heave goes back to zero while the vessel lies still; what tilt alone makes of it shows only while the tilt is new.\n\n")
	b.WriteString("  Where the points then are, from the vessel reference point:\n")
	t = table{}
	t.row("point", "east", "north", "up")
	for _, q := range p.Points {
		t.row(q.Name, with(q.ENU[0], 3), with(q.ENU[1], 3), with(q.ENU[2], 3))
	}
	t.write(b)
}

func side(x float64, more, less string) string {
	switch {
	case round(x, 100) > 0:
		return more
	case round(x, 100) < 0:
		return less
	}
	return ""
}

func appendNew(list []string, s string) []string {
	for _, x := range list {
		if x == s {
			return list
		}
	}
	return append(list, s)
}

// wrap breaks text into lines between words.
func wrap(text string, width int) []string {
	var lines []string
	for _, word := range strings.Fields(text) {
		if n := len(lines); n > 0 && utf8.RuneCountInString(lines[n-1])+1+utf8.RuneCountInString(word) <= width {
			lines[n-1] += " " + word
		} else {
			lines = append(lines, word)
		}
	}
	return lines
}
