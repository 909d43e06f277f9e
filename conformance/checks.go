package conformance

// Checks is the table of checks. To add one: a file check_<what>.go with its Judge, a row here, and a seeded defect in
// package consumer that trips it. What the judges need of the observations is gathered once, in tally.go.
var Checks = []Check{
	{
		ID:          "parse.values",
		Requirement: "every value that needs no offset equals what the device reported, within the digits of the message",
		Source:      "IEC 61162-1 field definitions (as NMEA Revealed, gpsd project, describes them); signs: design §4",
		Tolerance:   "message resolution + consumer's digits + device noise; heading, attitude, heave, rate of turn at any of their epochs within the time their message needs",
		Judge:       judgeValues,
	},
	{
		ID:          "parse.loss",
		Requirement: "every epoch that reached the line whole is shown, and none that did not",
		Source:      "common practice",
		Tolerance:   "none; the first 0.5 s and the last epoch are not counted, nor epochs whose messages were hurt or null",
		Judge:       judgeLoss,
	},
	{
		ID:          "parse.checksum",
		Requirement: "a sentence whose checksum is wrong leaves no trace",
		Source:      "IEC 61162-1, checksum field (mandatory since NMEA 0183 3.01, as NMEA Revealed has it)",
		Tolerance:   "a value near a damaged sentence may be the last one, kept or carried on, or between its neighbours",
		Judge:       judgeChecksum,
	},
	{
		ID:          "parse.null",
		Requirement: "where a field is null no value is shown: neither zero nor the last one",
		Source:      "IEC 61162-1, null fields: not available, never zero (as NMEA Revealed has it)",
		Tolerance:   "none; judged once every message that carries the quantity has said null",
		Judge:       judgeNull,
	},
	{
		ID:          "parse.hemisphere",
		Requirement: "south latitudes and west longitudes come out negative",
		Source:      "IEC 61162-1, fields N/S and E/W of GGA and RMC",
		Tolerance:   "none; judged where a wrong sign moves the position by more than any lever arm or noise",
		Judge:       judgeHemisphere,
	},
	{
		ID:          "parse.wrap",
		Requirement: "heading and course pass from 359.9° to 0.1°, longitude from 180° to −180°, without a stray value, and stay within their range",
		Source:      "design §4: 0 ≤ heading < 360 (360 itself is let pass); longitude as IEC 61162-1 has it",
		Tolerance:   "as for parse.values and offset.*, within 10° of north or 0.05° of the 180th meridian",
		Judge:       judgeWrap,
	},
	{
		ID:          "parse.dialect",
		Requirement: "a sentence counts however it is spelled: a checksum in small letters, a further field at the end, more than 82 characters",
		Source:      "common practice; that fields are added at the end in later editions: IEC 61162-1 (as NMEA Revealed has it)",
		Tolerance:   "counted where at least three are spelled so and epochs spelled as usual are shown",
		Judge:       judgeDialect,
	},
	{
		ID:          "parse.talker",
		Requirement: "a sentence counts whatever its talker",
		Source:      "IEC 61162-1, address field: the talker says who sends, the last three characters what",
		Tolerance:   "counted at epochs that one talker alone brought, at least three",
		Judge:       judgeTalker,
	},
	{
		ID:          "time.validity",
		Requirement: "observations carry the time of validity in the message, not that of arrival or another epoch",
		Source:      "IEC 61162-1: field 1 of GGA, RMC and ZDA is the UTC of the values",
		Tolerance:   "1 ms for printing, and what the digits of the time in the message lose",
		Judge:       judgeValidity,
	},
	{
		ID:          "time.midnight",
		Requirement: "the date changes with the day of the message, not with the clock of the consumer",
		Source:      "IEC 61162-1: RMC field 9 and ZDA fields 2 to 4 are UTC dates, GGA has none",
		Tolerance:   "none; stamps before the first message with a date are not counted",
		Judge:       judgeMidnight,
	},
	{
		ID:          "time.arrival",
		Requirement: "no stamp is that of arrival where the message carries its time",
		Source:      "IEC 61162-1: field 1 of GGA, RMC and ZDA is the UTC of the values",
		Tolerance:   "as for time.validity; one stamp in twenty may be so by chance",
		Judge:       judgeArrival,
	},
	{
		ID:          "time.leap-second",
		Requirement: "stamps are UTC: neither GPS time nor off by leap seconds",
		Source:      "IS-GPS-200, UTC parameters of the navigation message (from memory); IEC 61162-1 has UTC",
		Tolerance:   "as for time.validity; judged on most stamps being off by the same whole seconds",
		Judge:       judgeLeap,
	},
	{
		ID:          "time.zone",
		Requirement: "stamps are UTC, not the local time of a computer",
		Source:      "RFC 3339: Z is UTC; IEC 61162-1 has UTC",
		Tolerance:   "judged on most stamps being off by multiples of a quarter of an hour",
		Judge:       judgeZone,
	},
	{
		ID:          "time.date",
		Requirement: "the day is the one in the messages: no wrapped week, no other century, not the day of the host",
		Source:      "IEC 61162-1: RMC field 9 and ZDA fields 2 to 4",
		Tolerance:   "judged on most stamps being off by days; those before the first message with a date are not counted",
		Judge:       judgeDate,
	},
	{
		ID:          "time.order",
		Requirement: "an epoch that comes after a later one keeps its own time, and moves no other",
		Source:      "common practice",
		Tolerance:   "as for time.validity",
		Judge:       judgeOrder,
	},
	{
		ID:          "offset.mounting",
		Requirement: "attitude of the vessel is that of the device turned by the mounting angles: a product of rotations",
		Source:      "Groves, Principles of GNSS, Inertial and Multisensor Integrated Navigation Systems, 2nd ed. 2013, ch. 2; design §4",
		Tolerance:   "resolution of heading, pitch and roll carried through the rotation + consumer's digits + device noise",
		Judge:       judgeMounting,
	},
	{
		ID:          "offset.lever-arm",
		Requirement: "the position is that of the output point: lever arms turned by the full attitude before they are added",
		Source:      "Groves, 2nd ed. 2013, ch. 2; design §4",
		Tolerance:   "resolution of the position, and of heading, pitch and roll times the arm + consumer's digits + device noise + age of attitude times the arm",
		Judge:       judgeLeverArm,
	},
	{
		ID:          "offset.heave",
		Requirement: "heave is that of the output point: what pitch and roll lift it is added",
		Source:      "design §4: heave of the reference point + up(C·l) − l_up",
		Tolerance:   "resolution of heave, and of pitch and roll times the arm + consumer's digits + device noise",
		Judge:       judgeHeave,
	},
	{
		ID:          "offset.baseline",
		Requirement: "the heading is the azimuth between the antennas less that of the baseline, tilted as the vessel is",
		Source:      "design §4; atan2 of the baseline in the level frame, as in Groves, 2nd ed. 2013, ch. 2",
		Tolerance:   "resolution of heading, and of pitch and roll through the tilt correction + consumer's digits + device noise",
		Judge:       judgeBaseline,
	},
	{
		ID:          "outage.fix-state",
		Requirement: "the state of the fix is the one in the messages, at every step",
		Source:      "IEC 61162-1: GGA field 6, mode indicators of RMC and VTG",
		Tolerance:   "none; judged once every message that carries it has said the same",
		Judge:       judgeFixState,
	},
	{
		ID:          "outage.estimated",
		Requirement: "a position that was dead reckoned, typed in or simulated is not shown as a fix",
		Source:      "IEC 61162-1: GGA field 6, values 6 to 8",
		Tolerance:   "none",
		Judge:       judgeEstimated,
	},
	{
		ID:          "outage.stale",
		Requirement: "where a field is blank the last value is not held as current",
		Source:      "IEC 61162-1, null fields: not available (as NMEA Revealed has it)",
		Tolerance:   "a single one is let pass; a value is held if it is near the last one: 20 m, 10°",
		Judge:       judgeStale,
	},
	{
		ID:          "outage.void",
		Requirement: "a position whose message says that there is no fix is not shown as one",
		Source:      "IEC 61162-1: GGA field 6 is 0, status V of RMC and GLL (as NMEA Revealed has it)",
		Tolerance:   "none; a program that passes it on with the word that there is no fix is right",
		Judge:       judgeVoid,
	},
	{
		ID:          "outage.zero",
		Requirement: "0° N 0° E is not taken for a position",
		Source:      "common practice",
		Tolerance:   "6 m about the point; judged where the vessel is more than 12 km away",
		Judge:       judgeZero,
	},
	{
		ID:          "outage.reacquire",
		Requirement: "after an outage or a jump positions are shown at once, as they are: neither joined to the last one, nor smoothed, nor held back",
		Source:      "common practice",
		Tolerance:   "as for the position otherwise, within 3 s; 0.3 s to see that it is back",
		Judge:       judgeReacquire,
	},
	{
		ID:          "line.resync",
		Requirement: "a damaged message costs itself alone",
		Source:      "common practice",
		Tolerance:   "one further epoch now and then; of two messages on one line both may be lost",
		Judge:       judgeResync,
	},
	{
		ID:          "line.recovery",
		Requirement: "messages count again as soon as they come again, after silence or bytes that mean nothing",
		Source:      "common practice",
		Tolerance:   "0.3 s to see it; one epoch in five",
		Judge:       judgeRecovery,
	},
	{
		ID:          "line.silence",
		Requirement: "while nothing comes nothing is shown as current",
		Source:      "common practice",
		Tolerance:   "two observations; 1 s to go on, and the longest time that a message took; estimated values may be shown as such",
		Judge:       judgeSilence,
	},
	{
		ID:          "line.keeping-up",
		Requirement: "observations come as soon as they can, at the end of a run as at its beginning",
		Source:      "common practice",
		Tolerance:   "0.3 s + 3 times the worst lateness of the host",
		Judge:       judgeKeepingUp,
	},
}

// CheckByID finds a row of [Checks].
func CheckByID(id string) (Check, bool) {
	for _, c := range Checks {
		if c.ID == id {
			return c, true
		}
	}
	return Check{}, false
}
