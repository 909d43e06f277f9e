package nmea2000

import (
	"errors"
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"swellbench/emulator/wire"
	"swellbench/scenarios/geo"
	"swellbench/scenarios/opt"
	"swellbench/scenarios/utc"
)

func TestTable(t *testing.T) {
	last := uint32(0)
	for i := range Messages {
		row := &Messages[i]
		if row.PGN <= last {
			t.Errorf("%s does not come after %d", row.Type, last)
		}
		last = row.PGN
		if row.Title == "" || row.Source == "" || (row.pack == nil) == (row.packLong == nil) || row.Fast != (row.packLong != nil) {
			t.Errorf("%s is not complete", row.Type)
		}
		if err := (ID{PGN: row.PGN, Priority: row.Priority, Destination: Global}).Validate(); err != nil {
			t.Error(err)
		}
		check := func(fields []Field, length int) {
			bit := 0
			for _, f := range fields {
				if f.Bit != bit || f.Width < 1 || f.Width > 64 || f.Width == 64 && (f.Type != Signed || f.Bit%8 != 0) {
					t.Errorf("%s: field %q begins at bit %d, the one before ends at %d", row.Type, f.Name, f.Bit, bit)
				}
				bit = f.Bit + f.Width
			}
			if bit != 8*length {
				t.Errorf("%s: the fields end at bit %d of %d", row.Type, bit, 8*length)
			}
		}
		check(row.Fields, row.Length)
		if row.Repeat != nil {
			check(row.Repeat, row.repeatLength())
			if !slices.ContainsFunc(row.Fields, func(f Field) bool { return f.Name == row.Times }) {
				t.Errorf("%s: no field %q", row.Type, row.Times)
			}
		}
	}
}

// TestNotAvailable: a reading that knows nothing gives the codes for that in each field, and is read back as nothing.
func TestNotAvailable(t *testing.T) {
	for _, kind := range Kinds() {
		row, _ := RowOf(kind)
		if row.read == nil {
			continue
		}
		lines, err := encoderOf(t, kind, Options{SID: SIDNone}).Append(nil, &wire.Reading{})
		if err != nil {
			t.Fatal(err)
		}
		got := sampleReading()
		readAll(t, lines, &got)
		for _, q := range encoderOf(t, kind, Options{}).Resolutions() {
			if known(&got, q.Quantity) {
				t.Errorf("%s: %s is known after it was sent as not available", kind, q.Quantity)
			}
		}
	}
}

func known(r *wire.Reading, q wire.Quantity) bool {
	switch q {
	case wire.Time:
		return r.UTC.Has()
	case wire.Latitude, wire.Longitude, wire.Height:
		return r.Position.Has()
	case wire.Speed:
		return r.SpeedMS.Has()
	case wire.Course:
		return r.CourseRad.Has()
	case wire.Yaw:
		return r.Yaw.Has()
	case wire.Heading:
		return r.Heading.Has()
	case wire.Pitch:
		return r.Pitch.Has()
	case wire.Roll:
		return r.Roll.Has()
	case wire.Heave:
		return r.HeaveM.Has()
	case wire.RateOfTurn:
		return r.RateOfTurn.Has()
	case wire.FixState:
		return r.Fix != wire.FixNone
	}
	return true
}

