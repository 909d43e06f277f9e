package conformance

import (
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"swellbench/conformance/observe"
)

// randomCase draws an installation, a place, a sea, a device and a stream.
func randomCase(t *rapid.T) string {
	num := func(name string, low, high float64) float64 { return rapid.Float64Range(low, high).Draw(t, name) }
	vector := func(name string) string {
		return fmt.Sprintf("[%.3f m, %.3f m, %.3f m]", num(name+" right", -6, 6), num(name+" forward", -12, 12), num(name+" up", -4, 12))
	}
	mounting := fmt.Sprintf("{heading: %.2f deg, pitch: %.2f deg, roll: %.2f deg}", num("mounting heading", -180, 180), num("mounting pitch", -75, 75), num("mounting roll", -180, 180))
	two := rapid.Bool().Draw(t, "two antennas")
	var b strings.Builder
	duration := rapid.IntRange(3, 7).Draw(t, "duration")
	start := rapid.SampledFrom([]string{"now", "now", "2027-12-31T23:59:58Z", "2024-02-29T23:59:57.5Z", "2026-06-01T09:30:00Z"}).Draw(t, "start")
	fmt.Fprintf(&b, "start: %s\nduration: %d s\nseed: %d\n", start, duration, rapid.IntRange(1, 1<<30).Draw(t, "seed"))
	// One in two has something happen to its GNSS.
	var conditions []string
	span := func(name string) (from, until float64) {
		from = num(name+" from", 0, float64(duration)-0.5)
		return from, from + num(name+" lasts", 0.1, float64(duration)-from)
	}
	for _, c := range rapid.SampledFrom([][]string{{}, {}, {}, {"blocked"}, {"secondary-lost"}, {"both-lost"}, {"corrections-lost"}, {"position-jump"}, {"position-jump", "blocked"}}).Draw(t, "conditions") {
		if c == "secondary-lost" && !two {
			continue
		}
		from, until := span(c)
		more := ""
		if c == "position-jump" {
			more = fmt.Sprintf(", jump: {east: %.2f m, north: %.2f m, up: %.2f m}", num("jump east", -9, 9), num("jump north", -9, 9), num("jump up", -4, 4))
		}
		conditions = append(conditions, fmt.Sprintf("{condition: %s, from: %.3f s, until: %.3f s%s}", c, from, until, more))
	}
	blocked := ", times: {hot: 200 ms, fixed: 700 ms, heading: 300 ms}, conditions: [" + strings.Join(conditions, ", ") + "]"
	fmt.Fprintf(&b, "geoid: {undulation: %.2f m}\ngnss: {fix: %s%s}\n", num("undulation", -90, 80), rapid.SampledFrom([]string{"autonomous", "differential", "rtk-float", "rtk-fixed", "precise"}).Draw(t, "fix"), blocked)
	if rapid.IntRange(0, 4).Draw(t, "inertial") == 0 {
		b.WriteString("inertial: {grade: industrial, recovery: 300 ms}\n")
	}
	fmt.Fprintf(&b, "device:\n  latency: {constant: %.0f ms, random: %.0f ms}\n", num("latency", 0, 60), num("jitter", 0, 10))
	// The listener takes a time that steps back for midnight, where it is near.
	if !strings.Contains(start, "T23:59") && rapid.IntRange(0, 6).Draw(t, "late") == 0 {
		fmt.Fprintf(&b, "  clock: {out-of-order: [{share: 0.2, by: %.0f ms, from: 0.8 s}]}\n", num("late by", 60, 700))
	}
	if rapid.Bool().Draw(t, "noisy") {
		fmt.Fprintf(&b, "  noise: {horizontal: %.3f m, vertical: %.3f m, speed: %.3f m/s, heading: %.3f deg, pitch: %.3f deg, roll: %.3f deg, heave: %.3f m, rate-of-turn: %.3f deg/s}\n",
			num("horizontal", 0, 0.5), num("vertical", 0, 0.5), num("speed noise", 0, 0.1), num("heading noise", 0, 0.3), num("pitch noise", 0, 0.1), num("roll noise", 0, 0.1), num("heave noise", 0, 0.05), num("rot noise", 0, 0.5))
	}
	right, forward, up := num("antenna right", -4, 4), num("antenna forward", -9, 9), num("antenna up", 2, 12)
	fmt.Fprintf(&b, "installation:\n  points:\n    sensor: %s\n    antenna-primary: [%.3f m, %.3f m, %.3f m]\n    sonar: %s\n", vector("sensor"), right, forward, up, vector("sonar"))
	second := ""
	if two {
		second = ", secondary: antenna-secondary"
		length, azimuth := num("baseline", 0.7, 4), num("azimuth", 0, 2*math.Pi)
		fmt.Fprintf(&b, "    antenna-secondary: [%.3f m, %.3f m, %.3f m]\n", right+length*math.Sin(azimuth), forward+length*math.Cos(azimuth), up+num("step", -0.3, 0.3)*length)
	}
	fmt.Fprintf(&b, "  mounting: %s\n", mounting)
	switch rapid.SampledFrom([]string{"nothing", "mounting", "all"}).Draw(t, "entered") {
	case "mounting":
		fmt.Fprintf(&b, "  entered: {mounting: %s}\n", mounting)
	case "all":
		fmt.Fprintf(&b, "  entered: {mounting: %s, antennas: {primary: antenna-primary%s}, output-point: %s}\n", mounting, second, rapid.SampledFrom([]string{"sensor", "sonar"}).Draw(t, "output point"))
	}
	b.WriteString("  expected-of-consumer: {output-point: sonar}\n")
	fmt.Fprintf(&b, "track:\n  position: {latitude: %.6f deg, longitude: %.6f deg, height: %.2f m}\n  heading: %.2f deg\n  speed: %.2f m/s\n",
		num("latitude", -84, 84), num("longitude", -180, 180), num("height", -80, 80), num("heading", 0, 359), num("speed", 0.3, 15))
	if rapid.Bool().Draw(t, "turning") {
		fmt.Fprintf(&b, "  turn: {rate: %.2f deg/s}\n", num("turn", 1, 12))
	}
	fmt.Fprintf(&b, "motion:\n  pose: {pitch: %.2f deg, roll: %.2f deg}\n", num("trim", -5, 5), num("list", -10, 10))
	fmt.Fprintf(&b, "  roll: [{amplitude: %.2f deg, period: %.2f s}]\n  pitch: [{amplitude: %.2f deg, period: %.2f s}]\n  heave: [{amplitude: %.2f m, period: %.2f s}]\n",
		num("roll", 0, 15), num("roll period", 2.5, 9), num("pitch", 0, 6), num("pitch period", 2.5, 9), num("heave", 0, 2), num("heave period", 3, 9))
	rate := rapid.SampledFrom([]string{"1 Hz", "2 Hz", "3 Hz", "5 Hz", "8 Hz", "10 Hz", "20 Hz"}).Draw(t, "rate")
	attitude := rapid.SampledFrom([]string{rate, rate, "1 Hz", "5 Hz", "20 Hz"}).Draw(t, "attitude rate")
	messages := []string{
		"{type: ZDA, rate: 1 Hz}",
		"{type: GGA, rate: " + rate + fmt.Sprintf(", decimals: {minutes: %d, altitude: 2, undulation: 2}}", rapid.IntRange(3, 8).Draw(t, "minutes")),
		"{type: RMC, rate: " + rapid.SampledFrom([]string{rate, "1 Hz"}).Draw(t, "RMC rate") + "}",
		"{type: VTG, rate: " + rate + "}",
		"{type: GGA, rate: " + rapid.SampledFrom([]string{"1 Hz", "3 Hz", "4 Hz"}).Draw(t, "other GGA") + ", talker: GP, decimals: {minutes: 6, altitude: 2, undulation: 2}}",
		"{type: HDT, rate: " + attitude + fmt.Sprintf(", decimals: {heading: %d}}", rapid.IntRange(1, 3).Draw(t, "heading decimals")),
		"{type: ROT, rate: " + attitude + "}",
		"{type: XDR, rate: " + attitude + fmt.Sprintf(", decimals: {angle: %d, heave: %d}}", rapid.IntRange(1, 3).Draw(t, "angle decimals"), rapid.IntRange(1, 3).Draw(t, "heave decimals")),
	}
	fmt.Fprintf(&b, "streams:\n  - format: nmea0183\n    line: {baud: %d}\n    messages:\n", rapid.SampledFrom([]int{115200, 230400, 921600}).Draw(t, "baud"))
	for i, m := range messages {
		if i == 0 || i == 1 || i == 5 || i == 7 || rapid.Bool().Draw(t, m) {
			fmt.Fprintf(&b, "      - %s\n", m)
		}
	}
	switch rapid.IntRange(0, 14).Draw(t, "damaged") {
	case 0:
		b.WriteString("faults:\n  - {fault: bad-checksum, every: 11}\n")
	case 1:
		from, until := span("silence")
		fmt.Fprintf(&b, "faults:\n  - {fault: silence, from: %.2f s, until: %.2f s}\n", from, until)
	case 2:
		b.WriteString("faults:\n  - {fault: lower-case-checksum}\n")
	case 3:
		b.WriteString("faults:\n  - {fault: over-long, every: 2, message: GGA}\n")
	case 4:
		b.WriteString("faults:\n  - {fault: lost-byte, every: 11}\n  - {fault: noise, every: 17}\n")
	case 5:
		b.WriteString("faults:\n  - {fault: truncated, every: 13}\n  - {fault: flipped-bit, every: 19}\n")
	case 6:
		b.WriteString("faults:\n  - {fault: merged-messages, every: 9}\n")
	case 7:
		fmt.Fprintf(&b, "faults:\n  - {fault: babble, from: %.2f s}\n", num("babble", 0.5, 2))
	case 8:
		b.WriteString("faults:\n  - {fault: repeated-epoch, every: 23}\n")
	}
	return b.String()
}

