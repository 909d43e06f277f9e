package consumer

import (
	"bytes"
	"fmt"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"swellbench/scenarios/installation"
)

func place(clock string) string {
	return sentence("GPGGA,%s,5000.0000,N,00400.0000,E,1,08,0.9,10.0,M,46.9,M,,", clock)
}

func rmc(clock, status, date string) string {
	mode := map[string]string{"A": "A", "V": "N"}[status]
	if status == "V" {
		return sentence("GPRMC,%s,V,,,,,,,%s,,,%s,V", clock, date, mode)
	}
	return sentence("GPRMC,%s,A,5000.0000,N,00400.0000,E,1.0,90.0,%s,,,%s,V", clock, date, mode)
}

func stamps(t testing.TB, all []observed) (s []string) {
	t.Helper()
	for _, o := range all {
		s = append(s, o["time"].(string))
	}
	return s
}

// The date comes from the stream where it has one, whatever the host believes, and is carried on over midnight.
func TestDate(t *testing.T) {
	host := time.Date(2031, 3, 4, 0, 0, 2, 0, time.UTC)
	zda := func(clock, date string) string { return sentence("GPZDA,%s,%s,00,00", clock, date) }
	for _, c := range []struct{ name, stream, want string }{
		{"from RMC", rmc("235959.50", "A", "310126") + place("235959.50") + place("000000.00") + place("000000.50"),
			"2026-01-31T23:59:59.500Z 2026-02-01T00:00:00.000Z 2026-02-01T00:00:00.500Z"},
		{"a leap year", rmc("235959.50", "A", "280228") + place("000000.00"), "2028-02-28T23:59:59.500Z 2028-02-29T00:00:00.000Z"},
		{"from ZDA once, year end", zda("235958.00", "31,12,2027") + place("235958.00") + place("235959.00") + place("000000.00"),
			"2027-12-31T23:59:58.000Z 2027-12-31T23:59:59.000Z 2028-01-01T00:00:00.000Z"},
		{"comes later", place("235958.00") + place("235959.00") + place("000000.00") + rmc("000000.00", "A", "010328") + place("000001.00"),
			"2028-02-29T23:59:58.000Z 2028-02-29T23:59:59.000Z 2028-03-01T00:00:00.000Z 2028-03-01T00:00:01.000Z"},
		{"a step back is no new day", rmc("120000.00", "A", "010326") + place("120000.00") + place("115959.90"),
			"2026-03-01T12:00:00.000Z 2026-03-01T11:59:59.900Z"},
		{"rounded up into the next day", zda("235959.90", "31,12,2027") + place("235959.90") + place("000000.00") + zda("000000.00", "01,01,2028"),
			"2027-12-31T23:59:59.900Z 2028-01-01T00:00:00.000Z"},
		{"a default date in void sentences", rmc("000001.00", "V", "060180") + rmc("000002.00", "V", "060180") + rmc("120000.00", "A", "010626"),
			"2026-06-01T00:00:01.000Z 2026-06-01T00:00:02.000Z 2026-06-01T12:00:00.000Z"},
		{"only void sentences", rmc("120000.00", "V", "010626") + rmc("120001.00", "V", "010626"),
			"2026-06-01T12:00:00.000Z 2026-06-01T12:00:01.000Z"},
		{"a fix is lost", rmc("235959.00", "A", "010626") + rmc("000000.00", "V", "") + rmc("000001.00", "V", "010180"),
			"2026-06-01T23:59:59.000Z 2026-06-02T00:00:00.000Z 2026-06-02T00:00:01.000Z"},
		{"none, the host is past midnight", place("235958.00") + place("235959.00") + place("000000.00"),
			"2031-03-03T23:59:58.000Z 2031-03-03T23:59:59.000Z 2031-03-04T00:00:00.000Z"},
		{"two digits of the year", rmc("120000.00", "A", "010180") + rmc("120001.00", "A", "010179"), "1980-01-01T12:00:00.000Z 2079-01-01T12:00:01.000Z"},
		{"decimals", zda("120000.125", "01,06,2026") + place("120000.13"), "2026-06-01T12:00:00.130Z"},
		{"more decimals", zda("120000.12", "01,06,2026") + place("120000.1234567"), "2026-06-01T12:00:00.123456700Z"},
	} {
		t.Run(c.name, func(t *testing.T) {
			var out bytes.Buffer
			cfg := Config{Installation: boat(installation.AntennaPrimary, nil), Clock: func() time.Time { return host }}
			if err := Run(t.Context(), cfg, strings.NewReader(c.stream), &out); err != nil {
				t.Fatal(err)
			}
			all := decodeLines(t, out.Bytes())
			if got := strings.Join(stamps(t, all), " "); got != c.want {
				t.Errorf("got %s\nwant %s", got, c.want)
			}
		})
	}
}

