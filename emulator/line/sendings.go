package line

// newBatching hands on in blocks what comes of the picked messages, as an adapter from USB to serial does: see [Adapter]. The
// messages stay whole and are not marked; HeldS of the sent-log says how long the adapter kept the end of each.
func newBatching(p Params) Fault {
	return sending{"adapter-batching", p, func(m *Message) { m.Adapter = Adapter{LatencyS: p.LatencyS, Block: p.Block} }}
}

// newHangUp hangs the port up when a picked message is to leave, for For. What leaves meanwhile is lost, and says so in the
// sent-log; afterwards the same path is there again and the consumer has to open it.
func newHangUp(p Params) Fault {
	return sending{"hang-up", p, func(m *Message) { m.HangUpS = max(m.HangUpS, p.For) }}
}

// newSpeed sends the picked messages at Baud. The line's pace follows. A consumer whose rate is known and another one reads
// rubbish, and the messages are marked as lost to it; where it is not known they arrive whole.
func newSpeed(p Params) Fault {
	return sending{"speed", p, func(m *Message) { m.Baud = p.Baud }}
}

// EchoName is the fault that only a device that plays in real time can do.
const EchoName = "echo"

// newEcho changes no message. While it lasts, from From until Until, a device that plays in real time sends back what its
// consumer sends: package emulator does that.
func newEcho(p Params) Fault {
	return sending{EchoName, p, func(*Message) {}}
}
