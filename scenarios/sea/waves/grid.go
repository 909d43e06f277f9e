package waves

import "math"

// missed is how far a quintic Hermite interpolant with support points h apart lies from a sinusoid of frequency omega:
// the root mean square over that of the sinusoid.
//
// The error is (ωh)⁶/720·(x(1−x))³ of the sixth derivative at most (any textbook of numerical analysis); the root mean
// square of (x(1−x))³ over a step is √(6!·6!/13!).
func missed(omega, gridHz float64) float64 {
	const rms = 0.009124 // √(6!·6!/13!)
	return math.Pow(math.Abs(omega)/gridHz, 6) / 720 * rms
}

// InterpolationError is how far the elevation that a [Sum] interpolates lies from the plain sum of the components: the
// standard deviation of the difference over that of the elevation, for a point at speedMS in the worst direction. A
// hull that follows short waves less than long ones does much better, see [FitGridHz].
func InterpolationError(components []Component, speedMS, gridHz float64) float64 {
	sum, all := 0.0, 0.0
	for _, c := range components {
		q := missed(c.Omega+c.K*math.Abs(speedMS), gridHz)
		p := c.Amplitude * c.Amplitude
		sum += p * q * q
		all += p
	}
	if !(all > 0) {
		return 0
	}
	return math.Sqrt(sum / all)
}

// grids are the grids to choose from, Hz.
var grids = [...]float64{5, 10, 20, 40, 80}

// GridHz is the coarsest grid of 5, 10, 20, 40 and 80 Hz on which [InterpolationError] is at most tolerance, and the
// finest of them where none is fine enough. It is for points that follow the surface; for a hull it is far too
// cautious, as the short waves that a moving point meets most often hardly move a hull: use [FitGridHz].
func GridHz(components []Component, speedMS, tolerance float64) float64 {
	return coarsest(tolerance, func(g float64) float64 { return InterpolationError(components, speedMS, g) })
}

func coarsest(tolerance float64, err func(gridHz float64) float64) float64 {
	for _, g := range grids {
		if err(g) <= tolerance {
			return g
		}
	}
	return grids[len(grids)-1]
}

// FitGridHz is the coarsest grid of 5, 10, 20, 40 and 80 Hz on which the channels of a [Sum] with these responses, along
// this way, lie within tolerance of the plain sum, and the finest of them where none does. Tolerance is in standard
// deviations of the channel; of one that hardly moves, in hundredths of those of the liveliest of its kind (shifts,
// turnings). It looks at instants evenly spread over the run: what the vessel does between them counts as what it does
// at them.
func FitGridHz(components []Component, resp func(i int, t float64) [Channels]complex128, path func(t float64) Place, durationS, tolerance float64) float64 {
	const instants = 32
	type load struct{ power, missed [Channels]float64 } // missed on a grid of 1 Hz, squared
	var most load
	for k := range instants {
		t := durationS * (float64(k) + 0.5) / instants
		at := path(t)
		var l load
		for i, c := range components {
			sin, cos := math.Sincos(c.Direction)
			q := missed(c.Omega-c.K*(sin*at.VX+cos*at.VY), 1)
			for ch, r := range resp(i, t) {
				p := c.Amplitude * c.Amplitude * (real(r)*real(r) + imag(r)*imag(r))
				l.power[ch] += p
				l.missed[ch] += p * q * q
			}
		}
		for ch := range Channels {
			most.power[ch], most.missed[ch] = max(most.power[ch], l.power[ch]), max(most.missed[ch], l.missed[ch])
		}
	}
	const shifts = 3 // surge, sway, heave; the rest are turnings
	worst := 0.0
	for ch := range Channels {
		kind := most.power[:shifts]
		if ch >= shifts {
			kind = most.power[shifts:]
		}
		liveliest := max(kind[0], kind[1], kind[2])
		if power := max(most.power[ch], 1e-4*liveliest); power > 0 {
			worst = max(worst, math.Sqrt(most.missed[ch]/power))
		}
	}
	return coarsest(tolerance, func(g float64) float64 { return worst / math.Pow(g, 6) })
}
