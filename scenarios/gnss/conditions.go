package gnss

import (
	"math"
	"slices"

	"swellbench/scenarios/units"
)

// A ConditionRow is one kind of condition.
type ConditionRow struct {
	Name   ConditionName
	What   string   // one line for a person: what happens
	Keys   []string // of [Condition] that say more
	Needed []string // of those, what a file must say
	Stacks bool     // several may hold at once
}

// Conditions is the table of conditions.
var Conditions = []ConditionRow{
	{Name: Blocked, What: "no satellite reaches either antenna: no fix, no heading from the baseline"},
	{Name: PartlyBlocked, What: "sectors of the sky are hidden: fewer satellites, worse geometry, no fix below four",
		Keys: []string{"sectors"}, Needed: []string{"sectors"}, Stacks: true},
	{Name: CorrectionsLost, What: "no corrections arrive: their age grows, and the fix steps down as they go out of date"},
	{Name: Interference, What: "all satellites are weaker: more noise, and the lowest are lost first",
		Keys: []string{"loss-db"}, Needed: []string{"loss-db"}},
	{Name: Multipath, What: "reflections pull the position to and fro, or to one side, which no reported accuracy shows",
		Keys: []string{"amplitude", "vertical", "period", "toward", "one-sided"}, Needed: []string{"amplitude", "period"}, Stacks: true},
	{Name: PositionJump, What: "the position is off by a constant, at once and unannounced, as with a wrong integer or base position",
		Keys: []string{"jump"}, Needed: []string{"jump"}, Stacks: true},
	{Name: FrozenReceiver, What: "the receiver repeats its last answer"},
	{Name: ReceiverRestart, What: "the receiver goes down and starts anew: no answer, then satellites, then a fix; until is when it is up again",
		Keys: []string{"start"}},
	{Name: SecondaryLost, What: "the secondary antenna hears nothing: position goes on, no heading from the baseline"},
	{Name: BothLost, What: "neither antenna hears anything, as with a cut cable: no fix, no heading from the baseline"},
	{Name: WrongInteger, What: "the baseline is off by whole wavelengths: the heading jumps by 0.19 m over its length and stays valid",
		Keys: []string{"cycles"}},
}

// ConditionName is a name of the table [Conditions].
type ConditionName string

// The conditions.
const (
	Blocked         ConditionName = "blocked"
	PartlyBlocked   ConditionName = "partly-blocked"
	CorrectionsLost ConditionName = "corrections-lost"
	Interference    ConditionName = "interference"
	Multipath       ConditionName = "multipath"
	PositionJump    ConditionName = "position-jump"
	FrozenReceiver  ConditionName = "frozen-receiver"
	ReceiverRestart ConditionName = "receiver-restart"
	SecondaryLost   ConditionName = "secondary-lost"
	BothLost        ConditionName = "both-lost"
	WrongInteger    ConditionName = "wrong-integer"
)

// SchemaEnum lists the names.
func (ConditionName) SchemaEnum() []string {
	names := make([]string, len(Conditions))
	for i, c := range Conditions {
		names[i] = string(c.Name)
	}
	return names
}

// row finds a condition in the table.
func (n ConditionName) row() (ConditionRow, bool) {
	i := slices.IndexFunc(Conditions, func(r ConditionRow) bool { return r.Name == n })
	if i < 0 {
		return ConditionRow{}, false
	}
	return Conditions[i], true
}

// A Condition holds from one scenario time until another: From ≤ t < Until.
type Condition struct {
	Condition ConditionName   `yaml:"condition,required" doc:"what happens"`
	From      units.Duration  `yaml:"from,required" doc:"scenario time when it begins"`
	Until     *units.Duration `yaml:"until" doc:"scenario time when it is over. Default: the end of the run; of receiver-restart: from plus times.boot"`

	Sectors   []Sector        `yaml:"sectors" doc:"with partly-blocked: what hides the sky"`
	LossDB    *float64        `yaml:"loss-db" doc:"with interference: by how many dB the carrier to noise density falls, 0 to 60"`
	Amplitude *units.Length   `yaml:"amplitude" doc:"with multipath: greatest horizontal error of a code position; a fixed one is off by a quarter wavelength (47.6 mm) at most"`
	Vertical  *units.Length   `yaml:"vertical" doc:"with multipath: greatest vertical error. Default: 0 m"`
	Period    *units.Duration `yaml:"period" doc:"with multipath: of the slow swing, 1 s or more"`
	Toward    *units.Angle    `yaml:"toward" doc:"with multipath: true direction of the horizontal error. Default: 0 deg"`
	OneSided  bool            `yaml:"one-sided" doc:"with multipath: between nothing and the amplitude, instead of to and fro"`
	Jump      *Offset         `yaml:"jump" doc:"with position-jump: where the position jumps"`
	Start     StartUp         `yaml:"start" doc:"with receiver-restart: how much it still knows. Default: warm"`
	Cycles    *int            `yaml:"cycles" doc:"with wrong-integer: wavelengths, positive turns the heading to starboard, -5 to 5 but 0. Default: 1"`
}

// An Offset is a vector in the local level frame.
type Offset struct {
	East  units.Length `yaml:"east" doc:"positive east"`
	North units.Length `yaml:"north" doc:"positive north"`
	Up    units.Length `yaml:"up" doc:"positive up"`
}

// keys lists which of the keys that say more are set.
func (c Condition) keys() []string {
	var keys []string
	for _, k := range []struct {
		name string
		set  bool
	}{
		{"sectors", len(c.Sectors) > 0}, {"loss-db", c.LossDB != nil}, {"amplitude", c.Amplitude != nil},
		{"vertical", c.Vertical != nil}, {"period", c.Period != nil}, {"toward", c.Toward != nil},
		{"one-sided", c.OneSided}, {"jump", c.Jump != nil}, {"start", c.Start != ""}, {"cycles", c.Cycles != nil},
	} {
		if k.set {
			keys = append(keys, k.name)
		}
	}
	return keys
}

// end is when the condition is over, +Inf where only the run ends it.
func (c Condition) end(boot float64) float64 {
	switch {
	case c.Until != nil:
		return float64(*c.Until)
	case c.Condition == ReceiverRestart:
		return float64(c.From) + boot
	}
	return math.Inf(1)
}

// Holds tells whether a condition of that name is in force at scenario time t, in s.
func (s Spec) Holds(name ConditionName, t float64) bool {
	boot := s.Times.settings().boot
	return slices.ContainsFunc(s.Conditions, func(c Condition) bool {
		return c.Condition == name && t >= float64(c.From) && t < c.end(boot)
	})
}
