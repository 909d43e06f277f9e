package observe

import "time"

// A timeCache spares the calendar where the day is the one of the last stamp.
type timeCache struct {
	day  [10]byte
	unix int64 // of midnight
}

// parse reads RFC 3339, any offset, at least seconds; fractions beyond ns are cut. why is "" if it is understood.
func (c *timeCache) parse(b []byte) (t time.Time, why string) {
	if len(b) < len("2006-01-02T15:04:05") || b[4] != '-' || b[7] != '-' || b[13] != ':' || b[16] != ':' ||
		b[10] != 'T' && b[10] != 't' && b[10] != ' ' {
		return t, "is no such time"
	}
	if string(c.day[:]) != string(b[:10]) {
		y, ok1 := digits(b[0:4])
		mo, ok2 := digits(b[5:7])
		d, ok3 := digits(b[8:10])
		if !ok1 || !ok2 || !ok3 {
			return t, "is no such time"
		}
		day := time.Date(y, time.Month(mo), d, 0, 0, 0, 0, time.UTC)
		if day.Month() != time.Month(mo) || day.Day() != d || mo < 1 || d < 1 {
			return t, "is a day that does not exist"
		}
		copy(c.day[:], b)
		c.unix = day.Unix()
	}
	h, ok1 := digits(b[11:13])
	m, ok2 := digits(b[14:16])
	s, ok3 := digits(b[17:19])
	if !ok1 || !ok2 || !ok3 || h > 23 || m > 59 || s > 60 {
		return t, "is no such time of day"
	}
	ns, i := 0, 19
	if i < len(b) && (b[i] == '.' || b[i] == ',') {
		i++
		from, scale := i, 100_000_000
		for ; i < len(b) && b[i] >= '0' && b[i] <= '9'; i++ {
			ns += int(b[i]-'0') * scale
			scale /= 10
		}
		if i == from {
			return t, "has no digits after its point"
		}
	}
	zone, ok := zoneOf(b[i:])
	if !ok {
		return t, "has no zone (Z or an offset such as +02:00)"
	}
	t = time.Unix(c.unix+int64(h*3600+m*60+s-zone), int64(ns)).UTC()
	// A leap second is inserted at the end of a month, UTC (ITU-R TF.460, from memory); here it is the first instant of
	// the next one, as on a clock without leap seconds. Any other second 60 is a mistake.
	if s == 60 && (t.Unix()%86400 != 0 || t.Day() != 1) {
		return t, "has second 60 where no leap second can be"
	}
	return t, ""
}

// zoneOf reads Z or an offset and gives it in s.
func zoneOf(b []byte) (int, bool) {
	if len(b) == 1 && (b[0] == 'Z' || b[0] == 'z') {
		return 0, true
	}
	if len(b) != len("+00:00") || b[3] != ':' || b[0] != '+' && b[0] != '-' {
		return 0, false
	}
	h, ok1 := digits(b[1:3])
	m, ok2 := digits(b[4:6])
	if !ok1 || !ok2 || h > 23 || m > 59 {
		return 0, false
	}
	z := h*3600 + m*60
	if b[0] == '-' {
		z = -z
	}
	return z, true
}

func digits(b []byte) (n int, ok bool) {
	for _, c := range b {
		if c < '0' || c > '9' {
			return 0, false
		}
		n = 10*n + int(c-'0')
	}
	return n, true
}
