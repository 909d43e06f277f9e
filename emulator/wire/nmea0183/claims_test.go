package nmea0183

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"

	"gonum.org/v1/gonum/spatial/r3"

	"swellbench/emulator/wire"
	"swellbench/scenarios/opt"
)

// A claim is what an independent reader is to find in a field.
type claim struct {
	name   string
	value  opt.Opt[float64]
	within float64
	text   string // in place of the value
}

const degreesOfMinute = 1. / 60

// claims are what pynmea2 is to find in sentence part of the message of a kind, by its own names for the fields; nil for a
// type that it does not know.
func claims(kind string, part int, r *wire.Reading) []claim {
	fixed := r.Fix != wire.FixNone
	only := func(ok bool, v opt.Opt[float64]) opt.Opt[float64] {
		if ok {
			return v
		}
		return opt.None[float64]()
	}
	deg := func(v opt.Opt[float64]) opt.Opt[float64] { return scaled(v, 180/math.Pi) }
	num := func(v opt.Opt[int]) opt.Opt[float64] {
		if n, ok := v.Value(); ok {
			return opt.Of(float64(n))
		}
		return opt.None[float64]()
	}
	at := claim{name: "timestamp", text: "None"}
	var day opt.Opt[time.Time]
	if u, ok := r.UTC.Value(); ok {
		u = u.Add(5 * time.Millisecond).Truncate(10 * time.Millisecond)
		at.text = u.Format("15:04:05")
		if us := u.Nanosecond() / 1000; us > 0 {
			at.text += fmt.Sprintf(".%06d", us)
		}
		day = opt.Of(u)
	}
	lat, lon := opt.None[float64](), opt.None[float64]()
	altitude := opt.None[float64]()
	if p, ok := r.Position.Value(); ok && fixed {
		lat, lon = opt.Of(p.Lat*180/math.Pi), opt.Of(p.Lon*180/math.Pi)
		if u, ok := r.Undulation.Value(); ok {
			altitude = opt.Of(p.Height - u)
		}
	}
	position := []claim{{"latitude", lat, 0.5e-5 * degreesOfMinute, ""}, {"longitude", lon, 0.5e-5 * degreesOfMinute, ""}}
	quality := []int{0, 6, 1, 2, 5, 4, 3, 7, 8}[r.Fix]
	mode := string("NEADFRPMS"[r.Fix])
	status := "V"
	if strings.Contains("ADFRP", mode) {
		status = "A"
	}
	sigma := func(pick func(r3.Vec) float64) opt.Opt[float64] {
		if v, ok := r.Sigma.Value(); ok && fixed {
			return opt.Of(pick(v))
		}
		return opt.None[float64]()
	}
	x, y, z := func(v r3.Vec) float64 { return v.X }, func(v r3.Vec) float64 { return v.Y }, func(v r3.Vec) float64 { return v.Z }
	course, speed := only(fixed, deg(r.CourseRad)), only(fixed, r.SpeedMS)
	knots := scaled(speed, 3600/1852.)
	switch kind {
	case "GGA":
		return append(position, at, claim{name: "gps_qual", text: strconv.Itoa(quality)}, claim{"num_sats", num(r.Satellites), 0, ""}, claim{"horizontal_dil", r.HDOP, 0.05, ""},
			claim{"altitude", altitude, 0.005, ""}, claim{"geo_sep", only(fixed, r.Undulation), 0.005, ""}, claim{"age_gps_data", only(fixed, r.DiffAge), 0.5, ""})
	case "GLL":
		return append(position, at, claim{name: "status", text: status}, claim{name: "faa_mode", text: mode})
	case "GNS":
		return append(position, at, claim{"num_sats", num(r.Satellites), 0, ""}, claim{"hdop", r.HDOP, 0.05, ""}, claim{"altitude", altitude, 0.005, ""},
			claim{"geo_sep", only(fixed, r.Undulation), 0.005, ""})
	case "RMC":
		date := claim{name: "datestamp", text: "None"}
		if u, ok := day.Value(); ok {
			date.text = u.Format("2006-01-02")
		}
		return append(position, at, date, claim{name: "status", text: status}, claim{"spd_over_grnd", knots, 0.005, ""}, claim{"true_course", course, 0.005, ""},
			claim{"mag_variation", scaled(deg(r.Variation), math.Copysign(1, r.Variation.Or(1))), 0.05, ""}, claim{name: "mag_var_dir", text: side(r.Variation, 0.05)})
	case "VTG":
		magnetic := opt.None[float64]()
		if c, ok := course.Value(); ok {
			if v, ok := deg(r.Variation).Value(); ok {
				magnetic = opt.Of(math.Mod(c-v+720, 360))
			}
		}
		return []claim{{"true_track", course, 0.005, ""}, {"mag_track", magnetic, 0.005, ""}, {"spd_over_grnd_kts", knots, 0.0005, ""}, {"spd_over_grnd_kmph", scaled(speed, 3.6), 0.0005, ""},
			{name: "faa_mode", text: mode}}
	case "ZDA":
		if u, ok := day.Value(); ok {
			return []claim{at, {name: "day", text: strconv.Itoa(u.Day())}, {name: "month", text: strconv.Itoa(int(u.Month()))}, {name: "year", text: strconv.Itoa(u.Year())}, {name: "local_zone", text: "0"}}
		}
		return []claim{at, {name: "day", text: "None"}, {name: "year", text: "None"}}
	case "HDT":
		return []claim{{"heading", deg(r.Heading), 0.005, ""}, {name: "hdg_true", text: "T"}}
	case "HDG":
		sensor := opt.None[float64]()
		if h, ok := deg(r.Heading).Value(); ok {
			if v, ok := deg(r.Variation).Value(); ok {
				sensor = opt.Of(math.Mod(h-v+720, 360))
			}
		}
		return []claim{{"heading", sensor, 0.005, ""}, {name: "deviation", text: "None"}, {"variation", scaled(deg(r.Variation), math.Copysign(1, r.Variation.Or(1))), 0.005, ""},
			{name: "var_dir", text: side(r.Variation, 0.005)}}
	case "ROT":
		v := "A"
		if !r.RateOfTurn.Has() {
			v = "V"
		}
		return []claim{{"rate_of_turn", scaled(deg(r.RateOfTurn), 60), 0.005, ""}, {name: "status", text: v}}
	case "XDR":
		return []claim{{name: "data[3]", text: "PITCH"}, {"data[1]", deg(r.Pitch), 0.0005, ""}, {name: "data[7]", text: "ROLL"}, {"data[5]", deg(r.Roll), 0.0005, ""},
			{name: "data[11]", text: "HEAVE"}, {"data[9]", r.HeaveM, 0.0005, ""}, {name: "type", text: "A"}, {"value", deg(r.Pitch), 0.0005, ""}}
	case "VBW":
		ahead, right := opt.None[float64](), opt.None[float64]()
		if w, ok := r.WaterSpeed.Value(); ok {
			ahead, right = opt.Of(w[0]*3600/1852), opt.Of(w[1]*3600/1852)
		}
		v, ok := r.VelocityEN.Value()
		if c, ok2 := r.CourseRad.Value(); !ok && ok2 && r.SpeedMS.Has() {
			s := r.SpeedMS.Or(0)
			v, ok = [2]float64{s * math.Sin(c), s * math.Cos(c)}, true
		}
		gAhead, gRight := opt.None[float64](), opt.None[float64]()
		if h, ok2 := r.Heading.Value(); ok && ok2 && fixed {
			speed, course := math.Hypot(v[0], v[1])*3600/1852, math.Atan2(v[0], v[1])
			gAhead, gRight = opt.Of(speed*math.Cos(course-h)), opt.Of(speed*math.Sin(course-h)) // by the angle between course and heading
		}
		return []claim{{"lon_water_spd", ahead, 0.005, ""}, {"trans_water_spd", right, 0.005, ""}, {"lon_grnd_spd", gAhead, 0.005, ""}, {"trans_grnd_spd", gRight, 0.005, ""}}
	case "GST":
		rms := opt.None[float64]()
		v, _ := r.Sigma.Value()
		if h, ok := r.HDOP.Value(); ok && fixed && r.Sigma.Has() {
			rms = opt.Of(math.Hypot(v.X, v.Y) / h)
		}
		// The sum of the squared axes is the trace of the covariance, their product the root of its determinant.
		return []claim{at, {"rms", rms, 0.0005, ""}, {"std_dev_latitude", sigma(y), 0.0005, ""}, {"std_dev_longitude", sigma(x), 0.0005, ""}, {"std_dev_altitude", sigma(z), 0.0005, ""}}
	case "GBS":
		return []claim{at, {"lat_err", sigma(y), 0.05, ""}, {"lon_err", sigma(x), 0.05, ""}, {"alt_err", sigma(z), 0.05, ""}, {name: "sat_prn_num_f", text: "None"}}
	case "DTM":
		return []claim{{name: "datum", text: "W84"}, {name: "lat", text: "0.0000"}, {name: "datum_code", text: "W84"}}
	case "TXT":
		return []claim{{name: "num_msg", text: "01"}, {name: "text", text: DefaultText}}
	case "GSA":
		return claimsGSA(part, r)
	case "GSV":
		return claimsGSV(part, r)
	}
	return nil
}

