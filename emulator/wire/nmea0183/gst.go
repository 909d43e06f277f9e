package nmea0183

import (
	"math"
	"time"

	"gonum.org/v1/gonum/spatial/r3"

	"swellbench/emulator/wire"
	"swellbench/scenarios/opt"
)

// A GST is what the receiver believes of the errors of its position, 1 sigma each.
//
// Source: NMEA Revealed, GST.
type GST struct {
	Talker         Talker                 // zero is GN
	Time           opt.Opt[time.Duration] // UTC since midnight; 24 h and more is second 60 of a leap second
	RangeM         opt.Opt[float64]       // RMS of what goes into the ranges
	SemiMajorM     opt.Opt[float64]       // of the error ellipse
	SemiMinorM     opt.Opt[float64]
	OrientationDeg opt.Opt[float64] // of the semi-major axis from true north
	LatM           opt.Opt[float64] // of the latitude
	LonM           opt.Opt[float64] // of the longitude
	AltM           opt.Opt[float64] // of the altitude
}

var (
	gstDecimals = []Default{{Seconds, 2}, {Sigma, 3}, {Orientation, 1}}
	gstFormat   = formatOf(gstDecimals)

	sigmaSpan       = span{field: "standard deviation", allowed: "0 m ≤ sigma ≤ 999999 m", lo: 0, hi: 999999}
	orientationSpan = span{field: "orientation", allowed: "0° ≤ orientation < 360°", lo: 0, hi: 360, open: true}
	orientationRead = span{field: "orientation", allowed: "-360° ≤ orientation ≤ 360°", lo: -360, hi: 360}
)

// Type is GST.
func (*GST) Type() string { return "GST" }

// Append writes the sentence.
func (s *GST) Append(dst []byte, f *Format) ([]byte, error) {
	if f == nil {
		f = &gstFormat
	}
	var w writer
	w.begin(dst, f, s.Talker, Talker{'G', 'N'}, "GST")
	w.time(s.Time)
	w.number(s.RangeM, Sigma, &sigmaSpan)
	w.number(s.SemiMajorM, Sigma, &sigmaSpan)
	w.number(s.SemiMinorM, Sigma, &sigmaSpan)
	w.bearing(s.OrientationDeg, Orientation, &orientationSpan)
	w.number(s.LatM, Sigma, &sigmaSpan)
	w.number(s.LonM, Sigma, &sigmaSpan)
	w.number(s.AltM, Sigma, &sigmaSpan)
	return w.end()
}

// Parse reads the sentence. An axis has two directions: one below 0° is given as its opposite on the circle.
func (s *GST) Parse(f *Fields) error {
	*s = GST{Talker: f.Talker()}
	c := f.cursor("GST")
	s.Time = c.time()
	s.RangeM = c.number(&sigmaSpan)
	s.SemiMajorM = c.number(&sigmaSpan)
	s.SemiMinorM = c.number(&sigmaSpan)
	if o, ok := c.number(&orientationRead).Value(); ok {
		s.OrientationDeg = opt.Of(wrap360(o))
	}
	s.LatM = c.number(&sigmaSpan)
	s.LonM = c.number(&sigmaSpan)
	s.AltM = c.number(&sigmaSpan)
	if c.error != nil {
		*s = GST{}
	}
	return c.err()
}

// appendGST writes a reading; without a fix all values are null. The ellipse is that of the covariance of east and north:
// half the sum of the variances, give or take the root of the squares of half their difference and of the covariance.
// The error of the ranges is what the dilution of precision makes the horizontal error of: sigma of the horizontal
// position = HDOP · sigma of the ranges, the definition of HDOP.
func appendGST(e *encoder, dst []byte, r *wire.Reading) ([]byte, error) {
	s := GST{Talker: e.talker, Time: sinceMidnight(r, &e.format)}
	if v, ok := r.Sigma.Value(); ok && r.Fix != wire.FixNone {
		s.LonM, s.LatM, s.AltM = opt.Of(v.X), opt.Of(v.Y), opt.Of(v.Z)
		a, b, axis := ellipse(v.X, v.Y, r.SigmaEN)
		s.SemiMajorM, s.SemiMinorM, s.OrientationDeg = opt.Of(a), opt.Of(b), opt.Of(axis/degree)
		if h, ok := r.HDOP.Value(); ok && h > 0 {
			if x := math.Hypot(v.X, v.Y) / h; sigmaSpan.has(x) {
				s.RangeM = opt.Of(x)
			}
		}
	}
	return s.Append(dst, &e.format)
}

// ellipse is the semi-axes of the error ellipse and the azimuth of the major one, 0 ≤ azimuth < π.
func ellipse(east, north, covariance float64) (major, minor, azimuth float64) {
	mean, half := float64(east*east+north*north)/2, float64(north*north-east*east)/2
	root := math.Hypot(half, covariance)
	azimuth = math.Atan2(covariance, half) / 2
	if azimuth < 0 {
		azimuth += math.Pi
	}
	if azimuth >= math.Pi {
		azimuth = 0
	}
	return math.Sqrt(mean + root), math.Sqrt(max(mean-root, 0)), azimuth
}

func readGST(f *Fields, r *wire.Reading) error {
	var s GST
	if err := s.Parse(f); err != nil {
		return err
	}
	readClock(r, s.Time)
	r.Sigma, r.SigmaEN = opt.None[r3.Vec](), 0
	lat, ok := s.LatM.Value()
	lon, ok2 := s.LonM.Value()
	alt, ok3 := s.AltM.Value()
	if !ok || !ok2 || !ok3 {
		return nil
	}
	r.Sigma = opt.Of(r3.Vec{X: lon, Y: lat, Z: alt})
	if o, ok := s.OrientationDeg.Value(); ok {
		a, b := s.SemiMajorM.Or(0), s.SemiMinorM.Or(0)
		r.SigmaEN = (a*a - b*b) / 2 * math.Sin(2*o*degree)
	}
	return nil
}

func gstResolutions(f *Format) []wire.Resolution {
	return []wire.Resolution{{Quantity: wire.Time, Half: f.half(Seconds)}}
}
