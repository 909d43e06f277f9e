package mavlink

import (
	"fmt"
	"math"
	"time"

	"gonum.org/v1/gonum/spatial/r3"

	"swellbench/emulator/wire"
	"swellbench/scenarios/frame"
	"swellbench/scenarios/opt"
)

// What one unit of a field is in the unit of the reading, the other way round: so many to a rad, m and so on.
const (
	perDegree = 180 / math.Pi
	degE7     = 1e7 * perDegree // to a rad
	degE5     = 1e5 * perDegree
	cdeg      = 1e2 * perDegree
	turn      = 36000         // cdeg
	mG        = 1e3 / 9.80665 // to a m/s², by the standard gravity of the 3rd CGPM, 1901
)

// The values that say not known. Source: common.xml.
const (
	none16 = math.MaxUint16
	none8  = math.MaxUint8
)

// A MissingError reports a quantity that a message always needs and that the device does not have.
type MissingError struct{ Message, Field, Needs string }

// Error says what is missing.
func (e *MissingError) Error() string {
	return fmt.Sprintf("encode %s: %s needs the %s, which the device does not know; leave the message out", e.Message, e.Field, e.Needs)
}

// A fill turns the values of a reading into those of fields, and keeps the first error.
type fill struct {
	message string
	err     error
}

func (f *fill) fail(field string, found float64, allowed string) {
	if f.err == nil {
		f.err = &wire.RangeError{Message: f.message, Field: field, Found: found, Allowed: allowed}
	}
}

func (f *fill) missing(field, needs string) {
	if f.err == nil {
		f.err = &MissingError{f.message, field, needs}
	}
}

// round scales x and rounds it to an integer, half away from zero. What lies within a billionth, or four units in the
// last place of the product, of a half is a half: 0.125° that became a hair less on the way through rad is 0.125° still.
// ok is false for NaN, and for products from 2^42 on, which no field holds. The conversions to float64 keep compilers from
// fusing operations, so that all machines write the same bytes. The rule is that of package nmea0183.
func round(x, scale float64) (n int64, ok bool) {
	p := float64(x * scale)
	a := math.Abs(p)
	n = int64(float64(a*(1+0x1p-50)) + (0.5 + 0x1p-30))
	if p < 0 {
		n = -n
	}
	return n, a < 1<<42
}

// whole scales x and rounds it; the result lies within lo and hi.
func (f *fill) whole(field string, x, scale float64, lo, hi int64) int64 {
	n, ok := round(x, scale)
	if !ok || n < lo || n > hi {
		f.fail(field, x*scale, fmt.Sprintf("%d to %d", lo, hi))
		return 0
	}
	return n
}

// accuracy is one sigma: 0 would say that it is not known, so what is known is at least 1.
func (f *fill) accuracy(field string, x, scale float64) uint32 {
	return max(1, uint32(f.whole(field, x, scale, 0, math.MaxUint32)))
}

// angle is a bearing in hundredths of a degree, 0 to 35999.
func (f *fill) angle(field string, rad float64) uint16 {
	n := f.whole(field, frame.Wrap2Pi(rad), cdeg, 0, turn)
	if n == turn {
		n = 0
	}
	return uint16(n)
}

// float is the nearest float32, never NaN, infinite or a negative zero.
func (f *fill) float(field string, x float64) float32 {
	if !(math.Abs(x) <= math.MaxFloat32) {
		f.fail(field, x, "a number that a float32 can hold")
		return 0
	}
	return float32(x) + 0
}

// boot is the time since switch-on in ms. It wraps after 49.7 days.
func (f *fill) boot(r *wire.Reading) uint32 {
	n, ok := round(r.T, 1e3)
	if !ok || n < 0 {
		f.fail("time_boot_ms", r.T*1e3, "0 or more, and less than a century")
		return 0
	}
	return uint32(n)
}

// oldest is the least number of µs that a reader takes for UNIX time: the beginning of GPS time, which is ten years since
// switch-on. The definitions say that the reader infers it "by checking for the magnitude of the number".
const oldest = 315_964_800_000_000

// maxUnix, in s, keeps all arithmetic in µs and ns within 63 bits: the year 2116.
const maxUnix = 1 << 62 / 1_000_000_000

// usec is UNIX time in µs where the device knows it, else the time since switch-on.
func (f *fill) usec(field string, r *wire.Reading) uint64 {
	if t, ok := r.UTC.Value(); ok {
		return f.unix(field, t)
	}
	if !(r.T >= 0 && r.T < oldest/1e6-1) {
		f.fail(field, r.T*1e6, "0 to ten years since switch-on")
		return 0
	}
	return uint64(math.Round(r.T * 1e6)) // up to 2^48, where halves are exact
}

func (f *fill) unix(field string, t time.Time) uint64 {
	n := t.Unix()
	if n < oldest/1_000_000 || n > maxUnix {
		f.fail(field, float64(n)*1e6, "from 1980-01-06 on")
		return 0
	}
	return uint64(n)*1e6 + uint64(t.Nanosecond()+500)/1000
}

// readUsec is the other way.
func readUsec(n uint64, r *wire.Reading) {
	if n < oldest {
		r.T, r.UTC, r.Leap = float64(n)/1e6, opt.None[time.Time](), wire.NoLeap
		return
	}
	r.UTC, r.Leap = opt.Of(unixTime(n)), wire.NoLeap
}

func unixTime(n uint64) time.Time { return time.Unix(int64(n/1e6), int64(n%1e6)*1000).UTC() }

// readBoot sets the time since switch-on.
func readBoot(ms uint32, r *wire.Reading) { r.T = float64(ms) / 1e3 }

// position is latitude and longitude. The longitude of the date line is positive.
func (f *fill) latLon(lat, lon float64) (int32, int32) {
	la := f.whole("lat", lat, degE7, -90e7, 90e7)
	lo := f.whole("lon", lon, degE7, -180e7, 180e7)
	if lo == -180e7 {
		lo = 180e7
	}
	return int32(la), int32(lo)
}

func (f *fill) height(field string, m float64) int32 {
	return int32(f.whole(field, m, 1e3, math.MinInt32, math.MaxInt32))
}

// velocity is that over ground, north, east, down.
func velocity(r *wire.Reading) (ned r3.Vec, ok bool) {
	up, ok := r.VelocityUp.Value()
	if !ok {
		return ned, false
	}
	if v, ok := r.VelocityEN.Value(); ok {
		return r3.Vec{X: v[1], Y: v[0], Z: -up}, true
	}
	speed, ok1 := r.SpeedMS.Value()
	course, ok2 := r.CourseRad.Value()
	s, c := math.Sincos(course)
	return r3.Vec{X: speed * c, Y: speed * s, Z: -up}, ok1 && ok2
}

// setVelocity says the same in all words of a reading.
func setVelocity(r *wire.Reading, north, east, down float64) {
	r.VelocityEN, r.VelocityUp = opt.Of([2]float64{east, north}), opt.Of(0-down)
	setCourse(r)
}

func setCourse(r *wire.Reading) {
	v, _ := r.VelocityEN.Value()
	r.SpeedMS = opt.Of(math.Hypot(v[0], v[1]))
	r.CourseRad = opt.Of(frame.Wrap2Pi(math.Atan2(v[0], v[1])))
}

// Half the last digit, in SI units, of times.
var (
	bootResolutions = []wire.Resolution{{Quantity: wire.Time, Half: 0.5e-3}}
	usecResolutions = []wire.Resolution{{Quantity: wire.Time, Half: 0.5e-6}}
)
