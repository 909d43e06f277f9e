//go:build race

package line

// underRace: the race detector allocates, and empties pools at random.
const underRace = true
