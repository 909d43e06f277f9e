package nmea0183

// A Query asks another device for a sentence: $CCGPQ,GGA asks, as CC, the device GP for its GGA.
//
// Source: query form of NMEA 0183, as in NMEA Revealed.
type Query struct {
	Requester, Target Talker
	Wanted            string // a type, such as GGA
}

// Query reads a sentence as a query; it is one if its address ends in Q and it names a type.
func (f *Fields) Query() (Query, bool) {
	a, wanted := f.Address, f.Field(1)
	if f.Start != '$' || len(a) != 5 || a[4] != 'Q' || f.Private() || len(wanted) < 3 {
		return Query{}, false
	}
	return Query{Requester: Talker{a[0], a[1]}, Target: Talker{a[2], a[3]}, Wanted: string(wanted)}, true
}

// Append adds the query as a sentence.
func (q Query) Append(dst []byte) []byte {
	f := Fields{Start: '$', Address: []byte{q.Requester[0], q.Requester[1], q.Target[0], q.Target[1], 'Q'},
		Body: []byte(q.Wanted), Comma: true}
	dst, _ = f.Append(dst, nil)
	return dst
}
