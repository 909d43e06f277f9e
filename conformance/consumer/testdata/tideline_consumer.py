#!/usr/bin/python3
"""A second correct consumer, written from the contract alone.

It listens to NMEA 0183, MAVLink or NMEA 2000 (of a serial CAN adapter) on a serial port, applies what the device has not applied, and prints one observation a line as
JSON. It shares no code with the Go consumer: other grouping, other rotations (plain 3 x 3 matrices), other geodesy,
other parser of the installation file. Needs pyserial and pynmea2 (Debian: python3-serial, python3-nmea2).

  tideline_consumer.py --port PATH --baud 38400 --installation boat.yaml

With a plain file or "-" as the port it reads that to its end; silences and the clock then mean nothing.
"""

import argparse
import json
import math
import os
import re
import signal
import sys
import time

sys.dont_write_bytecode = True

import serial  # noqa: E402

from tideline.boat import Boat  # noqa: E402
from tideline.frames import CANLines, MAVLink  # noqa: E402
from tideline.bursts import Bursts, Stamps  # noqa: E402
from tideline.sentences import Lines  # noqa: E402
from tideline.sheet import SheetError, parse_sheet  # noqa: E402


def turned(x):
    return round(math.degrees(x) % 360.0, 6) % 360.0


def signed(x):
    return round(math.degrees(x), 6)


def printer(boat, out):
    def emit(b, at):
        got = boat.solve(b.values())
        ms = at.microsecond % 1000 == 0
        line = {"time": at.isoformat(timespec="milliseconds" if ms else "microseconds") + "Z", "point": boat.name}
        for key, show in (("lat", lambda x: round(math.degrees(x), 10)), ("lon", lambda x: round(math.degrees(x), 10)),
                          ("height", lambda x: round(x, 5)), ("heading", turned), ("pitch", signed), ("roll", signed),
                          ("heave", lambda x: round(x, 5)), ("speed", lambda x: round(x, 5)), ("course", turned),
                          ("rate_of_turn", signed)):
            if key in got:
                line[key] = None if got[key] is None else show(got[key])
        if "fix" in got:
            line["fix"] = got["fix"]
        if "heading" in got:
            line["heading_valid"] = got["heading"] is not None
        line["source"] = "+".join(dict.fromkeys(s.kind for s in b.said))
        if "note" in got:
            line["note"] = got["note"]
        out.write(json.dumps(line) + "\n")
        out.flush()
    return emit


class Ended(Exception):
    pass


class Port:
    """A serial port; read gives b"" when nothing came in time, and raises Ended on hang-up."""

    def __init__(self, path, baud):
        self.port = serial.Serial(path, baud, bytesize=8, parity="N", stopbits=1, timeout=0.05)

    def read(self, wait):
        try:
            self.port.timeout = wait
            data = self.port.read(1)
            if data:
                data += self.port.read(min(self.port.in_waiting, 65536))
            return data
        except (serial.SerialException, OSError, TypeError):
            raise Ended()


class File:
    def __init__(self, path):
        self.f = sys.stdin.buffer if path == "-" else open(path, "rb")

    def read(self, _wait):
        data = self.f.read1(65536) if hasattr(self.f, "read1") else self.f.read(65536)
        if not data:
            raise Ended()
        return data


stopping = False
waiting = False


def stop(_number, _frame):
    global stopping
    stopping = True
    if waiting:
        raise Ended()


def listen(source, live, byte_time, lines, boat, out):
    global waiting
    stamps = Stamps(live, byte_time, printer(boat, out))
    bursts = Bursts(stamps.put)
    count, heard, begun = 0, None, None

    def take(sentences, now):
        for s in sentences:
            if s is not None:
                if lines.clean is False and bursts.leader is None and bursts.now is None and not stamps.queue:
                    bursts.doubtful = stamps.last is None
                bursts.add(s, begun if begun is not None else now, count)

    try:
        while not stopping:
            spacing = bursts.spacing()
            quiet = max(0.02, 8 * byte_time, min(0.1, 0.35 * spacing) if spacing else 0)
            if spacing and bursts.unfinished():  # more likely the computer was busy
                quiet = max(quiet, min(0.25, 0.85 * spacing))
            waiting = True
            data = source.read(quiet / 4)
            waiting = False
            now = time.time()
            if not data:
                if live and heard is not None and now - heard >= (0.25 if lines.buffer else quiet):
                    bursts.idle()
                    begun = None
                stamps.work(now)
                continue
            if live and heard is not None and now - heard >= max(quiet, 0.25 if lines.buffer else 0):
                bursts.idle()
                begun = None
            if begun is None:
                begun = now
            heard = now
            # One sentence at a time, so that each knows when its first byte came.
            for piece in re.findall(rb"[^\n]*\n|[^\n]+$", data) if isinstance(lines, Lines) else [data]:
                take(lines.feed(piece), now)
                count += len(piece)
                if not lines.buffer:
                    begun = now
    except Ended:
        pass
    waiting = False
    take(lines.rest(), time.time())
    bursts.close()
    stamps.work(final=True)


def main():
    ap = argparse.ArgumentParser(description="A consumer of NMEA 0183 that prints observations as JSON lines.")
    ap.add_argument("--port", required=True, help="serial port, or a file, or - for standard input")
    ap.add_argument("--baud", type=int, default=38400)
    ap.add_argument("--format", default="nmea0183", choices=["nmea0183", "mavlink", "nmea2000"])
    ap.add_argument("--installation", required=True, help="installation file (YAML)")
    args = ap.parse_args()
    signal.signal(signal.SIGTERM, stop)
    signal.signal(signal.SIGINT, stop)
    try:
        with open(args.installation, encoding="utf-8") as f:
            boat = Boat(parse_sheet(f.read()))
    except (OSError, SheetError, KeyError, ValueError) as e:
        sys.exit("tideline: installation %s: %s" % (args.installation, e))
    live = args.port != "-" and not os.path.isfile(args.port)
    try:
        source = Port(args.port, args.baud) if live else File(args.port)
    except (serial.SerialException, OSError, ValueError) as e:
        sys.exit("tideline: open %s: %s" % (args.port, e))
    try:
        listen(source, live, 10.0 / args.baud if live else 0.0,
               {"nmea0183": Lines, "mavlink": MAVLink, "nmea2000": CANLines}[args.format](), boat, sys.stdout)
    except BrokenPipeError:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        sys.exit(1)


if __name__ == "__main__":
    main()
