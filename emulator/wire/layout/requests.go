package layout

import (
	"fmt"
	"slices"

	"swellbench/scenarios/strictyaml"
)

// An Action is what a request brings.
type Action struct {
	Request string
	Reply   string // the message that answers it, by its name, with the reading of the moment; "" if none does
	Answer  []byte // bytes that answer it as they are; nil if none do
	// Streaming tells whether the stream begins or ends with it.
	Streaming Streaming
}

// Streaming is what a request does to the stream.
type Streaming uint8

// What a request does to the stream.
const (
	AsBefore Streaming = iota
	Starts
	Stops
)

// A class is what may stand at one place of a request.
type class struct {
	any, digit bool
	b          byte
}

func (c class) fits(b byte) bool {
	switch {
	case c.any:
		return true
	case c.digit:
		return b >= '0' && b <= '9'
	}
	return b == c.b
}

// meets tells whether some byte fits both.
func (c class) meets(o class) bool {
	switch {
	case c.any || o.any:
		return true
	case c.digit && o.digit:
		return true
	case c.digit:
		return c.fits(o.b)
	}
	return o.fits(c.b)
}

type request struct {
	action  Action
	classes []class
}

const maxRequest = 256 // bytes

// requests makes the requests of the file.
func (c *compiler) requests() (all []request) {
	if len(c.file.Requests) > maxRequests {
		c.fail("requests", "there are %d requests; allowed: at most %d", len(c.file.Requests), maxRequests)
		return nil
	}
	for i := range c.file.Requests {
		s := &c.file.Requests[i]
		path := fmt.Sprintf("requests[%d]", i)
		r := request{action: Action{Request: s.Name, Reply: s.Reply, Answer: s.Answer}}
		if !partName.MatchString(s.Name) {
			c.fail(path+".name", "name is %s; allowed: a letter, then letters, digits, hyphens, points and underscores, at most 40", strictyaml.Quote(s.Name))
		}
		for k, p := range s.Bytes {
			if p.n < 0 || p.n > maxRequest || p.n == 0 && len(p.bytes) == 0 {
				c.fail(fmt.Sprintf("%s.bytes[%d]", path, k), "it stands for %d bytes; allowed: 1 to %d", p.n, maxRequest)
				return nil
			}
			for _, b := range p.bytes {
				r.classes = append(r.classes, class{b: b})
			}
			for range p.n {
				r.classes = append(r.classes, class{any: !p.digits, digit: p.digits})
			}
		}
		switch n := len(r.classes); {
		case n == 0 || n > maxRequest:
			c.fail(path+".bytes", "the request has %d bytes; allowed: 1 to %d", n, maxRequest)
		case !slices.ContainsFunc(r.classes, func(c class) bool { return !c.any }):
			c.fail(path+".bytes", "any bytes are the request; add some that are always the same")
			continue
		}
		var names []string
		for k := range c.file.Messages {
			names = append(names, c.file.Messages[k].Name)
		}
		if s.Reply != "" && !slices.Contains(names, s.Reply) {
			c.fail(path+".reply", "there is no message %s; %s", strictyaml.Quote(s.Reply), strictyaml.Allowed(s.Reply, names))
		}
		switch s.Streaming {
		case "":
		case "start":
			r.action.Streaming = Starts
		case "stop":
			r.action.Streaming = Stops
		default:
			c.fail(path+".streaming", "streaming is %s; %s", strictyaml.Quote(s.Streaming), strictyaml.Allowed(s.Streaming, []string{"start", "stop"}))
		}
		if s.Reply == "" && len(s.Answer) == 0 && s.Streaming == "" {
			c.fail(path, "%s brings nothing; add reply, answer or streaming", s.Name)
		}
		for k := range all {
			if within(all[k].classes, r.classes) {
				c.fail(path+".bytes", "%s would never be heard: %s is heard before its end", s.Name, all[k].action.Request)
			} else if within(r.classes, all[k].classes) {
				c.fail(path+".bytes", "%s would be heard before the end of %s, which then never is", s.Name, all[k].action.Request)
			}
		}
		all = append(all, r)
	}
	return all
}

// within tells whether a may be heard while b is not at its end, or both at once as the same bytes.
func within(a, b []class) bool {
	for at := 0; at+len(a) <= len(b); at++ {
		if at+len(a) == len(b) && at > 0 {
			return false // at the same moment the longer one is heard
		}
		if at+len(a) < len(b) || at == 0 {
			all := true
			for i := range a {
				all = all && a[i].meets(b[at+i])
			}
			if all {
				return true
			}
		}
	}
	return false
}

// Requests lists what the sensor answers to.
func (l *Layout) Requests() (all []Action) {
	for _, r := range l.requests {
		all = append(all, r.action)
	}
	return all
}

// A Listener finds requests among the bytes that a consumer sends. It is not for several goroutines.
type Listener struct {
	l    *Layout
	tail []byte // what was heard last, as long as a request may be
}

// Listener makes a listener.
func (l *Layout) Listener() *Listener { return &Listener{l: l, tail: make([]byte, 0, maxRequest)} }

// Hear takes the next bytes, cut anywhere, and calls heard for each request among them. Bytes between requests are
// nothing.
func (h *Listener) Hear(p []byte, heard func(Action)) {
	for _, b := range p {
		if len(h.tail) == maxRequest {
			h.tail = h.tail[:copy(h.tail, h.tail[1:])]
		}
		h.tail = append(h.tail, b)
		best := -1
		for i := range h.l.requests {
			c := h.l.requests[i].classes
			if best >= 0 && len(c) <= len(h.l.requests[best].classes) || len(c) > len(h.tail) {
				continue
			}
			if fits(c, h.tail[len(h.tail)-len(c):]) {
				best = i
			}
		}
		if best >= 0 {
			h.tail = h.tail[:0]
			heard(h.l.requests[best].action)
		}
	}
}

func fits(c []class, b []byte) bool {
	for i := len(c) - 1; i >= 0; i-- { // the end differs first
		if !c[i].fits(b[i]) {
			return false
		}
	}
	return true
}
