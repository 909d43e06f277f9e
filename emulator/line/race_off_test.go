//go:build !race

package line

const underRace = false
