package gnss

import (
	"math"
	"strings"
	"testing"
	"time"

	"swellbench/scenarios/strictyaml"
	"swellbench/scenarios/units"
)

func TestConditionsTable(t *testing.T) {
	keys := map[string]bool{}
	for i, r := range Conditions {
		if r.Name == "" || r.What == "" {
			t.Errorf("row %d has no name or no text", i)
		}
		for _, o := range Conditions[:i] {
			if o.Name == r.Name {
				t.Errorf("%s stands twice", r.Name)
			}
		}
		for _, k := range r.Keys {
			keys[k] = true
		}
		for _, k := range r.Needed {
			if !strings.Contains(strings.Join(r.Keys, " "), k) {
				t.Errorf("%s needs %s, which it does not have", r.Name, k)
			}
		}
		// Each does something: the state or the satellites differ from those of a run without it.
		c := Condition{Condition: r.Name, From: 10, Until: seconds(12), Sectors: nil}
		switch r.Name {
		case PartlyBlocked:
			c.Sectors = []Sector{{Below: deg(45)}}
		case Interference:
			c.LossDB = new(6.0)
		case Multipath:
			c.Amplitude, c.Period = new(units.Length(1)), seconds(8)
		case PositionJump:
			c.Jump = &Offset{Up: 1}
		}
		spec := Spec{Fix: RTKFixed, Baseline: twoAntennas, Errors: &Errors{}, Corrections: Corrections{FixedUntil: seconds(1.5), FloatUntil: seconds(1.5), DifferentialUntil: seconds(1.5)}}
		without := receiver(t, spec, 20)
		spec.Conditions = []Condition{c}
		with := receiver(t, spec, 20)
		if with.At(11.9) == without.At(11.9) {
			t.Errorf("%s changes nothing", r.Name)
		}
		if with.At(9.9) != without.At(9.9) {
			t.Errorf("%s changes what was before it", r.Name)
		}
		if !(Spec{Conditions: []Condition{c}}).Holds(r.Name, 10) || (Spec{Conditions: []Condition{c}}).Holds(r.Name, 12) {
			t.Errorf("%s holds at the wrong time", r.Name)
		}
	}
	for _, k := range (Condition{Sectors: make([]Sector, 1), LossDB: new(1.0), Amplitude: new(units.Length(1)), Vertical: new(units.Length(1)),
		Period: seconds(1), Toward: deg(1), OneSided: true, Jump: &Offset{}, Start: Hot, Cycles: new(1)}).keys() {
		if !keys[k] {
			t.Errorf("no condition has the key %s", k)
		}
		delete(keys, k)
	}
	for k := range keys {
		t.Errorf("a row has the key %s, which no condition can say", k)
	}
}

const fullYAML = `
fix: rtk-fixed
satellites: 16
hdop: 0.8
mask: 10 deg
max-pdop: 12
sectors:
  - {what: quay wall, left: 200 deg, right: 320 deg, below: 35 deg}
  - {what: wheelhouse, fixed-to: vessel, left: 150 deg, right: 210 deg, below: 40 deg}
  - {what: bridge, above: 60 deg}
corrections: {interval: 1 s, latency: 400 ms, fixed-until: 5 s, float-until: 15 s, differential-until: 30 s, base-distance: 8 km, station: 7}
times: {hot: 2 s, warm: 20 s, cold: 60 s, fixed: 8 s, heading: 5 s, boot: 3 s}
heading: {sigma: 0.15 deg, min-satellites: 6}
errors:
  autonomous: {range: 2 m, correlation: 200 s, range-rate: 0.05 m/s}
start-up: cold
entered-position: {latitude: 50.1 deg, longitude: -4.2 deg, height: 55 m, sigma: 30 m}
conditions:
  - {condition: blocked, from: 14.5 s, until: 26.5 s}
  - {condition: partly-blocked, from: 30 s, until: 40 s, sectors: [{left: 0 deg, right: 180 deg, below: 60 deg}]}
  - {condition: interference, from: 41 s, until: 45 s, loss-db: 9}
  - {condition: multipath, from: 46 s, until: 50 s, amplitude: 1.5 m, period: 30 s, toward: 90 deg, one-sided: true}
  - {condition: position-jump, from: 51 s, until: 52 s, jump: {east: 1 m, north: -2 m}}
  - {condition: receiver-restart, from: 53 s, start: warm}
  - {condition: wrong-integer, from: 54 s, cycles: -1}
`

