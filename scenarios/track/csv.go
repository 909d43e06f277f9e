package track

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
	"unicode/utf8"

	"swellbench/scenarios/frame"
	"swellbench/scenarios/strictyaml"
	"swellbench/scenarios/units"
)

// parseCSV reads way-points from comma-separated values (RFC 4180): a header lat,lon or lat,lon,speed, then one
// way-point a row: degrees, positive north and east, and a speed with its unit, or nothing.
func parseCSV(name string, data []byte) ([]routePoint, error) {
	if !utf8.Valid(data) {
		return nil, &fileError{name, 0, 0, "the file is not text in UTF-8; save it as such"}
	}
	r := csv.NewReader(bytes.NewReader(bytes.TrimPrefix(data, []byte("\ufeff"))))
	r.FieldsPerRecord = -1
	r.ReuseRecord = true
	const header = "allowed: a first row lat,lon or lat,lon,speed"
	row, err := r.Read()
	switch {
	case errors.Is(err, io.EOF):
		return nil, &fileError{name, 0, 0, "the file is empty; " + header}
	case err != nil:
		return nil, csvError(name, err)
	}
	columns := len(row)
	got := strings.Join(row, ",")
	for i := range row {
		row[i] = strings.ToLower(strings.TrimSpace(row[i]))
	}
	if first := strings.Join(row, ","); first != "lat,lon" && first != "lat,lon,speed" {
		return nil, &fileError{name, 1, 0, "the first row is " + strictyaml.Quote(got) + "; " + header}
	}
	var points []routePoint
	for {
		row, err := r.Read()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return nil, csvError(name, err)
		}
		line, _ := r.FieldPos(0)
		if len(points) == maxRoutePoints {
			return nil, tooMany(name, line)
		}
		if len(row) != columns {
			return nil, &fileError{name, line, 0, fmt.Sprintf("the row has %d fields, but the first row names %d; give each way-point all of them", len(row), columns)}
		}
		p := routePoint{where: fmt.Sprintf("%s:%d", name, line)}
		fail := func(i int, err error) error {
			line, col := r.FieldPos(i)
			return &fileError{name, line, col, err.Error()}
		}
		if p.lat, err = parseDegrees("latitude", row[0], 90); err != nil {
			return nil, fail(0, err)
		}
		if p.lon, err = parseDegrees("longitude", row[1], 180); err != nil {
			return nil, fail(1, err)
		}
		if columns == 3 && strings.TrimSpace(row[2]) != "" {
			v, err := units.ParseSpeed(strings.TrimSpace(row[2]))
			if err != nil {
				return nil, fail(2, fmt.Errorf("speed: %w", err))
			}
			if !(v >= minWay && v <= maxSpeed) {
				return nil, fail(2, fmt.Errorf("speed is %v; allowed: %v to %v", v, minWay.In("m/s"), maxSpeed.In("m/s")))
			}
			p.speed = &v
		}
		points = append(points, p)
	}
	if len(points) == 0 {
		return nil, &fileError{name, 0, 0, "the file has no way-points; add rows such as 50.1372,-4.2366"}
	}
	return points, nil
}

// csvError gives an error of the reader its place.
func csvError(name string, err error) error {
	if pe := (*csv.ParseError)(nil); errors.As(err, &pe) {
		return &fileError{name, pe.Line, pe.Column, pe.Err.Error() + "; write plain values with commas between"}
	}
	return &fileError{name, 0, 0, err.Error()}
}

// parseDegrees reads a plain number of degrees between −most and most, and gives it in rad.
func parseDegrees(what, text string, most float64) (float64, error) {
	text = strings.TrimSpace(text)
	x, err := strconv.ParseFloat(text, 64)
	if err != nil || math.IsNaN(x) || strings.ContainsAny(text, "xXpP_") { // no hexadecimal
		return 0, fmt.Errorf("%s is %s; allowed: degrees as a plain number, such as 50.1372", what, strictyaml.Quote(text))
	}
	if !(math.Abs(x) <= most) {
		return 0, fmt.Errorf("%s is %s; allowed: -%g to %g", what, strictyaml.Quote(text), most, most)
	}
	return frame.Rad(x), nil
}
