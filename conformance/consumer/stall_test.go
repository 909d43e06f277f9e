package consumer

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"swellbench/scenarios/opt"
)

// A host that stalls within a burst must not cut an epoch in two, and a lost sentence must not join two bursts. The
// stream is 20 Hz on a busy line: bursts of 30 ms, 20 ms of silence between them.
func TestStalls(t *testing.T) {
	const (
		period = 50 * time.Millisecond
		each   = 6 * time.Millisecond
	)
	kinds := []string{"GGA", "VTG", "HDT", "ROT", "XDR"}
	for _, c := range []struct {
		name  string
		stall map[string]time.Duration // before "epoch kind"
		lost  map[string]bool
		want  string // what each epoch must hold, epochs parted by a space
	}{
		{"none", nil, nil, "GVHRX GVHRX GVHRX GVHRX GVHRX GVHRX GVHRX GVHRX"},
		{"stall within a burst", map[string]time.Duration{"4 HDT": 22 * time.Millisecond}, nil, "GVHRX GVHRX GVHRX GVHRX GVHRX GVHRX GVHRX GVHRX"},
		{"stall after the first", map[string]time.Duration{"5 VTG": 24 * time.Millisecond}, nil, "GVHRX GVHRX GVHRX GVHRX GVHRX GVHRX GVHRX GVHRX"},
		{"timed sentence lost", nil, map[string]bool{"4 GGA": true}, "GVHRX GVHRX GVHRX GVHRX VHRX GVHRX GVHRX GVHRX"},
		{"last sentence lost", nil, map[string]bool{"4 XDR": true}, "GVHRX GVHRX GVHRX GVHRX GVHR GVHRX GVHRX GVHRX"},
		{"timed sentence lost, a rare kind leads the next", nil, map[string]bool{"4 GGA": true}, "GVHRX GVHRX GVHRX GVHRX VHRX ZGVHRX GVHRX GVHRX"},
	} {
		t.Run(c.name, func(t *testing.T) {
			var got []string
			g := &grouper{emit: func(e *epoch) {
				s := ""
				for _, p := range e.parts {
					s += p.key.kind[:1]
				}
				got = append(got, s)
			}}
			p := pace{byteTime: time.Millisecond / 10}
			now := time.Unix(0, 0)
			quiet := func(d time.Duration) {
				switch {
				case p.over(d, false, g.lacking()):
					g.silence()
				case p.over(d, false, false):
					g.pause()
				}
			}
			for k := range 8 {
				next := time.Unix(0, 0).Add(time.Duration(k+1) * period)
				quiet(next.Sub(now))
				now = next
				burst := kinds
				if k == 5 && strings.Contains(c.name, "rare") {
					burst = append([]string{"ZDA"}, kinds...)
				}
				for _, kind := range burst {
					id := fmt.Sprintf("%d %s", k, kind)
					if d := c.stall[id]; d > 0 {
						quiet(d)
						now = now.Add(d)
					}
					if c.lost[id] {
						continue
					}
					m := sample(kind, time.Duration(k)*period)
					m.first = now
					p.saw(m)
					g.add(m)
					now = now.Add(each)
				}
			}
			g.finish()
			if s := strings.Join(got, " "); s != c.want {
				t.Errorf("got  %s\nwant %s", s, c.want)
			}
		})
	}
}

// sample makes a message of the kind, valid at t; GGA and ZDA carry the time.
func sample(kind string, t time.Duration) *message {
	m := &message{kind: kind, digest: uint64(t) ^ uint64(kind[0])<<56}
	if q := strings.Index("GVHRX", kind[:1]); q >= 0 {
		m.values[q].said = true
	}
	if kind == "GGA" || kind == "ZDA" {
		m.time = opt.Of(t)
	}
	return m
}
