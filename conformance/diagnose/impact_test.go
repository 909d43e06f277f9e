package diagnose

import (
	"bufio"
	"encoding/json"
	"math"
	"os"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"swellbench/scenarios/frame"
)

// A vector is one row of check values; each names its source.
type vector struct {
	ID, Case, Source string
	Inputs           map[string]any
	Expected         map[string]float64
	Tolerance        map[string]struct{ Abs, Rel float64 }
}

func vectors(t *testing.T, name string) (vs []vector) {
	t.Helper()
	f, err := os.Open("testdata/" + name)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	s := bufio.NewScanner(f)
	for s.Scan() {
		var v vector
		if err := json.Unmarshal(s.Bytes(), &v); err != nil {
			t.Fatal(err)
		}
		vs = append(vs, v)
	}
	if len(vs) == 0 || s.Err() != nil {
		t.Fatalf("%s: %d rows, %v", name, len(vs), s.Err())
	}
	return vs
}

func (v *vector) num(name string) float64 { x, _ := v.Inputs[name].(float64); return x }

func (v *vector) near(t *testing.T, name string, got float64) {
	t.Helper()
	want, ok := v.Expected[name]
	if !ok {
		t.Errorf("%s: no %s", v.ID, name)
		return
	}
	tol, ok := v.Tolerance[name]
	if !ok {
		tol = v.Tolerance["*"]
	}
	if !(math.Abs(got-want) <= max(tol.Abs, tol.Rel*math.Abs(want))) {
		t.Errorf("%s: %s is %.12g, want %.12g", v.ID, name, got, want)
	}
}

func TestOrders(t *testing.T) {
	names := map[string]Order{"exclusive": Orders[0], "special": Orders[1], "1a": Orders[2], "1b": Orders[3], "2": Orders[4]}
	for _, v := range vectors(t, "survey_s44.jsonl") {
		word, _ := v.Inputs["order"].(string)
		o, known := names[word]
		switch v.Case {
		case "limits":
			v.near(t, "tvu_max_m", o.TVUM(v.num("depth_m")))
			v.near(t, "thu_max_m", o.THUM(v.num("depth_m")))
		case "coefficients":
			v.near(t, "a_m", o.A)
			v.near(t, "b", o.B)
			v.near(t, "thu_const_m", o.C)
			v.near(t, "thu_fraction", o.D)
		case "confidence_factors": // limits are at 95 %, and so is what is compared with them
			known = true
		default:
			t.Errorf("%s: case %s is not known", v.ID, v.Case)
		}
		if !known {
			t.Errorf("%s: order %q", v.ID, word)
		}
	}
}

