package waves

import (
	"encoding/csv"
	"math"
	"os"
	"strconv"
	"testing"

	"swellbench/scenarios/frame"
	"swellbench/scenarios/internal/vectors"
)

// eachRow runs f on each row of that table by its case, and fails on a case without one.
func eachRow(t *testing.T, name string, by map[string]func(t *testing.T, r vectors.Row)) {
	t.Helper()
	for _, r := range vectors.Load(t, "testdata/"+name+".jsonl") {
		t.Run(r.ID, func(t *testing.T) {
			f, ok := by[r.Case]
			if !ok {
				t.Fatalf("no test works out case %q", r.Case)
			}
			f(t, r)
			r.Done(t)
		})
	}
}

func TestSpectrumVectors(t *testing.T) {
	shape := func(t *testing.T, r vectors.Row) {
		hs, tp, gamma, w := r.In(t, "hs_m"), r.In(t, "tp_s"), r.In(t, "gamma"), r.In(t, "omega_radps")
		s := NewSpectrumWidths(hs, tp, gamma, r.In(t, "sigma_a"), r.In(t, "sigma_b"))
		r.Check(t, "s_omega_exactnorm_m2s", s.At(w))
		r.Check(t, "s_f_exactnorm_m2perhz", s.AtHz(w/(2*math.Pi)))
		r.Check(t, "s_omega_lognorm_m2s", s.At(w)/s.Norm()*LogNorm(gamma))
		if r.Case == "pierson_moskowitz" {
			r.Check(t, "s_omega_ittc_rounded_m2s", TwoParameterRounded(hs, tp, w))
		}
	}
	eachRow(t, "waves_spectrum", map[string]func(*testing.T, vectors.Row){
		"pierson_moskowitz": shape,
		"jonswap":           shape,
		"pm_wind": func(t *testing.T, r vectors.Row) {
			s := FullyDeveloped(r.In(t, "u19_5_mps"), r.In(t, "g_mps2"))
			if a, b := r.In(t, "alpha"), r.In(t, "beta"); a != pmAlpha || b != pmBeta {
				t.Errorf("alpha %g, beta %g, ours are %g, %g", a, b, pmAlpha, pmBeta)
			}
			r.Check(t, "hs_m", s.HsM())
			r.Check(t, "omega_p_radps", s.PeakOmega())
			r.Check(t, "tp_s", s.TpS())
			r.Check(t, "s_at_peak_m2s", s.At(s.PeakOmega()))
			r.CheckBack(t, "*", FullyDevelopedPeriod(s.HsM(), r.In(t, "g_mps2")), s.TpS())
		},
		"jonswap_fetch": func(t *testing.T, r vectors.Row) {
			u, f, g := r.In(t, "u10_mps"), r.In(t, "fetch_m"), r.In(t, "g_mps2")
			s := FetchLimited(u, f, 3.3, g)
			r.Check(t, "alpha", FetchAlpha(u, f, g))
			r.Check(t, "omega_p_radps", s.PeakOmega())
			r.Check(t, "tp_s", s.TpS())
			r.Check(t, "hs_gamma33_m", s.HsM())
		},
	})
}

func TestMomentVectors(t *testing.T) {
	eachRow(t, "waves_moments", map[string]func(*testing.T, vectors.Row){"moments": func(t *testing.T, r vectors.Row) {
		s := NewSpectrum(r.In(t, "hs_m"), r.In(t, "tp_s"), r.In(t, "gamma"))
		inf := math.Inf(1)
		m4 := s.Moment(4, 5*s.PeakOmega())
		r.Check(t, "m0_m2", s.Moment(0, inf))
		r.Check(t, "m1", s.Moment(1, inf))
		r.Check(t, "m2", s.Moment(2, inf))
		r.Check(t, "m_minus1", s.Moment(-1, inf))
		r.Check(t, "m4_cut10", s.Moment(4, 10*s.PeakOmega()))
		r.Check(t, "m4_cut5", m4)
		r.Check(t, "tz_s", s.TzS())
		r.Check(t, "t1_s", s.T1S())
		r.Check(t, "te_s", s.TeS())
		r.Check(t, "sigma_elevation_m", s.HsM()/4)
		r.Check(t, "sigma_vertical_velocity_mps", math.Sqrt(s.Moment(2, inf)))
		r.Check(t, "sigma_vertical_acc_cut5_mps2", math.Sqrt(m4))
		r.Check(t, "bandwidth_nu", s.Bandwidth())
	}})
}

