package hull

import (
	"errors"
	"math"

	"swellbench/scenarios/installation"
	"swellbench/scenarios/strictyaml"
)

// A Hull knows the response of one vessel. It may be shared.
type Hull struct {
	table *Table // nil: the closed forms
	box   Box
	roll  struct{ natural, damping float64 } // rad/s, fraction of critical
}

// New makes the hull of a section for a vessel. It is an error where [Spec.Validate] or [Spec.ValidateVessel] finds any.
func New(s Spec, v installation.Vessel) (*Hull, error) {
	var errs []error
	for _, p := range append(strictyaml.Under("hull", s.Validate()), strictyaml.Under("vessel", s.ValidateVessel(v))...) {
		errs = append(errs, errors.New(p.Path+": "+p.Text))
	}
	if s.RAOTable != "" && s.Table == nil {
		errs = append(errs, errors.New("hull: rao-table: "+strictyaml.Quote(s.RAOTable)+" has not been read; call ReadTable first"))
	}
	if len(errs) > 0 {
		return nil, errors.Join(errs...)
	}
	if s.Table != nil {
		return &Hull{table: s.Table}, nil
	}
	p := s.Particulars(v)
	h := &Hull{box: p.Box}
	h.roll.natural, h.roll.damping = 2*math.Pi/p.RollPeriodS, p.RollDamping
	return h, nil
}

// At gives the response to a wave of frequency omega (rad/s, as one sees it who stands still) and wave number k (rad/m),
// at that speed through the water along the heading (m/s), from the side that beta says ([Beta]).
//
// Range: any speed and angle; omega and k are positive, else the response is zero. Water of finite depth is recognized
// by ω² < gk. It allocates nothing.
func (h *Hull) At(omega, k, speedMS, beta float64) Response {
	w, ok := Encounter(omega, k, speedMS, beta)
	if !ok {
		return Response{}
	}
	if h.table != nil {
		return h.table.At(omega, beta)
	}
	var r Response
	r[Surge], r[Sway], r[Yaw] = h.box.SurgeSwayYaw(w)
	r[Heave], r[Pitch] = h.box.HeavePitch(w, SmithWave)
	r[Roll] = Oscillator(w.Alpha*omega, h.roll.natural, h.roll.damping) * h.box.rollLoad(w)
	return r
}
