package utc_test

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"swellbench/scenarios/internal/vectors"
	"swellbench/scenarios/utc"
)

// label reads a label without its zone, as the check values write it.
func label(t *testing.T, text string) utc.Label {
	t.Helper()
	if !strings.Contains(text, "T") {
		text += "T00:00:00"
	}
	l, err := utc.ParseLabel(text + "Z")
	if err != nil {
		t.Fatal(err)
	}
	return l
}

// text writes a label as the check values do, with their three decimals or none.
func text(l utc.Label, decimals int) string {
	return strings.TrimSuffix(string(l.Append(nil, decimals)), "Z")
}

func TestGPSVectors(t *testing.T) {
	table := utc.Leaps
	for _, r := range vectors.Load(t, "testdata/time_gps.jsonl") {
		switch r.Case {
		case "utc_to_gps":
			l := label(t, r.InText(t, "utc"))
			if err := table.Check(l); err != nil {
				t.Errorf("%s: %v", r.ID, err)
			}
			g := table.GPS(l)
			week, ofWeek := g.Week()
			r.Check(t, "gps_seconds_since_1980", g.Sub(0).Seconds())
			r.Check(t, "gps_week", float64(week))
			r.Check(t, "gps_week_10bit", float64(utc.Ten(week)))
			r.Check(t, "gps_rollovers", float64(utc.Rollovers(week)))
			r.Check(t, "seconds_of_week", ofWeek.Seconds())
			r.Check(t, "gps_minus_utc_s", table.GPSMinusUTC(g).Seconds())
			r.Check(t, "tai_minus_utc_s", table.TAIMinusUTC(l.Day).Seconds())
			r.Check(t, "day_of_year", float64(l.YearDay()))
			r.Check(t, "iso_weekday", float64((l.Weekday()+6)%7+1))
			r.Check(t, "gps_day_of_week", float64(g.Weekday()))
			if back := table.Label(g); back != l {
				t.Errorf("%s: %v came back as %v", r.ID, l, back)
			}
			if again := utc.GPSOf(week, ofWeek); again != g {
				t.Errorf("%s: week and seconds of it give %d, want %d", r.ID, again, g)
			}
		case "gps_to_utc":
			g := utc.GPSOf(int(r.In(t, "gps_week")), time.Duration(r.In(t, "seconds_of_week")*1e3)*time.Millisecond)
			r.CheckText(t, "utc", text(table.Label(g), 3))
			r.Check(t, "gps_minus_utc_s", table.GPSMinusUTC(g).Seconds())
			if back := table.GPS(table.Label(g)); back != g {
				t.Errorf("%s: %d came back as %d", r.ID, g, back)
			}
		default:
			t.Errorf("%s: unknown case %s", r.ID, r.Case)
		}
		r.Done(t)
	}
}

