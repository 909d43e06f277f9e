package hull

import (
	"fmt"
	"math"
	"math/cmplx"
	"slices"
)

// A Table is a user's own responses over wave frequency and direction, complete: one value for each frequency in each
// direction. It stands for the speed that it was made for, and is taken at any. It may be shared. [ReadTable] makes one.
type Table struct {
	omegas     []float64    // rad/s, ascending
	directions []float64    // Beta in rad, ascending within [0, 2π), all round: a half table has been mirrored
	values     [][]Response // by direction, then by frequency
	warnings   []string
}

// Range tells the lowest and the highest wave frequency of the table, rad/s. Waves beyond get what [Table.At] says.
func (t *Table) Range() (low, high float64) { return t.omegas[0], t.omegas[len(t.omegas)-1] }

// Warnings tells where the table is too coarse or contradicts itself.
func (t *Table) Warnings() []string { return t.warnings }

// At gives the response to a wave of frequency omega (rad/s, as one sees it who stands still) from the side that beta
// says ([Beta]).
//
// In between it is linear in the complex response, over frequency and over direction: amplitude and phase belong
// together, phases have no jump where they pass ±180°, and where an amplitude passes zero the phase may turn over. It is
// never larger than its neighbours; [Table.Warnings] tells where they are too far apart in phase for that to be good.
//
// Below the lowest frequency it goes to what any vessel does in long waves, with the square of the frequency: heave 1,
// surge and sway the water's orbit, no rotation. Above the highest it fades with the fourth power. Both are ours, no
// source: a table should reach over all waves of the sea.
func (t *Table) At(omega, beta float64) Response {
	if !(omega > 0) || math.IsInf(omega, 0) || math.IsNaN(beta) || math.IsInf(beta, 0) {
		return Response{}
	}
	low, high := t.Range()
	i, f := between(t.omegas, omega)
	a := circle(beta)
	d, e, g := t.around(a)
	var r Response
	for n := range r {
		r[n] = mix(mix(t.values[d][i][n], t.values[d][i+1][n], f), mix(t.values[e][i][n], t.values[e][i+1][n], f), g)
	}
	switch {
	case omega < low:
		q := complex(omega/low*(omega/low), 0)
		limit := longWave(beta)
		for n := range r {
			r[n] = limit[n] + (r[n]-limit[n])*q
		}
	case omega > high:
		q := high / omega
		q *= q
		for n := range r {
			r[n] *= complex(q*q, 0)
		}
	}
	return r
}

// longWave is the response to a wave of no steepness: the water's own movement in deep water.
func longWave(beta float64) Response {
	sin, cos := math.Sincos(beta)
	return Response{Surge: complex(0, cos), Sway: complex(0, -sin), Heave: 1}
}

func mix(a, b complex128, f float64) complex128 { return a + (b-a)*complex(f, 0) }

// circle brings an angle into [0, 2π).
func circle(a float64) float64 {
	if a = math.Mod(a, 2*math.Pi); a < 0 {
		a += 2 * math.Pi
	}
	if a >= 2*math.Pi { // -1e-20 + 2π
		a = 0
	}
	return a
}

// between finds the interval [xs[i], xs[i+1]] that x lies in and how far on, 0 to 1; beyond the ends it stays there.
func between(xs []float64, x float64) (i int, f float64) {
	i, _ = slices.BinarySearch(xs, x)
	i = min(max(i-1, 0), len(xs)-2)
	return i, min(max((x-xs[i])/(xs[i+1]-xs[i]), 0), 1)
}

// around finds the directions on both sides of a, round the circle, and how far on a is between them.
func (t *Table) around(a float64) (d, e int, f float64) {
	n := len(t.directions)
	e, _ = slices.BinarySearch(t.directions, a)
	d = e - 1
	gap, on := 0.0, 0.0
	switch {
	case e == 0:
		d = n - 1
		gap, on = t.directions[0]+2*math.Pi-t.directions[d], a+2*math.Pi-t.directions[d]
	case e == n:
		e = 0
		gap, on = t.directions[0]+2*math.Pi-t.directions[d], a-t.directions[d]
	default:
		gap, on = t.directions[e]-t.directions[d], a-t.directions[d]
	}
	return d, e, min(max(on/gap, 0), 1)
}

