package consumer

import (
	"bytes"
	"fmt"
	"time"

	"swellbench/emulator/wire/nmea0183"
)

// lineDefects are those of bytes and sentences: what is read at all.
var lineDefects = []Defect{
	{"rest-of-read-lost", "takes what one read gives for one sentence, and throws away what follows the line end", Receive, "parse.loss", "one-read-one-sentence messages-lost burst-overruns-buffer", restOfReadLost},
	{"burst-overruns-buffer", "has room for the first 150 bytes of a burst; the rest of it is lost", Receive, "parse.loss", "burst-overruns-buffer sentence-type-not-read", burstOverrunsBuffer},
	{"ends-at-high-byte", "ends its reader at the first byte above 7F", Receive, "line.resync", "foreign-byte-ends-reader", endsAtHighByte},
	{"gives-up-on-rubbish", "stops reading after 400 bytes without a sentence", Sentence, "line.recovery", "foreign-byte-ends-reader", givesUpOnRubbish},
	{"gives-up-in-silence", "takes a second of silence for the end of the stream", Receive, "line.recovery", "foreign-byte-ends-reader", givesUpInSilence},
	{"slow-reader", "takes 40 ms over each sentence, so that it falls behind", Say, "line.keeping-up", "reader-falls-behind", slowReader},
	{"checksum-ignored", "does not compare the checksum", Sentence, "parse.checksum", "damaged-sentence-accepted", checksumIgnored},
	{"checksum-capitals-only", "compares the checksum as text with its own in capital letters", Sentence, "parse.dialect", "checksum-letter-case", checksumCapitalsOnly},
	{"line-cut-at-82", "keeps 82 characters of a line, so that a longer sentence loses its end", Sentence, "parse.dialect", "long-sentence-cut", lineCutAt82},
	{"field-count-fixed", "takes a sentence only with the number of fields that it had the first time", Sentence, "parse.dialect", "field-count-must-match long-sentence-cut", fieldCountFixed},
	{"talker-fixed", "knows position sentences by their whole address, GP and the type", Sentence, "parse.talker", "talker-prefix-fixed", talkerFixed},
	{"first-talker-only", "stays with the talker that it first heard of each type", Sentence, "parse.talker", "talker-prefix-fixed", firstTalkerOnly},
	{"blank-aborts-sentence", "throws a sentence away if a number in it is blank", Sentence, "parse.loss", "blank-number-aborts-sentence", blankAbortsSentence},
	{"skips-after-damage", "passes over the ten sentences after a damaged one", Sentence, "line.resync", "no-resync-after-damage", skipsAfterDamage},
}

// checked wraps the stage that decides what is a sentence: f is asked about those that are.
func checked(s *stages, f func(text []byte) bool) {
	next := s.sentence
	s.sentence = func(text []byte, wrong nmea0183.Reason) []byte {
		if text = next(text, wrong); text != nil && !f(text) {
			return nil
		}
		return text
	}
}

// received wraps the stage that takes the bytes of the port.
func received(s *stages, f func(b []byte, at time.Time) []byte) {
	next := s.receive
	s.receive = func(b []byte, at time.Time) []byte { return f(next(b, at), at) }
}

// resum gives a sentence the checksum that fits it; nil if it has no place for one.
func resum(text []byte) []byte {
	from, star := bytes.IndexByte(text, '$'), bytes.LastIndexByte(text, '*')
	if from < 0 || star < from {
		return nil
	}
	sum := byte(0)
	for _, c := range text[from+1 : star] {
		sum ^= c
	}
	return fmt.Appendf(nil, "%s*%02X", text[from:star], sum)
}

func restOfReadLost(s *stages) {
	received(s, func(b []byte, _ time.Time) []byte {
		if i := bytes.IndexByte(b, '\n'); i >= 0 {
			return b[:i+1]
		}
		return b
	})
}

