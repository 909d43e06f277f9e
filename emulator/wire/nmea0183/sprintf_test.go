package nmea0183

import (
	"fmt"
	"maps"
	"math"
	"strings"

	"swellbench/emulator/wire"
)

// The hand-written alternative: what one would write with fmt, for a reading in which all is known.
var sprintf = map[string]func(r *wire.Reading) string{
	"GGA": func(r *wire.Reading) string {
		t, _ := r.UTC.Value()
		p, _ := r.Position.Value()
		lat, ns := sprintfAngle(p.Lat, 2, "N", "S")
		lon, ew := sprintfAngle(p.Lon, 3, "E", "W")
		u := r.Undulation.Or(0)
		return sprintfSentence(fmt.Sprintf("GNGGA,%02d%02d%05.2f,%s,%s,%s,%s,%d,%02d,%.1f,%.2f,M,%.2f,M,%.0f,%04d", t.Hour(), t.Minute(),
			float64(t.Second())+float64(t.Nanosecond())/1e9, lat, ns, lon, ew, 4, r.Satellites.Or(0), r.HDOP.Or(0), p.Height-u, u, r.DiffAge.Or(0), r.DiffStation.Or(0)))
	},
	"RMC": func(r *wire.Reading) string {
		t, _ := r.UTC.Value()
		p, _ := r.Position.Value()
		lat, ns := sprintfAngle(p.Lat, 2, "N", "S")
		lon, ew := sprintfAngle(p.Lon, 3, "E", "W")
		v, letter := r.Variation.Or(0)*180/math.Pi, "E"
		if v < 0 {
			v, letter = -v, "W"
		}
		return sprintfSentence(fmt.Sprintf("GNRMC,%02d%02d%05.2f,A,%s,%s,%s,%s,%.2f,%.2f,%02d%02d%02d,%.1f,%s,R,V", t.Hour(), t.Minute(),
			float64(t.Second())+float64(t.Nanosecond())/1e9, lat, ns, lon, ew, r.SpeedMS.Or(0)*3600/1852, r.CourseRad.Or(0)*180/math.Pi,
			t.Day(), int(t.Month()), t.Year()%100, v, letter))
	},
	"VTG": func(r *wire.Reading) string {
		c := r.CourseRad.Or(0) * 180 / math.Pi
		return sprintfSentence(fmt.Sprintf("GNVTG,%.2f,T,%.2f,M,%.3f,N,%.3f,K,R", c, math.Mod(c-r.Variation.Or(0)*180/math.Pi+360, 360),
			r.SpeedMS.Or(0)*3600/1852, r.SpeedMS.Or(0)*3.6))
	},
	"ZDA": func(r *wire.Reading) string {
		t, _ := r.UTC.Value()
		return sprintfSentence(fmt.Sprintf("GPZDA,%02d%02d%05.2f,%02d,%02d,%04d,00,00", t.Hour(), t.Minute(),
			float64(t.Second())+float64(t.Nanosecond())/1e9, t.Day(), int(t.Month()), t.Year()))
	},
	"HDT": func(r *wire.Reading) string {
		return sprintfSentence(fmt.Sprintf("HEHDT,%.2f,T", r.Heading.Or(0)*180/math.Pi))
	},
	"ROT": func(r *wire.Reading) string {
		return sprintfSentence(fmt.Sprintf("TIROT,%.2f,A", r.RateOfTurn.Or(0)*180/math.Pi*60))
	},
	"XDR": func(r *wire.Reading) string {
		return sprintfSentence(fmt.Sprintf("YXXDR,A,%.3f,D,PITCH,A,%.3f,D,ROLL,D,%.3f,M,HEAVE", r.Pitch.Or(0)*180/math.Pi, r.Roll.Or(0)*180/math.Pi, r.HeaveM.Or(0)))
	},
}

