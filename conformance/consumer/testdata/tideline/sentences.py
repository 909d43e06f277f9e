"""From bytes to what each sentence says."""

import datetime
import math
import re

import pynmea2


QUALITY = {"0": "none", "1": "autonomous", "2": "differential", "3": "precise", "4": "rtk-fixed", "5": "rtk-float",
           "6": "estimated", "7": "manual", "8": "simulated"}
MODE = {"A": "autonomous", "D": "differential", "E": "estimated", "M": "manual", "S": "simulated", "N": "none",
        "P": "precise", "R": "rtk-fixed", "F": "rtk-float"}
KNOT = 1852.0 / 3600.0


class BadField(Exception):
    pass


def real(text, unit=1.0):
    """A number, or None for a null field."""
    if text == "":
        return None
    if not re.match(r"[-+]?(\d+\.?\d*|\.\d+)$", text):
        raise BadField(text)
    return float(text) * unit


def time_of_day(text):
    """Microseconds since midnight, or None."""
    if text == "":
        return None
    m = re.match(r"(\d\d)(\d\d)(\d\d)(?:\.(\d*))?$", text)
    if not m:
        raise BadField(text)
    hh, mm, ss = int(m.group(1)), int(m.group(2)), int(m.group(3))
    if hh > 23 or mm > 59 or ss > 60 or (ss == 60 and (hh, mm) != (23, 59)):
        raise BadField(text)
    return (hh * 3600 + mm * 60 + ss) * 1000000 + int(((m.group(4) or "") + "000000")[:6])


def packed(text, letter, letters, digits, limit):
    """ddmm.mm and a letter in rad, or None."""
    if text == "":
        return None
    m = re.match(r"(\d{%d})(\d\d(?:\.\d*)?)$" % digits, text)
    if not m or letter not in letters or letter == "" or float(m.group(2)) >= 60:
        raise BadField(text)
    deg = int(m.group(1)) + float(m.group(2)) / 60.0
    if deg > limit:
        raise BadField(text)
    return math.radians(-deg if letter == letters[1] else deg)


def calendar(day, month, year):
    try:
        return datetime.date(year, month, day)
    except ValueError:
        raise BadField("date")


class Said:
    """What one sentence says. values has a key only for what the sentence speaks about; None is null."""

    def __init__(self, kind):
        self.kind, self.values, self.tod, self.date, self.trusted = kind, {}, None, None, True


def field(msg, i):
    return msg.data[i] if i < len(msg.data) else ""


