package survey

import (
	"encoding/json"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"

	"swellbench/scenarios/frame"
	"swellbench/scenarios/installation"
)

// A Value is a number with its standard deviation, as told: angles in deg, lengths in m. Either is null in JSON where
// it does not exist.
type Value struct {
	Value float64 `json:"value"`
	Sigma float64 `json:"sigma"`
	Main  string  `json:"main_source,omitempty"` // the input that brings in most of the variance
	Share float64 `json:"main_share,omitempty"`  // of the variance, 0 to 1
}

// MarshalJSON writes what is not finite as null, which JSON has no number for.
func (v Value) MarshalJSON() ([]byte, error) {
	number := func(x float64) any {
		if !finite(x) {
			return nil
		}
		return x
	}
	type share struct {
		Value any     `json:"value"`
		Sigma any     `json:"sigma"`
		Main  string  `json:"main_source,omitempty"`
		Share float64 `json:"main_share,omitempty"`
	}
	return json.Marshal(share{number(v.Value), number(v.Sigma), v.Main, v.Share})
}

func metres(e Estimate) Value { return Value(e) }

// unknown is the standard deviation, in rad, from which on an angle is not known at all: propagation in first order ends
// long before, and nothing is lost by saying so.
const unknown = 30 * math.Pi / 180

func degrees(e Estimate) Value {
	if e.Sigma > unknown {
		e.Sigma = math.Inf(1)
	}
	return Value{frame.Deg(e.Value), frame.Deg(e.Sigma), e.Main, e.Share}
}

func metres3(e [3]Estimate) [3]Value { return [3]Value{metres(e[0]), metres(e[1]), metres(e[2])} }

// Angles is heading, pitch and roll in deg, axes and signs of package frame.
type Angles struct {
	Heading Value `json:"heading_deg"`
	Pitch   Value `json:"pitch_deg"`
	Roll    Value `json:"roll_deg"`
}

func angles(e [3]Estimate) Angles { return Angles{degrees(e[0]), degrees(e[1]), degrees(e[2])} }

// A Report is all that a sheet tells.
type Report struct {
	About    string    `json:"about,omitempty"`
	Coverage float64   `json:"coverage_factor"`
	Sets     []SetFit  `json:"sets"`
	Points   []Point   `json:"points"`
	Mounting Mount     `json:"mounting"`
	Baseline *Base     `json:"baseline,omitempty"`
	Levers   []Lever   `json:"lever_arms"`
	Checks   []Check   `json:"checks"`
	Heave    *Heave    `json:"heave_filter,omitempty"`
	Poses    []PoseFor `json:"poses"`
	Caution  []string  `json:"caution"`
}

// A SetFit tells how a set came onto the vessel.
type SetFit struct {
	Name   string   `json:"name"`
	Axes   Axes     `json:"axes"`
	Points int      `json:"points"`
	TiedBy []string `json:"tied_by,omitempty"`
	RMS    float64  `json:"residual_rms_m,omitempty"` // of the coordinates of the tie points
	// Vessel is the vessel's attitude in the axes of a levelled total station, whose north need not be true.
	Vessel *Angles `json:"vessel_in_set,omitempty"`
}

// A Point is a place from the vessel reference point.
type Point struct {
	Name     string   `json:"name"`
	Position [3]Value `json:"right_forward_up_m"`
	Words    string   `json:"words"`
}

// A Mount is how the device stands.
type Mount struct {
	From   string `json:"from"` // marks, stated, entered (not measured, taken as entered) or assumed (as aligned)
	Angles        // device relative to vessel
	Words  string `json:"words"`
	// Matrix turns device axes (right, forward, up) into vessel axes, row-major; Quaternion the same, w first.
	Matrix     [9]float64   `json:"matrix_row_major"`
	Quaternion [4]float64   `json:"quaternion_wxyz"`
	Others     []Convention `json:"conventions"`
	Marks      []MarkFit    `json:"marks,omitempty"`
	Scale      float64      `json:"marks_scale,omitempty"`
}

// A Convention is the same mounting in the words of another convention.
type Convention struct {
	Name   string     `json:"name"`
	Labels [3]string  `json:"angles"`
	Deg    [3]float64 `json:"deg"`
	About  string     `json:"about"`
}

// A MarkFit is what the fit leaves of one mark.
type MarkFit struct {
	Name     string     `json:"name"`
	Residual [3]float64 `json:"residual_right_forward_up_m"`
}

