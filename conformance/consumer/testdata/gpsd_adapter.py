#!/usr/bin/python3
"""The general GNSS daemon gpsd as a consumer: this starts one of its own on the port, reads its reports and prints what they
say as observations. It applies nothing and corrects nothing.

What gpsd cannot know is left out: it takes neither lever arms nor mounting, so that positions are those of the point that
the device reports, which the installation file tells; heave has no place in it, and attitude and turning rate of NMEA 0183 are
passed over by it. Needs gpsd (Debian: gpsd) and nothing beyond Python's own library.

  gpsd_adapter.py --port PATH --baud 38400 --installation boat.yaml
"""

import argparse
import json
import os
import shutil
import signal
import socket
import subprocess
import sys
import time

sys.dont_write_bytecode = True

from tideline.sheet import SheetError, parse_sheet  # noqa: E402

SPEEDS = (300, 1200, 2400, 4800, 9600, 19200, 38400, 57600, 115200, 230400, 460800, 921600)

# gpsd_json(5), TPV: status; where it is left out the fix is an ordinary one.
STATUS = {1: "autonomous", 2: "differential", 3: "rtk-fixed", 4: "rtk-float", 5: "estimated", 6: "estimated", 8: "simulated",
          9: "precise"}


def daemon():
    return shutil.which("gpsd") or shutil.which("gpsd", path="/usr/local/sbin:/usr/sbin:/sbin")


def point_on_wire(sheet):
    """The point whose position the device reports, or None where it has no name."""
    told = (sheet or {}).get("entered") or {}
    if (told.get("antennas") or {}).get("primary") is None or told.get("output-point") is None:
        return "antenna-primary"
    return told["output-point"] if isinstance(told["output-point"], str) else None


def free_port():
    with socket.socket() as s:
        s.bind(("127.0.0.1", 0))
        return s.getsockname()[1]


class Gpsd:
    def __init__(self, port, baud):
        # Fixed speed and format, for else it hunts; nothing is sent to the device; it reads before anybody asks.
        self.number = free_port()
        self.process = subprocess.Popen([daemon(), "-N", "-n", "-b", "-p", "-s", str(baud), "-f", "8N1", "-S", str(self.number), port],
                                        stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE)
        self.socket = self.connect()
        self.socket.sendall(b'?WATCH={"enable":true,"json":true};\n')

    def connect(self):
        until = time.monotonic() + 8
        while time.monotonic() < until and self.process.poll() is None:
            try:
                return socket.create_connection(("127.0.0.1", self.number), timeout=None)
            except OSError:
                time.sleep(0.002)
        self.process.kill()
        sys.exit("gpsd did not start: %s" % self.process.stderr.read().decode(errors="replace").strip())

    def reports(self):
        rest = b""
        while True:
            try:
                data = self.socket.recv(65536)
            except OSError:
                return
            if not data:
                return
            *lines, rest = (rest + data).split(b"\n")
            for line in lines:
                try:
                    yield json.loads(line)
                except ValueError:
                    pass

    def end(self):
        self.process.terminate()
        try:
            self.process.wait(1)
        except subprocess.TimeoutExpired:
            self.process.kill()


def observation(r, point):
    """What a report says; None if it says nothing that we need."""
    if "time" not in r:
        return None
    o = {"time": r["time"], "source": "gpsd " + r["class"]}
    if r["class"] == "ATT":
        if "heading" in r:
            o["heading"] = r["heading"]
    elif r["class"] == "TPV":
        mode = r.get("mode", 0)
        if mode == 0:
            return None
        o["fix"] = STATUS.get(r.get("status", 1)) if mode > 1 or r.get("status") in (5, 6) else "none"
        if o["fix"] is None:
            del o["fix"]
        if point is not None:
            o["point"] = point
            if mode == 1:
                o["lat"] = o["lon"] = o["height"] = None
            elif "lat" in r and "lon" in r:
                o["lat"], o["lon"] = r["lat"], r["lon"]
                if "altHAE" in r:
                    o["height"] = r["altHAE"]
        # Without a course the speed is one that gpsd made itself, of two positions.
        if "track" in r and "speed" in r:
            o["speed"], o["course"] = r["speed"], r["track"] % 360.0
    return o if len(o) > 2 else None


def main():
    ap = argparse.ArgumentParser(description="gpsd as a consumer that prints observations as JSON lines.")
    ap.add_argument("--port", required=True)
    ap.add_argument("--baud", type=int, required=True)
    ap.add_argument("--installation", required=True)
    args = ap.parse_args()
    if daemon() is None:
        sys.exit("there is no gpsd (Debian: gpsd)")
    if args.baud not in SPEEDS:
        sys.exit("gpsd cannot read at %d baud" % args.baud)
    try:
        with open(args.installation, encoding="utf-8") as f:
            point = point_on_wire(parse_sheet(f.read()))
    except (OSError, SheetError) as e:
        sys.exit("installation %s: %s" % (args.installation, e))

    signal.signal(signal.SIGINT, signal.SIG_IGN)
    signal.signal(signal.SIGTERM, signal.SIG_IGN)  # gpsd is asked to end too, and when it has, its reports end
    g = Gpsd(os.path.realpath(args.port), args.baud)

    def stop(_number, _frame):
        g.end()
    signal.signal(signal.SIGINT, stop)
    signal.signal(signal.SIGTERM, stop)
    for r in g.reports():
        if r.get("class") in ("TPV", "ATT"):
            o = observation(r, point)
            if o is not None:
                sys.stdout.write(json.dumps(o) + "\n")
                sys.stdout.flush()
    g.end()


if __name__ == "__main__":
    main()
