package track

import (
	"bytes"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"

	"swellbench/scenarios/strictyaml"
)

// gpxSpace is the namespace of GPX 1.1.
const gpxSpace = "http://www.topografix.com/GPX/1/1"

// maxXMLDepth is how deep elements of a file may lie within each other; GPX itself needs four.
const maxXMLDepth = 64

// parseGPX reads the way-points of a route from GPX 1.1: the rtept elements of the rte that has the name, or of the only
// one. Of each it takes lat and lon; heights in GPX are above mean sea level and belong to no ship's track. Source: GPX
// 1.1 schema documentation, types gpxType, rteType, wptType, latitudeType and longitudeType, from memory.
func parseGPX(name string, data []byte, route string) ([]routePoint, error) {
	d := xml.NewDecoder(bytes.NewReader(data))
	fail := func(format string, args ...any) error {
		line, col := d.InputPos()
		return &fileError{name, line, col, fmt.Sprintf(format, args...)}
	}
	var (
		stack   []string
		names   []string     // of the routes
		points  []routePoint // of the route at hand
		chosen  []routePoint
		matches int
		title   *strings.Builder // where the name of the route at hand goes
		tracks  int
	)
	for {
		token, err := d.Token()
		if errors.Is(err, io.EOF) {
			break
		}
		if se := (*xml.SyntaxError)(nil); errors.As(err, &se) {
			return nil, &fileError{name, se.Line, 0, "this is not XML: " + se.Msg}
		} else if err != nil {
			return nil, fail("this cannot be read: %v; save it in UTF-8", err)
		}
		switch e := token.(type) {
		case xml.StartElement:
			if len(stack) == maxXMLDepth {
				return nil, fail("elements lie more than %d deep; this is not GPX", maxXMLDepth)
			}
			own := e.Name.Local
			if e.Name.Space != gpxSpace { // of an extension
				own = "?"
			}
			stack = append(stack, own)
			switch at := strings.Join(stack, "/"); {
			case len(stack) == 1:
				if err := checkGPX(e); err != nil {
					return nil, fail("%v", err)
				}
			case at == "gpx/trk":
				tracks++
			case at == "gpx/rte":
				points, title = nil, new(strings.Builder)
			case at == "gpx/rte/rtept":
				line, _ := d.InputPos()
				if len(points) == maxRoutePoints {
					return nil, tooMany(name, line)
				}
				p := routePoint{where: fmt.Sprintf("%s:%d", name, line)}
				if p.lat, err = gpxDegrees(e, "lat", "latitude", 90); err != nil {
					return nil, fail("%v", err)
				}
				if p.lon, err = gpxDegrees(e, "lon", "longitude", 180); err != nil {
					return nil, fail("%v", err)
				}
				points = append(points, p)
			}
		case xml.CharData:
			if slices.Equal(stack, []string{"gpx", "rte", "name"}) {
				title.Write(e)
			}
		case xml.EndElement:
			if slices.Equal(stack, []string{"gpx", "rte"}) {
				called := strings.TrimSpace(title.String())
				names = append(names, called)
				if route == "" || called == route {
					chosen = points
					matches++
				}
			}
			stack = stack[:len(stack)-1]
		}
	}
	whole := func(format string, args ...any) error { return &fileError{name, 0, 0, fmt.Sprintf(format, args...)} }
	switch {
	case len(names) == 0 && tracks > 0:
		return nil, whole("the file has no route, only a recorded track; save its way-points as a route (rte)")
	case len(names) == 0:
		return nil, whole("the file has no route; allowed: GPX 1.1 with a rte element")
	case matches == 0:
		return nil, whole("there is no route %s; %s", strictyaml.Quote(route), strictyaml.Allowed(route, names[:min(len(names), 20)]))
	case matches > 1 && route == "":
		return nil, whole("the file has %d routes; say which, such as name: %s", matches, strictyaml.Quote(names[0]))
	case matches > 1:
		return nil, whole("there are %d routes called %s; give them names of their own", matches, strictyaml.Quote(route))
	case len(chosen) == 0:
		return nil, whole("the route has no way-points; add rtept elements")
	}
	return chosen, nil
}

// checkGPX looks at the first element.
func checkGPX(e xml.StartElement) error {
	if e.Name.Local != "gpx" {
		return fmt.Errorf("the first element is %s; allowed: gpx", strictyaml.Quote(e.Name.Local))
	}
	version := "unknown"
	for _, a := range e.Attr {
		if a.Name.Space == "" && a.Name.Local == "version" {
			version = a.Value
		}
	}
	if e.Name.Space != gpxSpace || version != "1.1" {
		return fmt.Errorf("the file is GPX of version %s in the namespace %s; allowed: version 1.1 in %s", strictyaml.Quote(version), strictyaml.Quote(e.Name.Space), gpxSpace)
	}
	return nil
}

// gpxDegrees reads an angle in degrees from an attribute, in rad.
func gpxDegrees(e xml.StartElement, attribute, what string, most float64) (float64, error) {
	for _, a := range e.Attr {
		if a.Name.Space == "" && a.Name.Local == attribute {
			return parseDegrees(what, a.Value, most)
		}
	}
	return 0, fmt.Errorf("the way-point has no %s; add %s in degrees", attribute, attribute)
}
