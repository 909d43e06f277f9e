package mavlink

import (
	"encoding/json"
	"fmt"
	"testing"
)

func TestCRCVectors(t *testing.T) {
	for _, v := range vectors(t, "crc.jsonl") {
		var want struct {
			Value string `json:"value"`
		}
		if err := json.Unmarshal(v.Expected, &want); err != nil {
			t.Fatal(err)
		}
		if got := fmt.Sprintf("%04x", crc(crcStart, v.bytes(t))); got != want.Value {
			t.Errorf("%s: got %s, want %s", v.ID, got, want.Value)
		}
	}
}

// The fast way is the plain one, cut anywhere.
func TestCRCInPieces(t *testing.T) {
	b := make([]byte, 61)
	for i := range b {
		b[i] = byte(i*37 + 11)
	}
	for n := range len(b) {
		c := uint16(crcStart)
		for _, x := range b[:n] { // bit by bit
			for k := range 8 {
				bit := uint16(x>>k) & 1
				if (c^bit)&1 == 1 {
					c = c>>1 ^ 0x8408
				} else {
					c >>= 1
				}
			}
		}
		for k := range n + 1 {
			if got := crc(crc(crcStart, b[:k]), b[k:n]); got != c {
				t.Fatalf("%d bytes cut at %d: %04x, want %04x", n, k, got, c)
			}
		}
	}
}
