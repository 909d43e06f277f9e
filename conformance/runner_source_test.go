//go:build unix

package conformance_test

import (
	"crypto/rand"
	"fmt"
	"io"
	"math"
	"net"
	"os"
	"slices"
	"strings"
	"testing"

	"go.bug.st/serial"

	"swellbench/conformance"
	"swellbench/conformance/observe"
)

// sendOn is a program that says nothing on its output, but sends NMEA 0183 on, of what it understood: in sentences put together
// here, to the place that it is told.
func sendOn(way, address, path, baud, sheet string, defects ...string) error {
	var out io.Writer
	var err error
	if way == "pty" {
		out, err = serial.Open(address, &serial.Mode{BaudRate: 115200})
	} else {
		out, err = net.Dial(way, address)
	}
	if err != nil {
		return err
	}
	r, w := io.Pipe()
	go func() {
		defer w.Close()
		if err := referenceTo(w, path, baud, sheet, defects...); err != nil {
			fmt.Fprintln(os.Stderr, err)
		}
	}()
	for o := range observe.NewReader(r, observe.Options{}).All() {
		if _, err := out.Write([]byte(sentences(&o))); err != nil {
			return err
		}
	}
	return nil
}

// sentences says an observation, but for what it does not say: ZDA, GGA, VTG, HDT and XDR.
func sentences(o *observe.Observation) string {
	var b strings.Builder
	put := func(format string, a ...any) {
		body := fmt.Sprintf(format, a...)
		sum := byte(0)
		for i := range len(body) {
			sum ^= body[i]
		}
		fmt.Fprintf(&b, "$%s*%02X\r\n", body, sum)
	}
	deg := func(f observe.Field[float64], digits int) string {
		if x, ok := f.Value(); ok {
			return fmt.Sprintf("%.*f", digits, x*180/math.Pi)
		}
		return ""
	}
	metres := func(f observe.Field[float64]) string {
		if x, ok := f.Value(); ok {
			return fmt.Sprintf("%.3f", x)
		}
		return ""
	}
	coordinate := func(f observe.Field[float64], width int, letters string) string {
		x, ok := f.Value()
		if !ok {
			return ","
		}
		letter := letters[:1]
		if x < 0 {
			letter = letters[1:]
		}
		minutes := math.Round(math.Abs(x)*180/math.Pi*60*1e6) / 1e6
		return fmt.Sprintf("%0*d%09.6f,%s", width, int(minutes/60), math.Mod(minutes, 60), letter)
	}
	t := o.Time.UTC()
	clock := t.Format("150405.000")
	put("XXZDA,%s,%s,00,00", clock, t.Format("02,01,2006"))
	if o.LatRad.Said() {
		height, m, zero := metres(o.HeightM), "M", "0.000"
		if height == "" {
			m, zero = "", ""
		}
		quality := 0
		if fix, ok := o.Fix.Value(); ok {
			quality = map[string]int{"autonomous": 1, "differential": 2, "precise": 3, "rtk-fixed": 4, "rtk-float": 5, "estimated": 6}[fix.String()]
		}
		put("XXGGA,%s,%s,%s,%d,09,1.0,%s,%s,%s,%s,,", clock, coordinate(o.LatRad, 2, "NS"), coordinate(o.LonRad, 3, "EW"), quality, height, m, zero, m)
	}
	if o.HeadingRad.Said() {
		put("XXHDT,%s,T", deg(o.HeadingRad, 3))
	}
	if o.PitchRad.Said() {
		put("XXXDR,A,%s,D,PITCH,A,%s,D,ROLL,D,%s,M,HEAVE", deg(o.PitchRad, 3), deg(o.RollRad, 3), metres(o.HeaveM))
	}
	return b.String()
}

// A program that sends NMEA 0183 on, on a port, over TCP or UDP, is judged by that: right and wrong.
func TestSentOn(t *testing.T) {
	if testing.Short() {
		t.Skip("plays at real speed")
	}
	needPorts(t)
	for _, way := range []string{"pty", "tcp", "udp"} {
		for defect, fails := range map[string]string{"": "", "lever-arm-ignored": "offset.lever-arm"} {
			t.Run(way+" "+defect, func(t *testing.T) {
				t.Parallel()
				suite, err := conformance.LoadSuite("default")
				if err != nil {
					t.Fatal(err)
				}
				suite.Cases = slices.DeleteFunc(suite.Cases, func(c conformance.Case) bool { return c.Name != "pose-raw" })
				args := []string{"send-on", "{port}", "{baud}", "{installation}", way, "{observations}"}
				if defect != "" {
					args = append(args, defect)
				}
				consumer := conformance.ConsumerCommand{Args: append([]string{os.Args[0]}, args...), Env: helperEnv(rand.Text())}
				v, err := conformance.Run(t.Context(), suite, consumer, conformance.Options{TempDir: t.TempDir(), Observations: way})
				if err != nil {
					t.Fatal(err)
				}
				passed, failed := 0, ""
				for _, c := range v.Cases {
					if c.Incident != nil {
						t.Errorf("%s: %v %s", c.Name, c.Incident, c.Stderr)
					}
					for _, r := range c.Results {
						switch r.Outcome {
						case conformance.Passed:
							passed++
						case conformance.Failed:
							failed += r.Check + " "
							if r.Check != fails {
								t.Errorf("%s: %s: %s", c.Name, r.Check, r.Summary)
							}
						}
					}
				}
				if passed < 4 || (fails != "") != strings.Contains(failed, "offset.lever-arm") {
					t.Errorf("%d checks passed; failed: %s", passed, failed)
				}
			})
		}
	}
}

// What cannot be is told before anything is started.
func TestObservationsUsage(t *testing.T) {
	suite := shortSuite(t, "1 s", 19200)
	for _, c := range []struct {
		way, argument, want string
	}{
		{"carrier-pigeon", "{observations}", `observations are expected at "carrier-pigeon", allowed: output, file, pty, tcp, udp`},
		{"udp", "nothing", "the program is not told where to put its observations (udp): put {observations} into one of its arguments"},
		{"output", "{observations}", "the observations are expected on standard output, and the program is told {observations}: leave one of them out"},
	} {
		_, err := conformance.Run(t.Context(), suite, conformance.ConsumerCommand{Args: []string{"true", "{port}", c.argument}}, conformance.Options{Observations: c.way})
		if err == nil || err.Error() != c.want {
			t.Errorf("%s: %v, want %s", c.way, err, c.want)
		}
	}
}
