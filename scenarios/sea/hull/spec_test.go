package hull

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"swellbench/scenarios/installation"
	"swellbench/scenarios/strictyaml"
	"swellbench/scenarios/units"
)

var workboat = installation.Vessel{Length: 18.5, Breadth: 5.2, Draught: 1.4, Displacement: 62000}

func metres(x units.Length) *units.Length      { return &x }
func seconds(x units.Duration) *units.Duration { return &x }
func number(x float64) *float64                { return &x }

// Worked by hand: the block coefficient is 62 t / 1.025 t/m³ / (18.5·5.2·1.4 m³) = 60.488/134.68; for the roll period C is
// 0.373 + 0.023·5.2/1.4 − 0.043·18.5/100 = 0.45047, and T = 2·0.45047·5.2 m/√GM = 4.6849/√GM.
func TestParticulars(t *testing.T) {
	for _, c := range []struct {
		name                       string
		spec                       Spec
		vessel                     installation.Vessel
		block, gm, period, damping float64
		estimated                  string
	}{
		{"all given", Spec{metres(0.9), seconds(5), number(0.12), "", nil}, workboat, 0.44912, 0.9, 5, 0.12, ""},
		{"by metacentric height", Spec{GM: metres(0.9)}, workboat, 0.44912, 0.9, 4.9384, 0.08, "roll period, roll damping"},
		{"by period", Spec{RollPeriod: seconds(5)}, workboat, 0.44912, 0.87793, 5, 0.08, "metacentric height, roll damping"},
		{"nothing given", Spec{}, installation.Vessel{Length: 18.5, Breadth: 5.2, Draught: 1.4}, 0.55, 0.416, 7.2637, 0.08,
			"block coefficient, metacentric height, roll period, roll damping"},
	} {
		p := c.spec.Particulars(c.vessel)
		for _, v := range []struct {
			name      string
			got, want float64
		}{{"block", p.Box.Block, c.block}, {"gm", p.GMM, c.gm}, {"period", p.RollPeriodS, c.period}, {"damping", p.RollDamping, c.damping}} {
			if math.Abs(v.got-v.want) > 1e-4*v.want {
				t.Errorf("%s: %s is %g, want %g", c.name, v.name, v.got, v.want)
			}
		}
		if got := strings.Join(p.Estimated, ", "); got != c.estimated {
			t.Errorf("%s: estimated %s, want %s", c.name, got, c.estimated)
		}
	}
}

// The period that the hull is given, or that follows, is where roll is largest.
func TestPeriodOfRoll(t *testing.T) {
	for _, c := range []struct {
		spec Spec
		want float64
	}{{Spec{RollPeriod: seconds(6), RollDamping: number(0.02)}, 6}, {Spec{GM: metres(0.9), RollDamping: number(0.02)}, 4.938}} {
		h, err := New(c.spec, workboat)
		if err != nil {
			t.Fatal(err)
		}
		best, most := 0.0, 0.0
		for period := 3.0; period < 12; period += 0.01 {
			omega := 2 * math.Pi / period
			if a := real(h.At(omega, deep(omega, gravity), 0, 1.5)[Roll]); math.Abs(a) > most { // the part that lags the slope by 90°
				best, most = period, math.Abs(a)
			}
		}
		if math.Abs(best-c.want) > 0.05 {
			t.Errorf("roll is largest at %g s, want %g s", best, c.want)
		}
	}
}

func problems(ps []strictyaml.Problem) string {
	var lines []string
	for _, p := range ps {
		lines = append(lines, p.Path+": "+p.Text)
	}
	return strings.Join(lines, "\n")
}

