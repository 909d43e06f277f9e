//go:build !race

package waves

const raceEnabled = false
