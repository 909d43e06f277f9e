package emulator

import (
	"fmt"
	"io"
	"iter"
	"math"
	"slices"

	"swellbench/emulator/line"
	"swellbench/emulator/wire"
	"swellbench/scenarios/gnss"
)

// StandardBauds are the rates a budget is told for. Common practice: the rates that serial ports of every kind can do.
var StandardBauds = []int{4800, 9600, 19200, 38400, 57600, 115200, 230400, 460800, 921600}

// A Budget says what a stream asks of its line, and what each baud rate would make of it.
type Budget struct {
	Stream   string          `json:"stream"`
	Line     string          `json:"line"` // as the trade writes it: "4800 8N1"
	Queue    int             `json:"queue_bytes"`
	Messages []BudgetMessage `json:"messages"`
	Bauds    []BudgetBaud    `json:"bauds"`
	// Factor is by how much all rates together may be multiplied on the stream's own line.
	Factor float64 `json:"all_rates_may_be_multiplied_by"`
}

// A BudgetMessage is one message of a budget.
type BudgetMessage struct {
	Kind      string  `json:"kind"`
	Rate      float64 `json:"rate_hz"`
	LeastB    int     `json:"least_bytes"`
	MeanB     float64 `json:"mean_bytes"`
	MostB     int     `json:"most_bytes"`
	Share     float64 `json:"share"` // of the stream's own line, by its longest
	HighestHz float64 `json:"highest_rate_hz"`
}

// A BudgetBaud is what a baud rate makes of a stream.
type BudgetBaud struct {
	Baud       int     `json:"baud"`
	Own        bool    `json:"own"`         // it is the scenario's
	MeanShare  float64 `json:"mean_share"`  // of the line
	WorstShare float64 `json:"worst_share"` // if every message is as long as its longest
	// WorstDelayS is the longest time from when a message is due to its last stop bit, its own length included.
	WorstDelayS float64 `json:"worst_delay_s"`
	// WorstKind is the message that then waits, and Dropped the share of messages that the full queue refuses.
	WorstKind string  `json:"worst_delay_of"`
	Dropped   float64 `json:"dropped_share"`
}

// Fits tells whether the line carries all, whatever the messages say.
func (b BudgetBaud) Fits() bool { return b.WorstShare <= 1 && b.Dropped == 0 }

// OwnBaud is what the stream's own line makes of it.
func (b Budget) OwnBaud() BudgetBaud {
	i := slices.IndexFunc(b.Bauds, func(x BudgetBaud) bool { return x.Own })
	return b.Bauds[i]
}

// niceRates are the rates that a budget proposes, Hz. Common practice: what devices offer.
var niceRates = []float64{0.1, 0.2, 0.5, 1, 2, 4, 5, 10, 20, 25, 50, 100, 200, 250, 500, 1000}

// budgetInstants is at how many instants of the run the length of messages is looked at.
const budgetInstants = 400

// budgetS is how long a line is gone through with messages of full length, s, at the least.
const budgetS = 60