// Whatever the case and the style, no check accuses a consumer that does nothing wrong.
func TestCorrectConsumersRandom(t *testing.T) {
	names := slices.Sorted(maps.Keys(styles))
	rapid.Check(t, func(t *rapid.T) {
		yaml := randomCase(t)
		b := newBench(t, yaml)
		l := styles[rapid.SampledFrom(names).Draw(t, "style")]
		l.b = b
		obs := l.run()
		if len(obs) == 0 {
			t.Skip("nothing to say")
		}
		for id, r := range judgeAll(b.evidence(obs)) {
			if r.Outcome == Failed {
				t.Errorf("%s accuses: %s\n%s", id, r.Summary, yaml)
			}
		}
	})
}

// Whatever a consumer says, each check comes to an outcome, with words and finite numbers.
func TestAnythingIsJudged(t *testing.T) {
	b := newBench(t, benches["damage-raw"])
	rapid.Check(t, func(t *rapid.T) {
		var obs []observe.Observation
		for i := range rapid.IntRange(0, 30).Draw(t, "rows") {
			o := observe.Observation{Time: b.dev.UTC(float64(i) * 0.1), Point: rapid.SampledFrom([]string{"", "sonar", "x\x1b[2J"}).Draw(t, "point"),
				Source: rapid.SampledFrom([]string{"", "GGA", "HDT+XDR", "\xff\x00"}).Draw(t, "source")}
			switch rapid.IntRange(0, 5).Draw(t, "time") {
			case 0:
				o.Time = time.Unix(rapid.Int64().Draw(t, "unix"), 0).UTC()
			case 1:
				o.Time = o.Time.Add(time.Duration(rapid.IntRange(-2e9, 9e9).Draw(t, "ns")))
			}
			for _, f := range []*observe.Field[float64]{&o.LatRad, &o.LonRad, &o.HeightM, &o.SpeedMS, &o.CourseRad, &o.HeadingRad, &o.PitchRad, &o.RollRad, &o.HeaveM, &o.RateOfTurnRadS} {
				switch rapid.IntRange(0, 4).Draw(t, "state") {
				case 0:
					*f = observe.Null[float64]()
				case 1:
					*f = observe.Of(rapid.Float64Range(-1e306, 1e306).Draw(t, "any"))
				case 2:
					*f = observe.Of(rapid.Float64Range(-4, 4).Draw(t, "small"))
				}
			}
			obs = append(obs, o)
		}
		for id, r := range judgeAll(b.evidence(obs)) {
			if r.Summary == "" || len(r.Summary) > 3000 || strings.ContainsAny(r.Summary, "\x1b\x00\n") || (r.Outcome == Skipped || r.Outcome == Inconclusive) && r.Reason == "" {
				t.Errorf("%s: %v: %q, %q", id, r.Outcome, r.Summary, r.Reason)
			}
			numbers := []float64{r.Worst, r.Tolerance}
			for _, q := range r.Quantities {
				numbers = append(numbers, q.Mean, q.RMS, q.Worst, q.Tolerance)
			}
			for _, x := range numbers {
				if math.IsNaN(x) || math.IsInf(x, 0) {
					t.Errorf("%s: %s: worst %g, tolerance %g", id, r.Summary, r.Worst, r.Tolerance)
				}
			}
		}
	})
}
