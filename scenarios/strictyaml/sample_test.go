package strictyaml

import (
	"fmt"
	"time"

	"swellbench/scenarios/units"
)

// The types of the tests: one of everything.
type voyage struct {
	Name     string             `yaml:"name,required" doc:"how the voyage is called"`
	Start    moment             `yaml:"start"`
	Arrival  time.Time          `yaml:"arrival"`
	Speed    units.Speed        `yaml:"speed,required"`
	Seed     uint64             `yaml:"seed"`
	Offset   int8               `yaml:"offset"`
	Factor   float64            `yaml:"factor"`
	Loud     bool               `yaml:"loud"`
	Flag     colour             `yaml:"flag"`
	Crew     *crew              `yaml:"crew"`
	Legs     []leg              `yaml:"legs"`
	Box      [3]units.Length    `yaml:"box"`
	Marks    map[string]float64 `yaml:"marks"`
	Chart    chart              `yaml:"chart"`
	Notes    []string           `yaml:"notes"`
	common   `yaml:",inline"`
	Computed int `yaml:"-"`
	private  int
}

type common struct {
	Port string `yaml:"port"`
}

type crew struct {
	Count int   `yaml:"count,required"`
	Boss  *crew `yaml:"boss"`
}

type leg struct {
	To    string         `yaml:"to,required"`
	Pause units.Duration `yaml:"pause"`
	Sub   []leg          `yaml:"sub"`
}

// chart has a key "file" of its own.
type chart struct {
	File  string `yaml:"file"`
	Scale int    `yaml:"scale"`
}

type colour string

func (colour) SchemaEnum() []string { return []string{"red", "green", "white"} }

// moment is "now" or an instant.
type moment struct {
	now bool
	at  time.Time
}

type word string

func (word) SchemaEnum() []string { return []string{"now"} }

func (moment) SchemaOneOf() []any { return []any{word(""), time.Time{}} }

func (m *moment) DecodeYAML(n Node) error {
	if n.Text() == "now" {
		m.now = true
		return nil
	}
	if n.Kind() >= Sequence {
		return fmt.Errorf("no word")
	}
	return n.Decode(&m.at)
}

var _ = voyage{private: 1} // it must not be mistaken for a key
