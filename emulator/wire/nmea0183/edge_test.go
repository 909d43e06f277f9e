package nmea0183

import (
	"errors"
	"testing"

	"swellbench/scenarios/opt"
)

// TestEdgeVectors states our verdict on what has no single right answer.
func TestEdgeVectors(t *testing.T) {
	verdicts := map[string]struct {
		reason Reason // why framing refuses it
		field  string // which field Parse refuses
		about  string
	}{
		"nmea-edge-swapped-digits":               {about: "accepted: nothing can tell"},
		"nmea-edge-lower-case-checksum":          {about: "accepted: many writers do it, and no bit is in doubt"},
		"nmea-edge-over-82-characters":           {about: "accepted: survey receivers break the rule knowingly"},
		"nmea-edge-two-digit-year-94":            {about: "accepted, 1994: no satellite dates before 1980"},
		"nmea-edge-heading-360":                  {about: "accepted as 360, which is north"},
		"nmea-edge-minutes-60-out-of-range":      {field: "latitude", about: "framed, but the field is refused: minutes run to 59.99…"},
		"nmea-edge-latitude-over-90":             {field: "latitude", about: "framed, but the field is refused: there is nothing beyond the pole"},
		"nmea-edge-old-vtg-four-fields":          {about: "accepted: the old form is unambiguous"},
		"nmea-edge-unknown-type":                 {about: "accepted as raw fields"},
		"nmea-edge-trailing-text-after-checksum": {reason: TrailingText, about: "refused: the line end belongs there, something is damaged"},
	}
	for _, v := range vectors(t, "nmea0183-edge.jsonl") {
		t.Run(v.ID, func(t *testing.T) {
			want, ok := verdicts[v.ID]
			if !ok {
				t.Fatal("no verdict")
			}
			s, err := Parse([]byte(v.Input))
			var reject *RejectError
			if errors.As(err, &reject) != (want.reason != "") || reject != nil && reject.Reason != want.reason {
				t.Fatalf("%v, want reason %q (%s)", err, want.reason, want.about)
			}
			var field *FieldError
			if errors.As(err, &field) != (want.field != "") || field != nil && field.Field != want.field {
				t.Errorf("%v, want field %q refused (%s)", err, want.field, want.about)
			}
			evs := decode([]byte(v.Input+"\r\n"), 1<<20)
			if len(evs) != 1 || (evs[0].Kind == Accepted) != (want.reason == "") || evs[0].Reason != want.reason {
				t.Errorf("decoder: %+v, want reason %q", evs, want.reason)
			}
			switch v.ID {
			case "nmea-edge-two-digit-year-94":
				if d := s.(*RMC).Date; d != opt.Of(Date{1994, 3, 23}) {
					t.Errorf("date is %v", d)
				}
			case "nmea-edge-heading-360":
				if h := s.(*HDT).HeadingDeg; h != opt.Of(360.0) {
					t.Errorf("heading is %v", h)
				}
			case "nmea-edge-old-vtg-four-fields":
				want := &VTG{Talker: Talker{'G', 'P'}, CourseDeg: opt.Of(54.7), MagneticDeg: opt.Of(34.4), SpeedKn: opt.Of(5.5), SpeedKmh: opt.Of(10.2)}
				compare(t, s, want)
			case "nmea-edge-unknown-type":
				if f := s.(*Fields); f.Type() != "ZZZ" || f.Talker().String() != "II" || string(f.Field(3)) != "3" || f.Len() != 3 {
					t.Errorf("got %+v", f)
				}
			}
		})
	}
}
