package waves

import "math"

// A State is one row of the code table of the state of the sea.
type State struct {
	Code  int
	Name  string
	FromM float64 // the significant height above which the code begins, m
	ToM   float64 // the height up to which it goes, included, m; +Inf for the last
	TypeM float64 // the height that a scenario takes for the code: the middle of the class, m
}

// States is the table by code. Source: WMO-No. 306, code table 3700. A height on a bound takes the lower code (from
// memory; a register of the table reads "greater than ... up to and including").
var States = [10]State{
	{0, "calm (glassy)", 0, 0, 0},
	{1, "calm (rippled)", 0, 0.1, 0.05},
	{2, "smooth (wavelets)", 0.1, 0.5, 0.3},
	{3, "slight", 0.5, 1.25, 0.875},
	{4, "moderate", 1.25, 2.5, 1.875},
	{5, "rough", 2.5, 4, 3.25},
	{6, "very rough", 4, 6, 5},
	{7, "high", 6, 9, 7.5},
	{8, "very high", 9, 14, 11.5},
	{9, "phenomenal", 14, math.Inf(1), 14.5}, // no middle: half a metre into the class
}

// StateOf returns the state of a sea of that significant height, m; code 9 above all bounds, 0 for 0 and below.
func StateOf(hsM float64) State {
	for _, s := range States {
		if hsM <= s.ToM {
			return s
		}
	}
	return States[9]
}

// A Wind is one row of the Beaufort scale: wind speeds at 10 m, rounded to 0.1 m/s, and the heights of the waves it
// probably raises in the open sea, 0 where the scale gives none. ToMS is +Inf for a hurricane.
type Wind struct {
	Name                string
	FromMS, ToMS        float64
	ProbableM, HighestM float64
}

// Beauforts is the scale by force. Source: WMO Beaufort equivalents; the wave heights from memory.
var Beauforts = [13]Wind{
	{"calm", 0.0, 0.2, 0, 0},
	{"light air", 0.3, 1.5, 0.1, 0.1},
	{"light breeze", 1.6, 3.3, 0.2, 0.3},
	{"gentle breeze", 3.4, 5.4, 0.6, 1.0},
	{"moderate breeze", 5.5, 7.9, 1.0, 1.5},
	{"fresh breeze", 8.0, 10.7, 2.0, 2.5},
	{"strong breeze", 10.8, 13.8, 3.0, 4.0},
	{"near gale", 13.9, 17.1, 4.0, 5.5},
	{"gale", 17.2, 20.7, 5.5, 7.5},
	{"strong gale", 20.8, 24.4, 7.0, 10.0},
	{"storm", 24.5, 28.4, 9.0, 12.5},
	{"violent storm", 28.5, 32.6, 11.5, 16.0},
	{"hurricane", 32.7, math.Inf(1), 14.0, 0},
}

// Beaufort is the force of a wind of that speed in m/s, 10 m above the sea, 0 to 12.
func Beaufort(windMS float64) int {
	tenths := math.Round(windMS * 10)
	for force, w := range Beauforts {
		if tenths <= math.Round(w.ToMS*10) {
			return force
		}
	}
	return 12
}

// BeaufortMS is the wind speed of a force: 0.836·B^1.5 m/s. Source: WMO code 1100, 1946, from memory. It lies inside the
// class of every force.
func BeaufortMS(force float64) float64 { return 0.836 * force * math.Sqrt(force) }
