package library

import (
	"maps"
	"reflect"
	"slices"
	"strings"
	"testing"

	"swellbench/scenarios"
	"swellbench/scenarios/gnss"
	"swellbench/scenarios/heave"
	"swellbench/scenarios/inertial"
	"swellbench/scenarios/receiver"
	"swellbench/scenarios/sea/waves"
	"swellbench/scenarios/track"
)

// keys lists the keys of a section that are set, by their names in the file.
func keys(section any) (set, all []string) {
	v := reflect.ValueOf(section)
	for i := range v.NumField() {
		if name := v.Type().Field(i).Tag.Get("yaml"); name != "" && name != "-" {
			name, _, _ = strings.Cut(name, ",")
			if all = append(all, name); !v.Field(i).IsZero() {
				set = append(set, name)
			}
		}
	}
	return set, all
}

// What can happen is shown by some scenario of the library. The wants come from the tables and types themselves, so that
// what is new there is missed here.
func TestCoverage(t *testing.T) {
	shown := map[string]map[string]string{} // by part, then by what is shown: the scenario
	var all []*scenarios.Scenario
	for _, name := range Names() {
		s, err := Open(name)
		if err != nil {
			t.Fatal(err)
		}
		all = append(all, s)
	}
	show := func(part string, s *scenarios.Scenario, words ...string) {
		if shown[part] == nil {
			shown[part] = map[string]string{}
		}
		for _, w := range words {
			if w != "" {
				shown[part][w] = s.Name
			}
		}
	}
	for _, s := range all {
		for _, c := range s.GNSS.Conditions {
			show("condition", s, string(c.Condition))
			for _, x := range c.Sectors {
				show("sector", s, fixedTo(x))
			}
		}
		for _, x := range s.GNSS.Sectors {
			show("sector", s, fixedTo(x))
		}
		show("receiver start", s, string(s.GNSS.StartUp))
		if a := s.GNSS.Almanac; a != nil {
			show("sky", s, string(a.Form))
		}
		if s.GNSS.Entered != nil {
			show("sky", s, "entered-position")
		}
		set, _ := keys(s.Device.Clock)
		show("clock", s, set...)
		set, _ = keys(s.Device.Clock.LeapSecond)
		show("leap second", s, set...)
		show("leap second shown", s, string(s.Device.Clock.LeapSecond.Shown))
		set, _ = keys(s.Device.StartUp)
		show("device start", s, set...)
		set, _ = keys(s.Device.Latency)
		show("latency", s, set...)
		if s.Inertial != nil {
			show("inertial grade", s, string(s.Inertial.Grade))
		}
		show("heave filter", s, string(s.Device.Heave.Output))
		set, _ = keys(s.Sea)
		show("sea", s, set...)
		for _, w := range s.Sea.Systems {
			show("spectrum", s, string(w.Spectrum))
			set, _ := keys(w)
			show("sea system", s, set...)
			if w.Spreading != nil {
				show("spreading", s, string(w.Spreading.Law))
			}
		}
		if len(s.Sea.Systems) > 1 {
			show("sea", s, "swell and wind sea")
		}
		set, _ = keys(s.Hull)
		show("hull", s, set...)
		for _, m := range s.Track.Manoeuvres {
			set, _ := keys(m)
			show("manoeuvre", s, set...)
			if m.Run != nil {
				set, _ := keys(*m.Run)
				show("run", s, set...)
			}
			if m.Route != nil {
				set, _ := keys(*m.Route)
				show("route", s, set...)
			}
		}
		set, _ = keys(s.Track)
		show("track", s, set...)
		if len(s.Streams) > 1 {
			show("streams", s, "two ports")
		}
	}
	keysOf := func(section any) []string { _, all := keys(section); return all }
	var conditions, grades []string
	for _, c := range gnss.Conditions {
		conditions = append(conditions, string(c.Name))
	}
	for _, g := range inertial.Grades {
		grades = append(grades, string(g.Name))
	}
	without := func(all []string, but ...string) []string {
		return slices.DeleteFunc(slices.Clone(all), func(s string) bool { return slices.Contains(but, s) })
	}
	for _, c := range []struct {
		part string
		want []string
	}{
		{"condition", conditions},
		{"sector", gnss.Earth.SchemaEnum()},
		{"receiver start", []string{"cold"}},
		{"sky", []string{"yuma", "entered-position"}},
		{"clock", keysOf(receiver.Spec{})},
		{"leap second", keysOf(receiver.LeapSecond{})},
		{"leap second shown", receiver.Missed.SchemaEnum()},
		{"device start", []string{"silence", "alignment"}}, // what is only heard when asked for shows nothing by itself
		{"latency", keysOf(scenarios.Latency{})},
		{"inertial grade", grades},
		{"heave filter", heave.Delayed.SchemaEnum()},
		{"spectrum", waves.Jonswap.SchemaEnum()},
		{"sea", []string{"systems", "depth", "swell and wind sea"}},
		{"sea system", keysOf(waves.System{})},
		{"spreading", waves.CosN.SchemaEnum()},
		{"hull", []string{"gm", "roll-period", "roll-damping", "rao-table"}},
		{"manoeuvre", keysOf(track.Manoeuvre{})},
		{"run", without(keysOf(track.Run{}), "to", "radius", "course")}, // routes run to way-points
		{"route", without(keysOf(track.Route{}), "radius")},
		{"track", keysOf(track.Spec{})},
		{"streams", []string{"two ports"}},
	} {
		for _, w := range c.want {
			if shown[c.part][w] == "" {
				t.Errorf("%s: no scenario shows %s; shown: %v", c.part, w, slices.Sorted(maps.Keys(shown[c.part])))
			}
		}
	}
}

func fixedTo(s gnss.Sector) string {
	if s.Fixed == "" {
		return string(gnss.Earth)
	}
	return string(s.Fixed)
}