func TestLeapSecondVectors(t *testing.T) {
	table := utc.Leaps
	var effective []int
	for _, r := range vectors.Load(t, "testdata/time_leap_seconds.jsonl") {
		switch r.Case {
		case "leap_table":
			l := label(t, r.InText(t, "effective_utc"))
			effective = append(effective, l.Day)
			r.Check(t, "tai_minus_utc_s", table.TAIMinusUTC(l.Day).Seconds())
			r.Check(t, "gps_minus_utc_s", table.GPSMinusUTC(table.GPS(l)).Seconds())
		case "current":
			for _, at := range []utc.Label{label(t, r.InText(t, "from_utc")), label(t, "2026-06-01"), label(t, "2099-12-31")} {
				r.Check(t, "gps_minus_utc_s", table.GPSMinusUTC(table.GPS(at)).Seconds())
				r.Check(t, "tai_minus_utc_s", table.TAIMinusUTC(at.Day).Seconds())
			}
			r.Check(t, "tai_minus_gps_s", utc.TAIMinusGPS.Seconds())
			r.Check(t, "gps_minus_bdt_s", utc.GPSMinusBDT.Seconds())
			if d := table.GPSMinusUTC(table.GPS(label(t, "2006-01-01"))); d != utc.GPSMinusBDT {
				t.Errorf("GPS − UTC when BDT began is %v", d)
			}
		case "week_rollover":
			week := int(r.In(t, "gps_week"))
			g := utc.GPSOf(week, 0)
			r.CheckText(t, "gps_time", text(g.Civil(0), 0))
			r.CheckText(t, "utc", text(table.Label(g), 0))
			r.Check(t, "gps_week_10bit", float64(utc.Ten(week)))
			if back := g.Civil(0).GPS(); back != g {
				t.Errorf("%s: the label of GPS time came back as %d, want %d", r.ID, back, g)
			}
		case "resolve_10bit_week":
			about, _ := table.GPS(label(t, r.InText(t, "reference_date"))).Week()
			r.Check(t, "gps_week", float64(utc.NearestWeek(int(r.In(t, "week_10bit")), about)))
		default:
			t.Errorf("%s: unknown case %s", r.ID, r.Case)
		}
		r.Done(t)
	}
	// The table has these leap seconds and no others.
	var have []int
	for _, in := range table.Insertions() {
		have = append(have, in.Day+1)
		if in.Sign != 1 {
			t.Errorf("the leap second before day %d has the sign %d", in.Day+1, in.Sign)
		}
	}
	if !slices.Equal(have, effective[1:]) {
		t.Errorf("leap seconds before days %v, want %v", have, effective[1:])
	}
}

// ofDay reads hhmmss.ss.
func ofDay(t *testing.T, s string) time.Duration {
	t.Helper()
	hhmmss, err := strconv.Atoi(s[:6])
	frac, err2 := strconv.ParseFloat("0"+s[6:], 64)
	if err != nil || err2 != nil {
		t.Fatalf("%q is no time of day", s)
	}
	return time.Duration(hhmmss/10000*3600+hhmmss/100%100*60+hhmmss%100)*time.Second + time.Duration(frac*1e3+0.5)*time.Millisecond
}

func TestSentenceVectors(t *testing.T) {
	for _, r := range vectors.Load(t, "testdata/time_sentences.jsonl") {
		switch r.Case {
		case "zda", "rmc":
			sentence := r.InText(t, "sentence")
			f := strings.Split(strings.TrimPrefix(sentence, "$"), ",")
			l := utc.Label{OfDay: ofDay(t, f[1])}
			if r.Case == "zda" {
				l.Day = dayOf(t, f[4], f[3], f[2])
			} else {
				yy, err := strconv.Atoi(f[9][4:])
				if err != nil {
					t.Fatal(err)
				}
				l.Day = dayOf(t, fmt.Sprint(utc.FullYear(yy, 2026)), f[9][2:4], f[9][:2])
			}
			r.CheckText(t, "utc", text(l, 3))
			r.Check(t, "seconds_of_utc_day", l.OfDay.Seconds())
			var sum byte
			body, _, _ := strings.Cut(sentence[1:], "*")
			for i := range len(body) {
				sum ^= body[i]
			}
			r.CheckText(t, "checksum", fmt.Sprintf("%02X", sum))
			if err := utc.Leaps.Check(l); err != nil {
				t.Errorf("%s: %v", r.ID, err)
			}
		case "time_only_step":
			elapsed, days := utc.Step(ofDay(t, r.InText(t, "first_hhmmss")), ofDay(t, r.InText(t, "second_hhmmss")))
			r.Check(t, "elapsed_s", elapsed.Seconds())
			r.Check(t, "day_increment", float64(days))
		default:
			t.Errorf("%s: unknown case %s", r.ID, r.Case)
		}
		r.Done(t)
	}
}

func dayOf(t *testing.T, year, month, day string) int {
	t.Helper()
	return label(t, year+"-"+month+"-"+day).Day
}