def interpret(msg):
    """A Said, or None for a sentence that is of no use."""
    kind = getattr(msg, "sentence_type", "")
    s = Said(kind)
    v = s.values
    if kind == "GGA":
        s.tod = time_of_day(field(msg, 0))
        v["lat"] = packed(field(msg, 1), field(msg, 2), "NS", 2, 90)
        v["lon"] = packed(field(msg, 3), field(msg, 4), "EW", 3, 180)
        if field(msg, 5) not in QUALITY:
            raise BadField(field(msg, 5))
        v["fix"] = QUALITY[field(msg, 5)]
        v["altitude"], v["undulation"] = real(field(msg, 8)), real(field(msg, 10))
        if v["fix"] == "none":
            v["lat"] = v["lon"] = v["altitude"] = None
    elif kind == "RMC":
        s.tod = time_of_day(field(msg, 0))
        v["lat"] = packed(field(msg, 2), field(msg, 3), "NS", 2, 90)
        v["lon"] = packed(field(msg, 4), field(msg, 5), "EW", 3, 180)
        v["speed"], v["course"] = real(field(msg, 6), KNOT), real(field(msg, 7), math.pi / 180)
        d = field(msg, 8)
        if d:
            if not re.match(r"\d{6}$", d):
                raise BadField(d)
            yy = int(d[4:6])
            s.date = calendar(int(d[0:2]), int(d[2:4]), yy + (1900 if yy >= 80 else 2000))
        status, mode = field(msg, 1), field(msg, 11)
        if status not in ("A", "V") or mode not in MODE and mode != "":
            raise BadField(status + mode)
        if mode == "" or status == "V" and mode in "AD":
            v["fix"] = "autonomous" if status == "A" else "none"
        else:
            v["fix"] = MODE[mode]
        if v["fix"] == "none":
            s.trusted = False
            v["lat"] = v["lon"] = v["speed"] = v["course"] = None
    elif kind == "VTG":
        if field(msg, 1) in ("T", ""):
            v["course"], v["speed"] = real(field(msg, 0), math.pi / 180), real(field(msg, 4), KNOT)
        else:  # four plain numbers, before the letters came
            v["course"], v["speed"] = real(field(msg, 0), math.pi / 180), real(field(msg, 2), KNOT)
        if field(msg, 8) in MODE:
            v["fix"] = MODE[field(msg, 8)]
            if v["fix"] == "none":
                v["course"] = v["speed"] = None
    elif kind == "ZDA":
        s.tod = time_of_day(field(msg, 0))
        dmy = [field(msg, i) for i in (1, 2, 3)]
        if all(dmy):
            if not all(x.isdigit() for x in dmy):
                raise BadField(",".join(dmy))
            s.date = calendar(*[int(x) for x in dmy])
    elif kind == "HDT":
        v["heading"] = real(field(msg, 0), math.pi / 180)
        if v["heading"] is not None and not 0 <= v["heading"] <= 2 * math.pi + 1e-12:
            raise BadField(field(msg, 0))
    elif kind == "ROT":
        rate = real(field(msg, 0))
        v["rate_of_turn"] = None if rate is None or field(msg, 1) != "A" else math.radians(rate) / 60
    elif kind == "XDR":
        for i in range(len(msg.data) // 4):
            what, value, unit, name = msg.data[4 * i:4 * i + 4]
            name = name.upper()
            if (what, unit) == ("A", "D") and name in ("PITCH", "PTCH"):
                v["pitch"] = real(value, math.pi / 180)
            elif (what, unit) == ("A", "D") and name == "ROLL":
                v["roll"] = real(value, math.pi / 180)
            elif (what, unit) == ("D", "M") and name == "HEAVE":
                v["heave"] = real(value)
        if not v:
            return None
    else:
        return None
    return s


# Which sentence is believed first, where two of a burst say the same.
ORDER = {"lat": ["GGA", "RMC"], "lon": ["GGA", "RMC"], "fix": ["GGA", "VTG", "RMC"], "speed": ["VTG", "RMC"],
         "course": ["VTG", "RMC"]}


class Lines:
    """Cuts bytes into sentences."""

    def __init__(self):
        self.buffer = bytearray()
        self.clean = None  # the stream began with a sentence

    def feed(self, data):
        out = []
        for byte in data:
            if self.clean is None:
                self.clean = byte in b"$"
            if byte in b"$!" :
                self.buffer = bytearray([byte])
            elif byte in b"\r\n":
                out.append(bytes(self.buffer))
                self.buffer = bytearray()
            elif len(self.buffer) < 1000 and (self.buffer or byte in b"\\"):
                self.buffer.append(byte)
            elif self.buffer:
                self.buffer = bytearray()
        return [s for s in (self.sentence(line) for line in out) if s]

    def rest(self):
        line, self.buffer = bytes(self.buffer), bytearray()
        s = self.sentence(line)
        return [s] if s else []

    @staticmethod
    def sentence(line):
        if not line.startswith(b"$"):
            return None
        try:
            text = line.decode("ascii")
            if not text.isprintable() or not re.search(r"\*[0-9A-Fa-f]{2}$", text):
                return None
            return interpret(pynmea2.parse(text, check=True))
        except (UnicodeDecodeError, pynmea2.ParseError, BadField, ValueError, TypeError):
            return None
