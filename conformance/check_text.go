package conformance

import (
	"fmt"
	"math"
	"strings"
	"time"
)

func passed(r Result, format string, a ...any) Result {
	r.Outcome, r.Summary = Passed, fmt.Sprintf(format, a...)
	return r
}

func failed(r Result, format string, a ...any) Result {
	r.Outcome, r.Summary = Failed, fmt.Sprintf(format, a...)
	return r
}

func skipped(format string, a ...any) Result {
	s := fmt.Sprintf(format, a...)
	return Result{Outcome: Skipped, Summary: s, Reason: s}
}

func inconclusive(r Result, format string, a ...any) Result {
	r.Outcome, r.Reason = Inconclusive, fmt.Sprintf(format, a...)
	r.Summary = r.Reason
	return r
}

// minus gives numbers a minus sign that can be told from a hyphen.
func minus(s string) string { return strings.ReplaceAll(s, "-", "−") }

func stampText(t time.Time) string {
	s := t.UTC().Format("2006-01-02T15:04:05.000000000")
	for len(s) > len("2006-01-02T15:04:05.000") && s[len(s)-1] == '0' {
		s = s[:len(s)-1]
	}
	return s + "Z"
}

func clockText(t time.Time) string { return stampText(t)[len("2006-01-02T"):] }

// number writes x with about three digits that count, no exponent.
func number(x float64) string {
	a := math.Abs(x)
	if a >= 1e9 {
		return minus(fmt.Sprintf("%.3g", x))
	}
	digits := 2
	switch {
	case a >= 100:
		digits = 0
	case a >= 10:
		digits = 1
	case a > 0 && a < 1:
		digits = min(6, 1-int(math.Floor(math.Log10(a)))+1)
	}
	s := fmt.Sprintf("%.*f", digits, x)
	if strings.Contains(s, ".") {
		s = strings.TrimRight(strings.TrimRight(s, "0"), ".")
	}
	return minus(s)
}

// measureText writes x with its unit.
func measureText(x float64, unit string) string {
	if unit != "" && !strings.HasPrefix(unit, "°") {
		unit = " " + unit
	}
	return number(x) + unit
}

// durationText writes a time difference in the unit that suits it.
func durationText(s float64) string {
	switch a := math.Abs(s); {
	case a < 2:
		return number(math.Round(s*1e6)/1e3) + " ms"
	case a < 120:
		return number(s) + " s"
	case a < 7200:
		return number(s/60) + " min"
	case a < 172800:
		return number(s/3600) + " h"
	}
	return number(s/86400) + " days"
}

func plural(n int, noun string) string {
	if n != 1 {
		noun += "s"
	}
	return fmt.Sprintf("%d %s", n, noun)
}

func list(words []string) string {
	if len(words) < 2 {
		return strings.Join(words, "")
	}
	return strings.Join(words[:len(words)-1], ", ") + " and " + words[len(words)-1]
}