func TestValidate(t *testing.T) {
	nan := math.NaN()
	for _, c := range []struct {
		name           string
		spec           Spec
		vessel         installation.Vessel
		want, ofVessel string
	}{
		{"nothing", Spec{}, workboat, "", ""},
		{"all", Spec{GM: metres(1), RollPeriod: seconds(5), RollDamping: number(0.1)}, workboat, "", ""},
		{"capsizes", Spec{GM: metres(-0.2)}, workboat, "gm: metacentric height is -0.2 m; allowed: 0.01 m to 100 m, and with less the vessel does not stay upright", ""},
		{"all wrong", Spec{GM: metres(units.Length(nan)), RollPeriod: seconds(0), RollDamping: number(0)}, workboat,
			"gm: metacentric height is NaN m; allowed: 0.01 m to 100 m, and with less the vessel does not stay upright\n" +
				"roll-period: natural period of roll is 0 s; allowed: 0.5 s to 120 s\n" +
				"roll-damping: roll damping is 0 of critical; allowed: 0.005 to 2, commonly 0.05 to 0.1", ""},
		{"no vessel", Spec{}, installation.Vessel{}, "",
			"length: length of the vessel is 0 m; the response to waves needs one of 0.5 m to 1000 m, or the vessel's own table of responses (rao-table)\n" +
				"breadth: breadth of the vessel is 0 m; the response to waves needs one of 0.5 m to 1000 m, or the vessel's own table of responses (rao-table)\n" +
				"draught: draught of the vessel is 0 m; the response to waves needs one of 0.05 m to 1000 m, or the vessel's own table of responses (rao-table)"},
		{"too heavy", Spec{}, installation.Vessel{Length: 10, Breadth: 4, Draught: 1, Displacement: 62000}, "",
			"displacement: displacement of the vessel is 62 t, a block coefficient of 1.51 with this length, breadth and draught in sea water; allowed: 0.1 to 1, which is 4.1 t to 41 t"},
		{"outside", Spec{RAOTable: "../x.csv"}, installation.Vessel{}, "rao-table: rao-table is ../x.csv; allowed: the name of a CSV file beside this one or below, such as raos.csv", ""},
		{"both", Spec{RAOTable: "x.csv", GM: metres(1)}, installation.Vessel{}, "rao-table: there are gm, roll-period or roll-damping as well as a table of responses; the table says all: leave them out, or the table", ""},
	} {
		if got := problems(c.spec.Validate()); got != c.want {
			t.Errorf("%s:\n%s\nwant:\n%s", c.name, got, c.want)
		}
		if got := problems(c.spec.ValidateVessel(c.vessel)); got != c.ofVessel {
			t.Errorf("%s, of the vessel:\n%s\nwant:\n%s", c.name, got, c.ofVessel)
		}
		if _, err := New(c.spec, c.vessel); (err == nil) != (c.want+c.ofVessel == "") {
			t.Errorf("%s: New: %v", c.name, err)
		}
	}
}

func TestWarnings(t *testing.T) {
	for _, c := range []struct {
		name   string
		spec   Spec
		vessel installation.Vessel
		want   string
	}{
		{"sound", Spec{GM: metres(0.9)}, workboat, ""},
		{"estimated", Spec{}, workboat, ": neither gm nor roll-period is given; estimated: a metacentric height of 0.42 m and a natural period of roll of 7.3 s"},
		{"at odds", Spec{GM: metres(0.9), RollPeriod: seconds(12)}, workboat, "roll-period: natural period of roll is 12 s, but a metacentric height of 0.9 m makes it about 4.9 s; the period is taken"},
		{"damped", Spec{GM: metres(0.9), RollDamping: number(0.7)}, workboat, "roll-damping: roll damping is 0.7 of critical, commonly 0.02 to 0.2"},
		{"raft", Spec{GM: metres(3)}, installation.Vessel{Length: 12, Breadth: 9, Draught: 0.5, Displacement: 55000},
			": the vessel's block coefficient is 0.99, commonly 0.35 to 0.9; see length, breadth, draught and displacement\n" +
				": the vessel is 1.3 times as long as broad, commonly 2.5 to 9\n" +
				": the vessel's breadth times block coefficient is 17.9 times her draught, beyond what the closed forms for heave and pitch were made for"},
		{"wrong anyway", Spec{GM: metres(-1)}, workboat, ""},
	} {
		if got := problems(c.spec.Warnings(c.vessel)); got != c.want {
			t.Errorf("%s:\n%s\nwant:\n%s", c.name, got, c.want)
		}
	}
	table := Spec{RAOTable: "raos.csv", Table: &Table{warnings: []string{"odd"}}}
	if got := problems(table.Warnings(installation.Vessel{})); got != "rao-table: odd" {
		t.Errorf("table: %s", got)
	}
}

func TestYAML(t *testing.T) {
	var s Spec
	if _, err := strictyaml.DecodeBytes("hull.yaml", []byte("gm: 0.9 m\nroll-period: 4.5 s\nroll-damping: 0.07\n"), &s); err != nil {
		t.Fatal(err)
	}
	if got := fmt.Sprint(*s.GM, *s.RollPeriod, *s.RollDamping); got != "0.9 m 4.5 s 0.07" {
		t.Errorf("read %s", got)
	}
	if _, err := strictyaml.DecodeBytes("hull.yaml", []byte("table: x.csv\n"), new(Spec)); err == nil {
		t.Error("an unknown key is taken")
	}
	schema, err := strictyaml.Schema(Spec{}, "hull")
	if err != nil || !strings.Contains(string(schema), "rao-table") || slices.Contains(strings.Fields(string(schema)), `"Table":`) {
		t.Errorf("schema: %v\n%s", err, schema)
	}
}
