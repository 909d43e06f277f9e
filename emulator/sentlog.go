package emulator

import (
	"bufio"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"io"
	"iter"
	"strconv"
	"time"

	"swellbench/emulator/line"
)

// A SentLog writes the sent-log: one JSON object a line for each message, in order of transmission. It allocates
// nothing per message. Times are scenario seconds; "utc" is the instant of validity.
//
//	{"stream":0,"kind":"GNGGA","utc":"2026-06-01T12:00:00.200Z","valid":0.2,"due":0.24,"first":0.24,"last":0.2613,
//	 "late":0,"offset":0,"bytes":82}
//
// "offset" counts the bytes that left on the stream before this message, "number" is which of the stream's own messages it
// is, counted from 0, and -1 for what the device never made: floods, answers. All else is left out where it is as usual:
//
//   - "hurt" names the faults that spoiled the message, joined by +, and "edits" says what each did to its bytes, in order:
//     "cut" bytes from "at" on became "put", in hexadecimal digits. [Device.Replay] makes the bytes anew from that;
//   - "dropped" says why it did not arrive whole, "lost" how many of its bytes did not;
//   - "baud" is the rate where it is not the line's own; "break" is the byte at which the line was held low, "break_s" how
//     long; "adapter_s" and "block" are of an adapter that held bytes back, "held" for how long it kept the last of this
//     message at most; "hang_up" is how long the port was away from its first byte on.
type SentLog struct {
	d       *Device
	w       *bufio.Writer
	offsets []int64
	buf     []byte
	err     error
}

// NewSentLog writes the sent-log of d to w. Call Flush at the end.
func (d *Device) NewSentLog(w io.Writer) *SentLog {
	return &SentLog{d: d, w: bufio.NewWriterSize(w, 1<<16), offsets: make([]int64, d.Streams())}
}

// Add writes what became of a message of the given stream. Errors are kept for Flush.
func (l *SentLog) Add(stream int, s line.Sent) {
	b := l.buf[:0]
	b = append(b, `{"stream":`...)
	b = strconv.AppendInt(b, int64(stream), 10)
	b = append(b, `,"kind":"`...)
	b = append(b, s.Kind...) // letters and digits only
	b = append(b, `","utc":"`...)
	b = l.d.UTC(s.Valid).AppendFormat(b, "2006-01-02T15:04:05.000000Z")
	b = append(b, '"')
	for _, f := range [...]struct {
		key string
		v   float64
	}{{`,"valid":`, s.Valid}, {`,"due":`, s.Due}, {`,"first":`, s.First}, {`,"last":`, s.Last}, {`,"late":`, s.LateS}} {
		b = append(b, f.key...)
		b = strconv.AppendFloat(b, roundNano(f.v), 'f', -1, 64)
	}
	b = append(b, `,"offset":`...)
	b = strconv.AppendInt(b, l.offsets[stream], 10)
	b = append(b, `,"bytes":`...)
	b = strconv.AppendInt(b, int64(len(s.Bytes)), 10)
	b = append(b, `,"number":`...)
	b = strconv.AppendInt(b, int64(s.Number), 10)
	if s.Hurt != "" {
		b = append(append(append(b, `,"hurt":"`...), s.Hurt...), '"')
	}
	b = appendEdits(b, s.Edits)
	if s.Dropped != "" {
		b = append(append(append(b, `,"dropped":"`...), s.Dropped...), '"')
	} else {
		l.offsets[stream] += int64(len(s.Bytes))
	}
	b = appendWhere(b, `,"lost":`, float64(s.Lost))
	b = appendWhere(b, `,"baud":`, float64(s.Baud))
	if s.Break.S > 0 {
		b = append(b, `,"break":`...)
		b = strconv.AppendInt(b, int64(s.Break.At), 10)
		b = appendWhere(b, `,"break_s":`, s.Break.S)
	}
	b = appendWhere(b, `,"adapter_s":`, s.Adapter.LatencyS)
	b = appendWhere(b, `,"block":`, float64(s.Adapter.Block))
	b = appendWhere(b, `,"held":`, roundNano(s.HeldS))
	b = appendWhere(b, `,"hang_up":`, s.HangUpS)
	b = append(b, '}', '\n')
	l.buf = b
	if l.err == nil {
		_, l.err = l.w.Write(b)
	}
}

