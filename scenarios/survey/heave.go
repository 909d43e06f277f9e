package survey

import (
	"fmt"
	"strings"

	"swellbench/scenarios/frame"
	"swellbench/scenarios/heave"
	"swellbench/scenarios/units"
)

// usualPeriods are the waves told of where the sheet names none, in s: wind sea to ocean swell. Common practice, no source.
var usualPeriods = []units.Duration{4, 6, 8, 12, 16}

const (
	maxPeriod  = 60 // s: longer waves are tides and seiches
	maxPeriods = 20
)

// Heave is what the device's heave filter does to the waves.
type Heave struct {
	CutOff   float64      `json:"cut_off_s"`
	Order    int          `json:"order"`
	Output   string       `json:"output"`
	Periods  []HeaveAt    `json:"periods"`
	ShownFor []SettleTime `json:"settles"`
}

// HeaveAt is what the filter does to waves met with one period.
type HeaveAt struct {
	Period       float64 `json:"period_s"`
	Gain         float64 `json:"gain"`
	Lead         float64 `json:"lead_deg"`
	Error        float64 `json:"error_of_amplitude"`         // of real-time heave, as part of the wave's amplitude
	DelayedError float64 `json:"delayed_error_of_amplitude"` // of delayed heave
	Words        string  `json:"words"`
}

// A SettleTime is how long a step of height, such as ballast taken on, still shows with more than a part of it.
type SettleTime struct {
	Part   float64 `json:"part"`
	Within float64 `json:"within_s"`
}

// heave is nil where the sheet has no filter.
func (v *Survey) heave() *Heave {
	spec := v.Sheet.Device.Heave
	f, err := spec.Filter()
	if err != nil || f.Order() == 0 {
		return nil
	}
	h := &Heave{CutOff: f.CutOffS(), Order: f.Order(), Output: string(heave.RealTime)}
	if spec.Output != "" {
		h.Output = string(spec.Output)
	}
	periods := v.Sheet.Periods
	if len(periods) == 0 {
		periods = usualPeriods
	}
	for _, p := range periods {
		e := f.At(float64(p))
		at := HeaveAt{Period: float64(p), Gain: e.Gain, Lead: frame.Deg(e.Lead), Error: e.Error, DelayedError: e.DelayedError, Words: f.Describe(float64(p))}
		if spec.Output == heave.Delayed {
			at.Words = f.DescribeDelayed(float64(p))
		}
		h.Periods = append(h.Periods, at)
	}
	for _, part := range []float64{0.1, 0.01} {
		h.ShownFor = append(h.ShownFor, SettleTime{part, f.SettleS(part)})
	}
	return h
}

func (r Report) heave(b *strings.Builder) {
	h := r.Heave
	if h == nil {
		return
	}
	fmt.Fprintf(b, "HEAVE FILTER of order %d, cut-off %g s, %s: what it does to waves, by the period with which the vessel meets them\n", h.Order, h.CutOff, h.Output)
	t := table{}
	t.row("period", "height left", "lead", "real-time wrong by", "delayed wrong by")
	for _, p := range h.Periods {
		t.row(fmt.Sprintf("%g s", p.Period), fmt.Sprintf("%.1f %%", 100*p.Gain), fmt.Sprintf("%.1f deg", p.Lead),
			fmt.Sprintf("%.1f %%", 100*p.Error), fmt.Sprintf("%.1f %%", 100*p.DelayedError))
	}
	t.write(b)
	worst := h.Periods[0]
	for _, p := range h.Periods {
		if p.Error > worst.Error {
			worst = p
		}
	}
	for _, line := range wrap("In words: "+worst.Words+".", 108) {
		b.WriteString("  " + line + "\n")
	}
	fmt.Fprintf(b, "  After a change of height, such as a turn with list, a tenth of it still shows for %.0f s, a hundredth for %.0f s.\n\n", h.ShownFor[0].Within, h.ShownFor[1].Within)
}

func (s *Sheet) validateHeave(ps *problems) {
	for _, p := range s.Device.Heave.Validate() {
		ps.add("device.heave-filter."+p.Path, "%s", p.Text)
	}
	if len(s.Periods) > maxPeriods {
		ps.add("wave-periods", "there are %d periods; allowed: %d", len(s.Periods), maxPeriods)
	}
	for i, p := range s.Periods {
		if !(p > 0 && p <= maxPeriod) {
			ps.add(fmt.Sprintf("wave-periods[%d]", i), "%v is no period of waves; allowed: more than 0 s, up to %d s", p, maxPeriod)
		}
	}
	if len(s.Periods) > 0 && s.Device.Heave == (heave.Spec{}) {
		ps.add("wave-periods", "wave periods serve to tell what the heave filter does, and there is none; add device: {heave-filter: {cut-off: ...}}")
	}
}
