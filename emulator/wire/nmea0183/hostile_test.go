package nmea0183

import (
	"bytes"
	"strings"
	"testing"
	"time"
)

// Starts without ends, closed now and then by what looks like a checksum, cost no more than a few looks a byte: at 1 MB a
// second, which even a loaded machine keeps, 4 MB are done in 4 s.
func TestStartsWithoutEnds(t *testing.T) {
	for _, part := range []string{strings.Repeat("$", 1000) + "*00\n", strings.Repeat("$AAAAA", 160) + "*00\n", strings.Repeat("!", 900) + "*7F\n", strings.Repeat("$ABCDE,", 140) + "*00\n"} {
		in := bytes.Repeat([]byte(part), 4<<20/len(part))
		begun := time.Now()
		var d Decoder
		for len(in) > 0 {
			n := min(len(in), 64<<10)
			d.Push(in[:n])
			in = in[n:]
			for e, ok := d.Next(); ok; e, ok = d.Next() {
				if e.Kind == Accepted {
					t.Fatalf("%q is accepted", e.Raw)
				}
			}
		}
		if took := time.Since(begun); took > 4*time.Second {
			t.Errorf("%.8q...: 4 MB took %v", part, took)
		}
	}
}

// An error never holds more of a line than a sentence may have.
func TestLongLineInError(t *testing.T) {
	if _, err := Parse([]byte("$GPHDT," + strings.Repeat("9", 10<<20))); err == nil || len(err.Error()) > 8*Limit {
		t.Errorf("an error of %d bytes", len(err.Error()))
	}
}
