package compare

import (
	"time"

	"gonum.org/v1/gonum/spatial/r3"

	"swellbench/emulator/wire"
	"swellbench/emulator/wire/layout"
	"swellbench/emulator/wire/mavlink"
	"swellbench/emulator/wire/nmea0183"
	"swellbench/emulator/wire/nmea2000"
	"swellbench/scenarios"
	"swellbench/scenarios/geo"
	"swellbench/scenarios/opt"
)

// fixStates is how many states of the fix there are.
const fixStates = int(wire.FixSimulated) + 1

// Words are what a kind of message makes of each state of the fix: a format may have one word for several, or leave out the
// position in some. They are found by writing a message and reading it.
type words struct {
	known  [fixStates]bool
	fix    [fixStates]wire.Fix
	silent [fixStates]uint16 // the quantities it has no value for, though the device has
}

// A reader reads whole messages of one format.
type reader struct {
	family string
	read   func(message []byte, r *wire.Reading) (kind string, carries bool, err error)
	probe  func(b []byte, ended bool) wire.Probe
}

// readersOf are those of all formats of a stream.
func readersOf(st *scenarios.Stream) (all []reader) {
	families := []wire.Family{mavlink.Family, nmea2000.NewFamily(), nmea0183.Family}
	if st.LayoutFile.FS != nil {
		if l, err := layout.Load(st.LayoutFile.FS, st.LayoutFile.Name); err == nil {
			families = append([]wire.Family{l.Family()}, families...)
		}
	}
	for _, f := range families {
		all = append(all, reader{f.Name, f.Read, f.Probe})
	}
	return all
}

// learn writes a message in each state of the fix and reads it.
func (w *words) learn(enc wire.Encoder, readers []reader) {
	var buf []byte
	for f := range fixStates {
		r := sample(wire.Fix(f))
		var err error
		if buf, err = enc.Append(buf[:0], &r); err != nil {
			continue
		}
		got := r
		got.Fix = -1
		if len(buf) > 0 && !readBy(readers, buf, &got) {
			continue
		}
		w.known[f], w.fix[f] = true, got.Fix
		if len(buf) == 0 { // it is not sent
			got = wire.Reading{}
		}
		if wire.Fix(f) == wire.FixNone {
			continue
		}
		w.silent[f] = says(&r) &^ says(&got)
	}
}

// readBy reads the parts of a message one after the other, by the first format of which all of it is.
func readBy(readers []reader, message []byte, r *wire.Reading) bool {
	for _, x := range readers {
		got := *r
		rest := message
		for len(rest) > 0 {
			p := x.probe(rest, true)
			if p.Verdict != wire.Whole || p.Len <= 0 || p.Len > len(rest) {
				break
			}
			if _, _, err := x.read(rest[:p.Len], &got); err != nil {
				break
			}
			rest = rest[p.Len:]
		}
		if len(rest) == 0 {
			*r = got
			return true
		}
	}
	return false
}

// sample is a reading in which everything is known.
func sample(f wire.Fix) wire.Reading {
	r := wire.Reading{T: 10, UTC: opt.Of(time.Date(2026, 6, 1, 12, 0, 0, 0, time.UTC)), Fix: f,
		Position: opt.Of(geo.Position{Lat: 0.7, Lon: 0.3, Height: 20}), Undulation: opt.Of(12.0), Variation: opt.Of(0.05),
		SpeedMS: opt.Of(5.0), CourseRad: opt.Of(1.0), VelocityEN: opt.Of([2]float64{4.2, 2.7}), VelocityUp: opt.Of(0.1),
		Satellites: opt.Of(12), Sigma: opt.Of(r3.Vec{X: 1, Y: 1, Z: 2}), HDOP: opt.Of(0.9), PDOP: opt.Of(1.5), VDOP: opt.Of(1.2), TDOP: opt.Of(0.9),
		Heading: opt.Of(1.1), Yaw: opt.Of(1.1), Pitch: opt.Of(0.02), Roll: opt.Of(0.03), RateOfTurn: opt.Of(0.01),
		HeadingSigma: opt.Of(0.01), HeaveM: opt.Of(0.4), SurgeM: opt.Of(0.1), SwayM: opt.Of(0.1),
		WaterSpeed: opt.Of([2]float64{5, 0}), Rates: opt.Of(r3.Vec{X: 0.01}), SpecificForce: opt.Of(r3.Vec{Z: 9.8}),
		Origin: opt.Of(geo.Position{Lat: 0.7, Lon: 0.3, Height: 20})}
	if f == wire.FixNone {
		r.Position, r.SpeedMS, r.CourseRad, r.VelocityEN = opt.None[geo.Position](), opt.None[float64](), opt.None[float64](), opt.None[[2]float64]()
	}
	return r
}

// of is the word for a state.
func (w *words) of(f wire.Fix) wire.Fix {
	if f < 0 || int(f) >= fixStates || !w.known[f] || w.fix[f] < 0 {
		return f
	}
	return w.fix[f]
}

// mute tells whether the kind has no value for q in a state in which the device has.
func (k *Kind) mute(q Q, f wire.Fix) bool {
	return f >= 0 && int(f) < fixStates && k.words.silent[f]&(1<<q) != 0
}

// muted is the set of quantities that no message has a value for in a state of the fix, though the device has.
func (b *Book) muted(f wire.Fix) (set uint16) {
	for q := range NQ {
		carried, all := false, true
		for _, k := range b.Kinds {
			if k.carries[q] {
				carried, all = true, all && k.mute(q, f)
			}
		}
		if carried && all {
			set |= 1 << q
		}
	}
	return set
}

// wordFor is the state of the fix that a consumer may show for what the messages say: what it shows if one of them says that,
// else what the first says.
func wordFor(ks []*Kind, f, shown wire.Fix) wire.Fix {
	if len(ks) == 0 {
		return f
	}
	for _, k := range ks {
		if k.words.of(f) == shown {
			return shown
		}
	}
	return ks[0].words.of(f)
}
