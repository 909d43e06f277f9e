package nmea0183

import (
	"bytes"
	"io"
	"math/rand/v2"
	"runtime"
	"strings"
	"testing"
	"testing/iotest"
)

func TestScan(t *testing.T) {
	log := "$GPHDT,0.00,T*05\r\n$GPHDT,0.00,T*06\r\n\r\n# a comment\n2026-06-14T08:15:02 $TIROT,30.0,A*08\n\\s:x*0C\\$GPHDT,0.00,T*05\r\n!AIVDM,1*53\n$GPVTG,220.86,T,,M,2.550,N,4.724,K,A*34\r\n*00\n$*00\n$*0x\n$HEHDT,274.07,T*19"
	want := Counts{Bytes: int64(len(log)), Lines: 12, Good: 5, Wrong: 2, Other: 5}
	if got := ScanBytes([]byte(log)); got != want {
		t.Errorf("got %+v, want %+v", got, want)
	}
	for _, r := range []io.Reader{strings.NewReader(log), iotest.OneByteReader(strings.NewReader(log)), iotest.DataErrReader(strings.NewReader(log))} {
		if got, err := Scan(r); got != want || err != nil {
			t.Errorf("got %+v, %v, want %+v", got, err, want)
		}
	}
	if _, err := Scan(iotest.TimeoutReader(iotest.OneByteReader(strings.NewReader(log)))); err != iotest.ErrTimeout {
		t.Errorf("error %v", err)
	}
	// Every line of a stream of ours is good, wherever the blocks are cut.
	stream := bytes.Repeat(streamOf(t), 40)
	if got, err := Scan(bytes.NewReader(stream)); err != nil || got.Good != got.Lines || got.Lines != int64(bytes.Count(stream, []byte("\n"))) {
		t.Errorf("%+v, %v", got, err)
	}
}

// TestScanAt: wherever a file is cut into parts, the counts are those of the whole.
func TestScanAt(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 4))
	var log []byte
	for len(log) < 9<<20 {
		switch rng.IntN(6) {
		case 0:
			log = append(log, "\r\n"...)
		case 1:
			log = append(log, strings.Repeat("x", rng.IntN(200))+"\n"...)
		case 2:
			log = append(log, "$GPHDT,0.00,T*06\r\n"...)
		default:
			log = append(log, "$GPHDT,0.00,T*05\r\n"...)
		}
	}
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(0))
	for _, log := range [][]byte{nil, []byte("$GPHDT,0.00,T*05"), log, bytes.Repeat([]byte("x"), 5<<20), append(bytes.Repeat([]byte("x"), 5<<20), log...)} {
		want := ScanBytes(log)
		for _, p := range []int{1, 2, 3, 7} {
			runtime.GOMAXPROCS(p)
			if got, err := ScanAt(bytes.NewReader(log), int64(len(log))); err != nil || got != want {
				t.Errorf("%d bytes in %d parts: %+v, %v, want %+v", len(log), p, got, err, want)
			}
		}
	}
	if _, err := ScanAt(failing{}, 10<<20); err == nil {
		t.Error("a failing reader gives no error")
	}
}

type failing struct{}

func (failing) ReadAt([]byte, int64) (int, error) { return 0, io.ErrClosedPipe }

// TestScanLongLines: a line that never ends takes no memory, and the next one counts.
func TestScanLongLines(t *testing.T) {
	for _, n := range []int{maxLine - 1, maxLine, maxLine + 1, 3 * maxLine, 1 << 20, 5<<20 + 7} {
		log := strings.Repeat("x", n) + "\n$GPHDT,0.00,T*05\r\n"
		want := Counts{Bytes: int64(len(log)), Lines: 2, Good: 1, Other: 1}
		if got := ScanBytes([]byte(log)); got != want {
			t.Errorf("%d: got %+v", n, got)
		}
		for _, r := range []io.Reader{strings.NewReader(log), iotest.HalfReader(strings.NewReader(log))} {
			if got, err := Scan(r); got != want || err != nil {
				t.Errorf("%d: got %+v, %v", n, got, err)
			}
		}
	}
}

func TestXor(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	for n := range 200 {
		b := make([]byte, n)
		var want byte
		for i := range b {
			b[i] = byte(rng.Uint32())
			want ^= b[i]
		}
		if got := xor(b); got != want {
			t.Fatalf("of %d bytes %02X, want %02X", n, got, want)
		}
	}
}
