package report

import (
	"bytes"
	"testing"
)

// What is written as JSON and read again gives the same JSON: a merged verdict loses nothing but its pictures.
func TestVerdictAgain(t *testing.T) {
	for name, make := range verdicts {
		var first, second bytes.Buffer
		if err := JSON(&first, make()); err != nil {
			t.Fatal(err)
		}
		d, err := ReadJSON(bytes.NewReader(first.Bytes()))
		if err != nil {
			t.Fatal(err)
		}
		v, err := VerdictOf(d)
		if err != nil {
			t.Fatal(err)
		}
		if err := JSON(&second, v); err != nil {
			t.Fatal(err)
		}
		if !bytes.Equal(first.Bytes(), second.Bytes()) {
			t.Errorf("%s:\n%s\n%s", name, first.Bytes(), second.Bytes())
		}
	}
}