// side is the letter of a variation; what is rounded to zero is east.
func side(v opt.Opt[float64], halfDeg float64) string {
	x, ok := v.Value()
	switch {
	case !ok:
		return "None"
	case x*180/math.Pi <= -halfDeg:
		return "W"
	}
	return "E"
}

// claimsGSA: the sentences are those of the systems that have satellites in use.
func claimsGSA(part int, r *wire.Reading) []claim {
	var systems [][]string
	for sys := range wire.Systems {
		var ids []string
		for _, s := range r.Sky {
			if s.System == sys && s.Used {
				n := s.Number
				if sys == wire.GLONASS {
					n += 64
				}
				ids = append(ids, fmt.Sprintf("%02d", n))
			}
		}
		if len(ids) > 0 {
			systems = append(systems, ids)
		}
	}
	if len(systems) == 0 {
		systems = [][]string{nil}
	}
	fix, known := "1", false
	if r.Fix != wire.FixNone && r.Fix != wire.FixEstimated {
		fix, known = "3", true
	}
	dop := func(v opt.Opt[float64]) opt.Opt[float64] {
		if known {
			return v
		}
		return opt.None[float64]()
	}
	c := []claim{{name: "mode", text: "A"}, {name: "mode_fix_type", text: fix}, {"pdop", dop(r.PDOP), 0.005, ""}, {"hdop", dop(r.HDOP), 0.005, ""}, {"vdop", dop(r.VDOP), 0.005, ""}}
	for i := range 12 {
		text := "None"
		if i < len(systems[part]) {
			text = systems[part][i]
		}
		c = append(c, claim{name: fmt.Sprintf("sv_id%02d", i+1), text: text})
	}
	return c
}

