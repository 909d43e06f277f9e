package line

// A Message is one sentence, frame or datagram on its way to the line.
type Message struct {
	Valid float64 // scenario time of validity of what it says, s
	Due   float64 // scenario time of the first start bit, s
	Kind  string  // as the family names it: "GNGGA", "HEHDT"
	Bytes []byte  // valid until the next message is pulled
	Hurt  string  // the fault that spoiled it; "" if none
}

// A Sent says what became of one message: the sent-log is one of these a line.
//
// First and Last are of the schedule, so that virtual and real time give the same; what the host added in real time
// is LateS. Of a message that the full queue refused, and of one without bytes, both are the time it was due.
type Sent struct {
	Message
	First   float64 // scenario time when the first start bit left, s
	Last    float64 // scenario time when the last stop bit ended, s
	LateS   float64 // how much later than its schedule the host handed the last byte over, s; 0 in virtual time
	Dropped string  // why it did not arrive whole: NoConsumer, QueueFull, Overrun, Stopped; "" if it did
	Lost    int     // how many of its bytes were not handed over
}

// Why a message did not arrive whole. Where several things happened, the first to happen is named.
const (
	NoConsumer = "no consumer" // nobody had the port open for some of its bytes: as on a wire, they are lost
	QueueFull  = "queue full"  // the device's queue had no room: dropped whole, nothing of it left
	Overrun    = "overrun"     // the consumer did not read and its buffer was full: the rest of the message is lost
	Stopped    = "stopped"     // the run ended while it was on its way
)
