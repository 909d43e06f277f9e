package emulator

import (
	"bufio"
	"fmt"
	"io"
	"math"
	"strconv"

	"gonum.org/v1/gonum/spatial/r3"

	"swellbench/scenarios/frame"
)

// truthColumns is the head of the truth table. Units are in the names; axes and signs are those of package frame.
const truthColumns = "t_s,utc,point,latitude_deg,longitude_deg,height_m,heading_deg,pitch_deg,roll_deg,heave_m," +
	"velocity_east_ms,velocity_north_ms,velocity_up_ms,acceleration_east_ms2,acceleration_north_ms2,acceleration_up_ms2," +
	"heading_rate_degs,pitch_rate_degs,roll_rate_degs"

// WriteTruth writes the truth of one point of the vessel as CSV, one row each step seconds from 0 until the end of
// the scenario. The point is a name of the installation; "reference" is the vessel reference point.
func (d *Device) WriteTruth(w io.Writer, point string, step float64) error {
	l, ok := d.scenario.Installation.Point(point)
	if !ok {
		return fmt.Errorf("truth: the installation has no point %q", point)
	}
	if !(step >= 1e-3) {
		return fmt.Errorf("truth: step is %g s, allowed: 0.001 s or more", step)
	}
	bw := bufio.NewWriterSize(w, 1<<16)
	bw.WriteString(truthColumns + "\n")
	var b []byte
	end := float64(d.scenario.Duration)
	for k := 0; ; k++ {
		t := float64(k) * step
		if t >= end {
			break
		}
		b = d.appendTruth(b[:0], t, point, l)
		if _, err := bw.Write(b); err != nil {
			return err
		}
	}
	return bw.Flush()
}

func (d *Device) appendTruth(b []byte, t float64, name string, l r3.Vec) []byte {
	s := d.truth.At(t)
	p := s.Point(l)
	rates := frame.EulerRates(s.Attitude, s.Rate)
	b = strconv.AppendFloat(b, roundNano(t), 'f', -1, 64)
	b = append(b, ',')
	b = d.UTC(t).AppendFormat(b, "2006-01-02T15:04:05.000000Z")
	b = append(append(append(b, ','), name...), ',')
	a := s.Attitude.Canonical()
	for i, c := range [...]struct {
		v        float64
		decimals int
	}{
		{deg(p.Position.Lat), 10}, {deg(p.Position.Lon), 10}, {p.Position.Height, 4},
		{deg(a.Heading), 6}, {deg(a.Pitch), 6}, {deg(a.Roll), 6}, {p.HeaveM, 5},
		{p.Velocity.X, 6}, {p.Velocity.Y, 6}, {p.Velocity.Z, 6},
		{p.Acceleration.X, 6}, {p.Acceleration.Y, 6}, {p.Acceleration.Z, 6},
		{deg(rates.Heading), 6}, {deg(rates.Pitch), 6}, {deg(rates.Roll), 6},
	} {
		if i > 0 {
			b = append(b, ',')
		}
		b = appendFixed(b, c.v, c.decimals)
	}
	return append(b, '\n')
}

// appendFixed writes v with the given decimals and never a negative zero.
func appendFixed(b []byte, v float64, decimals int) []byte {
	if math.Abs(v) < 0.5*math.Pow10(-decimals) {
		v = 0
	}
	return strconv.AppendFloat(b, v, 'f', decimals, 64)
}

func deg(rad float64) float64 { return rad * 180 / math.Pi }