// A Base is the antenna baseline, from primary to secondary, along vessel axes.
type Base struct {
	Azimuth   Value    `json:"azimuth_deg"` // from forward towards right
	Elevation Value    `json:"elevation_deg"`
	Length    Value    `json:"length_m"`
	Vector    [3]Value `json:"right_forward_up_m"`
	Words     string   `json:"words"`
	Advice    string   `json:"advice"`
}

// A Lever is a vector between two points.
type Lever struct {
	From  string     `json:"from"`
	To    string     `json:"to"`
	Along string     `json:"along"` // vessel, or device: the device's own axes
	RFU   [3]float64 `json:"right_forward_up_m"`
	FRD   [3]float64 `json:"forward_right_down_m"`
	FLU   [3]float64 `json:"forward_left_up_m"`
	Sigma [3]float64 `json:"sigma_right_forward_up_m"`
	Words string     `json:"words"`
}

// Report works out all there is to tell, with the readings for the poses of the sheet.
func (v *Survey) Report() Report { return v.ReportFor(v.Sheet.Poses) }

// ReportFor is [Survey.Report] with other poses.
func (v *Survey) ReportFor(poses []Pose) Report {
	r := Report{
		About: v.Sheet.About, Coverage: v.coverage(), Mounting: v.mount(), Baseline: v.base(), Levers: v.levers(),
		Checks: v.checks(), Heave: v.heave(), Caution: cautions, Poses: []PoseFor{},
	}
	for i := range v.model.sets {
		r.Sets = append(r.Sets, v.setFit(i))
	}
	for _, name := range v.names() {
		p := Point{Name: name, Position: metres3(v.vector(func(s *solution) r3.Vec { x, _ := v.at(s, name); return x }))}
		at, _ := v.at(v.best, name)
		p.Words = place(at, "the reference point")
		r.Points = append(r.Points, p)
	}
	for _, p := range poses {
		r.Poses = append(r.Poses, v.pose(p))
	}
	return r
}

var cautions = []string{
	"Measure twice, by different ways; a sheet cannot find a mistake that is in all its numbers.",
	"Where local rules or a licensed surveyor say otherwise, they prevail over this sheet.",
	"Standard deviations are propagated from those stated in the sheet, in first order; they are no better than these.",
}

func (v *Survey) coverage() float64 {
	if k := v.Sheet.Checks.Coverage; k != 0 {
		return k
	}
	return 3
}

// names lists the points to tell, those with a meaning first.
func (v *Survey) names() []string { return v.actual(v.best).Names() }

func (v *Survey) setFit(i int) SetFit {
	set := &v.model.sets[i]
	f := SetFit{Name: v.Sheet.Sets[i].called(i), Axes: v.Sheet.Sets[i].Axes, Points: len(set.points)}
	if !set.layout.station {
		return f
	}
	for _, k := range set.tie {
		f.TiedBy = append(f.TiedBy, v.model.names[set.points[k].name])
	}
	fit := v.best.sets[i].tie
	for _, r := range fit.Residuals {
		f.RMS += r3.Norm2(r) / float64(3*len(fit.Residuals))
	}
	f.RMS = math.Sqrt(f.RMS)
	if !set.layout.free {
		a := angles(v.attitude(func(s *solution) frame.Rotation { return s.sets[i].tie.Rotation.Inverse() }))
		f.Vessel = &a
	}
	return f
}

func (v *Survey) mount() Mount {
	rot := v.best.mounting
	q := rot.Quat()
	m := Mount{
		From: "assumed", Angles: angles(v.attitude(func(s *solution) frame.Rotation { return s.mounting })),
		Matrix: rot.Matrix(), Quaternion: [4]float64{q.Real, q.Imag, q.Jmag, q.Kmag}, Words: mountWords(rot.Attitude()),
		Others: conventions(rot),
	}
	switch {
	case len(v.model.marks) > 0:
		m.From, m.Scale = "marks", v.best.fit.Scale
		for i, k := range v.model.marks {
			r := v.best.fit.Residuals[i]
			m.Marks = append(m.Marks, MarkFit{v.model.names[k.point], [3]float64{r.X, r.Y, r.Z}})
		}
	case v.model.angles >= 0:
		m.From = "stated"
	default:
		if v.Sheet.Entered.Mounting != nil {
			m.From = "entered"
		}
		for _, x := range []*Value{&m.Heading, &m.Pitch, &m.Roll} {
			x.Sigma = math.NaN() // nobody measured it
		}
	}
	return m
}

