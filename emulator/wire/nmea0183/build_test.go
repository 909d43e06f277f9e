package nmea0183

import (
	"swellbench/scenarios/opt"
)

// Builders of the sentences that vectors describe, see vectors_test.go.

func asMode(v opt.Opt[byte]) opt.Opt[Mode] {
	if l, ok := v.Value(); ok {
		return opt.Of(Mode(l))
	}
	return opt.None[Mode]()
}

func asStatus(v opt.Opt[byte]) opt.Opt[Status] {
	if l, ok := v.Value(); ok {
		return opt.Of(Status(l))
	}
	return opt.None[Status]()
}

func asNav(v opt.Opt[byte]) opt.Opt[NavStatus] {
	if l, ok := v.Value(); ok {
		return opt.Of(NavStatus(l))
	}
	return opt.None[NavStatus]()
}

func asID(v opt.Opt[byte]) opt.Opt[ID] {
	if l, ok := v.Value(); ok {
		return opt.Of(ID(hexDigit(l)))
	}
	return opt.None[ID]()
}

func (f fields) text(key string) string {
	s, _ := f[key].(string)
	return s
}

// positionForm is the form of a sentence whose latitude is field n.
func positionForm(in *Fields, n int, f *Format) {
	if lat := in.Field(n); len(lat) > 0 {
		f.Digits[Minutes] = Digits{Decimals: digitsOf(lat).Decimals}
	}
}

func timeForm(in *Fields, n int, f *Format) {
	if at := in.Field(n); len(at) > 0 {
		f.Digits[Seconds] = Digits{Decimals: digitsOf(at).Decimals}
	}
}

func edition(long bool, newer, older Version) Version {
	if long {
		return newer
	}
	return older
}

func buildGLL(f fields, in *Fields) (Sentence, Format) {
	var form Format
	positionForm(in, 1, &form)
	timeForm(in, 5, &form)
	form.Version = edition(in.Len() == 7, V230, V200)
	return &GLL{Talker: in.Talker(), LatDeg: f.float("lat"), LonDeg: f.float("lon"), Time: f.time(), Status: Status(f.letter("status").Or(0)), Mode: asMode(f.letter("mode"))}, form
}

func buildGNS(f fields, in *Fields) (Sentence, Format) {
	form := form(in, map[int]Group{8: HDOP, 9: Altitude, 10: Undulation, 11: Age})
	positionForm(in, 2, &form)
	timeForm(in, 1, &form)
	form.Version = edition(in.Len() == 13, V410, V301)
	s := &GNS{Talker: in.Talker(), Time: f.time(), LatDeg: f.float("lat"), LonDeg: f.float("lon"), Satellites: f.int("sats_used"), HDOP: f.float("hdop"),
		AltitudeM: f.float("alt_m"), UndulationM: f.float("geoid_sep_m"), AgeS: f.float("diff_age_s"), Station: f.int("diff_station"), NavStatus: asNav(f.letter("nav_status"))}
	for i, l := range f.text("mode") {
		s.Modes[i] = Mode(l)
	}
	return s, form
}

// buildGSA takes from the sentence only in which slots the satellites are: the vector lists them without.
func buildGSA(f fields, in *Fields) (Sentence, Format) {
	form := form(in, map[int]Group{15: HDOP})
	form.Version = edition(in.Len() == 18, V410, V301)
	s := &GSA{Talker: in.Talker(), Selection: f.letter("selection").Or(0), Fix: f.int("fix").Or(0), PDOP: f.float("pdop"), HDOP: f.float("hdop"), VDOP: f.float("vdop"), System: asID(f.letter("system_id"))}
	list := f["satellites"].([]any)
	for i := range s.Slots {
		if len(in.Field(3+i)) > 0 {
			s.Slots[i] = int(list[0].(float64))
			list = list[1:]
		}
	}
	return s, form
}