func claimsGSV(part int, r *wire.Reading) []claim {
	for sys := range wire.Systems {
		var sky []wire.Satellite
		for _, s := range r.Sky {
			if s.System == sys {
				sky = append(sky, s)
			}
		}
		n := (len(sky) + 3) / 4
		if part >= n {
			part -= n
			continue
		}
		c := []claim{{name: "num_messages", text: strconv.Itoa(n)}, {name: "msg_num", text: strconv.Itoa(part + 1)}, {"num_sv_in_view", opt.Of(float64(len(sky))), 0, ""}}
		for i, s := range sky[part*4 : min(part*4+4, len(sky))] {
			id := s.Number
			if sys == wire.GLONASS {
				id += 64
			}
			c = append(c, claim{fmt.Sprintf("sv_prn_num_%d", i+1), opt.Of(float64(id)), 0, ""}, claim{fmt.Sprintf("elevation_deg_%d", i+1), opt.Of(s.Elevation * 180 / math.Pi), 0.5, ""},
				claim{fmt.Sprintf("azimuth_%d", i+1), opt.Of(s.Azimuth * 180 / math.Pi), 0.5, ""})
			if i < 3 || s.SNR.Has() { // behind the last it takes the signal id for the next number
				c = append(c, claim{fmt.Sprintf("snr_%d", i+1), s.SNR, 0.5, ""})
			}
		}
		return c
	}
	return []claim{{name: "num_messages", text: "1"}, {"num_sv_in_view", opt.Of(0.0), 0, ""}} // nothing in view
}
