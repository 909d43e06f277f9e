package conformance

import (
	"fmt"
	"log/slog"
	"runtime"

	"swellbench/conformance/diagnose"
)

// Diagnose looks for the causes of the checks that have failed. It walks the sent-log once more.
func (e *Evidence) Diagnose(failed []string) diagnose.Diagnosis {
	return e.tallied().diagnoser.Diagnose(failed)
}

// findingsOf diagnoses a judged case. A defect of the diagnosis takes no verdict with it: it is a note.
func findingsOf(rs []Result, ev *Evidence, log *slog.Logger) (d diagnose.Diagnosis, note string) {
	defer func() {
		if p := recover(); p != nil {
			stack := make([]byte, 8<<10)
			log.Error("diagnosis panicked", "panic", p, "stack", string(stack[:runtime.Stack(stack, false)]))
			note = fmt.Sprintf("the diagnosis broke (%v); this is a defect of swellbench, please report it", p)
		}
	}()
	var failed []string
	for _, r := range rs {
		if r.Outcome == Failed {
			failed = append(failed, r.Check)
		}
	}
	if len(failed) == 0 {
		return diagnose.Diagnosis{}, ""
	}
	d = ev.Diagnose(failed)
	d.With(told(rs, ev)...)
	return d, ""
}

// explain looks for the causes of the failed checks of a case.
func (c *CaseResult) explain(ev *Evidence, log *slog.Logger) {
	diagnosis, note := findingsOf(c.Results, ev, log)
	if c.Diagnosis = diagnosis; note != "" {
		c.Notes = append(c.Notes, note)
	}
}