// sprintfMore are the others.
var sprintfMore = map[string]func(r *wire.Reading) string{
	"DTM": func(r *wire.Reading) string {
		return sprintfSentence(fmt.Sprintf("GPDTM,%s,%s,%.4f,N,%.4f,E,%.1f,%s", "W84", "", 0., 0., 0., "W84"))
	},
	"GBS": func(r *wire.Reading) string {
		t, _ := r.UTC.Value()
		s, _ := r.Sigma.Value()
		return sprintfSentence(fmt.Sprintf("GNGBS,%02d%02d%05.2f,%.1f,%.1f,%.1f,,,,,,", t.Hour(), t.Minute(), float64(t.Second())+float64(t.Nanosecond())/1e9, s.Y, s.X, s.Z))
	},
	"GLL": func(r *wire.Reading) string {
		t, _ := r.UTC.Value()
		p, _ := r.Position.Value()
		lat, ns := sprintfAngle(p.Lat, 2, "N", "S")
		lon, ew := sprintfAngle(p.Lon, 3, "E", "W")
		return sprintfSentence(fmt.Sprintf("GNGLL,%s,%s,%s,%s,%02d%02d%05.2f,A,R", lat, ns, lon, ew, t.Hour(), t.Minute(), float64(t.Second())+float64(t.Nanosecond())/1e9))
	},
	"GNS": func(r *wire.Reading) string {
		t, _ := r.UTC.Value()
		p, _ := r.Position.Value()
		lat, ns := sprintfAngle(p.Lat, 2, "N", "S")
		lon, ew := sprintfAngle(p.Lon, 3, "E", "W")
		u := r.Undulation.Or(0)
		return sprintfSentence(fmt.Sprintf("GNGNS,%02d%02d%05.2f,%s,%s,%s,%s,%s,%02d,%.1f,%.2f,%.2f,%.0f,%04d,V", t.Hour(), t.Minute(),
			float64(t.Second())+float64(t.Nanosecond())/1e9, lat, ns, lon, ew, "RNNN", r.Satellites.Or(0), r.HDOP.Or(0), p.Height-u, u, r.DiffAge.Or(0), r.DiffStation.Or(0)))
	},
	"GSA": func(r *wire.Reading) string {
		ids := ""
		n := 0
		for _, s := range r.Sky {
			if s.Used {
				ids += fmt.Sprintf("%02d,", s.Number)
				n++
			}
		}
		return sprintfSentence(fmt.Sprintf("GNGSA,A,3,%s%s%.2f,%.2f,%.2f,1", ids, strings.Repeat(",", 12-n), r.PDOP.Or(0), r.HDOP.Or(0), r.VDOP.Or(0)))
	},
	"GST": func(r *wire.Reading) string {
		t, _ := r.UTC.Value()
		s, _ := r.Sigma.Value()
		mean, half := (s.X*s.X+s.Y*s.Y)/2, (s.Y*s.Y-s.X*s.X)/2
		root := math.Sqrt(half*half + r.SigmaEN*r.SigmaEN)
		return sprintfSentence(fmt.Sprintf("GNGST,%02d%02d%05.2f,%.3f,%.3f,%.3f,%.1f,%.3f,%.3f,%.3f", t.Hour(), t.Minute(), float64(t.Second())+float64(t.Nanosecond())/1e9,
			math.Sqrt(s.X*s.X+s.Y*s.Y)/r.HDOP.Or(1), math.Sqrt(mean+root), math.Sqrt(mean-root), math.Mod(math.Atan2(r.SigmaEN, half)*90/math.Pi+180, 180), s.Y, s.X, s.Z))
	},
	"GSV": func(r *wire.Reading) string {
		total, out := (len(r.Sky)+3)/4, ""
		for k := range total {
			part := ""
			for _, s := range r.Sky[k*4 : min(k*4+4, len(r.Sky))] {
				snr := ""
				if x, ok := s.SNR.Value(); ok {
					snr = fmt.Sprintf("%02.0f", x)
				}
				part += fmt.Sprintf("%02d,%02.0f,%03.0f,%s,", s.Number, s.Elevation*180/math.Pi, s.Azimuth*180/math.Pi, snr)
			}
			out += sprintfSentence(fmt.Sprintf("GPGSV,%d,%d,%02d,%s1", total, k+1, len(r.Sky), part))
		}
		return out
	},
	"HDG": func(r *wire.Reading) string {
		v, letter := r.Variation.Or(0)*180/math.Pi, "E"
		h := math.Mod(r.Heading.Or(0)*180/math.Pi-v+360, 360)
		if v < 0 {
			v, letter = -v, "W"
		}
		return sprintfSentence(fmt.Sprintf("HCHDG,%.2f,,,%.2f,%s", h, v, letter))
	},
	"THS": func(r *wire.Reading) string {
		return sprintfSentence(fmt.Sprintf("HETHS,%.2f,%c", r.Heading.Or(0)*180/math.Pi, 'A'))
	},
	"TXT": func(r *wire.Reading) string {
		return sprintfSentence(fmt.Sprintf("GNTXT,%02d,%02d,%02d,%s", 1, 1, 1, DefaultText))
	},
	"VBW": func(r *wire.Reading) string {
		w, _ := r.WaterSpeed.Value()
		g, _ := r.VelocityEN.Value()
		sin, cos := math.Sincos(r.Heading.Or(0))
		return sprintfSentence(fmt.Sprintf("VDVBW,%.2f,%.2f,A,%.2f,%.2f,A,,V,,V", w[0]*3600/1852, w[1]*3600/1852, (g[0]*sin+g[1]*cos)*3600/1852, (g[0]*cos-g[1]*sin)*3600/1852))
	},
}

func init() { maps.Copy(sprintf, sprintfMore) }

func sprintfAngle(rad float64, width int, positive, negative string) (string, string) {
	deg, letter := rad*180/math.Pi, positive
	if deg < 0 {
		deg, letter = -deg, negative
	}
	whole := math.Floor(deg)
	return fmt.Sprintf("%0*d%08.5f", width, int(whole), (deg-whole)*60), letter
}

func sprintfSentence(body string) string {
	var sum byte
	for i := range len(body) {
		sum ^= body[i]
	}
	return fmt.Sprintf("$%s*%02X\r\n", body, sum)
}
