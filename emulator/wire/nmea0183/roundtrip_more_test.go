package nmea0183

import (
	"reflect"
	"time"

	"pgregory.net/rapid"

	"swellbench/scenarios/opt"
)

func (d draw) sentenceMore(kind string, lat, lon opt.Opt[float64], status Status) Sentence {
	nav := func() opt.Opt[NavStatus] {
		if !d.f.Version.hasNavStatus() || d.absent() {
			return opt.None[NavStatus]()
		}
		return opt.Of(NavStatus("SCUV"[rapid.IntRange(0, 3).Draw(d.t, "nav")]))
	}
	id := func() opt.Opt[ID] {
		if !d.f.Version.hasSystems() || d.absent() {
			return opt.None[ID]()
		}
		return opt.Of(ID(rapid.IntRange(0, 15).Draw(d.t, "id")))
	}
	statusOpt := func(sent bool) opt.Opt[Status] {
		if !sent || d.absent() {
			return opt.None[Status]()
		}
		return opt.Of(rapid.SampledFrom([]Status{Valid, Void}).Draw(d.t, "status"))
	}
	code := rapid.StringMatching(`[A-Z0-9é,]{0,6}`)
	switch kind {
	case "GLL":
		return &GLL{Talker: d.talker(), LatDeg: lat, LonDeg: lon, Time: d.time(), Status: status, Mode: d.mode()}
	case "GNS":
		s := &GNS{Talker: d.talker(), Time: d.time(), LatDeg: lat, LonDeg: lon, Satellites: d.int(0, 99), HDOP: d.float(0, 9999), AltitudeM: d.float(-99999, 99999),
			UndulationM: d.float(-999, 999), AgeS: d.float(0, 99999), Station: d.int(0, 4095), NavStatus: nav()}
		for i := range rapid.IntRange(1, len(s.Modes)).Draw(d.t, "systems") {
			s.Modes[i] = Mode(modeLetters[rapid.IntRange(0, len(modeLetters)-1).Draw(d.t, "mode")])
		}
		return s
	case "GSA":
		s := &GSA{Talker: d.talker(), Selection: rapid.SampledFrom([]byte{0, 'A', 'M'}).Draw(d.t, "selection"), Fix: rapid.IntRange(1, 3).Draw(d.t, "fix"),
			PDOP: d.float(0, 9999), HDOP: d.float(0, 9999), VDOP: d.float(0, 9999), System: id()}
		for i := range s.Slots {
			s.Slots[i] = d.int(1, 999).Or(0)
		}
		return s
	case "GSV":
		total := rapid.IntRange(1, 9).Draw(d.t, "total")
		s := &GSV{Talker: d.talker(), Total: total, Number: rapid.IntRange(1, total).Draw(d.t, "number"), InView: rapid.IntRange(0, 99).Draw(d.t, "view"), Signal: id()}
		for range rapid.IntRange(0, 4).Draw(d.t, "satellites") {
			s.Satellites = append(s.Satellites, SatelliteInView{rapid.IntRange(1, 999).Draw(d.t, "id"), d.int(0, 90), d.int(0, 359), d.int(0, 99)})
		}
		return s
	case "GST":
		return &GST{Talker: d.talker(), Time: d.time(), RangeM: d.float(0, 999999), SemiMajorM: d.float(0, 999999), SemiMinorM: d.float(0, 999999), OrientationDeg: d.circle(),
			LatM: d.float(0, 999999), LonM: d.float(0, 999999), AltM: d.float(0, 999999)}
	case "GBS":
		return &GBS{Talker: d.talker(), Time: d.time(), LatM: d.float(0, 999999), LonM: d.float(0, 999999), AltM: d.float(0, 999999), Failed: d.int(0, 999),
			Probability: d.float(0, 1), BiasM: d.float(-999999, 999999), BiasSigmaM: d.float(0, 999999), System: id(), Signal: id()}
	case "DTM":
		return &DTM{Talker: d.talker(), Datum: code.Draw(d.t, "datum"), Subdivision: code.Draw(d.t, "sub"), LatOffsetMin: d.float(-5400, 5400), LonOffsetMin: d.float(-10800, 10800),
			AltOffsetM: d.float(-99999, 99999), Reference: code.Draw(d.t, "reference")}
	case "THS":
		return &THS{Talker: d.talker(), HeadingDeg: d.circle(), Mode: HeadingMode(headingModes[rapid.IntRange(0, 4).Draw(d.t, "mode")])}
	case "HDG":
		return &HDG{Talker: d.talker(), SensorDeg: d.circle(), DeviationDeg: d.float(-180, 180), VariationDeg: d.float(-180, 180)}
	case "VBW":
		stern := d.f.Version.hasStern()
		across := func() AcrossShip {
			if !stern {
				return AcrossShip{}
			}
			return AcrossShip{d.float(-9999, 9999), statusOpt(true)}
		}
		return &VBW{Talker: d.talker(), Water: AlongShip{d.float(-9999, 9999), d.float(-9999, 9999), statusOpt(true)},
			Ground: AlongShip{d.float(-9999, 9999), d.float(-9999, 9999), statusOpt(true)}, SternWater: across(), SternGround: across()}
	case "TXT":
		total := rapid.IntRange(1, 99).Draw(d.t, "total")
		return &TXT{Talker: d.talker(), Total: total, Number: rapid.IntRange(1, total).Draw(d.t, "number"), ID: rapid.IntRange(0, 99).Draw(d.t, "id"),
			Text: rapid.StringMatching(`[ -~éþ]{0,61}`).Draw(d.t, "text")}
	}
	d.t.Fatalf("no random %s", kind)
	return nil
}

