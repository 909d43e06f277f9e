package emulator_test

import (
	"strings"
	"testing"
	"time"
)

const canStream = `
streams:
  - format: nmea2000
    line: {baud: 115200}
    messages:
      - {type: "127250", rate: 10 Hz}
`

func canScenario(start string) string {
	return head[:strings.Index(head, "streams:")] + start + canStream[1:] + points
}

// The adapter of a stream that is silent until asked says nothing before the channel is open, answers as the Linux slcan
// driver and slcanpty of can-utils have it, adds time stamps where it was told to, and stops when the channel is closed.
func TestSLCAN(t *testing.T) {
	d := canScenario("device: {start-up: {streaming: when-asked}}\n")
	lines, _ := hear(t, d, map[time.Duration]string{time.Second: "V\rS5\rZ1\rO\r", 3 * time.Second: "F\r", 5 * time.Second: "C\r", 6 * time.Second: "x\r"})
	all := strings.Join(lines, "")
	if !strings.HasPrefix(all, "V1013\r") || !strings.HasSuffix(all, "\r\a") || !strings.Contains(all, "\rF00\r") {
		t.Errorf("%q", all)
	}
	frames := 0
	for _, l := range strings.Split(all, "\r") {
		if strings.HasPrefix(l, "T") {
			frames++
			if len(l) != 1+8+1+16+4 { // T, identifier, length, data, time stamp of 16 bits
				t.Errorf("frame %q", l)
			}
		}
	}
	if frames < 39 || frames > 41 { // 4 s of 10 Hz
		t.Errorf("%d frames", frames)
	}
	at, _ := hear(t, canScenario(""), nil)
	if n := strings.Count(strings.Join(at, ""), "T09F112"); n != 100 {
		t.Errorf("%d headings at once", n)
	}
}