// TestSigns: one known value a message, worked by hand from the field table.
func TestSigns(t *testing.T) {
	for _, tt := range []struct {
		name, kind string
		o          Options
		r          wire.Reading
		want       string
	}{
		{"port turn of 1 rad/s is minus 32e6", "127251", Options{}, wire.Reading{RateOfTurn: opt.Of(-1.0)}, "T09F11323800" + "00B817FE" + "FFFFFF\r"},
		{"starboard turn", "127251", Options{}, wire.Reading{RateOfTurn: opt.Of(1.0)}, "T09F11323800" + "0048E801" + "FFFFFF\r"},
		{"down is negative", "127252", Options{}, wire.Reading{HeaveM: opt.Of(-0.01)}, "T0DF11423800" + "FFFF" + "FFFFFFFFFF\r"},
		{"no heave is not minus one", "127252", Options{}, wire.Reading{}, "T0DF11423800" + "FF7F" + "FFFFFFFFFF\r"},
		{"half a centimetre goes up", "127252", Options{}, wire.Reading{HeaveM: opt.Of(0.125)}, "T0DF11423800" + "0D00" + "FFFFFFFFFF\r"},
		{"and down below zero", "127252", Options{}, wire.Reading{HeaveM: opt.Of(-0.125)}, "T0DF11423800" + "F3FF" + "FFFFFFFFFF\r"},
		{"no -0", "127252", Options{}, wire.Reading{HeaveM: opt.Of(math.Copysign(0, -1))}, "T0DF11423800" + "0000" + "FFFFFFFFFF\r"},
		{"a heading of 270° is a yaw of -90°; bow down, port down", "127257", Options{},
			wire.Reading{Yaw: opt.Of(1.5 * math.Pi), Pitch: opt.Of(-0.1), Roll: opt.Of(-0.2)}, "T0DF11923800" + "A4C2" + "18FC" + "30F8" + "FF\r"},
		{"just under a turn", "127250", Options{}, wire.Reading{Heading: opt.Of(6.28314)}, "T09F11223800" + "6FF5" + "FF7FFF7FFC\r"},
		{"rounded past the turn", "127250", Options{}, wire.Reading{Heading: opt.Of(6.28316)}, "T09F11223800" + "0000" + "FF7FFF7FFC\r"},
		{"magnetic: variation east is taken off", "127250", Options{Magnetic: true}, wire.Reading{Heading: opt.Of(1.0), Variation: opt.Of(0.25)}, "T09F11223800" + "4C1D" + "FF7F" + "C409" + "FD\r"},
		{"magnetic through north", "129026", Options{Magnetic: true}, wire.Reading{CourseRad: opt.Of(0.1), Variation: opt.Of(0.2), SpeedMS: opt.Of(0.0)}, "T09F80223800FD" + "88F1" + "0000" + "FFFF\r"},
		{"a dilution beyond the field is an error, the largest is not", "129539", Options{},
			wire.Reading{Fix: wire.FixAutonomous, HDOP: opt.Of(327.64), VDOP: opt.Of(327.65), TDOP: opt.Of(math.Inf(1))}, "T19FA0323800D3" + "FC7F" + "FE7F" + "FE7F\r"},
		{"magnetic without a variation is not known", "129026", Options{Magnetic: true}, wire.Reading{CourseRad: opt.Of(0.1)}, "T09F80223800FD" + "FFFF" + "FFFF" + "FFFF\r"},
	} {
		got, err := encoderOf(t, tt.kind, tt.o).Append(nil, &tt.r)
		if err != nil || string(got) != tt.want {
			t.Errorf("%s: %q, %v; expected %q", tt.name, got, err, tt.want)
		}
	}
}

