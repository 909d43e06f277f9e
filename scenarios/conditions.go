package scenarios

import "swellbench/scenarios/units"

// A ConditionRow is one kind of GNSS condition.
type ConditionRow struct {
	Name ConditionName
	What string // one line for a person: what the receiver sees
}

// Conditions is the table of GNSS conditions.
var Conditions = []ConditionRow{
	{Blocked, "no satellite reaches either antenna: no fix, no heading from the baseline"},
}

// ConditionName is a name of the table [Conditions].
type ConditionName string

// The conditions.
const Blocked ConditionName = "blocked"

// SchemaEnum lists the names.
func (ConditionName) SchemaEnum() []string {
	names := make([]string, len(Conditions))
	for i, c := range Conditions {
		names[i] = string(c.Name)
	}
	return names
}

// A Condition holds from one scenario time until another: From ≤ t < Until.
type Condition struct {
	Condition ConditionName  `yaml:"condition,required" doc:"what happens"`
	From      units.Duration `yaml:"from,required" doc:"scenario time when it begins"`
	Until     units.Duration `yaml:"until,required" doc:"scenario time when it is over"`
}

// Holds tells whether a condition of that name is in force at scenario time t, in s.
func (g GNSS) Holds(name ConditionName, t float64) bool {
	for _, c := range g.Conditions {
		if c.Condition == name && t >= float64(c.From) && t < float64(c.Until) {
			return true
		}
	}
	return false
}
