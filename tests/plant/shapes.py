"""Covers as facets: rows of (area [m2], tilt from horizontal [deg], azimuth of the outward normal [deg, north 0]).

Tuples, so that a house can be a key of a cache. Light is counted on these facets, never on the floor's area alone.
"""

from math import asin, atan2, cos, degrees, hypot, pi, radians, sin


def lean_to(length, depth, high, low, faces):
    """A roof falling from the wall (high [m]) to the eaves (low [m]), a front and two ends.

    faces: azimuth of the front [deg].
    """
    slope = hypot(depth, high - low)
    end = depth * (high + low) / 2
    return (
        (length * slope, degrees(atan2(high - low, depth)), faces),
        (length * low, 90.0, faces),
        (end, 90.0, faces + 90.0),
        (end, 90.0, faces - 90.0),
    )


def gable(length, width, eaves, ridge, axis):
    """Two walls, two roof slopes, two gables. axis: azimuth along the ridge."""
    slope = hypot(width / 2, ridge - eaves)
    tilt = degrees(atan2(ridge - eaves, width / 2))
    end = width * (eaves + ridge) / 2
    sides = [(axis + 90.0), (axis - 90.0)]
    return (
        *((length * slope, tilt, a) for a in sides),
        *((length * eaves, 90.0, a) for a in sides),
        (end, 90.0, axis),
        (end, 90.0, axis + 180.0),
    )


def tunnel(length, width, height, axis, strips=12):
    """A circular arch of given width and height, cut into strips, with flat ends. axis: azimuth along it."""
    radius = (width * width / 4 + height * height) / (2 * height)
    half = asin(min(1.0, width / 2 / radius))
    if height > radius:
        half = pi - half
    rows = []
    for i in range(strips):
        angle = -half + (i + 0.5) * 2 * half / strips
        face = axis + 90.0 if angle > 0 else axis - 90.0
        rows.append((length * radius * 2 * half / strips, degrees(abs(angle)), face))
    end = radius * radius * (half - sin(half) * cos(half))
    return (*rows, (end, 90.0, axis), (end, 90.0, axis + 180.0))


def dome(radius, rings=5, sectors=12):
    """A hemisphere of facets."""
    rows = []
    for i in range(rings):
        low, high = radians(90.0 * i / rings), radians(90.0 * (i + 1) / rings)
        area = 2 * pi * radius * radius * (cos(low) - cos(high)) / sectors
        tilt = degrees((low + high) / 2)
        rows += [(area, tilt, 360.0 * (k + 0.5) / sectors) for k in range(sectors)]
    return tuple(rows)


def area(facets):
    """Whole area of the cover. [m2]"""
    return sum(f[0] for f in facets)
