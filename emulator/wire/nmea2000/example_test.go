package nmea2000_test

import (
	"fmt"
	"strings"

	"swellbench/emulator/wire"
	"swellbench/emulator/wire/nmea2000"
	"swellbench/scenarios/opt"
)

func Example() {
	attitude, err := nmea2000.New("127257", nmea2000.Options{Source: opt.Of(35), SID: nmea2000.SIDCount})
	if err != nil {
		fmt.Println(err)
		return
	}
	line, err := attitude.Append(nil, &wire.Reading{Pitch: opt.Of(0.0349), Roll: opt.Of(-0.1745)})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(strings.TrimSpace(string(line)))

	var reader nmea2000.Reader
	var r wire.Reading
	kind, carries, err := reader.Read(line, &r)
	fmt.Println(kind, carries, err)
	fmt.Println(r.Yaw.Has(), r.Pitch.Or(0), r.Roll.Or(0))
	// Output:
	// T0DF11923800FF7F5D012FF9FF
	// 127257 true <nil>
	// false 0.0349 -0.1745
}

func ExampleAdapter() {
	var a nmea2000.Adapter
	frame := []byte("T0DF11923800FF7F5D012FF9FF\r")
	fmt.Printf("%q\n", a.Send(nil, frame, 0)) // closed
	fmt.Printf("%q\n", a.Handle([]byte("C\rS5\rO\r"), nil))
	fmt.Printf("%q\n", a.Send(nil, frame, 0))
	// Output:
	// ""
	// "\r\r\r"
	// "T0DF11923800FF7F5D012FF9FF\r"
}
