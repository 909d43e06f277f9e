package inertial

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"swellbench/scenarios/strictyaml"
	"swellbench/scenarios/units"
)

// A Spec is the `inertial:` section of a scenario file. Its zero value is a sensor without any error.
type Spec struct {
	Grade     Grade               `yaml:"grade" doc:"class of the sensor: sets what is not given in numbers. Default: a sensor without errors"`
	GyroBias  *Gyros              `yaml:"gyro-bias" doc:"left at the loss: right, forward, up, positive as a right-hand screw. Default: drawn from the seed by the grade"`
	AccelBias *Accelerometers     `yaml:"accelerometer-bias" doc:"left at the loss: right, forward, up. Default: drawn from the seed by the grade"`
	Gyro      *AngleRandomWalk    `yaml:"angle-random-walk" doc:"white noise of each gyro. Default: by the grade"`
	Accel     *AccelerometerNoise `yaml:"accelerometer-noise" doc:"white noise of each accelerometer. Default: by the grade"`
	Alignment Alignment           `yaml:"alignment" doc:"what the attitude is at the loss: self-levelled (the tilt hides the accelerometer biases), perfect, or as tilt says. Default: self-levelled"`
	Tilt      *Tilt               `yaml:"tilt" doc:"with alignment stated: the error of the attitude at the loss"`
	AtLoss    AtLoss              `yaml:"at-loss" doc:"how well the rest is known at the loss, 1 sigma, drawn from the seed"`
	Height    HeightMode          `yaml:"height" doc:"held: something else keeps it, as on a vessel; free: it drifts away. Default: held"`
	Recovery  units.Duration      `yaml:"recovery" doc:"time constant with which the errors fade once GNSS is back. Default: 0 s, they jump"`
	// HeadingLimit is the sigma beyond which the device flags its heading as not valid.
	HeadingLimit units.Angle `yaml:"heading-limit" doc:"sigma beyond which the device no longer calls its heading valid. Default: 5 deg"`
}

// Gyros are three angular rates along right, forward, up.
type Gyros [3]units.AngularRate

// Accelerometers are three accelerations along right, forward, up.
type Accelerometers [3]units.Acceleration

// Tilt is an error of attitude: reported minus true, with the signs of package frame.
type Tilt struct {
	Pitch   units.Angle `yaml:"pitch" doc:"reported minus true, positive bow up"`
	Roll    units.Angle `yaml:"roll" doc:"reported minus true, positive starboard side down"`
	Heading units.Angle `yaml:"heading" doc:"reported minus true, positive clockwise"`
}

// AtLoss is how well things are known at the loss, 1 sigma. What is nil is by the grade.
type AtLoss struct {
	Velocity *units.Speed `yaml:"velocity" doc:"each of east and north. Default: by the grade"`
	Tilt     *units.Angle `yaml:"tilt" doc:"with self-levelled: what the tilt is off beyond hiding the biases, each axis. Default: by the grade"`
	Heading  *units.Angle `yaml:"heading" doc:"with self-levelled: error of heading. Default: by the grade"`
}

// Alignment is the word for the attitude at the loss. The zero value is self-levelled.
type Alignment string

// The alignments.
const (
	SelfLevelled Alignment = "self-levelled"
	Perfect      Alignment = "perfect"
	Stated       Alignment = "stated"
)

// SchemaEnum lists the words.
func (Alignment) SchemaEnum() []string {
	return []string{string(SelfLevelled), string(Perfect), string(Stated)}
}

// HeightMode is the word for what becomes of the height. The zero value is held.
type HeightMode string

// The modes.
const (
	Held HeightMode = "held"
	Free HeightMode = "free"
)

// SchemaEnum lists the words.
func (HeightMode) SchemaEnum() []string { return []string{string(Held), string(Free)} }

// Limits of what a file may ask for: a hundred times a bad chip.
const (
	maxGyroBias  = 10 * degree // rad/s
	maxAccelBias = 10.0        // m/s²
	maxGyroNoise = degree      // rad/√s
	maxAccNoise  = 1.0         // m/s²/√Hz
	maxTilt      = 20 * degree
	maxSpeedOff  = 10.0 // m/s
	maxRecovery  = 3600.0
)

