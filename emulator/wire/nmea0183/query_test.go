package nmea0183

import (
	"errors"
	"testing"

	"swellbench/emulator/wire"
)

func TestParseQuery(t *testing.T) {
	for _, v := range vectors(t, "nmea0183-query-tag.jsonl") {
		if v.Kind != "nmea0183-query" {
			continue
		}
		want := expect[struct{ Requester, Target, Wanted string }](t, v)
		if q, err := ParseQuery([]byte(v.Input + "\r\n")); err != nil || q.Requester.String() != want.Requester || q.Target.String() != want.Target || q.Wanted != want.Wanted {
			t.Errorf("%s: %+v, %v", v.ID, q, err)
		}
	}
	for _, test := range []struct {
		line, requester, target, wanted string
	}{
		{"$ccGPQ,GGA*2B", "CC", "GP", "GGA"},
		{"$ccgpq,gga*2b", "CC", "GP", "GGA"},
		{"$ccgpq,GGA*0B", "CC", "GP", "GGA"}, // the checksum of what was typed: an odd number of small letters
		{"$ccgpq,GGA*2B", "CC", "GP", "GGA"}, // that of what was meant
	} {
		q, err := ParseQuery([]byte(test.line))
		if err != nil || q.Requester.String() != test.requester || q.Target.String() != test.target || q.Wanted != test.wanted {
			t.Errorf("%s: %+v, %v", test.line, q, err)
		}
	}
	for _, line := range []string{"", "$", "$*", "$CCGPQ,GGA*2C", "$CCGPQ,GGA", "CCGPQ,GGA*2B", "$*00", "\\$", "*00", "!*"} {
		if q, err := ParseQuery([]byte(line)); !errors.As(err, new(*RejectError)) {
			t.Errorf("%q: %+v, %v", line, q, err)
		}
	}
	if _, err := ParseQuery([]byte("$HEHDT,274.07,T*19")); !errors.As(err, new(*FieldError)) {
		t.Errorf("a heading is taken for a query: %v", err)
	}
}

func TestAnswering(t *testing.T) {
	var es []wire.Encoder
	for _, x := range [][2]string{{"GGA", "GP"}, {"HDT", "HE"}, {"GGA", "GN"}, {"ZDA", "GP"}} {
		e, err := New(x[0], Options{Talker: x[1]})
		if err != nil {
			t.Fatal(err)
		}
		es = append(es, e)
	}
	for _, test := range []struct {
		target, wanted string
		want           int
	}{{"GN", "GGA", 2}, {"GP", "GGA", 0}, {"GL", "GGA", 0}, {"HE", "HDT", 1}, {"GP", "VTG", -1}, {"GP", "GG", -1}} {
		q := Query{Target: Talker{test.target[0], test.target[1]}, Wanted: test.wanted}
		if i, ok := q.Answering(es); i != test.want || ok != (test.want >= 0) {
			t.Errorf("%+v: %d, %v, want %d", test, i, ok, test.want)
		}
	}
}
