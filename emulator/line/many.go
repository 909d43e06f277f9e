package line

import (
	"container/heap"
	"context"
	"errors"
	"fmt"
	"io"
	"iter"
	"time"
)

// A Job is one stream of [PlayMany].
type Job struct {
	Settings Settings
	Messages iter.Seq2[Message, error]
	Port     Sink
	Options  Options // an Origin of its own is for one that does not begin with the others
}

// PlayMany plays many streams from one goroutine, in step. It differs from [Play] in one thing: the messages of an epoch
// are handed over together when the last stop bit of the last has ended, as an adapter does that gathers bytes; byte by
// byte a few hundred ports would keep a machine busy with nothing else. All else is the same: absolute schedule, nothing early, nothing a port does stops
// the clock. Streams due at the same instant go in the order of the jobs, so that runs repeat. How consumers have set their side
// makes no difference here, and faults that change the line itself, such as a hang-up, end their stream with an error.
//
// An error of a stream ends that stream alone; the errors of all, in the order of the jobs, come back joined. Summaries are
// good in every case.
func PlayMany(ctx context.Context, clock Clock, jobs []Job) ([]Summary, error) {
	if clock == nil {
		clock = SystemClock()
	}
	all := make([]*track, len(jobs))
	sums, errs := make([]Summary, len(jobs)), make([]error, len(jobs))
	origin := clock.Now()
	queue := make(trackQueue, 0, len(jobs))
	for i, j := range jobs {
		t := &track{index: i, player: player{clock: clock, port: j.Port, sent: j.Options.Sent, table: newTimetable(j.Settings)}}
		t.Origin = origin
		if !j.Options.Origin.IsZero() {
			t.Origin = origin.Add(j.Options.Origin.Sub(origin))
		}
		all[i] = t
		if errs[i] = j.Settings.Validate(); errs[i] != nil {
			continue
		}
		t.next, t.stop = iter.Pull2(j.Messages)
		defer t.stop()
		if t.pull(&errs[i]) {
			queue = append(queue, t)
		}
	}
	heap.Init(&queue)
	var end error
	var batch []*track
	for len(queue) > 0 && end == nil {
		if end = clock.SleepUntil(ctx, queue[0].due); end != nil {
			break
		}
		// What is due is handed over first, and the next messages are made when that is done: making one takes as long
		// as handing one over.
		now := clock.Now()
		batch = batch[:0]
		for len(queue) > 0 && !queue[0].due.After(now) {
			batch = append(batch, heap.Pop(&queue).(*track))
		}
		for _, t := range batch {
			errs[t.index] = t.hand()
		}
		for _, t := range batch {
			if errs[t.index] == nil && t.pull(&errs[t.index]) {
				heap.Push(&queue, t)
			}
		}
	}
	for i, t := range all {
		sums[i] = t.Summary
	}
	return sums, errors.Join(append(errs, end)...)
}

// A track is one stream on its way. A burst is the messages of one epoch, which are due at the same time and leave one
// after the other.
type track struct {
	player
	index int
	next  func() (Message, error, bool)
	stop  func()
	ahead Message // the first message of the next burst, if there is one
	more  bool

	burst []Sent // their bytes lie in buf, one after the other
	buf   []byte
	due   time.Time // when the burst has left and is handed over
}

// maxBurst bounds what is made ahead, in messages.
const maxBurst = 64

// pull makes the next burst; false where there is none.
func (t *track) pull(problem *error) bool {
	t.burst, t.buf = t.burst[:0], t.buf[:0]
	for len(t.burst) < maxBurst {
		if !t.more {
			m, err, ok := t.next()
			if err == nil && ok {
				err = checkMessage(&m)
				if err == nil && (m.Baud != 0 || m.HangUpS > 0 || m.Adapter.LatencyS > 0 || m.Break.S > 0) {
					err = fmt.Errorf("message %s due at %g s changes the line; many streams at a time take only faults of messages, so play this one alone", m.Kind, m.Due)
				}
			}
			if err != nil {
				*problem = fmt.Errorf("play: %w", err)
			}
			if !ok || err != nil {
				return len(t.burst) > 0
			}
			t.ahead, t.more = m, true
		}
		if len(t.burst) > 0 && t.ahead.Due != t.burst[0].Due {
			break
		}
		out := t.table.place(t.ahead)
		t.buf = append(t.buf, out.Bytes...)
		out.Edits = keepEdits(out.Edits)
		t.burst, t.more = append(t.burst, out), false
		if at := t.instant(out.Last); len(t.burst) == 1 || at.After(t.due) {
			t.due = at
		}
	}
	return true
}

// hand gives the burst to the port and tells of its messages.
func (t *track) hand() error {
	at := 0
	for i := range t.burst { // buf may have moved while it grew
		n := len(t.burst[i].Bytes)
		t.burst[i].Bytes = t.buf[at : at+n : at+n]
		at += n
	}
	var err error
	from := 0 // in buf
	for i := 0; i < len(t.burst) && err == nil; {
		if t.burst[i].Dropped == QueueFull || len(t.burst[i].Bytes) == 0 {
			if t.burst[i].Dropped == QueueFull {
				t.QueueFull.Bytes += int64(t.burst[i].Lost)
			}
			from += len(t.burst[i].Bytes)
			t.tell(i)
			i++
			continue
		}
		k, size := i, 0
		for k < len(t.burst) && t.burst[k].Dropped == "" && len(t.burst[k].Bytes) > 0 {
			size += len(t.burst[k].Bytes)
			k++
		}
		err = t.write(i, k, t.buf[from:from+size])
		i, from = k, from+size
	}
	return err
}

// write hands over the messages from i to k, whose bytes are p, at once.
func (t *track) write(i, k int, p []byte) error {
	n, err := 0, ErrNoConsumer
	if t.port.Open() {
		n, err = t.port.Write(p)
		n = min(max(n, 0), len(p))
	}
	if n < len(p) && err == nil {
		err = io.ErrShortWrite
	}
	t.Bytes += int64(n)
	late := t.clock.Now().Sub(t.due)
	var end error
	for ; i < k; i++ {
		out := &t.burst[i]
		t.Late.Add(late)
		out.LateS = max(late, 0).Seconds()
		taken := min(n, len(out.Bytes))
		n -= taken
		lost := int64(len(out.Bytes) - taken)
		switch {
		case lost == 0:
		case errors.Is(err, ErrNoConsumer):
			out.lose(NoConsumer, &t.NoConsumer, lost)
		case errors.Is(err, ErrFull):
			out.lose(Overrun, &t.Overrun, lost)
		default:
			out.lose(Stopped, &t.Stopped, lost)
			end = fmt.Errorf("play: message %s due at %g s: %w", out.Kind, out.Due, err)
		}
		t.tell(i)
	}
	return end
}

func (t *track) tell(i int) {
	t.count(&t.burst[i])
	if t.sent != nil {
		t.sent(t.burst[i])
	}
}

// A trackQueue is a heap of tracks, those due first in front, at the same instant in the order of the jobs.
type trackQueue []*track

func (q trackQueue) Len() int { return len(q) }
func (q trackQueue) Less(i, j int) bool {
	if q[i].due.Equal(q[j].due) {
		return q[i].index < q[j].index
	}
	return q[i].due.Before(q[j].due)
}
func (q trackQueue) Swap(i, j int) { q[i], q[j] = q[j], q[i] }
func (q *trackQueue) Push(x any)   { *q = append(*q, x.(*track)) }
func (q *trackQueue) Pop() any {
	old := *q
	x := old[len(old)-1]
	*q = old[:len(old)-1]
	return x
}
