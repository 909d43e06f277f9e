package nmea0183

import (
	"swellbench/emulator/wire"
	"swellbench/scenarios/opt"
)

// A Quality is the GGA quality indicator.
type Quality int

// The qualities; those from 3 on came with version 2.3.
const (
	QualityNone Quality = iota
	QualityAutonomous
	QualityDifferential
	QualityPrecise
	QualityRTKFixed
	QualityRTKFloat
	QualityEstimated
	QualityManual
	QualitySimulator
)

// A fixRow is a state of the fix and what says it in GGA and in the mode indicator.
type fixRow struct {
	fix     wire.Fix
	quality Quality
	mode    Mode
}

// fixes is in the order of [wire.Fix].
var fixes = [...]fixRow{
	{wire.FixNone, QualityNone, 'N'},
	{wire.FixEstimated, QualityEstimated, 'E'},
	{wire.FixAutonomous, QualityAutonomous, 'A'},
	{wire.FixDifferential, QualityDifferential, 'D'},
	{wire.FixRTKFloat, QualityRTKFloat, 'F'},
	{wire.FixRTKFixed, QualityRTKFixed, 'R'},
	{wire.FixPrecise, QualityPrecise, 'P'},
	{wire.FixManual, QualityManual, 'M'},
	{wire.FixSimulated, QualitySimulator, 'S'},
}

// fixOf is the row of the fix of a reading.
func fixOf(name string, f wire.Fix) (fixRow, error) {
	if f < 0 || int(f) >= len(fixes) {
		return fixRow{}, &wire.RangeError{Message: name, Field: "fix", Found: float64(f), Allowed: "0 (none) to 8 (simulated)"}
	}
	return fixes[f], nil
}

// Fix is the state of the fix that the quality stands for; [wire.FixNone] for a number that is none.
func (q Quality) Fix() wire.Fix {
	for _, r := range fixes {
		if r.quality == q {
			return r.fix
		}
	}
	return wire.FixNone
}

// A Mode is the mode indicator of RMC and VTG: A autonomous, D differential, E estimated, M manual, S simulator, N no
// fix, P precise, R and F RTK with fixed and float integers.
type Mode byte

const modeLetters = "ADEMSNPRF"

// Fix is the state of the fix that the mode stands for; [wire.FixNone] for a letter that is none.
func (m Mode) Fix() wire.Fix {
	for _, r := range fixes {
		if r.mode == m {
			return r.fix
		}
	}
	return wire.FixNone
}

// in is the mode as the edition has it: P came with 4.00, R and F in these sentences with 3.01. NMEA Revealed.
func (m Mode) in(v Version) Mode {
	switch {
	case m == 'P' && (v == V200 || v == V230 || v == V301):
		return 'A'
	case (m == 'R' || m == 'F') && (v == V200 || v == V230):
		return 'D'
	}
	return m
}

// A Status is A for valid and V for void.
type Status byte

// The two.
const (
	Valid Status = 'A'
	Void  Status = 'V'
)

// status is what belongs to a mode. Receivers call an RTK and a precise fix valid; the text of the standard, taken
// literally, does so only for A and D.
func status(m Mode, literal bool) Status {
	switch m {
	case 'A', 'D':
		return Valid
	case 'R', 'F', 'P':
		if !literal {
			return Valid
		}
	}
	return Void
}

// A NavStatus is the navigational status: S safe, C caution, U unsafe, V the equipment gives none. It says nothing
// about the fix.
type NavStatus byte

func (w *writer) checkMode(m Mode) {
	if !isMode(byte(m)) {
		w.badText("mode", string([]byte{byte(m)}), "one of "+modeLetters)
	}
}

func isMode(c byte) bool {
	for i := range len(modeLetters) {
		if c == modeLetters[i] {
			return true
		}
	}
	return false
}

// fix is the row of the fix of a reading, as the stream has it: with simulator indications on, whatever fix there is is
// that of a simulator.
func (e *encoder) fix(name string, f wire.Fix) (fixRow, error) {
	if e.simulated && f > wire.FixNone && int(f) < len(fixes) {
		f = wire.FixSimulated
	}
	return fixOf(name, f)
}

// mode writes the mode indicator, if the edition has it.
func (w *writer) mode(v opt.Opt[Mode]) {
	if !w.f.Version.hasMode() {
		return
	}
	m, ok := v.Value()
	if !ok {
		w.null()
		return
	}
	w.checkMode(m)
	w.letter(byte(m))
}

func (w *writer) status(s Status) {
	if s != Valid && s != Void {
		w.badText("status", string([]byte{byte(s)}), "A or V")
	}
	w.letter(byte(s))
}

func (c *cursor) mode() opt.Opt[Mode] {
	if l := c.letter("mode", modeLetters); l != 0 {
		return opt.Of(Mode(l))
	}
	return opt.None[Mode]()
}

// status reads a status, which is never null.
func (c *cursor) status() Status {
	l := c.letter("status", "AV")
	if l == 0 {
		c.fail("status", nil, "A or V")
	}
	return Status(l)
}