// A file says all this, and the old keys alone.
func TestYAML(t *testing.T) {
	for _, text := range []string{fullYAML, "fix: rtk-fixed\nsatellites: 16\nhdop: 0.8\nconditions:\n  - {condition: blocked, from: 14.5 s, until: 26.5 s}\n", "errors: {}\n"} {
		var s Spec
		doc, err := strictyaml.DecodeBytes("test.yaml", []byte(text), &s)
		if err != nil {
			t.Fatal(err)
		}
		if err := doc.Problems(s.Validate(60)); err != nil {
			t.Error(err)
		}
		if _, err := New(s, testStart, still, 60, 1); err != nil {
			t.Error(err)
		}
		if strings.HasPrefix(text, "errors") && s.Errors == nil {
			t.Error("errors: {} says nothing")
		}
	}
	var s Spec
	_, err := strictyaml.DecodeBytes("test.yaml", []byte("conditions:\n  - {condition: blokked, from: 1 s}\n"), &s)
	if err == nil || !strings.Contains(err.Error(), "did you mean blocked?") || !strings.HasPrefix(err.Error(), "test.yaml:2:") {
		t.Errorf("unknown condition: %v", err)
	}
	if _, err := strictyaml.Schema(Spec{}, "test"); err != nil {
		t.Error(err)
	}
}

func TestValidate(t *testing.T) {
	blocked := func(from, until float64) Condition {
		return Condition{Condition: Blocked, From: units.Duration(from), Until: seconds(until)}
	}
	for _, c := range []struct {
		name string
		spec Spec
		path string
		text string // part of it
	}{
		{"fix", Spec{Fix: "rtk-fixd"}, "fix", "fix is rtk-fixd; did you mean rtk-fixed?"},
		{"satellites", Spec{Satellites: new(3)}, "satellites", "satellites is 3; allowed: 4 to 99"},
		{"hdop", Spec{HDOP: new(math.NaN())}, "hdop", "hdop is NaN; allowed: 0.1 to 99.9"},
		{"mask", Spec{Mask: deg(91)}, "mask", "mask is 91 deg; allowed: 0 deg to 90 deg"},
		{"after the run", Spec{Conditions: []Condition{blocked(61, 70)}}, "conditions[0].from", "blocked begins at 61 s, after the run, which lasts 60 s"},
		{"beyond the end", Spec{Conditions: []Condition{blocked(50, 70)}}, "conditions[0].until", "blocked ends at 70 s, after the run, which lasts 60 s"},
		{"before the run", Spec{Conditions: []Condition{blocked(-1, 7)}}, "conditions[0].from", "blocked begins at -1 s, before the run; allowed: 0 s or later"},
		{"backwards", Spec{Conditions: []Condition{blocked(9, 7)}}, "conditions[0].until", "blocked ends at 7 s, before it begins at 9 s; swap the two"},
		{"no length", Spec{Conditions: []Condition{blocked(9, 9)}}, "conditions[0].until", "blocked ends at 9 s, when it begins; give it a later end, or remove it"},
		{"not a number", Spec{Conditions: []Condition{blocked(math.NaN(), 9)}}, "conditions[0].from", "blocked begins at"},
		{"twice at once", Spec{Conditions: []Condition{blocked(20, 30), blocked(5, 21)}}, "conditions[0]", "blocked from 20 s runs into conditions[1] of the same kind; make them one"},
		{"unknown", Spec{Conditions: []Condition{{Condition: "blokked", From: 1}}}, "conditions[0].condition", "condition is blokked; did you mean blocked?"},
		{"another's key", Spec{Conditions: []Condition{{Condition: Blocked, From: 1, LossDB: new(3.0)}}}, "conditions[0].loss-db", "loss-db does not belong to blocked; it belongs to interference"},
		{"what is needed", Spec{Conditions: []Condition{{Condition: Interference, From: 1}}}, "conditions[0]", "interference has no loss-db; add it"},
		{"loss", Spec{Conditions: []Condition{{Condition: Interference, From: 1, LossDB: new(-3.0)}}}, "conditions[0].loss-db", "loss-db is -3; allowed: 0 to 60"},
		{"running restart", Spec{Conditions: []Condition{{Condition: ReceiverRestart, From: 1, Start: Running}}}, "conditions[0].start", "start is running; allowed: hot, warm, cold"},
		{"no cycle", Spec{Conditions: []Condition{{Condition: WrongInteger, From: 1, Cycles: new(0)}}}, "conditions[0].cycles", "cycles is 0, which changes nothing"},
		{"one edge", Spec{Sectors: []Sector{{Left: deg(5)}}}, "sectors[0]", "the sector has one edge only"},
		{"nothing hidden", Spec{Sectors: []Sector{{Above: deg(50), Below: deg(20)}}}, "sectors[0]", "the sector hides what is above 50 deg and below 20 deg, which is nothing; swap the two"},
		{"negative time", Spec{Times: Times{Warm: seconds(-1)}}, "times.warm", "warm is -1 s; allowed: 0"},
		{"falling ages", Spec{Corrections: Corrections{FixedUntil: seconds(50)}}, "corrections", "integers hold until an age of 50 s, float until 30 s"},
		{"correlation", Spec{Errors: &Errors{Float: ErrorModel{Correlation: seconds(1)}}}, "errors.rtk-float.correlation", "correlation is 1 s; allowed: 5 s to"},
		{"latitude", Spec{Entered: &Entered{Latitude: 2}}, "entered-position.latitude", "latitude is 114."},
		{"almanac", Spec{Almanac: &Almanac{Form: YUMA, Text: "ID: x"}}, "almanac.text", "yuma almanac, line 1: id is x; allowed: a whole number"},
		{"almanac not read", Spec{Almanac: &Almanac{Form: YUMA, Path: "a.alm"}}, "almanac.path", "the almanac a.alm has not been read"},
	} {
		ps := c.spec.Validate(60)
		if len(ps) == 0 || ps[0].Path != c.path || !strings.HasPrefix(ps[0].Text, c.text) {
			t.Errorf("%s: %v, want %s: %s", c.name, ps, c.path, c.text)
		}
		if _, err := New(c.spec, testStart, still, 60, 1); err == nil {
			t.Errorf("%s: New takes it", c.name)
		}
	}
	if ps := (Spec{Conditions: []Condition{blocked(61, 70)}}).Validate(0); len(ps) > 0 {
		t.Errorf("a run of unknown duration: %v", ps)
	}
	for _, d := range []float64{0, -1, math.NaN(), math.Inf(1)} {
		if _, err := New(Spec{}, testStart, still, d, 1); err == nil {
			t.Errorf("New takes a duration of %v s", d)
		}
	}
	if _, err := New(Spec{}, testStart, nil, 1, 1); err == nil {
		t.Error("New takes no antenna")
	}
}

