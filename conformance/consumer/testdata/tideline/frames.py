"""From bytes to what each frame says: MAVLink 1 and 2, and NMEA 2000 as lines of a serial CAN adapter.

Written from the open definitions (MAVLink common.xml; the canboat database of PGNs) with struct alone.
"""

import datetime
import math
import struct

from .sentences import ORDER, Said

EPOCH = datetime.datetime(1970, 1, 1)
MICRO = datetime.timedelta(microseconds=1)

for _quantity, _kinds in (("lat", ["129029", "129025"]), ("lon", ["129029", "129025"])):
    ORDER[_quantity] = ORDER[_quantity] + ["GLOBAL_POSITION_INT", "GPS_RAW_INT"] + _kinds


def dated(said, at):
    midnight = datetime.datetime.combine(at.date(), datetime.time())
    said.tod, said.date = (at - midnight) // MICRO, at.date()


def x25(data):
    crc = 0xFFFF
    for byte in data:
        t = byte ^ (crc & 0xFF)
        t = (t ^ (t << 4)) & 0xFF
        crc = ((crc >> 8) ^ (t << 8) ^ (t << 3) ^ (t >> 4)) & 0xFFFF
    return crc


# id: name, CRC_EXTRA, least and greatest length
KNOWN = {0: ("HEARTBEAT", 50, 9), 2: ("SYSTEM_TIME", 137, 12), 24: ("GPS_RAW_INT", 24, 52), 30: ("ATTITUDE", 39, 28),
         31: ("ATTITUDE_QUATERNION", 246, 48), 33: ("GLOBAL_POSITION_INT", 104, 28)}
FIX_TYPE = ["none", "none", "autonomous", "autonomous", "differential", "rtk-float", "rtk-fixed", "manual", "precise"]


class MAVLink:
    """Finds frames, and keeps those whose time is not known yet."""

    def __init__(self):
        self.buffer, self.clean = bytearray(), None
        self.zero = None  # UTC of the time since switch-on
        self.separation = None
        self.held = []

    def feed(self, data):
        if self.clean is None and data:
            self.clean = data[0] in (0xFD, 0xFE)
        self.buffer += data
        out = []
        while self.buffer:
            n = self.frame(out)
            if n == 0:
                break
            del self.buffer[:n]
        if self.zero is None:
            self.held += out
            return []
        if self.held:
            out, self.held = self.held + out, []
        for s in out:
            if s.since is not None and s.tod is None:
                dated(s, self.zero + s.since)
        return out

    def rest(self):
        out, self.held = self.held, []
        return out

    def frame(self, out):
        """The length of what stands first, 0 if more is needed."""
        b = self.buffer
        if b[0] not in (0xFD, 0xFE):
            return 1
        head, tail = (10, 2) if b[0] == 0xFD else (6, 2)
        if len(b) < head:
            return 0
        if b[0] == 0xFD:
            if b[2] & ~1:
                return 1
            number, tail = b[7] | b[8] << 8 | b[9] << 16, 2 + 13 * (b[2] & 1)
        else:
            number = b[5]
        size = head + b[1] + tail
        if number not in KNOWN:
            return 1
        if len(b) < size:
            return 0
        name, extra, full = KNOWN[number]
        end = head + b[1]
        if x25(bytes(b[1:end]) + bytes([extra])) != (b[end] | b[end + 1] << 8):
            return 1
        payload = bytes(b[head:end]).ljust(full, b"\0")
        said = self.read(name, payload, b[0] == 0xFD)
        if said is not None:
            out.append(said)
        return size

    def read(self, name, p, two):
        s = Said(name)
        s.since = None
        v = s.values
        if name == "SYSTEM_TIME":
            unix, boot = struct.unpack_from("<QI", p)
            if unix == 0:
                return None
            dated(s, EPOCH + unix * MICRO)
            self.zero = EPOCH + unix * MICRO - boot * 1000 * MICRO
        elif name == "ATTITUDE":
            boot, v["roll"], v["pitch"], v["yaw"] = struct.unpack_from("<Ifff", p)
            s.since = boot * 1000 * MICRO
        elif name == "ATTITUDE_QUATERNION":
            boot, w, x, y, z = struct.unpack_from("<Iffff", p)
            s.since = boot * 1000 * MICRO
            v["roll"] = math.atan2(2 * (w * x + y * z), 1 - 2 * (x * x + y * y))
            v["pitch"] = math.asin(max(-1.0, min(1.0, 2 * (w * y - z * x))))
            v["yaw"] = math.atan2(2 * (w * z + x * y), 1 - 2 * (y * y + z * z))
        elif name == "GLOBAL_POSITION_INT":
            boot, lat, lon, alt, _, vx, vy, _, hdg = struct.unpack_from("<IiiiihhhH", p)
            s.since = boot * 1000 * MICRO
            v["lat"], v["lon"] = math.radians(lat / 1e7), math.radians(lon / 1e7)
            if self.separation is not None:
                v["altitude"], v["undulation"] = alt / 1e3, self.separation
            v["speed"], v["course"] = math.hypot(vx, vy) / 100, math.atan2(vy, vx) % (2 * math.pi)
            v["heading"] = None if hdg == 65535 else math.radians(hdg / 100)
        elif name == "GPS_RAW_INT":
            usec, lat, lon, alt, _, _, vel, cog, fix = struct.unpack_from("<QiiiHHHHB", p)
            if usec > 315964800000000:
                dated(s, EPOCH + usec * MICRO)
            v["fix"] = FIX_TYPE[fix]
            v["lat"], v["lon"] = math.radians(lat / 1e7), math.radians(lon / 1e7)
            v["speed"] = None if vel == 65535 else vel / 100
            v["course"] = None if cog == 65535 else math.radians(cog / 100)
            if two:
                ellipsoid = struct.unpack_from("<i", p, 30)[0]
                self.separation = (ellipsoid - alt) / 1e3
                v["altitude"], v["undulation"] = alt / 1e3, self.separation
                yaw = struct.unpack_from("<H", p, 50)[0]
                if yaw != 0:
                    v["heading"] = None if yaw == 65535 else math.radians(yaw / 100) % (2 * math.pi)
            if v["fix"] == "none":
                s.trusted = False
                for k in ("lat", "lon", "altitude", "speed", "course"):
                    if k in v:
                        v[k] = None
        else:
            return None
        return s