// groupOf is the group of the fields of the structs, by name, and whether they are angles of the circle.
var groupOf = map[string]struct {
	g      Group
	unit   float64
	circle bool
}{
	"LatDeg": {Minutes, 1. / 60, false}, "LonDeg": {Minutes, 1. / 60, false}, "HDOP": {HDOP, 1, false}, "PDOP": {HDOP, 1, false}, "VDOP": {HDOP, 1, false},
	"AltitudeM": {Altitude, 1, false}, "UndulationM": {Undulation, 1, false}, "AgeS": {Age, 1, false}, "RangeM": {Sigma, 1, false}, "SemiMajorM": {Sigma, 1, false},
	"SemiMinorM": {Sigma, 1, false}, "OrientationDeg": {Orientation, 1, true}, "LatM": {Sigma, 1, false}, "LonM": {Sigma, 1, false}, "AltM": {Sigma, 1, false},
	"Probability": {Probability, 1, false}, "BiasM": {Sigma, 1, false}, "BiasSigmaM": {Sigma, 1, false}, "LatOffsetMin": {LatOffset, 1, false}, "LonOffsetMin": {LonOffset, 1, false},
	"AltOffsetM": {Altitude, 1, false}, "HeadingDeg": {Heading, 1, true}, "SensorDeg": {Heading, 1, true}, "DeviationDeg": {Deviation, 1, false},
	"VariationDeg": {Variation, 1, false}, "AheadKn": {Speed, 1, false}, "StarboardKn": {Speed, 1, false},
}

// nearStruct compares field by field.
func nearStruct(a, b reflect.Value, at string, value func(what string, g Group, unit float64, circle bool, w, x opt.Opt[float64]), exact func(what string, w, x any),
	clock func(w, x opt.Opt[time.Duration], wd, xd opt.Opt[Date])) {
	for i := range a.NumField() {
		name := a.Type().Field(i).Name
		x, y := a.Field(i).Interface(), b.Field(i).Interface()
		switch x := x.(type) {
		case opt.Opt[float64]:
			g, ok := groupOf[name]
			if !ok {
				exact("no group of "+name, 1, 0)
			}
			value(at+name, g.g, g.unit, g.circle, x, y.(opt.Opt[float64]))
		case opt.Opt[time.Duration]:
			clock(x, y.(opt.Opt[time.Duration]), opt.None[Date](), opt.None[Date]())
		case AlongShip, AcrossShip:
			nearStruct(a.Field(i), b.Field(i), at+name+".", value, exact, clock)
		case []SatelliteInView:
			z := y.([]SatelliteInView)
			exact("satellites", len(x), len(z))
			for k := range min(len(x), len(z)) {
				exact("satellite", x[k], z[k])
			}
		default:
			exact(at+name, x, y)
		}
	}
}
