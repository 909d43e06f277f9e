"""Reads sentences, one a line, with pynmea2, and prints one JSON object for each.

With the argument "rate" it prints how many sentences a second it parses to numbers instead.
"""
import json
import sys
import time

import pynmea2


def numbers(msg):
    """The fields that pynmea2 names, as it converts them, and position in signed degrees."""
    out = {}
    for field in msg.fields[: len(msg.data)]:
        value = getattr(msg, field[1])
        out[field[1]] = None if value is None or value == "" else str(value)
    if hasattr(msg, "latitude") and msg.lat:
        out["latitude"] = repr(msg.latitude)
        out["longitude"] = repr(msg.longitude)
    return out


def main():
    lines = sys.stdin.buffer.read().decode("latin-1").split("\r\n")
    lines = [line for line in lines if line]
    if sys.argv[1:] == ["rate"]:
        start = time.perf_counter()
        for line in lines:
            numbers_of = pynmea2.parse(line, check=True)
            for field in numbers_of.fields[: len(numbers_of.data)]:
                getattr(numbers_of, field[1])
        print(len(lines) / (time.perf_counter() - start))
        return
    for line in lines:
        try:
            msg = pynmea2.parse(line, check=True)
        except pynmea2.ParseError as err:
            print(json.dumps({"error": str(err.args[0])}))
            continue
        print(json.dumps({"type": msg.sentence_type, "talker": msg.talker, "fields": numbers(msg), "data": msg.data}))


main()
