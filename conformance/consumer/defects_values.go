package consumer

import (
	"math"
	"time"

	"swellbench/scenarios/frame"
)

// Defects of the stages before geometry: what a message says, what an epoch holds, when it was.

// reading wraps the stage that reads a message: f comes after the right thing was done.
func reading(s *stages, f func(*message)) {
	read := s.read
	s.read = func(m *message) {
		read(m)
		f(m)
	}
}

func rollSign(s *stages) {
	reading(s, func(m *message) { m.values[roll].x = -m.values[roll].x })
}

func pitchRollSwapped(s *stages) {
	reading(s, func(m *message) { m.values[pitch], m.values[roll] = m.values[roll], m.values[pitch] })
}

func minutesAsDecimalDegrees(s *stages) {
	reading(s, func(m *message) {
		for _, q := range []quantity{latitude, longitude} {
			if v := &m.values[q]; v.known {
				size := math.Abs(frame.Deg(v.x))
				whole := math.Floor(size + 1e-11) // a whole degree may come back from rad a hair short
				v.x = frame.Rad(math.Copysign(whole+(size-whole)*60/100, v.x))
			}
		}
	})
}

func westAsEast(s *stages) {
	reading(s, func(m *message) { m.values[longitude].x = math.Abs(m.values[longitude].x) })
}

func staleForNull(s *stages) {
	gather := s.gather
	var last [quantities]value
	s.gather = func(e *epoch) {
		gather(e)
		for q := range e.values {
			switch v := &e.values[q]; {
			case v.known:
				last[q] = *v
			case v.said && last[q].known:
				*v = last[q]
			}
		}
	}
}

func arrivalStamp(s *stages) {
	s.stamp = func(e *epoch, _ time.Time) time.Time { return e.last }
}