METHOD = ["none", "autonomous", "differential", "precise", "rtk-fixed", "rtk-float", "estimated", "manual", "simulated"]


class CANLines:
    """Cuts lines of a serial CAN adapter, and puts fast packets together."""

    def __init__(self):
        self.buffer, self.clean = bytearray(), None
        self.parts = {}
        self.variation = None

    def feed(self, data):
        out = []
        for byte in data:
            if self.clean is None:
                self.clean = byte in b"Tt"
            if byte == 13:
                s = self.line(bytes(self.buffer))
                self.buffer = bytearray()
                if s is not None:
                    out.append(s)
            elif byte in b"Tt" or self.buffer:
                self.buffer = bytearray([byte]) if byte in b"Tt" else self.buffer + bytes([byte])
        return out

    def rest(self):
        return []

    def line(self, text):
        try:
            if text[:1] != b"T" or len(text) not in (10 + 2 * int(text[9:10]), 14 + 2 * int(text[9:10])):
                return None
            number, data = int(text[1:9], 16), bytes.fromhex(text[10:10 + 2 * int(text[9:10])].decode())
        except ValueError:
            return None
        form, page = number >> 16 & 0xFF, number >> 24 & 3
        pgn = page << 16 | form << 8 | (number >> 8 & 0xFF if form >= 240 else 0)
        if pgn == 129029:
            data = self.fast(number & 0xFF, pgn, data)
        return self.read(pgn, data) if data else None

    def fast(self, source, pgn, data):
        order, k = data[0] >> 5, data[0] & 31
        if k == 0:
            self.parts[source, pgn] = (order, 1, data[1], data[2:])
            return None
        now = self.parts.pop((source, pgn), None)
        if now is None or now[0] != order or now[1] != k:
            return None
        whole = now[3] + data[1:]
        if len(whole) >= now[2]:
            return whole[:now[2]]
        self.parts[source, pgn] = (order, k + 1, now[2], whole)
        return None

    def true(self, angle, reference):
        if angle is None or reference not in (0, 1):
            return None
        if reference == 1:
            if self.variation is None:
                return None
            angle += self.variation
        return angle % (2 * math.pi)

    def read(self, pgn, d):
        def unsigned(form, at, unit):
            x, = struct.unpack_from("<" + form, d, at)
            top = (1 << 8 * struct.calcsize("<" + form)) - 1
            return None if x >= top - 2 else x * unit

        def signed(form, at, unit):
            x, = struct.unpack_from("<" + form, d, at)
            top = (1 << 8 * struct.calcsize("<" + form) - 1) - 1
            return None if x >= top - 2 else x * unit

        s = Said(str(pgn))
        v = s.values
        s.sid = d[0] if pgn != 129025 and d[0] < 253 else None
        if pgn in (126992, 129029):
            at = 2 if pgn == 126992 else 1
            day, tick = struct.unpack_from("<HI", d, at)
            if day < 0xFFFD and tick < 864000000:
                dated(s, EPOCH + datetime.timedelta(days=day) + tick * 100 * MICRO)
        if pgn == 129029:
            v["fix"] = METHOD[min(d[31] >> 4, 8)] if d[31] >> 4 != 15 else "none"
            lat, lon, height = signed("q", 7, 1e-16), signed("q", 15, 1e-16), signed("q", 23, 1e-6)
            v["lat"], v["lon"] = [None if x is None else math.radians(x) for x in (lat, lon)]
            v["altitude"], v["undulation"] = height, 0.0
            if v["fix"] == "none":
                s.trusted = False
                v["lat"] = v["lon"] = v["altitude"] = None
        elif pgn == 129025:
            lat, lon = signed("i", 0, 1e-7), signed("i", 4, 1e-7)
            v["lat"], v["lon"] = [None if x is None else math.radians(x) for x in (lat, lon)]
        elif pgn == 129026:
            v["course"], v["speed"] = self.true(unsigned("H", 2, 1e-4), d[1] & 3), unsigned("H", 4, 1e-2)
        elif pgn == 127250:
            variation = signed("h", 5, 1e-4)
            self.variation = self.variation if variation is None else variation
            v["heading"] = self.true(unsigned("H", 1, 1e-4), d[7] & 3)
        elif pgn == 127251:
            v["rate_of_turn"] = signed("i", 1, 3.125e-8)
        elif pgn == 127252:
            v["heave"] = signed("h", 1, 1e-2)
        elif pgn == 127257:
            v["yaw"], v["pitch"], v["roll"] = [signed("h", at, 1e-4) for at in (1, 3, 5)]
        elif pgn != 126992:
            return None
        return s