func burstOverrunsBuffer(s *stages) {
	const room, idle = 150, 12 * time.Millisecond
	held, last := 0, time.Time{}
	received(s, func(b []byte, at time.Time) []byte {
		if at.Sub(last) > idle { // the timer has emptied the buffer
			held = 0
		}
		last = at
		b = b[:min(len(b), max(0, room-held))]
		held += len(b)
		return b
	})
}

func endsAtHighByte(s *stages) {
	ended := false
	received(s, func(b []byte, _ time.Time) []byte {
		if i := bytes.IndexFunc(b, func(r rune) bool { return r > 0x7f }); i >= 0 && !ended {
			ended = true
			return b[:i]
		}
		if ended {
			return nil
		}
		return b
	})
}

func givesUpOnRubbish(s *stages) {
	const most = 400
	rubbish, ended := 0, false
	received(s, func(b []byte, _ time.Time) []byte {
		if rubbish += len(b); rubbish > most {
			ended = true
		}
		if ended {
			return nil
		}
		return b
	})
	checked(s, func([]byte) bool { rubbish = 0; return true })
}

func givesUpInSilence(s *stages) {
	var last time.Time
	ended := false
	received(s, func(b []byte, at time.Time) []byte {
		ended = ended || !last.IsZero() && at.Sub(last) > time.Second
		if last = at; ended {
			return nil
		}
		return b
	})
}

func slowReader(s *stages) {
	next := s.say
	s.say = func(m *message, x nmea0183.Sentence) {
		time.Sleep(40 * time.Millisecond)
		next(m, x)
	}
}

func checksumIgnored(s *stages) {
	next := s.sentence
	s.sentence = func(text []byte, wrong nmea0183.Reason) []byte {
		if wrong == nmea0183.ChecksumMismatch {
			if text = resum(text); text == nil {
				return nil
			}
			wrong = ""
		}
		return next(text, wrong)
	}
}

func checksumCapitalsOnly(s *stages) {
	checked(s, func(text []byte) bool { return bytes.HasSuffix(resum(text), text[len(text)-2:]) })
}

func lineCutAt82(s *stages) {
	const most = 80 // and the line end
	checked(s, func(text []byte) bool { return len(text) <= most })
}

func fieldCountFixed(s *stages) {
	counts := map[string]int{}
	checked(s, func(text []byte) bool {
		address, rest, _ := bytes.Cut(text, []byte{','})
		n := bytes.Count(rest, []byte{','})
		if want, ok := counts[string(address)]; ok {
			return n == want
		}
		counts[string(address)] = n
		return true
	})
}

func talkerFixed(s *stages) {
	checked(s, func(text []byte) bool {
		kind := kindOf(text)
		return kind != "GGA" && kind != "RMC" && kind != "VTG" || bytes.HasPrefix(text, []byte("$GP"))
	})
}

func firstTalkerOnly(s *stages) {
	first := map[string]string{}
	checked(s, func(text []byte) bool {
		kind := kindOf(text)
		if kind == "" {
			return true
		}
		if first[kind] == "" {
			first[kind] = string(text[:3])
		}
		return string(text[:3]) == first[kind]
	})
}

// kindOf is the three letters that say what a plain sentence is.
func kindOf(text []byte) string {
	if len(text) < 7 || text[0] != '$' || text[6] != ',' {
		return ""
	}
	return string(text[3:6])
}

func blankAbortsSentence(s *stages) {
	numbers := map[string][]int{"GGA": {2, 4, 9, 11, 13}, "RMC": {3, 5, 7, 8}, "VTG": {1, 5}, "HDT": {1}, "ROT": {1}}
	checked(s, func(text []byte) bool {
		fields := bytes.Split(text, []byte{','})
		for _, i := range numbers[kindOf(text)] {
			if i < len(fields) && len(fields[i]) == 0 {
				return false
			}
		}
		return true
	})
}

func skipsAfterDamage(s *stages) {
	next, left := s.sentence, 0
	s.sentence = func(text []byte, wrong nmea0183.Reason) []byte {
		if wrong != "" {
			left = 10
		} else if left > 0 {
			left--
			return nil
		}
		return next(text, wrong)
	}
}
