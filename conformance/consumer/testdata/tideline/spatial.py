"""Rotations by 3 x 3 matrices, and positions on WGS 84."""

import math


EYE = [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]]


def matmul(a, b):
    return [[sum(a[i][k] * b[k][j] for k in range(3)) for j in range(3)] for i in range(3)]


def transposed(a):
    return [list(row) for row in zip(*a)]


def matvec(a, v):
    return [a[i][0] * v[0] + a[i][1] * v[1] + a[i][2] * v[2] for i in range(3)]


def minus(a, b):
    return [x - y for x, y in zip(a, b)]


def plus(a, b):
    return [x + y for x, y in zip(a, b)]


def size(v):
    return math.sqrt(sum(x * x for x in v))


def dcm(h, p, r):
    """Rz(-h) Rx(p) Ry(r): from right, forward, up to east, north, up."""
    ch, sh, cp, sp, cr, sr = math.cos(h), math.sin(h), math.cos(p), math.sin(p), math.cos(r), math.sin(r)
    rz = [[ch, sh, 0.0], [-sh, ch, 0.0], [0.0, 0.0, 1.0]]
    rx = [[1.0, 0.0, 0.0], [0.0, cp, -sp], [0.0, sp, cp]]
    ry = [[cr, 0.0, sr], [0.0, 1.0, 0.0], [-sr, 0.0, cr]]
    return matmul(rz, matmul(rx, ry))


def angles(c):
    """Heading, pitch and roll of a matrix."""
    h = math.atan2(c[0][1], c[1][1])
    p = math.atan2(c[2][1], math.hypot(c[0][1], c[1][1]))
    r = math.atan2(-c[2][0], c[2][2])
    return h % (2 * math.pi), p, r


def azimuth(v):
    return math.atan2(v[0], v[1])


A = 6378137.0
F = 1 / 298.257223563
E2 = F * (2 - F)


def to_ecef(lat, lon, h):
    n = A / math.sqrt(1 - E2 * math.sin(lat) ** 2)
    return [(n + h) * math.cos(lat) * math.cos(lon),
            (n + h) * math.cos(lat) * math.sin(lon),
            (n * (1 - E2) + h) * math.sin(lat)]


def from_ecef(x):
    """Latitude by fixed-point iteration on the height of the normal's foot on the axis."""
    lon = math.atan2(x[1], x[0])
    p = math.hypot(x[0], x[1])
    lat = math.atan2(x[2], p * (1 - E2))
    for _ in range(50):
        n = A / math.sqrt(1 - E2 * math.sin(lat) ** 2)
        new = math.atan2(x[2] + E2 * n * math.sin(lat), p)
        done = abs(new - lat) < 1e-15
        lat = new
        if done:
            break
    s = math.sin(lat)
    height = p * math.cos(lat) + x[2] * s - A * math.sqrt(1 - E2 * s * s)
    return lat, lon, height


def enu_axes(lat, lon):
    """Columns east, north, up in Earth-centred axes."""
    sl, cl, so, co = math.sin(lat), math.cos(lat), math.sin(lon), math.cos(lon)
    return [[-so, -sl * co, cl * co], [co, -sl * so, cl * so], [0.0, cl, sl]]


def displace(ecef, enu, lat, lon):
    return plus(ecef, matvec(enu_axes(lat, lon), enu))


def origin_of(ecef, enu):
    """The point from which ecef lies at enu, east-north-up being that point's own."""
    lat, lon, _ = from_ecef(ecef)
    at = ecef
    for _ in range(100):
        before, at = at, displace(ecef, [-x for x in enu], lat, lon)
        lat, lon, _ = from_ecef(at)
        if size(minus(at, before)) < 1e-6:
            break
    return at
