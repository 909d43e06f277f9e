package nmea0183

import (
	"slices"

	"swellbench/emulator/wire"
)

// A systemRow is a satellite system and what stands for it in sentences.
//
// Source: NMEA Revealed; that with a talker of several systems the numbers are those of one scheme for all: there too.
type systemRow struct {
	talker Talker
	id     ID  // in GSA and GBS since 4.10
	signal ID  // the usual civil signal in the band about 1.6 GHz, in GSV since 4.10
	own    int // what is added to the number of the satellite with the talker or the id of the system
	common int // and what with a talker of several systems and no id
}

// systems is in the order of [wire.System].
var systems = [wire.Systems]systemRow{
	wire.GPS:     {Talker{'G', 'P'}, 1, 1, 0, 0},
	wire.GLONASS: {Talker{'G', 'L'}, 2, 1, 64, 64},
	wire.Galileo: {Talker{'G', 'A'}, 3, 7, 0, 300},
	wire.BeiDou:  {Talker{'G', 'B'}, 4, 1, 0, 400},
	wire.QZSS:    {Talker{'G', 'Q'}, 5, 1, 0, 192},
	wire.NavIC:   {Talker{'G', 'I'}, 6, 1, 0, 500},
}

// systemOfTalker is the system that a talker speaks of, older names included; false for one that may speak of several.
func systemOfTalker(t Talker) (wire.System, bool) {
	switch t {
	case Talker{'B', 'D'}:
		return wire.BeiDou, true
	case Talker{'Q', 'Z'}:
		return wire.QZSS, true
	}
	for s := range systems {
		if systems[s].talker == t {
			return wire.System(s), true
		}
	}
	return wire.GPS, false
}

// systemOfID is the system with an id.
func systemOfID(id ID) (wire.System, bool) {
	for s := range systems {
		if systems[s].id == id {
			return wire.System(s), true
		}
	}
	return wire.GPS, false
}

// numberOf is the number in its system of a satellite that a sentence calls id. GLONASS comes as slot + 64 or, from some
// writers, as the slot.
func numberOf(s wire.System, id int) int {
	if s == wire.GLONASS && id > 64 {
		return id - 64
	}
	return id
}

// fromCommon takes a number of the scheme for all systems apart.
func fromCommon(id int) (wire.System, int) {
	switch {
	case id > 500:
		return wire.NavIC, id - 500
	case id > 400:
		return wire.BeiDou, id - 400
	case id > 300:
		return wire.Galileo, id - 300
	case id > 192 && id <= 202:
		return wire.QZSS, id - 192
	case id > 64 && id <= 99:
		return wire.GLONASS, id - 64
	}
	return wire.GPS, id
}

// segment is where in the sky the satellites of a system lie side by side: from, and how many. A system without any would
// come at the end.
func segment(sky []wire.Satellite, s wire.System) (from, n int) {
	from = slices.IndexFunc(sky, func(x wire.Satellite) bool { return x.System == s })
	if from < 0 {
		return len(sky), 0
	}
	for from+n < len(sky) && sky[from+n].System == s {
		n++
	}
	return from, n
}
