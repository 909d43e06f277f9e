package emulator_test

import (
	"bytes"
	"math"
	"strings"
	"testing"

	"swellbench/emulator"
	"swellbench/emulator/line"
	"swellbench/emulator/wire"
	"swellbench/emulator/wire/mixed"
	"swellbench/emulator/wire/nmea2000"
	"swellbench/scenarios"
	"swellbench/scenarios/frame"
	"swellbench/scenarios/opt"
)

const nmea2000Stream = `streams:
  - format: nmea2000
    nmea2000: {source-address: 0, device-instance: 3}
    line: {baud: 115200}
    messages:
      - {type: "60928", rate: 0.1 Hz}
      - {type: "126992", rate: 1 Hz}
      - {type: "127250", rate: 10 Hz}
      - {type: "127251", rate: 10 Hz}
      - {type: "127252", rate: 10 Hz}
      - {type: "127257", rate: 10 Hz, priority: 0}
      - {type: "127258", rate: 1 Hz}
      - {type: "129025", rate: 10 Hz}
      - {type: "129026", rate: 4 Hz, reference: magnetic-north}
      - {type: "129029", rate: 1 Hz}
      - {type: "129539", rate: 1 Hz}
`

func nmea2000Scenario() string {
	before, _, _ := strings.Cut(head, "streams:")
	return strings.Replace(before, "duration: 10 s", "duration: 60 s", 1) + nmea2000Stream +
		"gnss: {errors: {}, conditions: [{condition: blocked, from: 20 s, until: 30 s}]}\n" +
		"device: {start-up: {alignment: 5 s}}\n" + points
}

// What a stream sends is read as what the device reports, to within the resolution it states, and not available where
// the device does not know.
func TestNMEA2000Stream(t *testing.T) {
	d := device(t, nmea2000Scenario())
	var stream bytes.Buffer
	var sent []line.Sent
	var length []int
	if err := emulator.Render(d, 0, &stream, func(s line.Sent) { sent, length = append(sent, s), append(length, len(s.Bytes)) }); err != nil {
		t.Fatal(err)
	}
	halves := map[string][]wire.Resolution{}
	for _, e := range d.Encoders(0) {
		halves[e.Kind()] = e.Resolutions()
	}
	s := mixed.New(nmea2000.NewFamily())
	s.Push(stream.Bytes())
	s.Flush()
	n, bytesOf := 0, 0
	var got wire.Reading
	sids := map[float64]string{}
	counts := map[string]int{}
	for e, ok := s.Next(); ok; e, ok = s.Next() {
		if e.Kind != mixed.Message {
			t.Fatalf("%v at %d: %s", e.Kind, e.Offset, e.Why)
		}
		kind, _, err := e.Family.Read(e.Bytes, &got)
		if err != nil || kind != sent[n].Kind {
			t.Fatalf("message %d is %s, %v; sent as %s", n, kind, err, sent[n].Kind)
		}
		if l, err := nmea2000.ParseLine(e.Bytes); err != nil || nmea2000.ParseID(l.ID).Source != 0 || kind == "127257" && nmea2000.ParseID(l.ID).Priority != 0 {
			t.Fatalf("%s comes as %08X, %v", kind, l.ID, err)
		}
		if strings.HasPrefix(kind, "1272") || kind == "129026" {
			at, sid := sent[n].Valid, string(e.Bytes[10:12])
			if was, ok := sids[at]; ok && was != sid {
				t.Fatalf("at %g s the sequence identifier is %s in %s and %s before", at, sid, kind, was)
			}
			sids[at] = sid
		}
		if bytesOf += len(e.Bytes); bytesOf < length[n] {
			continue // more frames of the fast packet
		}
		want := d.Reading(sent[n].Valid)
		for _, r := range halves[kind] {
			sameQuantity(t, kind, sent[n].Valid, r, &want, &got)
		}
		counts[kind]++
		n, bytesOf = n+1, 0
	}
	if n != len(sent) || counts["129029"] != 60 || counts["60928"] != 6 || counts["129026"] != 240 {
		t.Errorf("%d of %d messages: %v", n, len(sent), counts)
	}
}