func TestShiftOfSoundings(t *testing.T) {
	for _, v := range vectors(t, "survey_sounding.jsonl") {
		a := frame.Attitude{Heading: frame.Rad(v.num("heading_deg")), Pitch: frame.Rad(v.num("pitch_deg")), Roll: frame.Rad(v.num("roll_deg"))}
		c := Conditions{DepthM: v.num("depth_below_transducer_m"), BeamAngleRad: frame.Rad(v.num("beam_angle_deg"))}
		size := v.num("error_size")
		if v.Inputs["error_unit"] == "deg" {
			size = frame.Rad(size)
		}
		var b Bias
		switch v.Case {
		case "roll_error":
			b.Attitude.Roll = size
		case "pitch_error":
			b.Attitude.Pitch = size
		case "heading_error":
			b.Attitude.Heading = size
		case "heave_error":
			b.HeaveM = size
		case "lever_right_error":
			b.Lever.X = size
		case "lever_fwd_error":
			b.Lever.Y = size
		case "lever_up_error":
			b.Lever.Z = size
		case "attitude_latency":
			b.Attitude.Roll = -frame.Rad(v.num("roll_rate_dps")) * v.num("latency_s")
			v.near(t, "used_roll_deg", frame.Deg(a.Roll+b.Attitude.Roll))
			s := c.Shift(a, b)
			across := r3.Dot(s, frame.Attitude{Heading: a.Heading}.Rotation().Apply(r3.Vec{X: 1}))
			v.near(t, "error_across_m", across)
			v.near(t, "depth_error_m", -s.Z)
			continue
		case "position_latency":
			ahead := frame.Attitude{Heading: a.Heading}.Rotation().Apply(r3.Vec{Y: 1})
			c = Conditions{DepthM: 10}
			b.Position = r3.Scale(-v.num("speed_mps")*v.num("latency_s"), ahead)
			v.near(t, "error_along_m", r3.Dot(c.Shift(a, b), ahead))
			continue
		case "sinusoid_latency": // the residual of a pipeline whose attitude is late: the extreme of sin(wt) − sin(w(t−τ))
			w, worst, sum, n := 2*math.Pi/v.num("period_s"), 0.0, 0.0, 20000
			for i := range n {
				x := 2 * math.Pi * float64(i) / float64(n)
				d := v.num("amplitude_deg") * (math.Sin(x) - math.Sin(x-w*v.num("latency_s")))
				worst, sum = max(worst, math.Abs(d)), sum+d*d
			}
			if math.Abs(worst-v.Expected["residual_amplitude_deg"]) > 1e-6 || math.Abs(math.Sqrt(sum/float64(n))-v.Expected["residual_rms_deg"]) > 1e-6 {
				t.Errorf("%s: %g", v.ID, worst)
			}
			continue
		case "yaw_misalignment_crosstalk": // what the hypothesis of a wrong mounting angle makes of it
			vessel := frame.Attitude{Pitch: a.Pitch, Roll: a.Roll}
			read := frame.DeviceFromVessel(vessel.Rotation(), frame.Attitude{Heading: frame.Rad(v.num("sensor_yaw_deg"))}.Rotation()).Attitude()
			v.near(t, "read_pitch_deg", frame.Deg(read.Pitch))
			v.near(t, "read_roll_deg", frame.Deg(read.Roll))
			v.near(t, "pitch_error_deg", frame.Deg(read.Pitch-a.Pitch))
			v.near(t, "roll_error_deg", frame.Deg(read.Roll-a.Roll))
			continue
		default:
			t.Errorf("%s: case %s is not known", v.ID, v.Case)
			continue
		}
		at, r := c.Sounding(a)
		v.near(t, "slant_range_m", r)
		v.near(t, "true_east_m", at.X)
		v.near(t, "true_north_m", at.Y)
		v.near(t, "true_up_m", at.Z)
		s := c.Shift(a, b)
		level := frame.Attitude{Heading: a.Heading}.Rotation().Inverse().Apply(s)
		v.near(t, "error_east_m", s.X)
		v.near(t, "error_north_m", s.Y)
		v.near(t, "error_up_m", s.Z)
		v.near(t, "error_across_m", level.X)
		v.near(t, "error_along_m", level.Y)
		v.near(t, "error_horizontal_m", math.Hypot(s.X, s.Y))
		v.near(t, "depth_error_m", -s.Z)
	}
}

func TestImpactSentence(t *testing.T) {
	got := Conditions{DepthM: 100, BeamAngleRad: 60 * deg}.sentence(0.2, 0.302, "depths by heave and tide")
	for _, want := range []string{"100 m below the transducer", "60° off nadir", "0.20 m horizontally", "0.30 m vertically", "within the limits of all orders", "2.0 m and 0.79 m"} {
		if !strings.Contains(got, want) {
			t.Errorf("%q has no %q", got, want)
		}
	}
	if got := (Conditions{DepthM: 10, BeamAngleRad: 1}).sentence(1.5, 0.1, "depths by heave and tide"); !strings.Contains(got, "outside IHO S-44 Exclusive Order (") {
		t.Error(got)
	}
}