func buildGSV(f fields, in *Fields) (Sentence, Format) {
	var form Format
	form.Version = edition(in.Len()%4 == 0, V410, V301)
	s := &GSV{Talker: in.Talker(), Total: f.int("total").Or(0), Number: f.int("number").Or(0), InView: f.int("in_view").Or(0), Signal: asID(f.letter("signal_id"))}
	for _, x := range f["satellites"].([]any) {
		g := fields(x.(map[string]any))
		s.Satellites = append(s.Satellites, SatelliteInView{g.int("id").Or(0), g.int("elevation_deg"), g.int("azimuth_deg"), g.int("snr_db")})
	}
	return s, form
}

func buildGST(f fields, in *Fields) (Sentence, Format) {
	form := form(in, map[int]Group{2: Sigma, 5: Orientation})
	timeForm(in, 1, &form)
	return &GST{Talker: in.Talker(), Time: f.time(), RangeM: f.float("range_rms_m"), SemiMajorM: f.float("semi_major_m"), SemiMinorM: f.float("semi_minor_m"),
		OrientationDeg: f.float("orientation_deg"), LatM: f.float("lat_sd_m"), LonM: f.float("lon_sd_m"), AltM: f.float("alt_sd_m")}, form
}

func buildGBS(f fields, in *Fields) (Sentence, Format) {
	form := form(in, map[int]Group{2: Sigma, 6: Probability})
	timeForm(in, 1, &form)
	form.Version = edition(in.Len() == 10, V410, V301)
	return &GBS{Talker: in.Talker(), Time: f.time(), LatM: f.float("lat_err_m"), LonM: f.float("lon_err_m"), AltM: f.float("alt_err_m"), Failed: f.int("failed_sat"),
		Probability: f.float("prob_missed"), BiasM: f.float("bias_m"), BiasSigmaM: f.float("bias_sd_m"), System: asID(f.letter("system_id")), Signal: asID(f.letter("signal_id"))}, form
}

func buildDTM(f fields, in *Fields) (Sentence, Format) {
	form := form(in, map[int]Group{3: LatOffset, 5: LonOffset, 7: Altitude})
	for _, g := range []Group{LatOffset, LonOffset, Altitude} {
		form.Digits[g].Whole = 0
	}
	return &DTM{Talker: in.Talker(), Datum: f.text("datum"), Subdivision: f.text("subdivision"), LatOffsetMin: f.float("lat_offset_min"), LonOffsetMin: f.float("lon_offset_min"),
		AltOffsetM: f.float("alt_offset_m"), Reference: f.text("reference")}, form
}

func buildTHS(f fields, in *Fields) (Sentence, Format) {
	return &THS{Talker: in.Talker(), HeadingDeg: f.float("heading_true_deg"), Mode: HeadingMode(f.letter("mode").Or(0))}, form(in, map[int]Group{1: Heading})
}

func buildHDG(f fields, in *Fields) (Sentence, Format) {
	return &HDG{Talker: in.Talker(), SensorDeg: f.float("heading_sensor_deg"), DeviationDeg: f.float("deviation_deg"), VariationDeg: f.float("variation_deg")},
		form(in, map[int]Group{1: Heading, 2: Deviation, 4: Variation})
}

func buildVBW(f fields, in *Fields) (Sentence, Format) {
	form := form(in, map[int]Group{1: Speed})
	form.Version = edition(in.Len() == 10, V301, V230)
	along := func(what string) AlongShip {
		return AlongShip{f.float(what + "_long_kn"), f.float(what + "_trans_kn"), asStatus(f.letter(what + "_status"))}
	}
	across := func(what string) AcrossShip {
		return AcrossShip{f.float("stern_" + what + "_trans_kn"), asStatus(f.letter("stern_" + what + "_status"))}
	}
	return &VBW{Talker: in.Talker(), Water: along("water"), Ground: along("ground"), SternWater: across("water"), SternGround: across("ground")}, form
}

func buildTXT(f fields, in *Fields) (Sentence, Format) {
	return &TXT{Talker: in.Talker(), Total: f.int("total").Or(0), Number: f.int("number").Or(0), ID: f.int("text_id").Or(0), Text: f.text("text")}, Format{}
}
