package line

import "math"

// A channel is what lies between the device's transmitter and the consumer: the UART that the consumer listens with,
// where it is set otherwise than the device's, the adapter in front of it, and its absence. It works in scenario time; virtual
// and real time use the same, and so agree.
type channel struct {
	table    *timetable
	tx       Settings                          // of the device, with the rate of the message on its way
	consumer func(at float64) (Settings, bool) // what it has set, as asked at that time; nil: not to be known
	policy   Policy

	set       Settings // what the consumer had set when last asked
	there     bool     // and whether it had
	listening bool     // through rx; otherwise the bytes come through as they are
	rx        Receiver
	fed       int     // bytes of the message that rx was fed,
	whole     int     // and how many of them it received as they were sent
	first     float64 // the message's first start bit

	adapter Adapter
	timer   float64 // when its timer was last begun
	held    []byte  // what is in it

	gone float64 // until then the port is hung up

	out   []byte     // what is to be handed over,
	parts []delivery // and when
	taken int        // of out
}

func newChannel(table *timetable, s Settings, consumer func(at float64) (Settings, bool), policy Policy) channel {
	return channel{table: table, tx: s, consumer: consumer, policy: policy, gone: negInf}
}

// A delivery is n bytes that are handed over at a time, not before.
type delivery struct {
	at float64
	n  int
}

// begin begins a message that the table has placed.
func (c *channel) begin(m *Sent) {
	c.first, c.fed, c.whole = m.First, 0, 0
	c.tx.Baud = int(c.table.baud)
	if m.Adapter != c.adapter {
		c.flushUntil(m.First)
		c.flush(m.First)
		c.adapter, c.timer = m.Adapter, m.First
	}
	if m.HangUpS > 0 {
		c.flush(m.First) // what the adapter holds has been received
		c.gone = max(c.gone, m.First+m.HangUpS)
		c.listening, c.there = false, false
	}
}

// direct tells whether the message's bytes go through unchanged, each when it has left, and nothing else is on its way.
func (c *channel) direct(m *Sent) bool {
	return c.consumer == nil && c.adapter.LatencyS == 0 && len(c.parts) == 0 && !(m.First < c.gone)
}

// carry takes bytes from to until of the message to the consumer; what can be handed over by then is in next. It returns
// how many are lost because the port is hung up.
func (c *channel) carry(m *Sent, from, until int64) (gone int64) {
	c.ask(c.table.byteEnd(until-1), c.table.byteStart(from))
	for i := from; i < until; i++ {
		start, end := c.table.byteStart(i), c.table.byteEnd(i)
		isBreak := i == c.table.breakAt
		switch {
		case start < c.gone:
			gone++
			continue
		case !c.listening:
			c.emit(end, m.Bytes[i:i+1])
			continue
		case isBreak:
			c.rx.Low(start, max(m.Break.S, c.table.bits/c.table.baud))
		default:
			c.rx.Byte(start, m.Bytes[i])
			c.fed++
		}
		c.receive()
	}
	c.flushUntil(c.table.byteEnd(until - 1))
	return gone
}

// ask asks the consumer how its side is set, at a time when the byte that began at start has just been sent.
func (c *channel) ask(at, start float64) {
	if c.consumer == nil || start < c.gone {
		return
	}
	set, ok := c.consumer(at)
	ok = ok && set.Validate() == nil
	was, wasThere := c.set, c.there
	c.set, c.there = set, ok
	same := ok && wasThere && set == was
	switch {
	case !ok:
		c.listening = false
		return
	case c.listening && same:
		c.rx.Idle(start)
		c.receive()
		c.rx.setTransmitter(c.tx)
		if _, busy := c.rx.Waiting(); !busy && c.tx.compatible(set) {
			c.listening = false // in step from here on
		}
		return
	case !c.listening && c.tx.compatible(set):
		return
	}
	// It has just been set anew, in the middle of that byte; or it was set so, and the device has changed.
	from := start
	if !same {
		from += c.table.bits / c.table.baud / 2
	}
	c.rx.Policy = c.policy
	c.rx.setTransmitter(c.tx)
	c.rx.listen(set, from)
	c.listening = true
}

// receive hands on what rx has received.
func (c *channel) receive() {
	for x, ok := c.rx.Next(); ok; x, ok = c.rx.Next() {
		if x.Whole && x.Start >= c.first {
			c.whole++
		}
		var buf [4]byte
		c.emit(x.Time, c.policy.AppendByte(buf[:0], x))
	}
}

// emit is bytes that the consumer's UART has at a time.
func (c *channel) emit(at float64, p []byte) {
	if c.adapter.LatencyS == 0 {
		c.deliver(at, p)
		return
	}
	c.flushUntil(at)
	block := c.adapter.Block
	if block == 0 {
		block = DefaultBlock
	}
	for _, b := range p {
		if c.held = append(c.held, b); len(c.held) >= block {
			c.flush(at)
			c.timer = at
		}
	}
}

// flushUntil lets the adapter's timer run until then.
func (c *channel) flushUntil(at float64) {
	period := c.adapter.LatencyS
	if period == 0 || at < c.timer+period {
		return
	}
	c.flush(c.timer + period)
	c.timer += period
	// Nothing is in it now: as many periods as fit.
	c.timer += math.Floor((at-c.timer)/period) * period
}

// flush hands on what the adapter holds.
func (c *channel) flush(at float64) {
	if len(c.held) > 0 {
		c.deliver(at, c.held)
		c.held = c.held[:0]
	}
}

func (c *channel) deliver(at float64, p []byte) {
	if len(p) > 0 {
		c.out = append(c.out, p...)
		c.parts = append(c.parts, delivery{at, len(p)})
	}
}

// wake is when the next bytes can be handed over if nothing more is sent; false where none can.
func (c *channel) wake() (at float64, ok bool) {
	if len(c.parts) > 0 {
		return c.parts[0].at, true
	}
	at = math.Inf(1)
	if c.listening {
		if t, busy := c.rx.Waiting(); busy {
			at = t
		}
	}
	if len(c.held) > 0 {
		at = min(at, c.timer+c.adapter.LatencyS)
	}
	return at, !math.IsInf(at, 1)
}

// settling is wake where that is not after the next start bit, at until.
func (c *channel) settling(until float64) (at float64, ok bool) {
	at, ok = c.wake()
	return at, ok && at <= until
}

// settle says that nothing is on the line until then, which is what wake has said.
func (c *channel) settle(at float64) {
	if c.listening {
		c.rx.Idle(at)
		c.receive()
	}
	c.flushUntil(at)
	if again, ok := c.wake(); ok && len(c.parts) == 0 && again <= at {
		c.listening, c.held = false, c.held[:0] // only where a float64 is too coarse for the time
	}
}

// next gives what is to be handed over next, at most until then. The bytes are valid until anything else is called.
func (c *channel) next(until float64) (p []byte, at float64, ok bool) {
	if len(c.parts) == 0 || c.parts[0].at > until {
		if c.taken > 0 {
			c.out = append(c.out[:0], c.out[c.taken:]...)
			c.taken = 0
		}
		return nil, 0, false
	}
	d := c.parts[0]
	c.parts = append(c.parts[:0], c.parts[1:]...)
	p = c.out[c.taken : c.taken+d.n]
	c.taken += d.n
	return p, d.at, true
}

// end says what of the message the consumer did not get as it was sent, and how long the adapter holds the last of it.
func (c *channel) end(m *Sent) (mismatched int64) {
	if len(c.held) > 0 {
		m.HeldS = max(c.timer+c.adapter.LatencyS-m.Last, 0)
	}
	return int64(max(c.fed-c.whole, 0))
}