// conventions gives the mounting in the words of others. What they share with ours and what not: package frame.
func conventions(rot frame.Rotation) []Convention {
	deg := func(xs ...float64) (out [3]float64) {
		for i, x := range xs {
			out[i] = frame.Deg(x)
		}
		return out
	}
	signed := frame.WrapPi
	a, back, first := rot.Attitude(), rot.Inverse().Attitude(), rot.RollFirst()
	ypr := [3]string{"yaw", "pitch", "roll"}
	return []Convention{
		{"forward-right-down, z-y-x", ypr, deg(signed(a.Heading), a.Pitch, a.Roll), "yaw clockwise, pitch forward axis up, roll right axis down: the same three numbers"},
		{"forward-left-up, z-y-x", ypr, deg(signed(-a.Heading), -a.Pitch, a.Roll), "yaw counter-clockwise, pitch forward axis down, roll right axis down"},
		{"roll before pitch", [3]string{"heading", "roll", "pitch"}, deg(signed(first.Heading), first.Roll, first.Pitch), "signs as ours, but pitch turns about the rolled right axis"},
		{"vessel in the device", [3]string{"heading", "pitch", "roll"}, deg(signed(back.Heading), back.Pitch, back.Roll), "the turn back, as ours: how the vessel stands relative to the device"},
	}
}

func (v *Survey) base() *Base {
	vec := func(s *solution) r3.Vec {
		p, _ := v.at(s, installation.AntennaPrimary)
		q, _ := v.at(s, installation.AntennaSecondary)
		return r3.Sub(q, p)
	}
	if _, ok := v.actual(v.best).Baseline(); !ok {
		return nil
	}
	b := &Base{
		Azimuth:   degrees(v.angle(func(s *solution) float64 { return frame.BaselineOf(vec(s)).Azimuth })),
		Elevation: degrees(v.angle(func(s *solution) float64 { return frame.BaselineOf(vec(s)).Elevation })),
		Length:    metres(v.length(func(s *solution) float64 { return r3.Norm(vec(s)) })),
		Vector:    metres3(v.vector(vec)),
		Words:     place(vec(v.best), "the primary"),
	}
	across := math.Hypot(vec(v.best).X, vec(v.best).Y)
	switch {
	case across < b.Length.Value/10:
		b.Advice = "The baseline stands nearly upright; it gives no useful heading."
	case !(b.Azimuth.Sigma < frame.Deg(maxWeakest)):
		b.Advice = "The baseline is too short for how well it was measured; it gives no useful heading. Measure the antennas better, or set them further apart."
	default:
		b.Advice = fmt.Sprintf("A constant error of the heading is left by what is typed: %.2f deg (one standard deviation). "+
			"Per millimetre across, it is %.3f deg on this baseline; on one twice as long half of that. To do better, compare the heading with a known one, such as a surveyed quay.",
			b.Azimuth.Sigma, frame.Deg(math.Atan(0.001/across)))
	}
	return b
}

func (v *Survey) levers() []Lever {
	names := append([]string{installation.Reference}, v.names()...)
	origins := []string{installation.Reference, installation.Sensor}
	for _, n := range []string{installation.AntennaPrimary, v.outputPoint()} {
		if slices.Contains(names, n) && !slices.Contains(origins, n) {
			origins = append(origins, n)
		}
	}
	var out []Lever
	for _, from := range origins {
		for _, along := range []string{"vessel", "device"} {
			if along == "device" && from != installation.Sensor {
				continue
			}
			for _, to := range names {
				if to == from {
					continue
				}
				out = append(out, v.lever(from, to, along))
			}
		}
	}
	return out
}

// outputPoint is the point that the consumer is to deliver.
func (v *Survey) outputPoint() string {
	if n := v.Sheet.Expected.OutputPoint; n != "" {
		return n
	}
	return installation.Reference
}

func (v *Survey) lever(from, to, along string) Lever {
	vec := func(s *solution) r3.Vec {
		a, _ := v.at(s, from)
		b, _ := v.at(s, to)
		d := r3.Sub(b, a)
		if along == "device" {
			d = s.mounting.Inverse().Apply(d)
		}
		return d
	}
	e, d := v.vector(vec), vec(v.best)
	l := Lever{
		From: from, To: to, Along: along,
		RFU: [3]float64{d.X, d.Y, d.Z}, FRD: [3]float64{d.Y, d.X, -d.Z}, FLU: [3]float64{d.Y, -d.X, d.Z},
		Sigma: [3]float64{e[0].Sigma, e[1].Sigma, e[2].Sigma},
	}
	switch {
	case along == "device":
		l.Words = deviceWords(d)
	case from == installation.Reference:
		l.Words = place(d, "the reference point")
	default:
		l.Words = place(d, from)
	}
	for _, x := range []*[3]float64{&l.RFU, &l.FRD, &l.FLU} {
		for i := range x {
			x[i] += 0 // no negative zero
		}
	}
	return l
}
