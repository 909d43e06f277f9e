package nmea2000

import (
	"errors"
	"fmt"
	"math"
	"strconv"

	"swellbench/emulator/wire"
	"swellbench/scenarios/opt"
)

// Options are the choices of one stream about one message. The zero Options are the defaults named here.
type Options struct {
	Source   opt.Opt[int] // address of the device, 0 to 251. Default: 35
	Priority opt.Opt[int] // 0, the highest, to 7. Default: that of the row in [Messages]
	SID      SID          // how messages of one moment are tied together
	// MomentHz is at what rate the moments are counted that give the SID: best the rate of which all messages' rates are
	// whole fractions, see [MomentRate]. 0 is 1000.
	MomentHz float64
	// Magnetic has heading (127250) and course (129026) sent from magnetic north: without a variation there are none.
	Magnetic bool

	TimeSource      opt.Opt[int] // of 126992, a code of its lookup. Default: 0, GPS
	VariationSource opt.Opt[int] // of 127258. Default: 0, manual
	VariationDay    opt.Opt[int] // of 127258: age of service, days since 1970-01-01. Default: not available
	GNSS            opt.Opt[int] // of 129029: the type. Default: 0, GPS
	Integrity       opt.Opt[int] // of 129029. Default: 0, no checking
	Stations        opt.Opt[int] // of 129029: the type of GNSS of the reference station. Default: that of GNSS
	DesiredMode     opt.Opt[int] // of 129539. Default: 3, auto

	Name Name // of 60928
}

// A Name is who the device says that it is in 60928. Each part left out has the default named here. None is of a real
// maker: the manufacturer code is in no public list.
type Name struct {
	Unique         opt.Opt[int] // identity number, 0 to 2097151. Default: 1
	Manufacturer   opt.Opt[int] // 0 to 2046. Default: 2040
	DeviceInstance opt.Opt[int] // 0 to 255. Default: 0
	Function       opt.Opt[int] // 0 to 254. Default: 140, attitude of the own vessel
	Class          opt.Opt[int] // 0 to 126. Default: 60, navigation
	SystemInstance opt.Opt[int] // 0 to 12. Default: 0
	Industry       opt.Opt[int] // 0 to 6. Default: 4, marine
	// Fixed: the device cannot take another address.
	Fixed bool
}

// A SID says what the sequence identifier of a message is: SIDMoment, SIDCount, SIDNone, or [SIDFixed] of a number.
type SID int

// The sequence identifiers.
const (
	SIDMoment SID = iota // counts the moments: the same for all messages of one
	SIDCount             // counts the messages of each kind
	SIDNone              // not available
	sidFirst             // from here on fixed ones
)

// SIDFixed is always n, 0 to 252.
func SIDFixed(n int) SID { return sidFirst + SID(n) }

// DefaultSource is the address of a stream that does not choose one.
const DefaultSource = 35

// Values of choices.sid that are no identifiers.
const (
	sidByMoment = -1
	sidByCount  = -2
)

// choices are the options as the encoders take them.
type choices struct {
	sid        int
	momentHz   float64
	magnetic   bool
	timeSource uint64
	varSource  uint64
	varDay     uint64
	gnss       uint64
	integrity  uint64
	stations   uint64
	desired    uint64
	claim      uint64
}

// An OptionError reports an option that no message can follow.
type OptionError struct{ Option, Found, Allowed string }

// Error says what was found and what is allowed.
func (e *OptionError) Error() string {
	return fmt.Sprintf("nmea2000: %s is %s, allowed: %s", e.Option, e.Found, e.Allowed)
}

