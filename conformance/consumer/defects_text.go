package consumer

import (
	"bytes"
	"math"

	"swellbench/emulator/wire/nmea0183"
)

// textDefects are those of how numbers are read off the text of a sentence.
var textDefects = []Defect{
	{"columns-fixed", "takes the minutes of latitude and longitude from the columns that they have with four decimals", Say, "parse.values", "position-cut-by-column", columnsFixed},
	{"decimal-point-unread", "stops reading numbers at the decimal point, as where the computer writes a comma", Read, "parse.values", "decimal-mark-follows-locale", decimalPointUnread},
}

// columnsFixed leaves the point out and counts digits: of minutes with six decimals it makes a hundred times as many.
func columnsFixed(s *stages) {
	latitudes := map[string]int{"GGA": 2, "RMC": 3, "GLL": 1, "GNS": 2} // the field
	scale := 1.0
	checked(s, func(text []byte) bool {
		fields := bytes.Split(text, []byte{','})
		if i, ok := latitudes[kindOf(text)]; ok && i < len(fields) {
			_, decimals, _ := bytes.Cut(fields[i], []byte{'.'})
			scale = math.Pow10(len(decimals) - 4)
		}
		return true
	})
	saying(s, func(m *message, _ nmea0183.Sentence) {
		for _, q := range []quantity{latitude, longitude} {
			if v := &m.values[q]; v.known {
				whole, minutes := minutesOf(v.x / perDegree)
				v.x = math.Copysign(whole+minutes*scale/60, v.x) * perDegree
			}
		}
	})
}

func decimalPointUnread(s *stages) {
	units := map[quantity]float64{altitude: 1, undulation: 1, speed: perKnot, course: perDegree, heading: perDegree, pitch: perDegree, roll: perDegree, heave: 1, rateOfTurn: perDegMinute}
	reading(s, func(m *message) {
		for q, unit := range units {
			if v := &m.values[q]; v.known {
				v.x = math.Trunc(v.x/unit) * unit
			}
		}
	})
	coordinates(s, func(deg float64) float64 {
		whole, minutes := minutesOf(deg)
		return math.Copysign(whole+math.Floor(minutes+1e-9)/60, deg)
	})
}
