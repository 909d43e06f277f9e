package emulator

import (
	"fmt"

	"swellbench/emulator/wire"
	"swellbench/emulator/wire/nmea2000"
	"swellbench/scenarios"
	"swellbench/scenarios/opt"
)

// newNMEA2000 makes the encoder of a message of format nmea2000. The moments that give the sequence identifiers are
// those of all messages of the stream.
func newNMEA2000(st scenarios.Stream, m scenarios.Message) (wire.Encoder, error) {
	if err := onlyKeys("nmea2000", m, "type, rate, priority and reference"); err != nil {
		return nil, err
	}
	magnetic := m.Reference == scenarios.MagneticNorth
	if m.Reference != "" && m.Type != "127250" && m.Type != "129026" {
		return nil, fmt.Errorf("nmea2000: %s has the key reference; allowed: in 127250 and 129026, which have a direction", m.Type)
	}
	rates := make([]float64, len(st.Messages))
	for i := range st.Messages {
		rates[i] = float64(st.Messages[i].Rate)
	}
	n := &st.NMEA2000
	given := func(p *int) opt.Opt[int] {
		if p == nil {
			return opt.None[int]()
		}
		return opt.Of(*p)
	}
	return nmea2000.New(m.Type, nmea2000.Options{
		Source: given(n.SourceAddress), Priority: given(m.Priority), Magnetic: magnetic,
		SID:        map[scenarios.SID]nmea2000.SID{scenarios.SIDCount: nmea2000.SIDCount, scenarios.SIDNone: nmea2000.SIDNone}[n.SID],
		MomentHz:   nmea2000.MomentRate(rates...),
		TimeSource: opt.Of(n.TimeSource), GNSS: opt.Of(n.GNSSType), Integrity: opt.Of(n.Integrity), VariationSource: opt.Of(n.VariationSource),
		Name: nmea2000.Name{Unique: given(n.UniqueNumber), Manufacturer: given(n.ManufacturerCode), DeviceInstance: opt.Of(n.DeviceInstance),
			Function: given(n.DeviceFunction), Class: given(n.DeviceClass), SystemInstance: opt.Of(n.SystemInstance)},
	})
}
