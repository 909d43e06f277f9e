package line

import (
	"bytes"
	"context"
	"fmt"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"pgregory.net/rapid"
)

// genLive draws messages that ask for all that the line can do.
func genLive(t *rapid.T) []Message {
	in := genMessages(t)
	adapter := Adapter{}
	for i := range in {
		m := &in[i]
		m.Bytes = bytes.Clone(m.Bytes)
		for k := range m.Bytes {
			m.Bytes[k] = byte(7*i + 31*k)
		}
		switch rapid.IntRange(0, 9).Draw(t, "how") {
		case 0:
			m.Baud = rapid.SampledFrom([]int{4800, 9600, 38400}).Draw(t, "its baud")
		case 1:
			m.HangUpS = rapid.SampledFrom([]float64{0, 0.01, 0.2}).Draw(t, "hang-up")
		case 2:
			if len(m.Bytes) > 0 {
				m.Break = Break{rapid.IntRange(0, len(m.Bytes)-1).Draw(t, "break at"), rapid.SampledFrom([]float64{0.0001, 0.02, 0.3}).Draw(t, "break")}
				m.Bytes[m.Break.At] = 0
			}
		case 3:
			adapter = rapid.SampledFrom([]Adapter{{}, {LatencyS: 0.016}, {LatencyS: 0.001, Block: 3}, {LatencyS: 0.25, Block: 5}}).Draw(t, "adapter")
		}
		m.Adapter = adapter
	}
	return in
}

// genConsumer draws a consumer that sets its side now and then; it is a function of time alone.
func genConsumer(t *rapid.T, s Settings) func(at float64) (Settings, bool) {
	var sets []Settings
	for range rapid.IntRange(1, 6).Draw(t, "settings") {
		set := s
		switch rapid.IntRange(0, 3).Draw(t, "set") {
		case 0:
			set.Baud = rapid.SampledFrom([]int{300, 4800, 9600, 38400, 115200}).Draw(t, "its baud")
		case 1:
			set.DataBits, set.Parity = 7, ParityEven
		case 2:
			set = Settings{} // gone
		}
		sets = append(sets, set)
	}
	return func(at float64) (Settings, bool) {
		set := sets[max(0, int((at+1)/0.0377123))%len(sets)]
		return set, set.Baud != 0
	}
}

// Whatever happens on the line and whatever the consumer does: virtual and real time give the same bytes and the same
// log, and no byte comes before it can be there, nor later than a step.
func TestPlayAgreesWithTransmitTo(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		rapid.Check(struct{ rapid.TB }{t}, func(t *rapid.T) {
			s, in := genSettings(t), genLive(t)
			if rapid.Bool().Draw(t, "slow processor") {
				s.FIFO, s.RefillS = 16, 0.003
			}
			o := TransmitOptions{Policy: Policy(rapid.IntRange(0, 3).Draw(t, "policy"))}
			if rapid.Bool().Draw(t, "known") {
				o.Consumer = genConsumer(t, s)
			}
			want := transmitTo(t, s, in, o)
			w := &wire{}
			var sent []Sent
			origin := time.Now().Add(time.Second)
			p := Options{Origin: origin, Policy: o.Policy, Sent: func(s Sent) { sent = append(sent, s) }}
			if o.Consumer != nil {
				p.Consumer = func() (Settings, bool) { return o.Consumer(time.Since(origin).Seconds()) }
			}
			sum, err := Play(context.Background(), Timers{}, s, seq(in, nil), w, p)
			if err != nil {
				t.Fatal(err)
			}
			if !bytes.Equal(w.got.Bytes(), want.bytes) || fmt.Sprint(sent) != fmt.Sprint(want.sent) {
				t.Fatalf("Play sent % x\n%v\nTransmit sent % x\n%v", w.got.Bytes(), sent, want.bytes, want.sent)
			}
			step := max(0.001, s.ByteTime(), 12.0/4800) + s.RefillS + 2e-9
			for i, at := range w.at {
				// Bytes of one message come together in virtual time, when the last has left.
				if late := at.Sub(origin).Seconds() - want.at[i]; late > step || late < -1e-9 && (o.Consumer != nil || i+1 == len(w.at)) {
					var near strings.Builder
					for _, x := range sent {
						fmt.Fprintf(&near, "%d bytes %g to %g, %q, %d baud, break %v, adapter %v, hang-up %g\n", len(x.Bytes), x.First, x.Last, x.Dropped, x.Baud, x.Break, x.Adapter, x.HangUpS)
					}
					t.Fatalf("byte %d came at %.9f, %.9f s late; %v\n%s", i, want.at[i], late, s, near.String())
				}
			}
			lost := map[string]int64{}
			for _, x := range sent {
				if x.Lost > len(x.Bytes) || (x.Lost > 0) != (x.Dropped != "") {
					t.Fatalf("lost %d of %d bytes: %q", x.Lost, len(x.Bytes), x.Dropped)
				}
				lost[x.Dropped]++
			}
			if sum.Mismatch.Messages != lost[SpeedMismatch] || sum.HungUp.Messages != lost[HungUp] || sum.Messages != lost[""] || sum.Bytes != int64(w.got.Len()) {
				t.Fatalf("summary %+v of %v", sum, lost)
			}
		})
	})
}