func sameQuantity(t *testing.T, kind string, at float64, r wire.Resolution, want, got *wire.Reading) {
	t.Helper()
	of := func(x *wire.Reading) opt.Opt[float64] {
		p, placed := x.Position.Value()
		place := func(v float64) opt.Opt[float64] {
			if !placed {
				return opt.None[float64]()
			}
			return opt.Of(v)
		}
		switch r.Quantity {
		case wire.Time:
			if u, ok := x.UTC.Value(); ok {
				return opt.Of(u.Sub(value(t, want.UTC, "time")).Seconds())
			}
			return opt.None[float64]()
		case wire.Latitude:
			return place(p.Lat)
		case wire.Longitude:
			return place(p.Lon)
		case wire.Height:
			return place(p.Height)
		case wire.Speed:
			return x.SpeedMS
		case wire.Course:
			return x.CourseRad
		case wire.Heading:
			return x.Heading
		case wire.Yaw:
			return x.Yaw
		case wire.Pitch:
			return x.Pitch
		case wire.Roll:
			return x.Roll
		case wire.Heave:
			return x.HeaveM
		case wire.RateOfTurn:
			return x.RateOfTurn
		case wire.FixState:
			return opt.Of(float64(x.Fix))
		}
		t.Fatalf("unknown quantity %s", r.Quantity)
		return opt.None[float64]()
	}
	w, g := of(want), of(got)
	half := r.Half + 1e-12 // the conversions of a double, and of a duration
	if r.Quantity == wire.Course || r.Quantity == wire.Heading {
		half += 0.5e-4 // the variation that a magnetic one is taken back with is rounded too
	}
	diff := w.Or(0) - g.Or(0)
	if r.Quantity != wire.Height {
		diff = frame.WrapPi(diff)
	}
	if w.Has() != g.Has() || math.Abs(diff) > half {
		t.Fatalf("%s at %g s: %s %v came as %v", kind, at, r.Quantity, w, g)
	}
}

func TestNMEA2000Problems(t *testing.T) {
	for _, tt := range []struct{ old, new, want string }{
		{"source-address: 0", "source-address: 252", "source-address is 252; allowed: 0 to 251"},
		{"device-instance: 3", "device-instance: -1", "device-instance is -1; allowed: 0 to 255"},
		{"device-instance: 3", "sid: counted", "sid is counted; did you mean count?"},
		{"device-instance: 3", "unique-number: 3000000", "unique-number is 3000000; allowed: 0 to 2097148"},
		{"priority: 0", "priority: 8", "priority is 8; allowed: 0, the highest, to 7"},
		{"magnetic-north", "magnetic", "reference is magnetic; allowed: true-north, magnetic-north"},
		{"format: nmea2000", "format: nmea0183", "nmea2000 is set for a stream of another format"},
		{"format: nmea2000", "format: nmea0183", "priority is set for a message of another format"},
		{"priority: 0", "reference: true-north", "nmea2000: 127257 has the key reference; allowed: in 127250 and 129026"},
		{"priority: 0", "talker: GP", "nmea2000: 127257 has the key talker; allowed: type, rate, priority and reference"},
		{`"129539"`, `"129540"`, `nmea2000: type is "129540", allowed: the PGNs 60928, 126992,`},
	} {
		sc, err := scenarios.Parse("test.yaml", []byte(strings.Replace(nmea2000Scenario(), tt.old, tt.new, 1)))
		if err == nil {
			_, err = emulator.New(sc)
		}
		if err == nil || !strings.Contains(err.Error(), tt.want) || !strings.Contains(err.Error(), "test.yaml:") {
			t.Errorf("%s: error is %v, expected %s", tt.new, err, tt.want)
		}
	}
}