func TestOutOfRange(t *testing.T) {
	nan := math.NaN()
	for _, tt := range []struct {
		kind string
		r    wire.Reading
		want string
	}{
		{"127251", wire.Reading{RateOfTurn: opt.Of(68.0)}, "encode 127251: rate is 68, allowed: -67.10886400000 to 67.10886387500 rad/s"},
		{"127252", wire.Reading{HeaveM: opt.Of(327.65)}, "encode 127252: heave is 327.65, allowed: -327.68 to 327.64 m"},
		{"127252", wire.Reading{HeaveM: opt.Of(nan)}, "encode 127252: heave is NaN, allowed: -327.68 to 327.64 m"},
		{"127257", wire.Reading{Yaw: opt.Of(nan)}, "encode 127257: yaw is NaN, allowed: -3.2768 to 3.2764 rad"},
		{"127257", wire.Reading{Pitch: opt.Of(3.3)}, "encode 127257: pitch is 3.3, allowed: -3.2768 to 3.2764 rad"},
		{"127257", wire.Reading{Roll: opt.Of(math.Inf(1))}, "encode 127257: roll is +Inf, allowed: -3.2768 to 3.2764 rad"},
		{"127250", wire.Reading{Heading: opt.Of(nan)}, "encode 127250: heading is NaN, allowed: 0.0000 to 6.5532 rad"},
		{"127258", wire.Reading{Variation: opt.Of(nan)}, "encode 127258: variation is NaN, allowed: -3.2768 to 3.2764 rad"},
		{"129025", wire.Reading{Position: opt.Of(geo.Position{Lat: math.Pi})}, "encode 129025: latitude is 180, allowed: -90 to 90 deg"},
		{"129025", wire.Reading{Position: opt.Of(geo.Position{Lon: nan})}, "encode 129025: longitude is NaN, allowed: -180 to 180 deg"},
		{"129026", wire.Reading{SpeedMS: opt.Of(655.33)}, "encode 129026: SOG is 655.33, allowed: 0.00 to 655.32 m/s"},
		{"129026", wire.Reading{SpeedMS: opt.Of(-0.01)}, "encode 129026: SOG is -0.01, allowed: 0.00 to 655.32 m/s"},
		{"126992", wire.Reading{UTC: opt.Of(time.Unix(-1, 0))}, "encode 126992: date is -1, allowed: 0 to 65532 d"},
		{"126992", wire.Reading{UTC: opt.Of(time.Unix(65533*86400, 0))}, "encode 126992: date is 65533, allowed: 0 to 65532 d"},
		{"129029", wire.Reading{Satellites: opt.Of(253)}, "encode 129029: satellites used is 253, allowed: 0 to 252"},
		{"129029", wire.Reading{DiffStation: opt.Of(4093)}, "encode 129029: station id is 4093, allowed: 0 to 4092"},
		{"129029", wire.Reading{DiffAge: opt.Of(656.0)}, "encode 129029: age of corrections is 656, allowed: 0.00 to 655.32 s"},
		{"129029", wire.Reading{HDOP: opt.Of(nan)}, "encode 129029: HDOP is NaN, allowed: -327.68 to 327.64"},
		{"129539", wire.Reading{VDOP: opt.Of(-400.0)}, "encode 129539: VDOP is -400, allowed: -327.68 to 327.64"},
		{"129029", wire.Reading{Position: opt.Of(geo.Position{Height: nan})}, "encode 129029: altitude is NaN, allowed: -9223372036854.775808 to 9223372036854.775804 m"},
		{"129539", wire.Reading{TDOP: opt.Of(nan)}, "encode 129539: TDOP is NaN, allowed: -327.68 to 327.64"},
	} {
		dst := []byte("before")
		got, err := encoderOf(t, tt.kind, Options{}).Append(dst, &tt.r)
		var e *wire.RangeError
		if !errors.As(err, &e) || err.Error() != tt.want || string(got) != "before" {
			t.Errorf("%s: %q, error %v; expected %q", tt.kind, got, err, tt.want)
		}
	}
}

func TestOptions(t *testing.T) {
	n := opt.Of[int]
	for _, tt := range []struct {
		kind string
		o    Options
		want []string
	}{
		{"127245", Options{}, []string{`nmea2000: type is "127245", allowed: the PGNs 60928, 126992,`}},
		{"127257", Options{Source: n(252), Priority: n(8), SID: SIDFixed(253), MomentHz: -1}, []string{
			"nmea2000: source address is 252, allowed: 0 to 251", "nmea2000: priority is 8, allowed: 0 to 7",
			"nmea2000: SID is 253, allowed: 0 to 252", "nmea2000: rate of the moments is -1, allowed: a rate above 0 Hz"}},
		{"60928", Options{Name: Name{Unique: n(1 << 21), Manufacturer: n(2047), DeviceInstance: n(256), Function: n(255), Class: n(127), SystemInstance: n(13), Industry: n(7)}},
			[]string{"unique number is 2097152, allowed: 0 to 2097148", "manufacturer code is 2047, allowed: 0 to 2046", "device instance is 256, allowed: 0 to 255",
				"device function is 255", "device class is 127", "system instance is 13, allowed: 0 to 12", "industry group is 7"}},
		{"129029", Options{GNSS: n(15), Integrity: n(4), Stations: n(-1), DesiredMode: n(7), TimeSource: n(15), VariationSource: n(15), VariationDay: n(70000)},
			[]string{"GNSS type is 15", "integrity is 4, allowed: 0 to 3", "station type is -1", "desired mode is 7", "time source is 15", "variation source is 15", "age of service is 70000"}},
	} {
		_, err := New(tt.kind, tt.o)
		for _, want := range tt.want {
			if err == nil || !strings.Contains(err.Error(), want) {
				t.Errorf("error is %v, expected to find %q", err, want)
			}
		}
	}
	e := encoderOf(t, "127257", Options{Source: n(0), Priority: n(0)})
	if got, _ := e.Append(nil, &wire.Reading{}); !strings.HasPrefix(string(got), "T01F119008") {
		t.Errorf("address and priority 0: %q", got)
	}
}

