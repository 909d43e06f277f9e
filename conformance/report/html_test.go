package report

import (
	"bytes"
	"context"
	"encoding/xml"
	"fmt"
	"io"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"swellbench/conformance"
)

// pictured is a failed verdict with all that a page can show, and a consumer that writes markup.
func pictured() *conformance.Verdict {
	v := failedVerdict()
	c := &v.Cases[0]
	c.Stderr = "<script>alert(1)</script> \x1b[31mred"
	c.Points = []conformance.VesselPoint{{Name: "sensor", Right: 0.4, Forward: -1.8, Up: 0.6}, {Name: "sonar", Forward: 2.4, Up: -1.6}}
	var s, roll conformance.Series
	s.Quantity, s.Unit, roll.Quantity, roll.Unit = "latitude", "m", "roll", "°"
	for k := range 100 {
		x := float64(k) / 10
		s.Points = append(s.Points, conformance.SeriesPoint{T: x, Observed: math.Sin(x), Deviation: math.Sin(x), Tolerance: 0.02})
		roll.Points = append(roll.Points, conformance.SeriesPoint{T: x, Expected: 5 * math.Sin(x), Observed: -5 * math.Sin(x), Deviation: -10 * math.Sin(x), Tolerance: 0.01})
		c.Plan = append(c.Plan, conformance.PlanPoint{Right: 1 + 0.1*math.Sin(x), Forward: -2})
	}
	c.Series = []conformance.Series{s, roll}
	for i := range c.Results {
		if r := &c.Results[i]; r.Outcome == conformance.Failed {
			r.Quantities = []conformance.Quantity{{Name: "latitude", Unit: "m", N: 100, Beyond: 98, Mean: 0.2, RMS: 0.7, P95: 1, Max: 1, Worst: 1, Tolerance: 0.02}, {Name: "roll", Unit: "°", N: 100, Beyond: 100}}
			r.Around = []conformance.SentMessage{{Kind: "GNGGA", ValidS: 0.4, Hurt: "flipped-bit", Bytes: []byte("$GNGGA,<b>\r\n")}, {Kind: "roll", ValidS: 0.4, Bytes: []byte{0xfe, 0, 1}}}
		}
	}
	return v
}

// A page is well-formed, needs nothing from elsewhere, has words beside each plot, and markup of the consumer stays text.
func TestHTML(t *testing.T) {
	for name, v := range map[string]*conformance.Verdict{"pictured": pictured(), "passed": passedVerdict(), "failed": failedVerdict(), "not-started": notStartedVerdict(), "nothing": nothingVerdict()} {
		var b bytes.Buffer
		if err := HTML(&b, v); err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		page := b.String()
		d := xml.NewDecoder(strings.NewReader(page))
		d.Strict, d.AutoClose, d.Entity = false, xml.HTMLAutoClose, xml.HTMLEntity
		var open []string
		plots := 0
		for {
			tok, err := d.Token()
			if err == io.EOF {
				break
			}
			if err != nil {
				t.Fatalf("%s: %v", name, err)
			}
			switch x := tok.(type) {
			case xml.StartElement:
				open = append(open, x.Name.Local)
				if x.Name.Local == "svg" {
					plots++
				}
				for _, a := range x.Attr {
					if (a.Name.Local == "src" || a.Name.Local == "href") && !strings.HasPrefix(a.Value, "#") {
						t.Errorf("%s: %s=%q comes from elsewhere", name, a.Name.Local, a.Value)
					}
				}
			case xml.EndElement:
				open = open[:len(open)-1]
			}
		}
		if strings.Contains(page, "<script") || strings.Contains(page, "@import") || strings.Contains(page, "url(") || strings.Contains(page, "\x1b") {
			t.Errorf("%s: active or raw text of the consumer", name)
		}
		if got := strings.Count(page, "<figcaption>"); got != plots || strings.Count(page, `role="img" aria-label="`) != plots {
			t.Errorf("%s: %d plots, %d captions", name, plots, got)
		}
		if !strings.Contains(page, Caution[:60]) || !strings.Contains(page, strings.ToUpper(v.Outcome().String())) {
			t.Errorf("%s: no caution or no verdict", name)
		}
		if name == "pictured" {
			for _, want := range []string{"&lt;script&gt;", "fe 00 01", "hurt: flipped-bit", "24 47 4e", "swellbench check default --case", "the worst is"} {
				if !strings.Contains(page, want) {
					t.Errorf("no %q in the page", want)
				}
			}
			if plots < 4 {
				t.Errorf("%d plots", plots)
			}
		}
	}
}

// A real browser shows the page: all plots have a size, nothing sticks out of a sheet of paper, and it prints.
func TestChromium(t *testing.T) {
	browser := ""
	for _, name := range []string{"chromium", "chromium-browser", "google-chrome"} {
		if p, err := exec.LookPath(name); err == nil {
			browser = p
			break
		}
	}
	if browser == "" {
		t.Skip("no Chromium on this machine; Debian's package chromium has one")
	}
	if testing.Short() {
		t.Skip("a browser takes seconds")
	}
	dir := t.TempDir()
	var b bytes.Buffer
	if err := HTML(&b, pictured()); err != nil {
		t.Fatal(err)
	}
	// The probe is in this copy only: it writes what the browser made of the page into its title.
	probe := `<script>addEventListener("load", () => { const s = [...document.querySelectorAll("svg")].filter(x => { const r = x.getBoundingClientRect(); return r.width > 100 && r.height > 50; }).length;
document.title = "probe " + s + " " + document.querySelectorAll("svg").length + " " + (document.documentElement.scrollWidth <= innerWidth) + " " + document.querySelectorAll("h2").length; });</script></body>`
	path := filepath.Join(dir, "page.html")
	if err := os.WriteFile(path, []byte(strings.Replace(b.String(), "</body>", probe, 1)), 0o600); err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithTimeout(t.Context(), 60*time.Second)
	defer cancel()
	run := func(args ...string) []byte {
		cmd := exec.CommandContext(ctx, browser, append([]string{"--headless", "--no-sandbox", "--disable-gpu", "--disable-dev-shm-usage", "--user-data-dir=" + filepath.Join(dir, "profile"), "--window-size=900,1200"}, args...)...)
		out, err := cmd.Output()
		if err != nil {
			t.Fatalf("%v: %v", args, err)
		}
		return out
	}
	dom := string(run("--dump-dom", "file://"+path))
	plots := strings.Count(b.String(), "<svg")
	if want := fmt.Sprintf("<title>probe %d %d true ", plots, plots); !strings.Contains(dom, want) {
		i := strings.Index(dom, "<title>")
		t.Errorf("no %q in the page as the browser has it: %.80q", want, dom[max(i, 0):])
	}
	pdf := filepath.Join(dir, "page.pdf")
	run("--print-to-pdf="+pdf, "file://"+path)
	if p, err := os.ReadFile(pdf); err != nil || !bytes.HasPrefix(p, []byte("%PDF-")) || len(p) < 10000 {
		t.Errorf("no print: %v, %d bytes", err, len(p))
	}
}
