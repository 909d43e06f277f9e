package nmea0183

import (
	"bytes"
	"os"
	"os/exec"
	"path/filepath"
	"testing"
	"time"
)

// grepLog is a log of ours, on disk.
func grepLog(t testing.TB, size int) (file string, lines int64) {
	stream := streamOf(t)
	log := bytes.Repeat(stream, size/len(stream)+1)
	file = filepath.Join(t.TempDir(), "log.nmea")
	if err := os.WriteFile(file, log, 0o600); err != nil {
		t.Fatal(err)
	}
	return file, int64(bytes.Count(log, []byte("\n")))
}

func scanFile(t testing.TB, file string, lines int64) {
	f, err := os.Open(file)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	info, err := f.Stat()
	if err != nil {
		t.Fatal(err)
	}
	if c, err := ScanAt(f, info.Size()); err != nil || c.Good != lines || c.Lines != lines {
		t.Fatalf("%+v, %v", c, err)
	}
}

// TestScanKeepsUpWithGrep: scanning a log and checking all its checksums takes no longer than grep takes to count the lines
// that hold a fixed string. The best of several goes each, one after the other: the machine may be busy.
func TestScanKeepsUpWithGrep(t *testing.T) {
	if testing.Short() {
		t.Skip("timing")
	}
	grep, err := exec.LookPath("grep")
	if err != nil {
		t.Skip("no grep")
	}
	file, lines := grepLog(t, 32<<20)
	ours, theirs := time.Hour, time.Hour
	for range 15 {
		start := time.Now()
		scanFile(t, file, lines)
		ours = min(ours, time.Since(start))
		start = time.Now()
		if out, err := exec.Command(grep, "-c", "-F", "$GNGGA", file).CombinedOutput(); err != nil {
			t.Skipf("grep: %v %s", err, out)
		}
		if theirs = min(theirs, time.Since(start)); ours < theirs {
			break
		}
	}
	t.Logf("scan %v, grep %v", ours, theirs)
	if ours > theirs {
		t.Errorf("scan takes %v, grep %v", ours, theirs)
	}
}

func BenchmarkScan(b *testing.B) {
	file, lines := grepLog(b, 32<<20)
	b.Run("swellbench", func(b *testing.B) {
		b.SetBytes(32 << 20)
		for b.Loop() {
			scanFile(b, file, lines)
		}
	})
	for name, text := range map[string]string{"grep-often": "$GNGGA", "grep-never": "$PXYZ"} {
		b.Run(name, func(b *testing.B) {
			b.SetBytes(32 << 20)
			for b.Loop() {
				_, _ = exec.Command("grep", "-c", "-F", text, file).Output() // it fails where it finds nothing, and to nowhere it does not count
			}
		})
	}
}
