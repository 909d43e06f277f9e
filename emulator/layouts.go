package emulator

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"swellbench/emulator/wire"
	"swellbench/emulator/wire/layout"
	"swellbench/scenarios"
	"swellbench/scenarios/strictyaml"
)

// LoadLayout reads the layout file of a stream.
func LoadLayout(f scenarios.LayoutFile) (*layout.Layout, error) {
	if f.FS == nil {
		return nil, errors.New("its layout file cannot be read: the scenario came without a folder; load it from a file")
	}
	return layout.Load(f.FS, f.Name)
}

func checkLayout(st scenarios.Stream) error {
	_, err := LoadLayout(st.LayoutFile)
	return err
}

func newLayoutEncoder(st scenarios.Stream, m scenarios.Message) (wire.Encoder, error) {
	if err := onlyTypeAndRate(scenarios.FormatLayout, m); err != nil {
		return nil, err
	}
	l, err := LoadLayout(st.LayoutFile)
	if err != nil {
		return nil, err
	}
	return l.New(m.Type)
}

// lackInstants is at how many instants of the run it is looked whether a quantity is ever there.
const lackInstants = 50

// lacks finds messages that would never be sent, since they need a quantity that the device of the scenario never has and
// have no way to say so.
func (d *Device) lacks() (ps []strictyaml.Problem) {
	for i := range d.streams {
		for j, enc := range d.streams[i].encoders {
			e, ok := enc.(*layout.Encoder)
			if !ok || len(e.Needs()) == 0 {
				continue
			}
			never := e.Needs()
			for k := 0; k <= lackInstants && len(never) > 0; k++ {
				r := d.Ideal(float64(d.scenario.Duration) * float64(k) / lackInstants)
				missing := e.Lacks(&r)
				never = slices.DeleteFunc(never, func(n string) bool { return !slices.Contains(missing, n) })
			}
			if len(never) > 0 {
				ps = append(ps, strictyaml.Problem{Path: fmt.Sprintf("streams[%d].messages[%d]", i, j), Text: fmt.Sprintf(
					"%s needs %s, which the device of this scenario never has, so that it would never be sent; give the field an absent: in the layout, or the scenario what it lacks",
					enc.Kind(), strings.Join(never, ", "))})
			}
		}
	}
	return ps
}

// A layoutResponder answers the requests of a layout file. A reply that the stream sends too is of its latest epoch, any
// other of the latest whole second.
type layoutResponder struct {
	st        *stream
	layout    *layout.Layout
	listener  *layout.Listener
	streaming bool
	answers   []Answer
}

func newLayoutResponder(st *stream, streaming bool) Responder {
	l, err := LoadLayout(st.spec.LayoutFile)
	if err != nil || len(l.Requests()) == 0 { // New has told of the error
		return nil
	}
	return &layoutResponder{st: st, layout: l, listener: l.Listener(), streaming: streaming}
}

func (r *layoutResponder) Streaming() bool { return r.streaming }

func (r *layoutResponder) Hear(p []byte) {
	r.listener.Hear(p, func(a layout.Action) {
		if a.Streaming != layout.AsBefore {
			r.streaming = a.Streaming == layout.Starts
		}
		if len(r.answers) >= maxAnswers {
			return
		}
		if a.Answer != nil {
			r.answers = append(r.answers, Answer{Kind: a.Request, Bytes: a.Answer})
		}
		if a.Reply == "" {
			return
		}
		for j, m := range r.st.spec.Messages {
			if m.Type == a.Reply && r.st.spec.FormatOf(m) == scenarios.FormatLayout {
				r.answers = append(r.answers, Answer{Kind: r.st.kinds[j], Encoder: r.st.encoders[j], Rate: float64(m.Rate)})
				return
			}
		}
		if enc, err := r.layout.New(a.Reply); err == nil {
			r.answers = append(r.answers, Answer{Kind: enc.Kind(), Encoder: enc})
		}
	})
}

func (r *layoutResponder) Next() (Answer, bool) {
	if len(r.answers) == 0 {
		return Answer{}, false
	}
	a := r.answers[0]
	r.answers = r.answers[1:]
	return a, true
}