func TestRatioVectors(t *testing.T) {
	eachRow(t, "waves_ratios", map[string]func(*testing.T, vectors.Row){
		"ratios": func(t *testing.T, r vectors.Row) {
			gamma := r.In(t, "gamma")
			s := NewSpectrum(1, 1, gamma)
			r.Check(t, "tz_over_tp", s.TzOverTp())
			r.Check(t, "t1_over_tp", s.T1OverTp())
			r.Check(t, "te_over_tp", s.TeOverTp())
			r.Check(t, "tp_over_tz", 1/s.TzOverTp())
			r.Check(t, "norm_exact", s.Norm())
			r.Check(t, "norm_log", LogNorm(gamma))
			r.Check(t, "norm_power", PowerNorm(gamma))
			r.Check(t, "hs_ratio_if_lognorm", math.Sqrt(LogNorm(gamma)/s.Norm()))
			r.Check(t, "tz_over_tp_polynomial", TzOverTpFit(gamma))
			r.Check(t, "t1_over_tp_polynomial", T1OverTpFit(gamma))
		},
		"gamma_from_hs_tp": func(t *testing.T, r vectors.Row) {
			r.Check(t, "gamma", GammaFor(r.In(t, "hs_m"), r.In(t, "tp_s")))
		},
	})
}

func TestSpreadingVectors(t *testing.T) {
	at := func(l Law, exponent string, angles map[string]float64) func(*testing.T, vectors.Row) {
		return func(t *testing.T, r vectors.Row) {
			e := r.In(t, exponent)
			r.Check(t, "norm_per_rad", SpreadingNorm(l, e))
			for field, deg := range angles {
				r.Check(t, field, Spreading(l, e, frame.Rad(deg)))
			}
		}
	}
	eachRow(t, "waves_spreading", map[string]func(*testing.T, vectors.Row){
		"cos_n":       at(CosN, "n", map[string]float64{"d_at_0": 0, "d_at_30deg": 30, "d_at_60deg": -60}),
		"cos_2s_half": at(Cos2S, "s", map[string]float64{"d_at_0": 0, "d_at_30deg": 30, "d_at_90deg": -90}),
	})
}

func TestDispersionVectors(t *testing.T) {
	eachRow(t, "waves_dispersion", map[string]func(*testing.T, vectors.Row){"dispersion": func(t *testing.T, r vectors.Row) {
		w := 2 * math.Pi / r.In(t, "period_s")
		depth := math.Inf(1)
		if r.Inputs["depth_m"] == "deep" {
			r.InText(t, "depth_m")
		} else {
			depth = r.In(t, "depth_m")
		}
		k := Wavenumber(w, depth, r.In(t, "g_mps2"))
		n := GroupRatio(k, depth)
		r.Check(t, "omega_radps", w)
		r.Check(t, "wavenumber_radpm", k)
		r.Check(t, "wavelength_m", 2*math.Pi/k)
		r.Check(t, "phase_speed_mps", w/k)
		r.Check(t, "group_speed_mps", n*w/k)
		r.Check(t, "group_ratio_n", n)
	}})
}

func TestEncounterVectors(t *testing.T) {
	eachRow(t, "waves_encounter", map[string]func(*testing.T, vectors.Row){
		"encounter": func(t *testing.T, r vectors.Row) {
			from := frame.Rad(r.In(t, "wave_from_deg"))
			beta, side := Meeting(frame.Rad(r.In(t, "heading_deg")), from)
			w := 2 * math.Pi / r.In(t, "period_s")
			we := EncounterOmega(w, Wavenumber(w, math.Inf(1), r.In(t, "g_mps2")), r.In(t, "speed_mps"), beta)
			r.Check(t, "wave_travels_to_deg", frame.Deg(frame.Wrap2Pi(from+math.Pi)))
			r.Check(t, "beta_deg", frame.Deg(beta))
			r.CheckText(t, "side", side.String())
			r.Check(t, "omega_e_radps", we)
			r.Check(t, "alpha", we/w)
			r.Check(t, "encounter_period_s", 2*math.Pi/math.Abs(we))
		},
		"encounter_inverse": func(t *testing.T, r vectors.Row) {
			r.Check(t, "omega_roots_radps", WaveOmegas(r.In(t, "omega_e_signed_radps"), r.In(t, "speed_mps"),
				frame.Rad(r.In(t, "beta_deg")), r.In(t, "g_mps2"))...)
		},
	})
}

func TestHeightVectors(t *testing.T) {
	eachRow(t, "waves_rayleigh", map[string]func(*testing.T, vectors.Row){
		"mean_of_highest_1_over_q": func(t *testing.T, r vectors.Row) {
			h := MeanOfHighest(r.In(t, "q"))
			r.Check(t, "h_over_hm0", h)
			r.Check(t, "h_over_sqrt_m0", 4*h)
		},
		"hmax": func(t *testing.T, r vectors.Row) {
			n := r.In(t, "n_waves")
			r.Check(t, "most_probable_hmax_over_hs", MostProbableHighest(n))
			r.Check(t, "expected_hmax_over_hs", ExpectedHighest(n))
			r.Check(t, "expected_hmax_asymptotic_over_hs", ExpectedHighestLarge(n))
			r.Check(t, "median_hmax_over_hs", MedianHighest(n))
		},
		"exceedance": func(t *testing.T, r vectors.Row) {
			h := r.In(t, "h_over_hs")
			r.Check(t, "probability", HeightExceedance(h))
			r.Check(t, "crest_probability_at_same_ratio", CrestExceedance(h))
		},
	})
}