// Validate returns all that is wrong, with paths relative to the section.
func (s Spec) Validate() []strictyaml.Problem {
	var ps []strictyaml.Problem
	add := func(path, format string, args ...any) {
		ps = append(ps, strictyaml.Problem{Path: path, Text: fmt.Sprintf(format, args...)})
	}
	word := func(path, name, found string, words []string) {
		for _, w := range words {
			if found == "" || found == w {
				return
			}
		}
		add(path, "%s is %s; %s", name, strictyaml.Quote(found), strictyaml.Allowed(found, words))
	}
	word("grade", "grade", string(s.Grade), s.Grade.SchemaEnum())
	word("alignment", "alignment", string(s.Alignment), s.Alignment.SchemaEnum())
	word("height", "height", string(s.Height), s.Height.SchemaEnum())
	if s.GyroBias != nil {
		for i, b := range s.GyroBias {
			if !(math.Abs(float64(b)) <= maxGyroBias) {
				add(fmt.Sprintf("gyro-bias[%d]", i), "bias is %v; allowed: -10 deg/s to 10 deg/s", b.In("deg/s"))
			}
		}
	}
	if s.AccelBias != nil {
		for i, b := range s.AccelBias {
			if !(math.Abs(float64(b)) <= maxAccelBias) {
				add(fmt.Sprintf("accelerometer-bias[%d]", i), "bias is %v; allowed: -10 m/s2 to 10 m/s2", b.In("m/s2"))
			}
		}
	}
	if n := s.Gyro; n != nil && !(*n >= 0 && *n <= maxGyroNoise) {
		add("angle-random-walk", "angle random walk is %v; allowed: 0 deg/sqrt(h) to 60 deg/sqrt(h)", *n)
	}
	if n := s.Accel; n != nil && !(*n >= 0 && *n <= maxAccNoise) {
		add("accelerometer-noise", "noise is %v; allowed: 0 ug/sqrt(Hz) to 1 m/s2/sqrt(Hz)", *n)
	}
	if v := s.AtLoss.Velocity; v != nil && !(*v >= 0 && *v <= maxSpeedOff) {
		add("at-loss.velocity", "error of velocity is %v; allowed: 0 m/s to 10 m/s", v.In("m/s"))
	}
	angle := func(path, name string, a *units.Angle, low float64) {
		if a != nil && !(float64(*a) >= low && float64(*a) <= maxTilt) {
			add(path, "%s is %v; allowed: %g deg to 20 deg", name, a.In("deg"), math.Round(low/degree))
		}
	}
	angle("at-loss.tilt", "tilt", s.AtLoss.Tilt, 0)
	angle("at-loss.heading", "error of heading", s.AtLoss.Heading, 0)
	if s.Tilt != nil {
		angle("tilt.pitch", "error of pitch", &s.Tilt.Pitch, -maxTilt)
		angle("tilt.roll", "error of roll", &s.Tilt.Roll, -maxTilt)
		angle("tilt.heading", "error of heading", &s.Tilt.Heading, -maxTilt)
		if s.Alignment != Stated {
			add("tilt", "a tilt is given, but alignment is %s; allowed: a tilt with alignment: stated only", s.alignment())
		}
	} else if s.Alignment == Stated {
		add("alignment", "alignment is stated, but no tilt is given; add tilt: {pitch: 0.01 deg}")
	}
	if !(s.Recovery >= 0 && s.Recovery <= maxRecovery) {
		add("recovery", "time constant is %v; allowed: 0 s to 1 h", s.Recovery)
	}
	if !(s.HeadingLimit >= 0 && s.HeadingLimit <= math.Pi) {
		add("heading-limit", "limit is %v; allowed: 0 deg to 180 deg", s.HeadingLimit.In("deg"))
	}
	return ps
}

func (s Spec) alignment() Alignment {
	if s.Alignment == "" {
		return SelfLevelled
	}
	return s.Alignment
}

// How far off the linear equations are once attitude has gone this far: 2 % of the position and more; see doc.go.
const linearLimit = 5 * degree

