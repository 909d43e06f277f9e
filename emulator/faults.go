package emulator

import (
	"errors"
	"fmt"

	"swellbench/emulator/line"
	"swellbench/scenarios"
	"swellbench/scenarios/strictyaml"
)

// A streamFault is a fault on a stream, with its place in the scenario.
type streamFault struct {
	line.Fault
	place int
}

// addFault puts fault k of the scenario on the streams it is about, and returns what is wrong with it, each problem with
// its place.
func (d *Device) addFault(k int, f scenarios.Fault) []strictyaml.Problem {
	p := line.Params{
		From: float64(f.From), Until: float64(f.Until), Message: f.Message, Every: f.Every, Times: f.Times,
		For: float64(f.For), Count: f.Count, Baud: f.Baud, LatencyS: float64(f.Latency), Block: f.Block, Ending: string(f.Ending),
	}
	if f.Share != nil {
		p.Share = *f.Share
	}
	if f.Rate != nil {
		p.Rate = float64(*f.Rate)
	}
	if _, err := line.NewFault(f.Fault, p); err != nil {
		return faultProblems(fmt.Sprintf("faults[%d]", k), err)
	}
	for i := range d.streams {
		st := &d.streams[i]
		if f.Stream != "" && f.Stream != d.StreamName(i) {
			continue
		}
		p.Line = st.line
		fault, err := line.NewFault(f.Fault, p)
		if err != nil {
			continue // it is the line that is wrong, which has been said
		}
		st.faults = append(st.faults, streamFault{fault, k})
		if f.Fault == line.EchoName {
			st.echoes = append(st.echoes, [2]float64{p.From, p.Until})
		}
	}
	return nil
}

// faultProblems gives each error of a fault the place of what it is about.
func faultProblems(at string, err error) []strictyaml.Problem {
	if many, ok := err.(interface{ Unwrap() []error }); ok {
		var out []strictyaml.Problem
		for _, e := range many.Unwrap() {
			out = append(out, faultProblems(at, e)...)
		}
		return out
	}
	if p, ok := errors.AsType[*line.ParamError](err); ok {
		return []strictyaml.Problem{{Path: at + "." + p.Key, Text: p.Error()}}
	}
	return []strictyaml.Problem{{Path: at, Text: err.Error()}}
}

// lineOf is what a scenario says of a line.
func lineOf(l scenarios.Line) (line.Settings, error) {
	s, err := line.SettingsOf(l.Baud, l.DataBits, string(l.Parity), l.StopBits)
	s.FIFO, s.RefillS = l.FIFO, float64(l.Refill)
	if err != nil {
		return s, err
	}
	return s, s.Validate()
}