// On a line the date is waited for, but not for ever; then the host's is taken, on the day nearest to the host's clock.
func TestDateIsWaitedFor(t *testing.T) {
	// A bubble begins at 2000-01-01 00:00:00 UTC; the sensor is three seconds behind.
	synctest.Test(t, func(t *testing.T) {
		var bursts []timedBurst
		for k := range 14 {
			clock := time.Date(1999, 12, 31, 23, 59, 57, 0, time.UTC).Add(time.Duration(k) * time.Second).Format("150405.00")
			bursts = append(bursts, timedBurst{time.Duration(k) * time.Second, place(clock)})
		}
		all, _ := played(t, Config{Installation: boat(installation.AntennaPrimary, nil), Baud: 4800}, bursts)
		got := stamps(t, all)
		if len(got) != 14 || got[0] != "1999-12-31T23:59:57.000Z" || got[13] != "2000-01-01T00:00:10.000Z" {
			t.Errorf("stamps %v", got)
		}
	})
	synctest.Test(t, func(t *testing.T) {
		var bursts []timedBurst
		for k := range 6 {
			at := time.Date(2026, 5, 31, 23, 59, 57, 0, time.UTC).Add(time.Duration(k) * time.Second)
			s := place(at.Format("150405.00"))
			if k == 5 {
				s += sentence("GPZDA,%s,01,06,2026,00,00", at.Format("150405.00"))
			}
			bursts = append(bursts, timedBurst{time.Duration(k) * time.Second, s})
		}
		all, _ := played(t, Config{Installation: boat(installation.AntennaPrimary, nil), Baud: 4800}, bursts)
		got := stamps(t, all)
		if len(got) != 6 || got[0] != "2026-05-31T23:59:57.000Z" || got[5] != "2026-06-01T00:00:02.000Z" {
			t.Errorf("stamps %v", got)
		}
	})
}

// A stream that never carries a time is stamped with the arrival of its first byte; in a file it has no time at all.
func TestNoTimeAtAll(t *testing.T) {
	in := boat(installation.AntennaPrimary, nil)
	synctest.Test(t, func(t *testing.T) {
		var bursts []timedBurst
		for k := range 15 {
			bursts = append(bursts, timedBurst{time.Duration(k) * time.Second, hdt(float64(k))})
		}
		all, _ := played(t, Config{Installation: in, Baud: 115200}, bursts)
		if len(all) != 15 {
			t.Fatalf("%d observations, want 15", len(all))
		}
		for k, o := range all {
			want := time.Date(2000, 1, 1, 0, 0, k, 0, time.UTC)
			if d := stampOf(t, o).Sub(want); d < 0 || d > 2*time.Millisecond { // 16 bytes at a time take 1.4 ms
				t.Errorf("observation %d is stamped %v, want %v", k, o["time"], want)
			}
			o.near(t, "heading", float64(k), angleTol)
		}
	})
	if all := observe(t, in, hdt(1)+hdt(2)); len(all) != 0 {
		t.Errorf("from a file: %v, want nothing: nobody knows when it was", all)
	}
}

// Where a line is played faster than it could be, the host's clock says nothing about the sensor's: what carries a
// time is stamped with it, what does not is left out.
func TestFasterThanTheLine(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		var out bytes.Buffer
		cfg := Config{Installation: boat(installation.AntennaPrimary, nil), Baud: 4800}
		stream := burst(t, "Z1 G1 H1 H1.2 H1.4 G2 H2 H2.2 G3 H3")
		if err := Run(t.Context(), cfg, strings.NewReader(stream), &out); err != nil {
			t.Fatal(err)
		}
		if got := shown(t, decodeLines(t, out.Bytes())); got != "1gh1 2gh2 3gh3" {
			t.Errorf("got %s", got)
		}
	})
}

// The elapsed time counts from the timed burst that came with the least delay, so that one late burst does no harm.
func TestLateBurst(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		const ms = time.Millisecond
		late := 40 * ms
		all, _ := played(t, Config{Installation: boat(installation.AntennaPrimary, nil), Baud: 115200}, []timedBurst{
			{0, burst(t, "Z1 G1 H1")}, {500 * ms, burst(t, "H1.5")}, {1000*ms + late, burst(t, "G2 H2")}, {1500 * ms, burst(t, "H2.5")},
		})
		if len(all) != 4 {
			t.Fatalf("%d observations: %v", len(all), all)
		}
		want := time.Date(2026, 6, 1, 12, 0, 2, 5e8, time.UTC)
		if d := stampOf(t, all[3]).Sub(want).Abs(); d > ms {
			t.Errorf("stamped %v, want %v", all[3]["time"], want)
		}
	})
}

// The stream may freeze, or jump, or repeat itself: each epoch that has a time comes out once.
func TestOddTimes(t *testing.T) {
	in := boat(installation.AntennaPrimary, nil)
	all := observe(t, in, burst(t, "Z1 G1 H1 G1 H2 G1 H3 G5 H5 G2 H2 G3 H3"))
	if got := shown(t, all); got != "1gh1 1gh3 5gh5 2gh2 3gh3" {
		t.Errorf("got %s", got)
	}
	var s strings.Builder
	s.WriteString(burst(t, "Z1"))
	for k := range 3000 {
		fmt.Fprint(&s, hdt(float64(k%360)))
	}
	observe(t, in, s.String())
}
