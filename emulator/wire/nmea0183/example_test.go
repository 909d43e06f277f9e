package nmea0183_test

import (
	"fmt"
	"math"
	"strings"

	"swellbench/emulator/wire"
	"swellbench/emulator/wire/nmea0183"
	"swellbench/scenarios/opt"
)

// A device writes the heading of a reading.
func ExampleNew() {
	e, err := nmea0183.New("HDT", nmea0183.Options{Talker: "GN", Decimals: map[string]int{"heading": 1}})
	if err != nil {
		fmt.Println(err)
		return
	}
	text, err := e.Append(nil, &wire.Reading{Heading: opt.Of(1.5 * math.Pi)})
	fmt.Printf("%q %v\n", text, err)
	// Output: "$GNHDT,270.0,T*2E\r\n" <nil>
}

// A consumer finds the sentences in what the port gives it.
func ExampleDecoder() {
	var d nmea0183.Decoder
	var p nmea0183.Parser
	for _, piece := range []string{"7.00,T*1F\r\n$HEHDT,27", "4.07,T*19\r\n$HEHDT,274.07,T*18\r\n$TIROT,", ",V*02\r\n"} {
		d.Push([]byte(piece))
		for ev, ok := d.Next(); ok; ev, ok = d.Next() {
			switch ev.Kind {
			case nmea0183.Garbage:
				fmt.Println("garbage:", ev.Count, "bytes")
			case nmea0183.Rejected:
				fmt.Printf("rejected: %s: %s\n", ev.Reason, ev.Raw)
			case nmea0183.Accepted:
				s, err := p.Parse(&ev.Fields)
				switch s := s.(type) {
				case *nmea0183.HDT:
					fmt.Println("heading:", s.HeadingDeg.Or(math.NaN()))
				case *nmea0183.ROT:
					_, known := s.RateDegMin.Value()
					fmt.Println("rate of turn known:", known)
				default:
					fmt.Println(err)
				}
			}
		}
	}
	// Output:
	// garbage: 9 bytes
	// heading: 274.07
	// rejected: checksum mismatch: $HEHDT,274.07,T*18
	// rate of turn known: false
}

// A line of a log is one sentence or an error that says why not.
func ExampleParse() {
	for line := range strings.Lines("$GPZDA,160012.71,11,03,2027,-05,00*48\n$HEHDT,360.5,T*2F\n") {
		s, err := nmea0183.Parse([]byte(line))
		if err != nil {
			fmt.Println(err)
			continue
		}
		zda := s.(*nmea0183.ZDA)
		date, _ := zda.Date.Value()
		fmt.Println(date.Time(zda.Time.Or(0)))
	}
	// Output:
	// 2027-03-11 16:00:12.71 +0000 UTC
	// decode HDT: heading is "360.5", allowed: 0° ≤ heading ≤ 360°
}
