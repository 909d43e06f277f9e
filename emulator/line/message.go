package line

// A Message is one sentence, frame or datagram on its way to the line.
type Message struct {
	Valid float64 // scenario time of validity of what it says, s
	Due   float64 // scenario time of the first start bit, s
	Kind  string  // as the family names it: "GNGGA", "HEHDT"
	Bytes []byte  // valid until the next message is pulled
	Hurt  string  // the faults that spoiled it, joined by "+"; "" if none

	// Number is which of the device's own messages it is, counted from 0 where [Apply] has counted them; -1 where the
	// device never made it, as of what a flood brings.
	Number int
	Edits  []Edit // what faults did to its bytes, in order; valid until the next message is pulled

	// What follows is about how it is sent, not what it says; zero is as usual.
	Baud    int     // the rate it is sent at, from its first byte on; 0 is that of the line's settings
	Break   Break   // a break within it
	Adapter Adapter // the consumer's adapter hands on in blocks what comes of it
	HangUpS float64 // the port hangs up when its first byte is to leave, for so long

	// Idle is no message, but the word of who does not know yet what comes next that nothing does before Due: what is still
	// on its way, in an adapter or a receiver, arrives meanwhile. [Play] alone needs that.
	Idle bool
}

// A Break is a time when the sender holds the line low. The byte that a receiver makes of it is among the message's bytes.
type Break struct {
	At int     // which byte of the message it is
	S  float64 // how long, s; 0 is no break; what is shorter than a byte is as long as one
}

// An Adapter is what hands the received bytes on in blocks, as adapters from USB to serial do: when a block is full, or
// when its latency timer has run out. The timer begins anew whenever it has run out or a block was handed on.
type Adapter struct {
	LatencyS float64 // period of the latency timer, s; 0 is no adapter
	Block    int     // bytes handed on at once, at most; 0 is [DefaultBlock]
}

// DefaultBlock is the payload of one packet of a common adapter: 64 bytes less two of status. Common practice, from memory.
const DefaultBlock = 62

// A Sent says what became of one message: the sent-log is one of these a line.
//
// First and Last are of the schedule, so that virtual and real time give the same; what the host added in real time
// is LateS. Of a message that the full queue refused, and of one without bytes, both are the time it was due.
type Sent struct {
	Message
	First   float64 // scenario time when the first start bit left, s
	Last    float64 // scenario time when the last stop bit ended, s
	LateS   float64 // how much later than its schedule the host handed the last byte over, s; 0 in virtual time
	HeldS   float64 // how long an adapter held its last byte after that, at most, s
	Dropped string  // why it did not arrive whole: NoConsumer, QueueFull, Overrun, Stopped, ...; "" if it did
	Lost    int     // how many of its bytes were not handed over as they were sent
}

// Why a message did not arrive whole. Where several things happened, the first to happen is named.
const (
	NoConsumer    = "no consumer"    // nobody had the port open for some of its bytes: as on a wire, they are lost
	QueueFull     = "queue full"     // the device's queue had no room: dropped whole, nothing of it left
	Overrun       = "overrun"        // the consumer did not read and its buffer was full: the rest of the message is lost
	Stopped       = "stopped"        // the run ended while it was on its way
	SpeedMismatch = "speed mismatch" // the consumer's side of the line is set otherwise: it read something else
	HungUp        = "hung up"        // the port was gone for some of its bytes
)