func TestWarnings(t *testing.T) {
	text := yumaText
	for _, c := range []struct {
		name, path, want string
		spec             Spec
	}{
		{"mask that hides everything", "mask", "the mask of 80 deg hides everything: at most", Spec{Mask: deg(80)}},
		{"high mask", "mask", "a mask of 45 deg leaves few satellites", Spec{Mask: deg(45)}},
		{"the whole sky", "sectors[0]", "the sector hides the whole sky", Spec{Sectors: []Sector{{}}}},
		{"the whole sky in two", "sectors", "the sectors hide everything: they leave at most 0 satellites", Spec{Sectors: []Sector{{Left: deg(0), Right: deg(180)}, {Left: deg(180), Right: deg(0)}}}},
		{"blocked throughout", "", "there is no fix at any time", Spec{Conditions: []Condition{{Condition: Blocked, From: 0}}}},
		{"slow corrections", "corrections", "corrections get 12.5 s old before the next is in, integers hold until 10 s", Spec{Fix: RTKFixed, Corrections: Corrections{Interval: seconds(12)}}},
		{"no corrections to lose", "conditions[0]", "no corrections are used with fix autonomous", Spec{Conditions: []Condition{{Condition: CorrectionsLost, From: 1}}}},
		{"no second antenna", "conditions[0]", "there is no second antenna; wrong-integer changes nothing", Spec{Conditions: []Condition{{Condition: WrongInteger, From: 1}}}},
		{"entered in vain", "entered-position", "the receiver has a fix from the beginning", Spec{Entered: &Entered{}}},
		{"too few in the almanac", "mask", "the mask of 5 deg hides everything: at most", Spec{Almanac: &Almanac{Form: YUMA, Text: text}}},
	} {
		found := false
		all := receiver(t, c.spec, 30).Warnings()
		for _, w := range all {
			found = found || w.Path == c.path && strings.HasPrefix(w.Text, c.want)
		}
		if !found {
			t.Errorf("%s: %v, want %s: %s", c.name, all, c.path, c.want)
		}
	}
	if w := receiver(t, Spec{Fix: RTKFixed, Baseline: twoAntennas}, 30).Warnings(); len(w) > 0 {
		t.Errorf("an honest receiver: %v", w)
	}
	old, err := New(Spec{Almanac: &Almanac{Form: YUMA, Text: text}}, time.Date(2028, 1, 1, 0, 0, 0, 0, time.UTC), still, 30, 1)
	if err != nil || !strings.Contains(old.Warnings()[len(old.Warnings())-1].Text, "days away") {
		t.Errorf("an old almanac gives no warning (%v)", err)
	}
}
