package plots_test

import (
	"bytes"
	"image/png"
	"strings"
	"testing"

	"swellbench/emulator"
	"swellbench/emulator/plots"
	"swellbench/scenarios/library"
)

// Every ready-made scenario can be drawn, and a picture is a picture, with its words in it.
func TestWrite(t *testing.T) {
	for _, name := range library.Names() {
		sc, err := library.Open(name)
		if err != nil {
			t.Fatal(err)
		}
		d, err := emulator.New(sc.WithStart(sc.UTC(0)))
		if err != nil {
			t.Fatal(err)
		}
		var b bytes.Buffer
		if err := plots.Write(&b, d, "svg"); err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		for _, want := range []string{"<svg", sc.Name + ":", "heave, m", "position error, m", "as sent", "</svg>"} {
			if !strings.Contains(b.String(), want) {
				t.Errorf("%s: no %q in the picture", name, want)
			}
		}
		if strings.Contains(b.String(), "NaN") {
			t.Errorf("%s: NaN in the picture", name)
		}
	}
}

func TestPNG(t *testing.T) {
	sc, err := library.Open("gnss-gap")
	if err != nil {
		t.Fatal(err)
	}
	d, err := emulator.New(sc.WithStart(sc.UTC(0)))
	if err != nil {
		t.Fatal(err)
	}
	var b bytes.Buffer
	if err := plots.Write(&b, d, "png"); err != nil {
		t.Fatal(err)
	}
	if _, err := png.Decode(&b); err != nil {
		t.Error(err)
	}
	if err := plots.Write(&b, d, "bmp"); err == nil || err.Error() != `plot: unknown picture format "bmp"; known: png, svg, pdf` {
		t.Errorf("error %v", err)
	}
}
