package line

import (
	"fmt"
	"testing"

	"pgregory.net/rapid"
)

// plainly is the same receiver, written bit by bit over whole numbers: the line as a list of half bits of the sender, time
// in ticks of which a sender's half bit has 2·rxBaud and a receiver's half bit 2·txBaud.
func plainly(tx, rx Settings, data []byte, gapHalfBits []int, breakHalfBits int) (out []Received, falseStarts int) {
	tx, rx = tx.withDefaults(), rx.withDefaults()
	var wire []bool // true is high
	put := func(high bool, halfBits int) {
		for range halfBits {
			wire = append(wire, high)
		}
	}
	ones := func(v, n int) (c int) {
		for i := range n {
			c += v >> i & 1
		}
		return c
	}
	parity := func(p Parity, v, n int) bool {
		switch p {
		case ParityEven:
			return ones(v, n)%2 == 1
		case ParityOdd:
			return ones(v, n)%2 == 0
		case ParityMark:
			return true
		}
		return false
	}
	put(true, 4)
	for i, b := range data {
		put(false, 2)
		for k := range tx.DataBits {
			put(int(b)>>k&1 == 1, 2)
		}
		if tx.Parity != ParityNone {
			put(parity(tx.Parity, int(b), tx.DataBits), 2)
		}
		put(true, int(2*tx.StopBits)+gapHalfBits[i])
	}
	put(false, breakHalfBits)
	put(true, 40*(tx.Baud/rx.Baud+1)) // silence for the last frame
	half := 2 * rx.Baud               // ticks of a half bit of the sender
	bit := 4 * tx.Baud                // ticks of a bit of the receiver
	slack := float64(bit) / 1024
	at := func(tick int) bool { // the level after the edge where the look is on one
		i := tick / half
		if float64((i+1)*half-tick) <= slack {
			i++
		}
		return i >= len(wire) || wire[i]
	}
	next := func(tick int) (int, bool) { // the falling edge after tick
		for i := 1; i < len(wire); i++ {
			if wire[i-1] && !wire[i] && float64(i*half) > float64(tick)+slack {
				return i * half, true
			}
		}
		return 0, false
	}
	tick := -bit
	for {
		t0, ok := next(tick)
		if !ok {
			return out, falseStarts
		}
		tick = t0 + bit/2
		if at(tick) {
			falseStarts++
			continue
		}
		var x Received
		one := false
		for k := range rx.DataBits {
			tick += bit
			if at(tick) {
				x.Value |= 1 << k
				one = true
			}
		}
		if rx.Parity != ParityNone {
			tick += bit
			p := at(tick)
			one = one || p
			x.ParityError = p != parity(rx.Parity, int(x.Value), rx.DataBits)
		}
		tick += bit
		stop := at(tick)
		x.FramingError = !stop
		x.Break = !one && !stop
		if x.Break {
			x.ParityError = false
		}
		unit := 1 / (4 * float64(tx.Baud) * float64(rx.Baud))
		x.Start, x.Time = float64(t0-4*half)*unit, float64(tick-4*half)*unit
		out = append(out, x)
	}
}

func drawUART(t *rapid.T, label string) Settings {
	return Settings{
		Baud:     rapid.SampledFrom([]int{300, 1200, 4800, 9600, 14400, 19200, 31250, 38400, 57600, 115200}).Draw(t, label+" baud"),
		DataBits: rapid.IntRange(5, 9).Draw(t, label+" data"),
		Parity:   Parity(rapid.IntRange(0, 4).Draw(t, label+" parity")),
		StopBits: rapid.SampledFrom([]float64{1, 1.5, 2}).Draw(t, label+" stop"),
	}
}

// What the receiver makes of random bytes, rates, formats and gaps is what the plain one makes of them: values, errors,
// times and all.
func TestUARTAgreesWithPlainReceiver(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		tx, rx := drawUART(t, "sender"), drawUART(t, "receiver")
		switch rapid.IntRange(0, 2).Draw(t, "rates") {
		case 0:
			rx.Baud = tx.Baud
		case 1: // near
			rx.Baud = tx.Baud * rapid.IntRange(900, 1100).Draw(t, "permille") / 1000
		}
		data := rapid.SliceOfN(rapid.Byte(), 0, 30).Draw(t, "data")
		gaps := make([]int, len(data))
		for i := range gaps {
			gaps[i] = rapid.SampledFrom([]int{0, 0, 0, 1, 2, 7, 30}).Draw(t, "gap")
		}
		low := rapid.SampledFrom([]int{0, 1, 5, 19, 25, 60}).Draw(t, "break")
		want, wantFalse := plainly(tx, rx, data, gaps, low)
		r, err := NewReceiver(tx, rx, KeepErrored)
		if err != nil {
			t.Fatal(err)
		}
		half, n := 0.5/float64(tx.Baud), 0.0
		var got []Received
		for i, b := range data {
			r.Byte(n*half, b)
			n += 2*tx.BitsPerByte() + float64(gaps[i])
			got = append(got, r.all()...)
		}
		r.Low(n*half, float64(low)*half)
		n += float64(low)
		r.Idle(n*half + 20/float64(rx.Baud) + 20/float64(tx.Baud))
		got = append(got, r.all()...)
		falseStarts := r.falseStarts
		for i := range got {
			falseStarts += got[i].FalseStarts
			got[i].FalseStarts, got[i].Whole = 0, false
			if i < len(want) {
				for _, d := range []float64{got[i].Start - want[i].Start, got[i].Time - want[i].Time} {
					if d > 1e-9 || d < -1e-9 {
						t.Fatalf("byte %d at %.9f to %.9f s, want %.9f to %.9f", i, got[i].Start, got[i].Time, want[i].Start, want[i].Time)
					}
				}
				got[i].Start, got[i].Time = want[i].Start, want[i].Time
			}
		}
		if fmt.Sprint(got) != fmt.Sprint(want) || falseStarts != wantFalse {
			t.Fatalf("%v to %v, % x:\n got %v, %d false starts\nwant %v, %d", tx, rx, data, got, falseStarts, want, wantFalse)
		}
	})
}
