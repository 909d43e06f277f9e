package emulator_test

import (
	"fmt"
	"math"
	"strings"
	"testing"
)

// budgetOf is the budget of a stream of two sentences of known length: HDT, "$HEHDT,nnn.nn,T*hh" with its line end, and
// the same fixed text of 40 bytes.
func budgetScenario(baud int, hdt, text float64) string {
	sentence := "$GPTXT,01,01,02,twenty one letters.*"
	var sum byte
	for _, c := range []byte(sentence[1 : len(sentence)-1]) {
		sum ^= c
	}
	sentence += fmt.Sprintf("%02X", sum) // 38 bytes, 40 with CR LF
	streams := fmt.Sprintf(`streams:
  - format: nmea0183
    line: {baud: %d}
    messages:
      - {type: HDT, rate: %g Hz, decimals: {heading: 2}}
      - {type: verbatim, rate: %g Hz, sentences: ["%s"]}
`, baud, hdt, text, sentence)
	return head[:strings.Index(head, "streams:")] + streams + points
}

// Worked by hand at 4800 baud 8N1, where a byte takes 10/4800 s: the fixed text takes 40 of 480 bytes a second at 1 Hz,
// and waits, when both fall together, for HDT before it.
func TestBudgetByHand(t *testing.T) {
	d := device(t, budgetScenario(4800, 5, 1))
	b, err := d.Budget(0)
	if err != nil {
		t.Fatal(err)
	}
	hdt, text := b.Messages[0], b.Messages[1]
	// "$HEHDT," 7, heading of the vessel near 77 to 120 degrees 5 or 6, ",T*hh" 5, CR LF 2
	if text.LeastB != 40 || text.MostB != 40 || hdt.MostB < 19 || hdt.MostB > 20 {
		t.Fatalf("%+v", b.Messages)
	}
	h := float64(hdt.MostB)
	near := func(what string, got, want float64) {
		t.Helper()
		if !(math.Abs(got-want) < 1e-9) {
			t.Errorf("%s: %g, want %g", what, got, want)
		}
	}
	near("share of the text", text.Share, 40.0/480)
	near("share of HDT", hdt.Share, 5*h/480)
	own := b.OwnBaud()
	near("all", own.WorstShare, (40+5*h)/480)
	near("factor", b.Factor, 480/(40+5*h))
	near("wait", own.WorstDelayS, (40+h)/480)
	if own.WorstKind != "GPTXT" && own.WorstKind != "verbatim" || !own.Fits() || own.Baud != 4800 {
		t.Errorf("%+v", own)
	}
	// 480 − 40 bytes a second are left for HDT: 22 of 20 bytes, of which 20 is the next rate that is usual.
	near("HDT at most", hdt.HighestHz, 20)
	for _, x := range b.Bauds {
		near("share at another rate", x.WorstShare, own.WorstShare*4800/float64(x.Baud))
	}
}

// Where 1.5 times as much is asked for as the line carries, a third of it is dropped once the queue is full.
func TestBudgetOverfull(t *testing.T) {
	d := device(t, budgetScenario(4800, 1, 16))
	b, err := d.Budget(0)
	if err != nil {
		t.Fatal(err)
	}
	own := b.OwnBaud()
	if own.Fits() || !(own.WorstShare > 1.35 && own.WorstShare < 1.4) {
		t.Errorf("%+v", own)
	}
	// Over 60 s some 660 bytes a second come and 480 go; 4096 stay in the queue.
	come, room := 60*own.WorstShare*480, 60*480.0+4096
	if want := (come - room) / come; math.Abs(own.Dropped-want) > 0.02 {
		t.Errorf("dropped %g, want %g", own.Dropped, want)
	}
	// A message waits at most as long as the full queue takes to leave.
	if most := 4096.0 / 480; !(own.WorstDelayS <= most && own.WorstDelayS > 0.95*most) {
		t.Errorf("waits %g s, want just below %g s", own.WorstDelayS, most)
	}
}