// Warnings tells what may be, but probably was not meant, for outages of at most outageS, in s.
func (s Spec) Warnings(outageS float64) []strictyaml.Problem {
	var ps []strictyaml.Problem
	add := func(path, format string, args ...any) {
		ps = append(ps, strictyaml.Problem{Path: path, Text: fmt.Sprintf(format, args...)})
	}
	if len(s.Validate()) > 0 {
		return nil
	}
	if outageS > 0 && s == (Spec{}) {
		add("grade", "no grade and no numbers: the inertial sensor has no errors, so position and heading stay exact for the %.4g s without GNSS; add a grade", outageS)
	}
	if f := s.Forecast(outageS); f.Tilt > linearLimit {
		add("grade", "after %.4g s without GNSS the tilt is off by some %.2g deg, where the linear equations of drift lose their meaning; take a better grade or a shorter outage", outageS, f.Tilt/degree)
	}
	return ps
}

// Forecast returns a rough 1 sigma of each horizontal axis after so many seconds, by the laws of one axis: for texts, not
// for the run.
func (s Spec) Forecast(outageS float64) Growth {
	if !(outageS > 0) {
		return Growth{}
	}
	const g, radius = 9.81, 6371000.0
	p, ws := s.parameters(), SchulerRate(radius, g)
	var sum Growth
	add := func(x Growth) {
		sum.Position += x.Position * x.Position
		sum.Velocity += x.Velocity * x.Velocity
		sum.Tilt += x.Tilt * x.Tilt
	}
	add(Growth{Position: VelocityErrorGrowth(p.velocity, outageS, ws)})
	add(Growth{Position: TiltErrorGrowth(p.tilt, outageS, radius, g), Tilt: p.tilt})
	if s.alignment() != SelfLevelled {
		add(AccelBiasGrowth(rms(p.accelBias, p.fixedAccel), outageS, ws))
	}
	add(GyroBiasGrowth(rms(p.gyroBias, p.fixedGyro), outageS, radius, g))
	short := math.Min(outageS, 1/ws) // beyond it the loop holds what noise does
	add(AccelNoiseGrowth(p.accelNoise, short))
	add(GyroNoiseGrowth(p.gyroNoise, short, g))
	return Growth{math.Sqrt(sum.Position), math.Sqrt(sum.Velocity), math.Sqrt(sum.Tilt)}
}

func rms(sigma float64, fixed *r3.Vec) float64 {
	if fixed == nil {
		return sigma
	}
	return r3.Norm(*fixed) / math.Sqrt(3)
}

// parameters is a Spec in numbers.
type parameters struct {
	gyroBias, accelBias     float64 // 1 sigma, where not fixed
	fixedGyro, fixedAccel   *r3.Vec
	gyroNoise, accelNoise   float64
	velocity, tilt, heading float64 // 1 sigma at the loss
	free                    bool    // the height
}

func (s Spec) parameters() parameters {
	g, _ := s.Grade.row()
	p := parameters{
		gyroBias: g.GyroBias, accelBias: g.AccelBias, gyroNoise: g.AngleRandomWalk, accelNoise: g.AccelNoise,
		velocity: g.Velocity, tilt: g.Tilt, heading: g.Heading, free: s.Height == Free,
	}
	if b := s.GyroBias; b != nil {
		p.fixedGyro = &r3.Vec{X: float64(b[0]), Y: float64(b[1]), Z: float64(b[2])}
	}
	if b := s.AccelBias; b != nil {
		p.fixedAccel = &r3.Vec{X: float64(b[0]), Y: float64(b[1]), Z: float64(b[2])}
	}
	if s.Gyro != nil {
		p.gyroNoise = float64(*s.Gyro)
	}
	if s.Accel != nil {
		p.accelNoise = float64(*s.Accel)
	}
	if s.AtLoss.Velocity != nil {
		p.velocity = float64(*s.AtLoss.Velocity)
	}
	if s.AtLoss.Tilt != nil {
		p.tilt = float64(*s.AtLoss.Tilt)
	}
	if s.AtLoss.Heading != nil {
		p.heading = float64(*s.AtLoss.Heading)
	}
	if s.alignment() != SelfLevelled {
		p.tilt, p.heading = 0, 0
	}
	return p
}