// Budget works out what stream i asks of its line. Lengths are those of the messages at instants spread over the run;
// delays come from a run of the line itself in which every message is as long as its longest and all epochs fall
// together at the start. What the scenario's latency adds is left out, faults too.
func (d *Device) Budget(i int) (Budget, error) {
	st := &d.streams[i]
	own := d.Line(i)
	b := Budget{Stream: d.StreamName(i), Line: own.String(), Queue: own.QueueRoom()}
	for j, m := range st.spec.Messages {
		b.Messages = append(b.Messages, BudgetMessage{Kind: st.kinds[j], Rate: float64(m.Rate), LeastB: math.MaxInt})
	}
	if err := d.lengths(i, b.Messages); err != nil {
		return Budget{}, err
	}
	perByte := own.ByteTime()
	var worst float64
	for j := range b.Messages {
		m := &b.Messages[j]
		m.Share = float64(m.MostB) * perByte * m.Rate
		worst += m.Share
	}
	for j := range b.Messages {
		m := &b.Messages[j]
		if m.MostB == 0 {
			m.HighestHz = niceRates[len(niceRates)-1]
			continue
		}
		room := (1 - worst + m.Share) / (float64(m.MostB) * perByte)
		for _, r := range niceRates {
			if r <= room+1e-9 {
				m.HighestHz = r
			}
		}
	}
	b.Factor = math.Inf(1)
	if worst > 0 {
		b.Factor = 1 / worst
	}
	bauds := slices.Clone(StandardBauds)
	if !slices.Contains(bauds, own.Baud) {
		bauds = append(bauds, own.Baud)
		slices.Sort(bauds)
	}
	for _, baud := range bauds {
		s := own
		s.Baud = baud
		one, err := tryLine(s, b.Messages)
		if err != nil {
			return Budget{}, fmt.Errorf("stream %s: %w", b.Stream, err)
		}
		one.Own = baud == own.Baud
		b.Bauds = append(b.Bauds, one)
	}
	return b, nil
}

// lengths fills in how long the messages are.
func (d *Device) lengths(i int, ms []BudgetMessage) error {
	st := &d.streams[i]
	end := float64(d.scenario.Duration)
	sum, n := make([]float64, len(ms)), 0
	var buf []byte
	var r wire.Reading
	var sats []gnss.Sat
	var sky []wire.Satellite
	for k := range budgetInstants {
		t := end * float64(k) / budgetInstants
		r = d.Reading(t)
		sats, sky = d.sky(&r, sats, sky)
		n++
		for j, enc := range st.encoders {
			var err error
			if buf, err = enc.Append(buf[:0], &r); err != nil {
				return fmt.Errorf("stream %s, %s at %.3f s: %w", d.StreamName(i), st.kinds[j], t, err)
			}
			m := &ms[j]
			m.LeastB, m.MostB = min(m.LeastB, len(buf)), max(m.MostB, len(buf))
			sum[j] += float64(len(buf))
		}
	}
	for j := range ms {
		ms[j].MeanB = sum[j] / float64(n)
	}
	return nil
}

// tryLine runs messages of full length over a line.
func tryLine(s line.Settings, ms []BudgetMessage) (BudgetBaud, error) {
	b := BudgetBaud{Baud: s.Baud}
	until := float64(budgetS)
	for _, m := range ms {
		b.MeanShare += m.MeanB * s.ByteTime() * m.Rate
		b.WorstShare += float64(m.MostB) * s.ByteTime() * m.Rate
		until = max(until, 2/m.Rate)
	}
	sent, dropped := 0, 0
	err := line.Transmit(s, fullLength(ms, until), io.Discard, func(x line.Sent) {
		sent++
		if x.Dropped != "" {
			dropped++
			return
		}
		if delay := x.Last - x.Due; delay > b.WorstDelayS {
			b.WorstDelayS, b.WorstKind = delay, x.Kind
		}
	})
	if sent > 0 {
		b.Dropped = float64(dropped) / float64(sent)
	}
	return b, err
}

// fullLength yields the messages of all epochs up to until, each as long as its longest.
func fullLength(ms []BudgetMessage, until float64) iter.Seq2[line.Message, error] {
	return func(yield func(line.Message, error) bool) {
		next := make([]int, len(ms))
		longest := 0
		for _, m := range ms {
			longest = max(longest, m.MostB)
		}
		buf := make([]byte, longest)
		for {
			t := math.Inf(1)
			for j := range ms {
				t = min(t, float64(next[j])/ms[j].Rate)
			}
			if t >= until {
				return
			}
			for j := range ms {
				if float64(next[j])/ms[j].Rate > t+epochSlack {
					continue
				}
				next[j]++
				if !yield(line.Message{Valid: t, Due: t, Kind: ms[j].Kind, Bytes: buf[:ms[j].MostB]}, nil) {
					return
				}
			}
		}
	}
}
