package layout

import (
	"encoding/binary"
	"fmt"
	"math"
	"testing"

	"swellbench/emulator/wire"
	"swellbench/emulator/wire/crc"
	"swellbench/scenarios/utc"
)

func BenchmarkTextEncode(b *testing.B) { benchEncode(b, "quay-tilt", "TILT") }

func BenchmarkBinaryEncode(b *testing.B) { benchEncode(b, "hull-box", "MOTION") }

func benchEncode(b *testing.B, name, kind string) {
	enc := encoder(b, example(b, name), kind)
	r := Sample()
	buf, err := enc.Append(nil, &r)
	if err != nil {
		b.Fatal(err)
	}
	b.ReportAllocs()
	for b.Loop() {
		buf, _ = enc.Append(buf[:0], &r)
	}
}

// BenchmarkTextSprintf is the alternative written by hand for this one format, with fmt.
func BenchmarkTextSprintf(b *testing.B) {
	r := Sample()
	want, _ := encoder(b, example(b, "quay-tilt"), "TILT").Append(nil, &r)
	if got := sprintfTilt(&r); got != string(want) {
		b.Fatalf("%q, want %q", got, want)
	}
	b.ReportAllocs()
	for b.Loop() {
		sprintfTilt(&r)
	}
}

func sprintfTilt(r *wire.Reading) string {
	t, _ := r.UTC.Value()
	heave := r.HeaveM.Or(0)
	letter := "U"
	if heave < 0 {
		letter = "S"
	}
	cs := t.Nanosecond() / 1e7
	s := fmt.Sprintf("TILT,%02d%02d%02d.%02d,%+07.2f,%.2f,%s%.2f,%d,%02d", t.Hour(), t.Minute(), t.Second(), cs, -r.Pitch.Or(0)*180/math.Pi,
		r.Roll.Or(0)*180/math.Pi, letter, math.Abs(heave)+1e-9, 4, r.Count%100)
	var x byte
	for i := range len(s) {
		x ^= s[i]
	}
	return fmt.Sprintf("@%s*%02X\r\n", s, x)
}

// BenchmarkBinaryWrite is the alternative written by hand for this one format, with encoding/binary's reflection.
func BenchmarkBinaryWrite(b *testing.B) {
	r := Sample()
	want, _ := encoder(b, example(b, "hull-box"), "MOTION").Append(nil, &r)
	sum, err := crc.Lookup("CRC-16/MCRF4XX")
	if err != nil {
		b.Fatal(err)
	}
	if got := writeBox(&r, sum); string(got) != string(want) {
		b.Fatalf("% X\nwant % X", got, want)
	}
	b.ReportAllocs()
	for b.Loop() {
		writeBox(&r, sum)
	}
}

func writeBox(r *wire.Reading, sum *crc.Sum) []byte {
	t, _ := r.UTC.Value()
	week, of := utc.Leaps.GPS(utc.LabelOf(t)).Week()
	p, _ := r.Position.Value()
	round := func(x float64) int64 { return int64(math.Round(x)) }
	height := uint32(round((p.Height + 500) / 0.05))
	roll := uint32(round(-r.Roll.Or(0)/math.Pi*2048)) & 0xFFF
	pitch := uint32(round(r.Pitch.Or(0)/math.Pi*4096)) & 0xFFF
	tilt := roll | pitch<<12
	m := struct {
		Start        [4]byte
		Week         uint16
		OfWeek       uint32
		Lat, Lon     int32
		Height       [3]byte
		Heading      uint16
		Tilt         [3]byte
		Pad          [0]byte
		Heave        float32
		Turn         int16
		Sats, Status byte
		Number       uint16
		Fill         [2]byte
	}{
		[4]byte{0xB5, 0x4D, 0x21, 34}, uint16(week), uint32(of / 1e6), int32(round(p.Lat / math.Pi * (1 << 31))), int32(round(p.Lon * 180 / math.Pi * 1e7)),
		[3]byte{byte(height >> 16), byte(height >> 8), byte(height)}, uint16(round(r.Heading.Or(0) / math.Pi * 32768)),
		[3]byte{byte(tilt), byte(tilt >> 8), byte(tilt >> 16)}, [0]byte{}, float32(-r.HeaveM.Or(0)), int16(round(r.RateOfTurn.Or(0) * 180 / math.Pi * 60)),
		byte(r.Satellites.Or(0)/10<<4 | r.Satellites.Or(0)%10), 0x84, uint16(r.Count), [2]byte{},
	}
	b := make([]byte, 38, 40)
	if _, err := binary.Encode(b, binary.LittleEndian, m); err != nil {
		return nil
	}
	return binary.LittleEndian.AppendUint16(b, uint16(sum.Of(b[2:38])))
}

func BenchmarkTextRead(b *testing.B) { benchRead(b, "quay-tilt", "TILT") }

func BenchmarkBinaryRead(b *testing.B) { benchRead(b, "hull-box", "MOTION") }

func benchRead(b *testing.B, name, kind string) {
	l := example(b, name)
	r := Sample()
	buf, err := encoder(b, l, kind).Append(nil, &r)
	if err != nil {
		b.Fatal(err)
	}
	fam := l.Family()
	b.ReportAllocs()
	for b.Loop() {
		if p := fam.Probe(buf, false); p.Verdict != wire.Whole {
			b.Fatal(p)
		}
		_, _, _ = fam.Read(buf, &r)
	}
}
