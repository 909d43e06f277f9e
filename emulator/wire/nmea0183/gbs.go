package nmea0183

import (
	"time"

	"gonum.org/v1/gonum/spatial/r3"

	"swellbench/emulator/wire"
	"swellbench/scenarios/opt"
)

// A GBS says which satellite has probably failed, and what errors are to be expected.
//
// Source: NMEA Revealed, GBS.
type GBS struct {
	Talker      Talker                 // zero is GN
	Time        opt.Opt[time.Duration] // UTC since midnight; 24 h and more is second 60 of a leap second
	LatM        opt.Opt[float64]       // expected error of the latitude
	LonM        opt.Opt[float64]       // of the longitude
	AltM        opt.Opt[float64]       // of the altitude
	Failed      opt.Opt[int]           // the satellite; null without a failure
	Probability opt.Opt[float64]       // of having missed a failure
	BiasM       opt.Opt[float64]       // of the failed satellite
	BiasSigmaM  opt.Opt[float64]       // 1 sigma
	System      opt.Opt[ID]            // since 4.10
	Signal      opt.Opt[ID]            // since 4.10
}

// An ID is the number of a system or signal, sent as one hexadecimal digit.
type ID uint8

var (
	gbsDecimals = []Default{{Seconds, 2}, {Sigma, 1}, {Probability, 6}}
	gbsFormat   = formatOf(gbsDecimals)

	failedSpan      = span{field: "failed satellite", allowed: "0 to 999", lo: 0, hi: 999}
	probabilitySpan = span{field: "probability", allowed: "0 to 1", lo: 0, hi: 1}
	biasSpan        = span{field: "bias", allowed: "-999999 m ≤ bias ≤ 999999 m", lo: -999999, hi: 999999}
	systemSpan      = span{field: "system", allowed: "0 to F, one hexadecimal digit", lo: 0, hi: 15}
	signalSpan      = span{field: "signal", allowed: "0 to F, one hexadecimal digit", lo: 0, hi: 15}
)

// Type is GBS.
func (*GBS) Type() string { return "GBS" }

// Append writes the sentence.
func (s *GBS) Append(dst []byte, f *Format) ([]byte, error) {
	if f == nil {
		f = &gbsFormat
	}
	var w writer
	w.begin(dst, f, s.Talker, Talker{'G', 'N'}, "GBS")
	w.time(s.Time)
	w.number(s.LatM, Sigma, &sigmaSpan)
	w.number(s.LonM, Sigma, &sigmaSpan)
	w.number(s.AltM, Sigma, &sigmaSpan)
	w.integer(s.Failed, 2, &failedSpan)
	w.number(s.Probability, Probability, &probabilitySpan)
	w.number(s.BiasM, Sigma, &biasSpan)
	w.number(s.BiasSigmaM, Sigma, &sigmaSpan)
	if f.Version.hasSystems() {
		w.id(s.System, &systemSpan)
		w.id(s.Signal, &signalSpan)
	}
	return w.end()
}

// id writes a hexadecimal digit.
func (w *writer) id(v opt.Opt[ID], s *span) {
	n, ok := v.Value()
	switch {
	case !ok:
		w.null()
	case n > 15:
		w.outOfRange(s, float64(n))
	default:
		w.letter("0123456789ABCDEF"[n])
	}
}

func (c *cursor) id(s *span) opt.Opt[ID] {
	b := c.next()
	if len(b) == 0 {
		return opt.None[ID]()
	}
	if n := hexDigit(b[0]); len(b) == 1 && n >= 0 {
		return opt.Of(ID(n))
	}
	c.fail(s.field, b, s.allowed)
	return opt.None[ID]()
}

// Parse reads the sentence.
func (s *GBS) Parse(f *Fields) error {
	*s = GBS{Talker: f.Talker()}
	c := f.cursor("GBS")
	s.Time = c.time()
	s.LatM = c.number(&sigmaSpan)
	s.LonM = c.number(&sigmaSpan)
	s.AltM = c.number(&sigmaSpan)
	s.Failed = c.integer(&failedSpan)
	s.Probability = c.number(&probabilitySpan)
	s.BiasM = c.number(&biasSpan)
	s.BiasSigmaM = c.number(&sigmaSpan)
	s.System = c.id(&systemSpan)
	s.Signal = c.id(&signalSpan)
	if c.error != nil {
		*s = GBS{}
	}
	return c.err()
}

// appendGBS writes a reading, in which no satellite has failed: the expected errors alone, as the device believes. Without
// a fix they are null too.
func appendGBS(e *encoder, dst []byte, r *wire.Reading) ([]byte, error) {
	s := GBS{Talker: e.talker, Time: sinceMidnight(r, &e.format)}
	if v, ok := r.Sigma.Value(); ok && r.Fix != wire.FixNone {
		s.LonM, s.LatM, s.AltM = opt.Of(v.X), opt.Of(v.Y), opt.Of(v.Z)
	}
	return s.Append(dst, &e.format)
}

// readGBS takes the expected errors for the device's own sigma. A covariance there is none.
func readGBS(f *Fields, r *wire.Reading) error {
	var s GBS
	if err := s.Parse(f); err != nil {
		return err
	}
	readClock(r, s.Time)
	lat, ok := s.LatM.Value()
	lon, ok2 := s.LonM.Value()
	alt, ok3 := s.AltM.Value()
	r.Sigma, r.SigmaEN = opt.None[r3.Vec](), 0
	if ok && ok2 && ok3 {
		r.Sigma = opt.Of(r3.Vec{X: lon, Y: lat, Z: alt})
	}
	return nil
}

func gbsResolutions(f *Format) []wire.Resolution {
	return []wire.Resolution{{Quantity: wire.Time, Half: f.half(Seconds)}}
}
