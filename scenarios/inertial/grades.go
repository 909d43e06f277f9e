package inertial

import "math"

// A GradeRow is a class of inertial sensors with typical errors, 1 sigma where not said otherwise. It is no product.
type GradeRow struct {
	Name Grade
	What string // one line for a person

	GyroBias        float64 // left at the loss, each axis, rad/s
	AccelBias       float64 // left at the loss, each axis, m/s²
	AngleRandomWalk float64 // rad/√s
	AccelNoise      float64 // m/s²/√Hz

	Velocity float64 // error at the loss, each axis, m/s
	Tilt     float64 // error at the loss beyond what hides the accelerometer bias, each axis, rad
	Heading  float64 // error at the loss, rad
}

// Grades is the table of classes.
//
// Source: the classes and the magnitudes of their biases and noises are those of Groves 2013, ch. 4, tables 4.1 to 4.3
// (from memory): consumer gyros beyond 100 deg/h and accelerometers beyond 3 mg, tactical 1 to 100 deg/h and 1 to 10 mg,
// aviation ("navigation") about 0.01 deg/h and 0.03 to 0.1 mg; industrial lies between consumer and tactical. Those are
// biases after switching on. As long as there is GNSS the device estimates them, and what is left at the loss is what
// changes while it runs, about a tenth (Groves 2013, 4.4.1, from memory). The navigation class keeps its bias, which
// GNSS takes hours to show. What velocity, tilt and heading are known to at the loss: common practice, no source.
var Grades = []GradeRow{
	{"consumer", "a chip as in a telephone: seconds",
		10 * degPerHour, 500 * microG, 0.5 * degPerRootHour, 300 * microG, 0.03, 0.01 * degree, 0.5 * degree},
	{"industrial", "a calibrated chip: a minute under a bridge",
		3 * degPerHour, 300 * microG, 0.2 * degPerRootHour, 100 * microG, 0.02, 0.003 * degree, 0.2 * degree},
	{"tactical", "fibre-optic or the best chips: minutes alongside a high quay",
		0.5 * degPerHour, 100 * microG, 0.06 * degPerRootHour, 50 * microG, 0.01, 0.0006 * degree, 0.1 * degree},
	{"navigation", "ring laser or fibre-optic: an hour, about a nautical mile lost",
		0.01 * degPerHour, 50 * microG, 0.002 * degPerRootHour, 20 * microG, 0.005, 0.0002 * degree, 0.05 * degree},
}

const (
	degree         = math.Pi / 180
	degPerHour     = degree / 3600
	degPerRootHour = degree / 60
)

// Grade is a name of the table [Grades].
type Grade string

// SchemaEnum lists the names.
func (Grade) SchemaEnum() []string {
	names := make([]string, len(Grades))
	for i, g := range Grades {
		names[i] = string(g.Name)
	}
	return names
}

func (g Grade) row() (GradeRow, bool) {
	for _, r := range Grades {
		if r.Name == g {
			return r, true
		}
	}
	return GradeRow{}, false
}