func TestSeaStateVectors(t *testing.T) {
	eachRow(t, "waves_seastate", map[string]func(*testing.T, vectors.Row){
		"wmo_3700": func(t *testing.T, r vectors.Row) {
			s := StateOf(r.In(t, "hs_m"))
			r.Check(t, "code", float64(s.Code))
			r.CheckText(t, "name", s.Name)
		},
		"beaufort": func(t *testing.T, r vectors.Row) {
			r.Check(t, "force", float64(Beaufort(r.In(t, "wind_mps"))))
		},
		"beaufort_law": func(t *testing.T, r vectors.Row) {
			r.Check(t, "wind_mps", BeaufortMS(r.In(t, "force")))
		},
	})
}

func csvRows(t *testing.T, name string) []map[string]string {
	t.Helper()
	f, err := os.Open("testdata/" + name)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	all, err := csv.NewReader(f).ReadAll()
	if err != nil || len(all) < 2 {
		t.Fatalf("%s: %d rows, %v", name, len(all), err)
	}
	var rows []map[string]string
	for _, line := range all[1:] {
		row := map[string]string{}
		for i, name := range all[0] {
			row[name] = line[i]
		}
		rows = append(rows, row)
	}
	return rows
}

func number(t *testing.T, s string) float64 {
	t.Helper()
	x, err := strconv.ParseFloat(s, 64)
	if err != nil {
		t.Fatal(err)
	}
	return x
}

func TestStateTable(t *testing.T) {
	rows := csvRows(t, "waves_wmo3700.csv")
	if len(rows) != len(States) {
		t.Fatalf("%d rows, want %d", len(rows), len(States))
	}
	for i, row := range rows {
		s := States[i]
		if strconv.Itoa(s.Code) != row["code"] || s.Name != row["name"] || s.FromM != number(t, row["hs_from_m_exclusive"]) {
			t.Errorf("row %d is %+v, want %v", i, s, row)
		}
		switch to := row["hs_to_m_inclusive"]; {
		case to == "":
			if !math.IsInf(s.ToM, 1) {
				t.Errorf("code %d ends at %g m, want no end", i, s.ToM)
			}
		case s.ToM != number(t, to):
			t.Errorf("code %d ends at %g m, want %s", i, s.ToM, to)
		}
		if got := StateOf(s.TypeM).Code; got != i {
			t.Errorf("code %d stands for a height of %g m, which is code %d", i, s.TypeM, got)
		}
	}
}

func TestBeaufortTable(t *testing.T) {
	for force, row := range csvRows(t, "waves_beaufort.csv") {
		b := Beauforts[force]
		if strconv.Itoa(force) != row["force"] || b.Name != row["name"] {
			t.Errorf("force %d is %+v, want %v", force, b, row)
		}
		for _, c := range []struct {
			column string
			unit   float64
			got    float64
		}{
			{"wind_from_mps", 1, b.FromMS}, {"wind_to_mps", 1, b.ToMS},
			{"probable_wave_height_m_from_memory", 1, b.ProbableM}, {"probable_max_wave_height_m_from_memory", 1, b.HighestM},
		} {
			if row[c.column] == "" {
				if c.got != 0 && !math.IsInf(c.got, 1) {
					t.Errorf("force %d: %s is %g, want none", force, c.column, c.got)
				}
			} else if want := number(t, row[c.column]); c.got != want {
				t.Errorf("force %d: %s is %g, want %g", force, c.column, c.got, want)
			}
		}
		// The classes in knots and in metres per second were agreed apart, and differ by up to 1.5 kn.
		for _, c := range []struct {
			column string
			ms     float64
		}{{"wind_from_kn", b.FromMS}, {"wind_to_kn", b.ToMS}} {
			if row[c.column] == "" {
				continue
			}
			if kn := number(t, row[c.column]); math.Abs(kn-c.ms*3600/1852) > 1.5 {
				t.Errorf("force %d: %s is %g, ours is %g m/s", force, c.column, kn, c.ms)
			}
		}
		if v := BeaufortMS(float64(force)); Beaufort(v) != force || Beaufort(b.FromMS) != force {
			t.Errorf("force %d: the law's %g m/s is force %d, the lower bound %g m/s is force %d", force, v, Beaufort(v), b.FromMS, Beaufort(b.FromMS))
		}
	}
}
