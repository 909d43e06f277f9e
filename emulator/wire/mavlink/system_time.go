package mavlink

import (
	"slices"
	"time"

	"swellbench/emulator/wire"
	"swellbench/scenarios/opt"
)

// A SystemTime relates UTC to the time since switch-on.
//
// Source: common.xml, SYSTEM_TIME. That 0 says that UTC is not known is common practice, no source.
type SystemTime struct {
	TimeUnixUsec uint64 `mav:"time_unix_usec" unit:"us" none:"0"`
	TimeBootMS   uint32 `mav:"time_boot_ms" unit:"ms"`
}

var (
	systemTime            = define(2, "SYSTEM_TIME", SystemTime{})
	systemTimeResolutions = []wire.Resolution{{Quantity: wire.Time, Half: 0.5e-6}}
)

// Definition is that of SYSTEM_TIME.
func (*SystemTime) Definition() *Definition { return systemTime }

func (m *SystemTime) putPayload(p []byte) {
	_ = p[11]
	le.PutUint64(p, m.TimeUnixUsec)
	le.PutUint32(p[8:], m.TimeBootMS)
}

func (m *SystemTime) parsePayload(p []byte) {
	*m = SystemTime{TimeUnixUsec: le.Uint64(p), TimeBootMS: le.Uint32(p[8:])}
}

// SinceStart tells whether a message has no time but that since switch-on, which SYSTEM_TIME relates to UTC.
func SinceStart(kind string) bool {
	row, ok := RowOf(kind)
	return ok && row.ID != systemTime.ID && len(row.Fields) > 0 && slices.ContainsFunc(row.Fields, func(f FieldDef) bool { return f.Name == "time_boot_ms" })
}

func appendSystemTime(_ *encoder, p []byte, r *wire.Reading) (bool, error) {
	f := fill{message: "SYSTEM_TIME"}
	m := SystemTime{TimeBootMS: f.boot(r)}
	if t, ok := r.UTC.Value(); ok {
		m.TimeUnixUsec = f.unix("time_unix_usec", t)
	}
	m.putPayload(p)
	return true, f.err
}

func readSystemTime(p fullPayload, r *wire.Reading) (bool, error) {
	var m SystemTime
	m.parsePayload(p[:])
	if m.TimeUnixUsec > maxUnix*1_000_000 {
		return false, &ValueError{"SYSTEM_TIME", "time_unix_usec", float64(m.TimeUnixUsec), "a date"}
	}
	readBoot(m.TimeBootMS, r)
	r.UTC, r.Leap = opt.None[time.Time](), wire.NoLeap
	if m.TimeUnixUsec != 0 {
		r.UTC = opt.Of(unixTime(m.TimeUnixUsec))
	}
	return true, nil
}
