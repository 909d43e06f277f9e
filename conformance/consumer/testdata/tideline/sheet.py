"""The installation file: a small parser of the YAML that such files use."""

import math
import re


class SheetError(Exception):
    """The installation file cannot be used; the text says why."""


def strip_comment(line):
    quote = None
    for i, c in enumerate(line):
        if quote:
            if c == quote:
                quote = None
        elif c in "\"'" and (i == 0 or line[i - 1] in " [{,:-"):
            quote = c
        elif c == "#" and (i == 0 or line[i - 1] in " \t"):
            return line[:i]
    return line


class Flow:
    """Reads {a: b, c: [d, e]} from a text."""

    def __init__(self, text):
        self.text, self.at = text, 0

    def blank(self):
        while self.at < len(self.text) and self.text[self.at] in " \t\n":
            self.at += 1

    def peek(self):
        self.blank()
        return self.text[self.at] if self.at < len(self.text) else ""

    def value(self):
        c = self.peek()
        if c == "{":
            return self.mapping()
        if c == "[":
            return self.sequence()
        return self.scalar()

    def mapping(self):
        self.at += 1
        out = {}
        while True:
            c = self.peek()
            if c == "":
                raise SheetError("a { without a }: %r" % self.text)
            if c == "}":
                self.at += 1
                return out
            if c == ",":
                self.at += 1
                continue
            key = self.scalar(stop=":,}")
            if self.peek() != ":":
                raise SheetError("no : after the key %r" % key)
            self.at += 1
            if key in out:
                raise SheetError("the key %r stands twice" % key)
            out[key] = None if self.peek() in ",}" else self.value()

    def sequence(self):
        self.at += 1
        out = []
        while True:
            c = self.peek()
            if c == "":
                raise SheetError("a [ without a ]: %r" % self.text)
            if c == "]":
                self.at += 1
                return out
            if c == ",":
                self.at += 1
                continue
            out.append(self.value())

    def scalar(self, stop=",]}"):
        c = self.peek()
        if c and c in "\"'":
            end = self.text.find(c, self.at + 1)
            if end < 0:
                raise SheetError("a quote that does not end: %r" % self.text)
            word, self.at = self.text[self.at + 1:end], end + 1
            return word
        start = self.at
        while self.at < len(self.text) and self.text[self.at] not in stop:
            self.at += 1
        word = self.text[start:self.at].strip()
        return None if word in ("", "~", "null") else word


def balance(text):
    """How many brackets are open at the end of the text."""
    depth, quote = 0, None
    for c in text:
        if quote:
            quote = None if c == quote else quote
        elif c in "\"'":
            quote = c
        else:
            depth += (c in "{[") - (c in "}]")
    return depth


def parse_sheet(text):
    lines = []
    for raw in text.splitlines():
        line = strip_comment(raw).rstrip()
        if not line.strip() or line.strip() in ("---", "..."):
            continue
        if lines and balance(lines[-1][1]) > 0:  # a flow that goes on
            lines[-1][1] += " " + line.strip()
            continue
        lines.append([len(line) - len(line.lstrip()), line.strip()])
    if lines and lines[0][1][0] in "{[":
        return Flow(lines[0][1]).value()
    value, rest = parse_block(lines, 0)
    if rest < len(lines):
        raise SheetError("odd indentation at %r" % lines[rest][1])
    return value


def parse_block(lines, i):
    if i >= len(lines):
        return None, i
    indent = lines[i][0]
    if lines[i][1].startswith("- ") or lines[i][1] == "-":
        out = []
        while i < len(lines) and lines[i][0] == indent and lines[i][1][0] == "-":
            out.append(Flow(lines[i][1][1:]).value())
            i += 1
        return out, i
    out = {}
    while i < len(lines) and lines[i][0] == indent:
        m = re.match(r"""("[^"]*"|'[^']*'|[^:\[\]{}]+?)\s*:(?:\s+(.*)|$)""", lines[i][1])
        if not m:
            raise SheetError("neither a key nor a value: %r" % lines[i][1])
        key = m.group(1).strip("\"'")
        if key in out:
            raise SheetError("the key %r stands twice" % key)
        i += 1
        if m.group(2):
            out[key] = Flow(m.group(2)).value()
        elif i < len(lines) and (lines[i][0] > indent or lines[i][0] == indent and lines[i][1][0] == "-"):
            out[key], i = parse_block(lines, i)
        else:
            out[key] = None
    return out, i


METRES = {"m": 1.0, "mm": 0.001, "cm": 0.01, "km": 1000.0, "ft": 0.3048, "NM": 1852.0}
RADIANS = {"deg": math.pi / 180, "rad": 1.0, "mrad": 0.001, "arcmin": math.pi / 10800, "arcsec": math.pi / 648000}


def measure(text, units):
    m = re.match(r"([-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?)\s*([A-Za-z]+)$", str(text).strip())
    if not m or m.group(2) not in units:
        raise SheetError("%r is no number with one of the units %s" % (text, ", ".join(units)))
    return float(m.group(1)) * units[m.group(2)]


def vector(v):
    if not isinstance(v, list) or len(v) != 3:
        raise SheetError("%r is no [right, forward, up]" % (v,))
    return [measure(x, METRES) for x in v]
