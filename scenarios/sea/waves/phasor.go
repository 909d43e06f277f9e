package waves

import "math"

// kept is how many support points a cursor keeps: at 10 Hz those of 6.4 s. A power of two.
const kept = 64

// tables is how many sets of responses a cursor keeps.
const tables = 4

// A point is a support point: value, rate times step, and acceleration times step squared.
type point struct {
	value, rate, accel [Channels]float64
}

// A table holds the responses of all components in one regime, times the amplitudes, channel by channel.
type table struct {
	key    uint64
	filled bool
	used   uint64 // when, by the cursor's own count
	re, im [Channels][]float64
}

// A cursor is what one caller at a time works with: support points that were worked out already, and room for more.
type cursor struct {
	number [kept]int64 // of the support points that are held
	held   [kept]bool
	points [kept]point
	tables [tables]table
	count  uint64

	// Of all components: cosine and sine of the phase, its rate, the square of that, and its acceleration, which is
	// set where bent is.
	cos, sin, rate, rate2, accel []float64
	bent                         bool
}

func newCursor(n int) *cursor {
	c := &cursor{}
	room := make([]float64, (5+2*Channels*tables)*n)
	take := func() []float64 {
		part := room[:n:n]
		room = room[n:]
		return part
	}
	for _, p := range []*[]float64{&c.cos, &c.sin, &c.rate, &c.rate2, &c.accel} {
		*p = take()
	}
	for i := range c.tables {
		for ch := range Channels {
			c.tables[i].re[ch], c.tables[i].im[ch] = take(), take()
		}
	}
	return c
}

// point returns the support point of that number. It is valid until the next-but-one call.
func (s *Sum) point(c *cursor, number int64) *point {
	slot := number & (kept - 1)
	p := &c.points[slot]
	if !c.held[slot] || c.number[slot] != number {
		s.work(c, p, float64(number)/s.gridHz)
		c.number[slot], c.held[slot] = number, true
	}
	return p
}

// work works out the support point at time t.
func (s *Sum) work(c *cursor, p *point, t float64) {
	s.turn(c, t)
	u := t * s.knotHz
	whole := math.Floor(u)
	before, after := s.key(whole), s.key(whole+1)
	c.sum(s.table(c, before, whole), p)
	if before != after {
		var next point
		c.sum(s.table(c, after, whole+1), &next)
		f, fd, fdd := fade(u - whole)
		fd, fdd = fd*s.knotHz, fdd*s.knotHz*s.knotHz
		for i := range Channels {
			d, dr, da := next.value[i]-p.value[i], next.rate[i]-p.rate[i], next.accel[i]-p.accel[i]
			p.accel[i] += f*da + 2*fd*dr + fdd*d
			p.rate[i] += f*dr + fd*d
			p.value[i] += f * d
		}
	}
	for i := range Channels {
		p.rate[i] *= s.step
		p.accel[i] *= s.step * s.step
	}
}

// key names the responses at a knot.
func (s *Sum) key(knot float64) uint64 {
	if s.regime == nil {
		return uint64(int64(knot))
	}
	return s.regime(knot * s.knot)
}

// table finds the responses of that key, or asks for them at the knot.
func (s *Sum) table(c *cursor, key uint64, knot float64) *table {
	c.count++
	oldest := &c.tables[0]
	for i := range c.tables {
		t := &c.tables[i]
		if t.filled && t.key == key {
			t.used = c.count
			return t
		}
		if t.used < oldest.used {
			oldest = t
		}
	}
	for i := range s.n {
		r := s.resp(i, knot*s.knot)
		for ch := range Channels {
			oldest.re[ch][i], oldest.im[ch][i] = real(r[ch])*s.amplitude[i], imag(r[ch])*s.amplitude[i]
		}
	}
	oldest.key, oldest.filled, oldest.used = key, true, c.count
	return oldest
}

// steps of the table of sines in a turn.
const sines = 256