func TestSID(t *testing.T) {
	at := func(o Options, r wire.Reading) string {
		got, err := encoderOf(t, "127252", o).Append(nil, &r)
		if err != nil {
			t.Fatal(err)
		}
		return string(got[10:12])
	}
	for _, tt := range []struct {
		name string
		o    Options
		r    wire.Reading
		want string
	}{
		{"third moment at 10 Hz", Options{MomentHz: 10}, wire.Reading{T: 0.3, Count: 77}, "03"},
		{"moments begin again after 252", Options{MomentHz: 10}, wire.Reading{T: 25.3}, "00"},
		{"by the millisecond", Options{}, wire.Reading{T: 0.25}, "FA"},
		{"before the beginning", Options{MomentHz: 10}, wire.Reading{T: -0.1}, "FC"},
		{"count", Options{SID: SIDCount}, wire.Reading{T: 0.3, Count: 254}, "01"},
		{"none", Options{SID: SIDNone}, wire.Reading{T: 0.3}, "FF"},
		{"fixed", Options{SID: SIDFixed(252)}, wire.Reading{T: 0.3}, "FC"},
		{"fixed 0", Options{SID: SIDFixed(0)}, wire.Reading{T: 0.3}, "00"},
	} {
		if got := at(tt.o, tt.r); got != tt.want {
			t.Errorf("%s: %s, expected %s", tt.name, got, tt.want)
		}
	}
	for _, tt := range []struct {
		rates []float64
		want  float64
	}{{[]float64{10}, 10}, {[]float64{10, 5, 1, 0.1}, 10}, {[]float64{10, 4}, 20}, {[]float64{7, 9, 11, 13}, 0}, {nil, 0}, {[]float64{2.5, 1}, 5}} {
		if got := MomentRate(tt.rates...); math.Abs(got-tt.want) > 1e-9 {
			t.Errorf("moments of %v are counted at %v Hz, expected %v", tt.rates, got, tt.want)
		}
	}
}

// TestLeapSecond: in one the time goes on past 86400 s, as the range of the field has it.
func TestLeapSecond(t *testing.T) {
	const day = 17166 // 2016-12-31, whose last second was 23:59:60 (IERS Bulletin C 52)
	for _, tt := range []struct {
		name  string
		ofDay time.Duration
		ahead bool
		want  string // day and time of day, 0.1 ms
	}{
		{"before", 86399999900 * time.Microsecond, true, "0E43" + "FF977F33"},
		{"rounds up into it", 86399999960 * time.Microsecond, true, "0E43" + "00987F33"},
		{"without one into the next day", 86399999960 * time.Microsecond, false, "0F43" + "00000000"},
		{"within", 86400500 * time.Millisecond, true, "0E43" + "88AB7F33"},
		{"rounds up out of it", 86400999960 * time.Microsecond, true, "0F43" + "00000000"},
	} {
		var r wire.Reading
		r.Stamp(utc.Label{Day: day, OfDay: tt.ofDay}, tt.ahead)
		got, err := encoderOf(t, "126992", Options{SID: SIDNone}).Append(nil, &r)
		if want := "T0DF010238FFF0" + tt.want + "\r"; err != nil || string(got) != want {
			t.Errorf("%s: %q, %v; expected %q", tt.name, got, err, want)
		}
		var back wire.Reading
		readAll(t, got, &back)
		if again, err := encoderOf(t, "126992", Options{SID: SIDNone}).Append(nil, &back); err != nil || string(again) != string(got) {
			t.Errorf("%s: read back and written again it is %q, %v", tt.name, again, err)
		}
	}
}

func TestAllocatesNothing(t *testing.T) {
	if raceEnabled {
		t.Skip("allocations are not counted under the race detector")
	}
	r := sampleReading()
	for _, kind := range Kinds() {
		e := encoderOf(t, kind, Options{})
		buf := make([]byte, 0, 512)
		if n := testing.AllocsPerRun(100, func() { buf, _ = e.Append(buf[:0], &r) }); n > 0 {
			t.Errorf("%s: %v allocations a message", kind, n)
		}
		f := NewFamily()
		var out wire.Reading
		if n := testing.AllocsPerRun(100, func() {
			for i := 0; i < len(buf); i += 27 {
				f.Probe(buf[i:], false)
				if _, _, err := f.Read(buf[i:i+27], &out); err != nil {
					t.Fatal(err)
				}
			}
		}); n > 0 {
			t.Errorf("%s: %v allocations to read", kind, n)
		}
	}
}
