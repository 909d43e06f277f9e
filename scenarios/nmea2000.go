package scenarios

import (
	"fmt"
	"slices"

	"swellbench/scenarios/strictyaml"
)

// NMEA2000 is who sends in format nmea2000, and how. What is left out has the default named with it.
type NMEA2000 struct {
	SourceAddress *int `yaml:"source-address" doc:"of the device on the bus, 0 to 251. Default: 35"`
	SID           SID  `yaml:"sid" doc:"sequence identifier of the messages: moment (the same in all of one moment), count (each kind counts its own) or none. Default: moment"`

	TimeSource      int `yaml:"time-source" doc:"of 126992, by its code: 0 GPS, 1 GLONASS, 2 radio station, 3 to 5 caesium, rubidium, crystal clock. Default: 0"`
	GNSSType        int `yaml:"gnss-type" doc:"of 129029 and its reference station, by its code: 0 GPS, 1 GLONASS, 2 both, 3 GPS and SBAS, 4 all three, 5 Chayka, 6 integrated, 7 surveyed, 8 Galileo. Default: 0"`
	Integrity       int `yaml:"integrity" doc:"of 129029, by its code: 0 no checking, 1 safe, 2 caution, 3 unsafe. Default: 0"`
	VariationSource int `yaml:"variation-source" doc:"of 127258, by its code: 0 manual, 1 chart, 2 table, 3 calculation, 4 to 9 WMM 2000 to 2025. Default: 0"`

	UniqueNumber     *int `yaml:"unique-number" doc:"of the name in 60928, 0 to 2097148. Default: 1"`
	ManufacturerCode *int `yaml:"manufacturer-code" doc:"of the name in 60928, 0 to 2046. Default: 2040, which is nobody's"`
	DeviceInstance   int  `yaml:"device-instance" doc:"of the name in 60928, 0 to 255. Default: 0"`
	DeviceFunction   *int `yaml:"device-function" doc:"of the name in 60928, by its code, 0 to 254. Default: 140"`
	DeviceClass      *int `yaml:"device-class" doc:"of the name in 60928, by its code, 0 to 126. Default: 60, navigation"`
	SystemInstance   int  `yaml:"system-instance" doc:"of the name in 60928, 0 to 12. Default: 0"`
}

// SID is what the sequence identifier of a message is made from. The zero value is the moment.
type SID string

// The words.
const (
	SIDMoment SID = "moment"
	SIDCount  SID = "count"
	SIDNone   SID = "none"
)

// SchemaEnum lists the words.
func (SID) SchemaEnum() []string {
	return []string{string(SIDMoment), string(SIDCount), string(SIDNone)}
}

// Reference is what north a direction is counted from. The zero value is true north.
type Reference string

// The words.
const (
	TrueNorth     Reference = "true-north"
	MagneticNorth Reference = "magnetic-north"
)

// SchemaEnum lists the words.
func (Reference) SchemaEnum() []string { return []string{string(TrueNorth), string(MagneticNorth)} }

func (n NMEA2000) validate(ps *problems, at string) {
	number := func(key string, v *int, most int) {
		if v != nil && (*v < 0 || *v > most) {
			ps.add(at+"."+key, "%s is %d; allowed: 0 to %d", key, *v, most)
		}
	}
	number("source-address", n.SourceAddress, 251)
	number("time-source", &n.TimeSource, 14)
	number("gnss-type", &n.GNSSType, 14)
	number("integrity", &n.Integrity, 3)
	number("variation-source", &n.VariationSource, 14)
	number("unique-number", n.UniqueNumber, 2097148)
	number("manufacturer-code", n.ManufacturerCode, 2046)
	number("device-instance", &n.DeviceInstance, 255)
	number("device-function", n.DeviceFunction, 254)
	number("device-class", n.DeviceClass, 126)
	number("system-instance", &n.SystemInstance, 12)
	oneOf(ps, at+".sid", "sid", string(n.SID), n.SID.SchemaEnum())
}

// validateNMEA2000 checks what belongs to the format of the stream.
func (st Stream) validateNMEA2000(ps *problems, at string) {
	if st.NMEA2000 != (NMEA2000{}) {
		if !st.Uses("nmea2000") {
			ps.add(at+".nmea2000", "nmea2000 is set for a stream of another format; it goes with format nmea2000 only")
		}
		st.NMEA2000.validate(ps, at+".nmea2000")
	}
	for k, m := range st.Messages {
		at := fmt.Sprintf("%s.messages[%d]", at, k)
		if st.FormatOf(m) != "nmea2000" {
			if m.Priority != nil {
				ps.add(at+".priority", "priority is set for a message of another format; it goes with format nmea2000 only")
			}
			if m.Reference != "" {
				ps.add(at+".reference", "reference is set for a message of another format; it goes with format nmea2000 only")
			}
		}
		if p := m.Priority; p != nil && (*p < 0 || *p > 7) {
			ps.add(at+".priority", "priority is %d; allowed: 0, the highest, to 7", *p)
		}
		oneOf(ps, at+".reference", "reference", string(m.Reference), m.Reference.SchemaEnum())
	}
}

// oneOf wants one of the words, or none.
func oneOf(ps *problems, at, key, found string, words []string) {
	if found != "" && !slices.Contains(words, found) {
		ps.add(at, "%s is %s; %s", key, strictyaml.Quote(found), strictyaml.Allowed(found, words))
	}
}