// mirror adds the other side to a table of one side: a vessel is the same to port and to starboard, so a wave from the
// other side does the same to surge, heave and pitch, and the opposite to sway, roll and yaw.
func (t *Table) mirror() {
	for i := len(t.directions) - 1; i >= 0; i-- {
		a := circle(-t.directions[i])
		if a == t.directions[i] || math.Abs(a-t.directions[i]) < sameAngle {
			continue // from astern or from ahead
		}
		row := slices.Clone(t.values[i])
		for k := range row {
			for _, n := range [...]int{Sway, Roll, Yaw} {
				row[k][n] = -row[k][n]
			}
		}
		at, _ := slices.BinarySearch(t.directions, a)
		t.directions = slices.Insert(t.directions, at, a)
		t.values = slices.Insert(t.values, at, row)
		if at <= i {
			i++ // what is still to be mirrored has moved up
		}
	}
}

const sameAngle = 1e-9 // rad, within which two directions are one

// oneSided tells whether all directions are on one side of the vessel, from astern and from ahead included.
func oneSided(directions []float64) bool {
	var starboard, port bool
	for _, a := range directions {
		if s := math.Sin(a); s > sameAngle {
			starboard = true
		} else if s < -sameAngle {
			port = true
		}
	}
	return !(starboard && port)
}

// most is the largest amplitude of each degree of freedom.
func (t *Table) most() (m [6]float64) {
	for _, row := range t.values {
		for _, r := range row {
			for n := range r {
				m[n] = max(m[n], cmplx.Abs(r[n]))
			}
		}
	}
	return m
}

// judge fills the warnings: neighbours whose phases are so far apart that what lies between is a guess, a phase that
// speaks against long waves, and sideways motion in a wave from ahead or astern.
func (t *Table) judge() {
	most := t.most()
	const share, far = 0.2, math.Pi / 2 // what of the largest counts, and how far phases may be apart
	apart := func(n int, a, b complex128) bool {
		return min(cmplx.Abs(a), cmplx.Abs(b)) > share*most[n] && math.Abs(cmplx.Phase(a*cmplx.Conj(b))) > far
	}
	for n, name := range Names {
		if w := t.coarse(n, name, apart); w != "" {
			t.warnings = append(t.warnings, w)
		}
	}
	for d, a := range t.directions {
		if math.Abs(math.Sin(a)) > sameAngle {
			continue
		}
		for _, n := range [...]int{Sway, Roll, Yaw} {
			for i := range t.omegas {
				if most[n] > 0 && cmplx.Abs(t.values[d][i][n]) > 0.05*most[n] {
					t.warnings = append(t.warnings, fmt.Sprintf("%s is not zero in a wave from direction %.4g deg, along the vessel (at %.4g rad/s)",
						Names[n], a*180/math.Pi, t.omegas[i]))
					break
				}
			}
		}
	}
	if t.omegas[0] < 0.35 { // waves of 500 m and more
		for d, a := range t.directions {
			if h := t.values[d][0][Heave]; cmplx.Abs(h-1) > 0.5 {
				t.warnings = append(t.warnings, fmt.Sprintf("heave at the lowest frequency, from direction %.4g deg, is %.3g m/m leading by %.4g deg; in long waves any vessel follows the surface, 1 m/m and 0 deg: see the sign of the phases and where they refer to",
					a*180/math.Pi, cmplx.Abs(h), Lead(h)*180/math.Pi))
				break
			}
		}
	}
}

// coarse finds the first pair of neighbours that are apart.
func (t *Table) coarse(n int, name string, apart func(n int, a, b complex128) bool) string {
	for d, a := range t.directions {
		next := (d + 1) % len(t.directions)
		for i, w := range t.omegas {
			if i+1 < len(t.omegas) && apart(n, t.values[d][i][n], t.values[d][i+1][n]) {
				return fmt.Sprintf("the phase of %s turns by more than 90 deg between %.4g and %.4g rad/s, from direction %.4g deg; in between it is a guess: a finer table is better",
					name, w, t.omegas[i+1], a*180/math.Pi)
			}
			if apart(n, t.values[d][i][n], t.values[next][i][n]) {
				return fmt.Sprintf("the phase of %s turns by more than 90 deg between directions %.4g and %.4g deg, at %.4g rad/s; in between it is a guess: a finer table is better",
					name, a*180/math.Pi, t.directions[next]*180/math.Pi, w)
			}
		}
	}
	return ""
}