// appendWhere appends a key and a number where it is not 0.
func appendWhere(b []byte, key string, v float64) []byte {
	if v == 0 {
		return b
	}
	return strconv.AppendFloat(append(b, key...), v, 'f', -1, 64)
}

func appendEdits(b []byte, edits []line.Edit) []byte {
	for i, e := range edits {
		if i == 0 {
			b = append(b, `,"edits":[`...)
		} else {
			b = append(b, ',')
		}
		b = append(append(append(b, `{"fault":"`...), e.Fault...), `","at":`...)
		b = strconv.AppendInt(b, int64(e.At), 10)
		b = append(b, `,"cut":`...)
		b = strconv.AppendInt(b, int64(e.Cut), 10)
		b = append(b, `,"put":"`...)
		b = hex.AppendEncode(b, e.Put)
		b = append(b, '"', '}')
	}
	if len(edits) > 0 {
		b = append(b, ']')
	}
	return b
}

// Flush writes what is buffered and returns the first error of all.
func (l *SentLog) Flush() error {
	if l.err == nil {
		l.err = l.w.Flush()
	}
	return l.err
}

// roundNano rounds a time to whole nanoseconds, so that the log shows no binary dust.
func roundNano(t float64) float64 { return float64(int64(t*1e9+0.5)) / 1e9 }

// A SentRecord is one line of a sent-log as [ReadSentLog] gives it.
type SentRecord struct {
	Stream  int       `json:"stream"`
	Kind    string    `json:"kind"`
	UTC     time.Time `json:"utc"`
	Valid   float64   `json:"valid"`
	Due     float64   `json:"due"`
	First   float64   `json:"first"`
	Last    float64   `json:"last"`
	Late    float64   `json:"late"`
	Offset  int64     `json:"offset"`
	Bytes   int       `json:"bytes"`
	Hurt    string    `json:"hurt"`
	Dropped string    `json:"dropped"`

	Number   int        `json:"number"`
	Edits    []SentEdit `json:"edits"`
	Lost     int        `json:"lost"`
	Baud     int        `json:"baud"`
	Break    int        `json:"break"`
	BreakS   float64    `json:"break_s"`
	AdapterS float64    `json:"adapter_s"`
	Block    int        `json:"block"`
	Held     float64    `json:"held"`
	HangUp   float64    `json:"hang_up"`
}

// A SentEdit is what one fault did to the bytes of a message.
type SentEdit struct {
	Fault string `json:"fault"`
	At    int    `json:"at"`
	Cut   int    `json:"cut"`
	Put   Hex    `json:"put"`
}

// Hex is bytes that a file has as hexadecimal digits.
type Hex []byte

// UnmarshalText reads the digits.
func (h *Hex) UnmarshalText(b []byte) (err error) {
	*h, err = hex.DecodeString(string(b))
	return err
}

// Sent is the record as the line told it, without the message's bytes: [Device.Replay] has those.
func (r SentRecord) Sent() line.Sent {
	s := line.Sent{
		Message: line.Message{Valid: r.Valid, Due: r.Due, Kind: r.Kind, Hurt: r.Hurt, Number: r.Number, Baud: r.Baud,
			Break: line.Break{At: r.Break, S: r.BreakS}, Adapter: line.Adapter{LatencyS: r.AdapterS, Block: r.Block}, HangUpS: r.HangUp},
		First: r.First, Last: r.Last, LateS: r.Late, HeldS: r.Held, Dropped: r.Dropped, Lost: r.Lost,
	}
	for _, e := range r.Edits {
		s.Edits = append(s.Edits, line.Edit{Fault: e.Fault, At: e.At, Cut: e.Cut, Put: e.Put})
	}
	return s
}

// ReadSentLog reads a sent-log line by line. A line that is none ends it with an error that names the line.
func ReadSentLog(r io.Reader) iter.Seq2[SentRecord, error] {
	return func(yield func(SentRecord, error) bool) {
		sc := bufio.NewScanner(r)
		sc.Buffer(nil, 1<<20)
		for n := 1; sc.Scan(); n++ {
			var rec SentRecord
			if err := json.Unmarshal(sc.Bytes(), &rec); err != nil {
				yield(rec, fmt.Errorf("sent-log line %d: %w", n, err))
				return
			}
			if !yield(rec, nil) {
				return
			}
		}
		if err := sc.Err(); err != nil {
			yield(SentRecord{}, fmt.Errorf("sent-log: %w", err))
		}
	}
}
