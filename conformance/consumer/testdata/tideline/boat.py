"""The installation, and what of it is left to apply."""

import math

from .sheet import METRES, RADIANS, SheetError, measure, vector
from .spatial import (EYE, angles, azimuth, dcm, displace, from_ecef, matmul, matvec, minus, origin_of, plus, size,
                      to_ecef, transposed)


class Boat:
    """The installation, and what of it is left for us to apply."""

    TINY = 1e-9

    def __init__(self, sheet):
        if not isinstance(sheet, dict):
            raise SheetError("not an installation")
        self.points = {"reference": [0.0, 0.0, 0.0]}
        for name, v in (sheet.get("points") or {}).items():
            self.points[name] = vector(v)
        if "sensor" not in self.points:
            raise SheetError("no point sensor")
        self.mount = self.mounting(sheet.get("mounting"))
        told = sheet.get("entered") or {}
        self.told_mount = self.mounting(told["mounting"]) if told.get("mounting") is not None else None
        self.sensor = self.points["sensor"]
        self.placed = "antenna-primary" in self.points
        self.primary = self.points.get("antenna-primary", [0.0, 0.0, 0.0])
        self.two = self.placed and "antenna-secondary" in self.points
        if self.two:
            self.base = minus(self.points["antenna-secondary"], self.primary)

        told_sensor = self.place(told["sensor"]) if told.get("sensor") is not None else self.sensor
        antennas = told.get("antennas") or {}
        told_primary = self.antenna(antennas, "primary", told_sensor)
        told_secondary = self.antenna(antennas, "secondary", told_sensor)
        self.told_base = None
        if told.get("baseline") is not None:
            b = told["baseline"]
            az, el = measure(b["azimuth"], RADIANS), measure(b.get("elevation") or "0 deg", RADIANS)
            length = measure(b["length"], METRES)
            flat = length * math.cos(el)
            self.told_base = [flat * math.sin(az), flat * math.cos(az), length * math.sin(el)]
        elif told_primary is not None and told_secondary is not None:
            self.told_base = minus(told_secondary, told_primary)

        self.name = (sheet.get("expected-of-consumer") or {}).get("output-point") or "reference"
        if self.name not in self.points:
            raise SheetError("no point %s" % self.name)
        self.target = self.points[self.name]
        # What the device has added: only with a primary antenna and an output point.
        self.dev_position = self.dev_heave = [0.0, 0.0, 0.0]
        if told_primary is not None and told.get("output-point") is not None:
            out = self.place(told["output-point"])
            self.dev_position = minus(out, told_primary)
            self.dev_heave = minus(out, told_sensor)

        # From the axes of the attitude on the wire to vessel axes: mount * told^T.
        left = matmul(self.mount, transposed(self.told_mount)) if self.told_mount else self.mount
        self.left = left
        self.square = size([left[i][j] - EYE[i][j] for i in range(3) for j in range(3)]) < self.TINY

    @staticmethod
    def mounting(m):
        m = m or {}
        return dcm(*[measure(m.get(k) or "0 deg", RADIANS) for k in ("heading", "pitch", "roll")])

    def place(self, v):
        if isinstance(v, list):
            return vector(v)
        if v not in self.points:
            raise SheetError("no point %s" % v)
        return self.points[v]

    def antenna(self, antennas, which, told_sensor):
        v = antennas.get(which)
        if v is None or not isinstance(v, list):
            return None if v is None else self.place(v)
        v = vector(v)
        if antennas.get("axes") == "device":
            v = matvec(self.told_mount or EYE, v)
        if antennas.get("from") == "sensor":
            v = plus(told_sensor, v)
        return v

    def same_base(self):
        a = [x / size(self.base) for x in self.base]
        b = [x / size(self.told_base) for x in self.told_base]
        return size(minus(a, b)) < self.TINY

    def solve(self, wire):
        """From what one epoch says to what holds at the output point. Angles in rad."""
        out, why = {}, []
        p, r, h = wire.get("pitch"), wire.get("roll"), wire.get("heading")
        tilt = p is not None and r is not None

        # pitch and roll
        vp, vr = p, r
        if not self.square and tilt:
            _, vp, vr = angles(matmul(dcm(0.0, p, r), transposed(self.left)))
        elif not self.square:
            vp = vr = None
        if "pitch" in wire or (not self.square and "roll" in wire):
            out["pitch"] = vp
        if "roll" in wire or (not self.square and "pitch" in wire):
            out["roll"] = vr

        # heading
        vh = None
        yaw = wire.get("yaw")
        if h is None and yaw is not None and (not self.two or self.told_base is None):
            h = yaw  # of the axes whose pitch and roll these are
            if self.square:
                vh = yaw
            elif tilt:
                vh = angles(matmul(dcm(yaw, p, r), transposed(self.left)))[0]
            out["heading"] = None if vh is None else vh % (2 * math.pi)
        elif "heading" in wire:
            if h is None:
                pass
            elif not self.two and self.square:
                vh = h
            elif not self.two:
                if tilt:
                    vh = angles(matmul(dcm(h, p, r), transposed(self.left)))[0]
            elif self.told_base is not None and self.square and self.same_base():
                vh = h
            elif self.told_base is None and abs(self.base[0]) < self.TINY and abs(self.base[2]) < self.TINY:
                vh = h - azimuth(self.base)
            elif tilt:
                az = h
                if self.told_base is not None:
                    az += azimuth(matvec(dcm(0.0, p, r), self.told_base))
                b = matvec(dcm(0.0, vp, vr), self.base)
                if math.hypot(b[0], b[1]) > 1e-12 * size(b):
                    vh = az - azimuth(b)
            if vh is not None:
                vh %= 2 * math.pi
            elif h is not None:
                why.append("heading: pitch and roll are missing")
            out["heading"] = vh

        whole = tilt and vh is not None
        if whole:
            c = dcm(vh, vp, vr)
            if self.two and self.told_base is None:  # the device turns its arms by the heading of its own axes
                believed = dcm(angles(matmul(c, self.left))[0], p, r)
            else:
                believed = dcm(h, p, r)
        trusting = self.square and (not self.two or self.told_base is None or self.same_base())

        # position
        if "lat" in wire:
            out["lat"] = out["lon"] = None
            height = None
            if wire.get("altitude") is not None and wire.get("undulation") is not None:
                height = wire["altitude"] + wire["undulation"]
            if "altitude" in wire:
                out["height"] = None
            needed = minus(minus(self.target, self.primary), self.dev_position)
            if wire["lat"] is None or wire["lon"] is None:
                pass
            elif not self.placed:
                why.append("position: no point antenna-primary")
            elif trusting and size(needed) < self.TINY:
                out["lat"], out["lon"] = wire["lat"], wire["lon"]
                if height is not None:
                    out["height"] = height
            elif not whole:
                why.append("position: heading, pitch or roll is missing")
            else:
                x = to_ecef(wire["lat"], wire["lon"], height or 0.0)
                if size(self.dev_position) > self.TINY:
                    x = origin_of(x, matvec(believed, self.dev_position))
                ref = origin_of(x, matvec(c, self.primary))
                lat, lon, _ = from_ecef(ref)
                out["lat"], out["lon"], z = from_ecef(displace(ref, matvec(c, self.target), lat, lon))
                if height is not None:
                    out["height"] = z

        # heave
        if "heave" in wire:
            out["heave"] = None
            arm = minus(self.target, self.sensor)
            untouched = size(arm) < self.TINY and size(self.dev_heave) < self.TINY
            if wire["heave"] is None:
                pass
            elif untouched or (self.square and size(minus(arm, self.dev_heave)) < self.TINY):
                out["heave"] = wire["heave"]
            elif not tilt:
                why.append("heave: pitch or roll is missing")
            else:
                out["heave"] = wire["heave"] - lift(p, r, self.dev_heave) + lift(vp, vr, arm)

        for k in ("speed", "course", "rate_of_turn", "fix"):
            if k in wire:
                out[k] = wire[k]
        if why:
            out["note"] = "; ".join(why)
        return out


def lift(p, r, l):
    """How much higher a tilt puts a point than level."""
    return -math.cos(p) * math.sin(r) * l[0] + math.sin(p) * l[1] + (math.cos(p) * math.cos(r) - 1) * l[2]