// sineTable is sin and cos of whole steps.
var sineTable = func() (t [sines][2]float64) {
	for i := range t {
		t[i][0], t[i][1] = math.Sincos(2 * math.Pi * float64(i) / sines)
	}
	// Exactly, where they are known.
	for i, v := range [4][2]float64{{0, 1}, {1, 0}, {0, -1}, {-1, 0}} {
		t[i*sines/4] = v
	}
	return t
}()

// turn works out the phasors of all components at time t.
//
// The phase is taken in turns; whole turns are dropped, the nearest step of the table looked up, and the rest, at most
// 0.0123 rad, is turned by the series of sine and cosine, whose next terms are 1e-17. Turned wholly by exact phases,
// nothing drifts, and no point depends on another.
func (s *Sum) turn(c *cursor, t float64) {
	at := s.path(t)
	const perTurn = 1 / (2 * math.Pi)
	x, y, time := at.X*perTurn, at.Y*perTurn, t*perTurn
	n := s.n
	kx, ky, w, phase := s.kx[:n], s.ky[:n], s.w[:n], s.phase[:n]
	cos, sin, rates, rates2 := c.cos[:n], c.sin[:n], c.rate[:n], c.rate2[:n]
	const shift = 3 << 51 // adding it rounds to a whole number, whose last bits then are those of the sum
	for i := range n {
		steps := (kx[i]*x + ky[i]*y - w[i]*time + phase[i]) * sines
		near := steps + shift
		r := (steps - (near - shift)) * (2 * math.Pi / sines)
		e := &sineTable[math.Float64bits(near)%sines]
		r2 := r * r
		sr := r * (1 + r2*(-1.0/6+r2*(1.0/120)))
		cr := r2 * (-0.5 + r2*(1.0/24-r2*(1.0/720)))
		sin[i] = e[0] + (e[0]*cr + e[1]*sr)
		cos[i] = e[1] + (e[1]*cr - e[0]*sr)
		rate := kx[i]*at.VX + ky[i]*at.VY - w[i]
		rates[i], rates2[i] = rate, rate*rate
	}
	if c.bent = at.AX != 0 || at.AY != 0; c.bent {
		for i := range n {
			c.accel[i] = kx[i]*at.AX + ky[i]*at.AY
		}
	}
}

// sum adds up the phasors with the responses of a table: value, rate and acceleration of all channels.
//
// With z = R·a·exp(iθ) a channel is Σ Re z, its rate −Σ θ'·Im z, its acceleration −Σ θ'²·Re z + θ"·Im z. Two channels at a
// time is what the registers hold.
func (c *cursor) sum(t *table, p *point) {
	n := len(c.cos)
	cos, sin, rate, rate2, accel := c.cos[:n], c.sin[:n], c.rate[:n], c.rate2[:n], c.accel[:n]
	for ch := 0; ch < Channels; ch += 2 {
		ar, ai, br, bi := t.re[ch][:n], t.im[ch][:n], t.re[ch+1][:n], t.im[ch+1][:n]
		var a0, a1, a2, b0, b1, b2 float64
		for i := range n {
			cos, sin, rate, rate2 := cos[i], sin[i], rate[i], rate2[i]
			re, im := ar[i], ai[i]
			u := re*cos - im*sin
			a0 += u
			a1 += rate * (re*sin + im*cos)
			a2 += rate2 * u
			re, im = br[i], bi[i]
			u = re*cos - im*sin
			b0 += u
			b1 += rate * (re*sin + im*cos)
			b2 += rate2 * u
		}
		if c.bent {
			for i := range n {
				cos, sin, accel := cos[i], sin[i], accel[i]
				a2 += accel * (ar[i]*sin + ai[i]*cos)
				b2 += accel * (br[i]*sin + bi[i]*cos)
			}
		}
		p.value[ch], p.rate[ch], p.accel[ch] = a0, -a1, -a2
		p.value[ch+1], p.rate[ch+1], p.accel[ch+1] = b0, -b1, -b2
	}
}
