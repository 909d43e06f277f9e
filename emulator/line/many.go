package line

import (
	"container/heap"
	"context"
	"errors"
	"fmt"
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

// PlayMany plays many streams from one goroutine, in step. It differs from [Play] in one thing: a message is handed over
// whole when its last stop bit has ended, as an adapter does that gathers bytes; byte by byte a few hundred ports would
// keep a machine busy with nothing else. All else is the same: absolute schedule, nothing early, nothing a port does stops
// the clock. Streams due at the same instant go in the order of the jobs, so that runs repeat.
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

// A track is one stream on its way.
type track struct {
	player
	index int
	next  func() (Message, error, bool)
	stop  func()
	out   Sent
	due   time.Time // when out is handed over, or told of
}

// pull takes the next message; false where there is none.
func (t *track) pull(problem *error) bool {
	m, err, ok := t.next()
	if !ok {
		return false
	}
	if err == nil {
		err = checkDue(&m)
	}
	if err != nil {
		*problem = fmt.Errorf("play: %w", err)
		return false
	}
	t.out = t.table.place(m)
	t.due = t.instant(t.out.Last)
	return true
}

// hand gives the message to the port and tells of it.
func (t *track) hand() error {
	var err error
	switch {
	case t.out.Dropped == QueueFull:
		t.QueueFull.Bytes += int64(t.out.Lost)
	case len(t.out.Bytes) > 0:
		_, err = t.write(&t.out, t.out.Bytes, 0)
		late := t.clock.Now().Sub(t.due)
		t.Late.Add(late)
		t.out.LateS = max(late, 0).Seconds()
		if err != nil {
			err = fmt.Errorf("play: message %s due at %g s: %w", t.out.Kind, t.out.Due, err)
		}
	}
	t.count(&t.out)
	if t.sent != nil {
		t.sent(t.out)
	}
	return err
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