// New makes the encoder of a PGN, given in digits. Its error joins an [*OptionError] for each thing that is wrong.
func New(kind string, o Options) (wire.Encoder, error) {
	row, ok := RowOf(kind)
	if !ok {
		return nil, &OptionError{Option: "type", Found: strconv.Quote(kind), Allowed: "the PGNs " + kinds()}
	}
	e := &encoder{row: row, kind: row.Type}
	var errs []error
	number := func(name string, v opt.Opt[int], def, lo, hi int) uint64 {
		n := v.Or(def)
		if n < lo || n > hi {
			errs = append(errs, &OptionError{Option: name, Found: strconv.Itoa(n), Allowed: fmt.Sprintf("%d to %d", lo, hi)})
		}
		return uint64(n)
	}
	code := func(name string, v opt.Opt[int], def int, f *Field) uint64 {
		_, hi := f.Limits()
		return number(name, v, def, 0, int(hi))
	}
	id := ID{PGN: row.PGN, Destination: Global}
	id.Source = uint8(number("source address", o.Source, DefaultSource, 0, MaxAddress))
	id.Priority = uint8(number("priority", o.Priority, int(row.Priority), 0, maxPriority))
	switch o.SID {
	case SIDMoment:
		e.sid = sidByMoment
	case SIDCount:
		e.sid = sidByCount
	case SIDNone:
		e.sid = 0xFF
	default:
		e.sid = int(number("SID", opt.Of(int(o.SID-sidFirst)), 0, 0, sidCodes-1))
	}
	if e.momentHz = o.MomentHz; e.momentHz == 0 {
		e.momentHz = 1000
	}
	if !(e.momentHz > 0) || math.IsInf(e.momentHz, 0) {
		errs = append(errs, &OptionError{Option: "rate of the moments", Found: fmt.Sprint(o.MomentHz), Allowed: "a rate above 0 Hz"})
	}
	e.magnetic = o.Magnetic
	e.timeSource = code("time source", o.TimeSource, 0, &timeSource)
	e.varSource = code("variation source", o.VariationSource, 0, &variationSource)
	e.varDay = 0xFFFF
	if o.VariationDay.Has() {
		e.varDay = code("variation's age of service", o.VariationDay, 0, &variationDay)
	}
	e.gnss = code("GNSS type", o.GNSS, 0, &gnssType)
	e.integrity = code("integrity", o.Integrity, 0, &gnssIntegrity)
	e.stations = code("station type", o.Stations, int(e.gnss), &stationType)
	e.desired = code("desired mode", o.DesiredMode, 3, &dopsDesired)
	n := &o.Name
	e.claim = code("unique number", n.Unique, 1, &claimUnique) |
		code("manufacturer code", n.Manufacturer, 2040, &claimManufacturer)<<claimManufacturer.Bit |
		number("device instance", n.DeviceInstance, 0, 0, 255)<<claimLower.Bit |
		code("device function", n.Function, 140, &claimFunction)<<claimFunction.Bit |
		code("device class", n.Class, 60, &claimClass)<<claimClass.Bit |
		code("system instance", n.SystemInstance, 0, &claimSystem)<<claimSystem.Bit |
		code("industry group", n.Industry, 4, &claimIndustry)<<claimIndustry.Bit
	if !n.Fixed {
		e.claim |= 1 << claimArbitrary.Bit
	}
	if errs != nil {
		return nil, errors.Join(errs...)
	}
	e.head[0] = 'T'
	appendHex(e.head[1:1], id.CAN(), 8)
	e.head[headLength-1] = '8'
	return e, nil
}

// MomentRate is the slowest rate, in Hz, of which all these rates are whole fractions, so that each moment of each
// message is counted and none twice; 0, which is 1000 Hz, where there is none up to that.
func MomentRate(rates ...float64) float64 {
	var highest float64
	for _, r := range rates {
		highest = max(highest, r)
	}
	if !(highest > 0) {
		return 0
	}
next:
	for k := 1.0; k*highest <= 1000; k++ {
		for _, r := range rates {
			if n := k * highest / r; math.Abs(n-math.Round(n)) > 1e-9*n {
				continue next
			}
		}
		return k * highest
	}
	return 0
}
