package gnss

import (
	_ "embed"
	"encoding/csv"
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"

	"swellbench/scenarios/frame"
	"swellbench/scenarios/geo"
)

// MaxSatellites bounds a constellation.
const MaxSatellites = 64

// The nominal constellation. Source: GPS Standard Positioning Service Performance Standard, October 2001, table 3-1,
// which the file names with its epoch; semi-major axis, inclination and Greenwich angle stand there too.
const (
	nominalAxisM        = 26559.7e3
	nominalInclination  = 55 * math.Pi / 180
	nominalGreenwich    = (18 + 36.0/60 + 14.4/3600) * math.Pi / 12 // at the epoch
	earthRotationRadS   = 7.2921151467e-5                           // IS-GPS-200, table 20-IV
	gravitationalGPS    = 3.986005e14                               // m³/s², IS-GPS-200, table 20-IV: what almanacs are made for
	secondsInWeek       = 604800
	weeksInEra          = 1024
	gpsEpochUnix        = 315964800 // 1980-01-06 00:00 UTC
	nominalSatellites   = 24
	lightSpeedMS        = 299792458.0
	l1FrequencyHz       = 1575.42e6 // IS-GPS-200, 3.3.1.1
	l1WavelengthM       = lightSpeedMS / l1FrequencyHz
	quarterWavelengthM  = l1WavelengthM / 4
	tooFarInTimeSeconds = 1e12 // s; beyond it a float64 does not tell a millisecond
)

var nominalEpoch = time.Date(1993, time.July, 1, 0, 0, 0, 0, time.UTC)

//go:embed gps-24-slot.csv
var slotTable string

// A Satellite is one of a constellation.
type Satellite struct {
	PRN     int
	Slot    string // of the nominal constellation, such as "A1"; "" for one of an almanac
	Healthy bool
	Orbit   Orbit
}

// Nominal returns the nominal constellation of 24 slots. Slots have no numbers of their own: A1 stands in as PRN 1, A2
// as 2, and so on to F4 as 24.
//
// It is a geometry, not a prediction: against that epoch the real planes have turned by many degrees since, and the
// real slots have been expanded. For a real date take an almanac. Seconds are counted as UTC counts them.
func Nominal() []Satellite {
	rows, err := readSlots(slotTable)
	if err != nil { // embedded, and a test reads it
		return nil
	}
	return rows
}

func readSlots(table string) ([]Satellite, error) {
	r := csv.NewReader(strings.NewReader(table))
	r.Comment = '#'
	r.FieldsPerRecord = 3
	rows, err := r.ReadAll()
	if err != nil {
		return nil, fmt.Errorf("slot table: %w", err)
	}
	if len(rows) != 1+nominalSatellites {
		return nil, fmt.Errorf("slot table: %d slots, want %d", len(rows)-1, nominalSatellites)
	}
	var sats []Satellite
	for i, row := range rows[1:] {
		raan, err1 := strconv.ParseFloat(row[1], 64)
		u, err2 := strconv.ParseFloat(row[2], 64)
		if err1 != nil || err2 != nil {
			return nil, fmt.Errorf("slot table: slot %s has no numbers: %q, %q", row[0], row[1], row[2])
		}
		sats = append(sats, Satellite{PRN: i + 1, Slot: row[0], Healthy: true, Orbit: Orbit{
			SemiMajorM:    nominalAxisM,
			Inclination:   nominalInclination,
			MeanMotion:    math.Sqrt(geo.GravitationalM3S2 / (nominalAxisM * nominalAxisM * nominalAxisM)),
			NodeLongitude: frame.Rad(raan) - nominalGreenwich,
			NodeRate:      -earthRotationRadS,
			MeanAnomaly:   frame.Rad(u),
			EpochUnix:     float64(nominalEpoch.Unix()),
		}})
	}
	return sats, nil
}

// unixSeconds is an instant as seconds since 1970, counted as UTC counts them.
func unixSeconds(t time.Time) float64 { return float64(t.Unix()) + float64(t.Nanosecond())*1e-9 }
