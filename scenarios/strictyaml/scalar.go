package strictyaml

import (
	"fmt"
	"math"
	"reflect"
	"regexp"
	"strconv"
	"strings"
	"time"
)

// The plain scalars of YAML 1.2.2, section 10.3.2 (core schema).
var (
	plainInt   = regexp.MustCompile(`^([-+]?[0-9]+|0o[0-7]+|0x[0-9a-fA-F]+)$`)
	plainFloat = regexp.MustCompile(`^([-+]?(\.[0-9]+|[0-9]+(\.[0-9]*)?)([eE][-+]?[0-9]+)?|[-+]?\.(inf|Inf|INF)|\.(nan|NaN|NAN))$`)
)

// plainKind tells what an unquoted scalar is.
func plainKind(s string) Kind {
	switch s {
	case "", "~", "null", "Null", "NULL":
		return Null
	case "true", "True", "TRUE", "false", "False", "FALSE":
		return Bool
	}
	switch {
	case plainInt.MatchString(s):
		return Int
	case plainFloat.MatchString(s):
		return Float
	}
	return String
}

// whole number of at most 64 bits, and whether it is negative.
func parseInt(s string) (magnitude uint64, negative bool, err error) {
	if rest, ok := strings.CutPrefix(s, "0x"); ok {
		magnitude, err = strconv.ParseUint(rest, 16, 64)
		return magnitude, false, err
	}
	if rest, ok := strings.CutPrefix(s, "0o"); ok {
		magnitude, err = strconv.ParseUint(rest, 8, 64)
		return magnitude, false, err
	}
	s, negative = strings.CutPrefix(s, "-")
	magnitude, err = strconv.ParseUint(strings.TrimPrefix(s, "+"), 10, 64)
	return magnitude, negative && magnitude != 0, err
}

// setInt puts a whole number into v, of a signed or unsigned kind. It is false where v cannot hold it.
func setInt(v reflect.Value, s string) bool {
	m, negative, err := parseInt(s)
	if err != nil {
		return false
	}
	if v.CanUint() {
		if negative || v.OverflowUint(m) {
			return false
		}
		v.SetUint(m)
		return true
	}
	limit := uint64(math.MaxInt64)
	if negative {
		limit++
	}
	if m > limit {
		return false
	}
	i := int64(m)
	if negative {
		i = int64(-m)
	}
	if v.OverflowInt(i) {
		return false
	}
	v.SetInt(i)
	return true
}

// intRange describes what a kind holds.
func intRange(t reflect.Type) string {
	bits := t.Bits()
	if t.Kind() >= reflect.Uint && t.Kind() <= reflect.Uint64 {
		return fmt.Sprintf("0 to %d", uint64(math.MaxUint64)>>(64-bits))
	}
	return fmt.Sprintf("%d to %d", int64(math.MinInt64)>>(64-bits), int64(math.MaxInt64)>>(64-bits))
}

// parseTime reads an instant.
func parseTime(s string) (time.Time, error) {
	t, err := time.Parse(time.RFC3339Nano, s)
	if err != nil {
		return time.Time{}, fmt.Errorf("%s is no instant; write UTC such as 2026-06-01T12:00:00Z", Quote(s))
	}
	return t.UTC(), nil
}
