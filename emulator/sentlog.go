package emulator

import (
	"bufio"
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
// "hurt" names the fault that spoiled the message, "dropped" says why it never left; both are left out otherwise.
// "offset" counts the bytes that left on the stream before this message.
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
	if s.Hurt != "" {
		b = append(append(append(b, `,"hurt":"`...), s.Hurt...), '"')
	}
	if s.Dropped != "" {
		b = append(append(append(b, `,"dropped":"`...), s.Dropped...), '"')
	} else {
		l.offsets[stream] += int64(len(s.Bytes))
	}
	b = append(b, '}', '\n')
	l.buf = b
	if l.err == nil {
		_, l.err = l.w.Write(b)
	}
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
