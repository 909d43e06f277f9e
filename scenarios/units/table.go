package units

// A dimension is a row of the table: a kind of quantity and the units it may be written in. The first unit leads
// in error texts; [dimension.format] chooses among those with write set.
type dimension struct {
	name     string // with its article, as in "8 kn is a speed"
	units    []unit
	examples []string
}

// A unit is num/den of the SI unit, times pi where pi is set, so that every factor is exact.
type unit struct {
	symbol   string
	num, den int64
	pi       bool
	write    bool // String may choose it
}

// dimensions is the table. Source of the factors: SI Brochure, 9th ed. 2019, table 8 (min, h, degree, minute and
// second of arc, tonne); 1 NM = 1852 m and 1 kn = 1852/3600 m/s (First International Extraordinary Hydrographic
// Conference, Monaco 1929, in NIST SP 811, 2008, app. B); 1 ft = 0.3048 m (NIST SP 811, app. B); standard gravity
// 9.80665 m/s² (3rd CGPM 1901).
var dimensions = []*dimension{&length, &angle, &duration, &speed, &frequency, &angularRate, &mass, &acceleration}

var length = dimension{"a length", []unit{
	{symbol: "m", num: 1, den: 1, write: true},
	{symbol: "mm", num: 1, den: 1000, write: true},
	{symbol: "cm", num: 1, den: 100},
	{symbol: "km", num: 1000, den: 1, write: true},
	{symbol: "ft", num: 3048, den: 10000},
	{symbol: "NM", num: 1852, den: 1},
}, []string{"1.2 m", "350 mm", "2 NM"}}

var angle = dimension{"an angle", []unit{
	{symbol: "deg", num: 1, den: 180, pi: true, write: true},
	{symbol: "rad", num: 1, den: 1, write: true},
	{symbol: "mrad", num: 1, den: 1000},
	{symbol: "arcmin", num: 1, den: 180 * 60, pi: true},
	{symbol: "arcsec", num: 1, den: 180 * 3600, pi: true},
}, []string{"90 deg", "-0.5 deg", "3 mrad"}}

var duration = dimension{"a duration", []unit{
	{symbol: "s", num: 1, den: 1, write: true},
	{symbol: "ms", num: 1, den: 1000, write: true},
	{symbol: "us", num: 1, den: 1000000, write: true},
	{symbol: "min", num: 60, den: 1, write: true},
	{symbol: "h", num: 3600, den: 1, write: true},
}, []string{"6.5 s", "250 ms", "12 min"}}

var speed = dimension{"a speed", []unit{
	{symbol: "kn", num: 1852, den: 3600, write: true},
	{symbol: "m/s", num: 1, den: 1, write: true},
	{symbol: "km/h", num: 1000, den: 3600},
}, []string{"8 kn", "4.5 m/s"}}

var frequency = dimension{"a frequency", []unit{
	{symbol: "Hz", num: 1, den: 1, write: true},
	{symbol: "kHz", num: 1000, den: 1, write: true},
	{symbol: "/min", num: 1, den: 60, write: true},
}, []string{"10 Hz", "12 /min"}}

var angularRate = dimension{"an angular rate", []unit{
	{symbol: "deg/s", num: 1, den: 180, pi: true, write: true},
	{symbol: "deg/min", num: 1, den: 180 * 60, pi: true, write: true},
	{symbol: "deg/h", num: 1, den: 180 * 3600, pi: true, write: true},
	{symbol: "rad/s", num: 1, den: 1, write: true},
}, []string{"1.5 deg/s", "0.5 deg/h"}}

var mass = dimension{"a mass", []unit{
	{symbol: "kg", num: 1, den: 1, write: true},
	{symbol: "t", num: 1000, den: 1, write: true},
}, []string{"62 t", "850 kg"}}

var acceleration = dimension{"an acceleration", []unit{
	{symbol: "m/s2", num: 1, den: 1, write: true},
	{symbol: "mg", num: 980665, den: 100000 * 1000, write: true},
	{symbol: "ug", num: 980665, den: 100000 * 1000000, write: true},
}, []string{"0.02 m/s2", "100 ug"}}
