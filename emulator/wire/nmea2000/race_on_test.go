//go:build race

package nmea2000

const raceEnabled = true
