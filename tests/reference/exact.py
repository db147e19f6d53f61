"""Regions as borewright writes them, and their exact geometry.

A piece is [ax, ay, bx, by] for a line and [ax, ay, bx, by, cx, cy, r, ccw] for
an arc of at most half a turn; a region is a list of loops of pieces, material
to the left.
"""

import math

import numpy as np
import shapely


def sweep(piece):
    """Swept angle of an arc."""
    ax, ay, bx, by, cx, cy, _, ccw = piece
    start = math.atan2(ay - cy, ax - cx)
    turn = math.atan2(by - cy, bx - cx) - start
    turn = turn % (2 * math.pi) if ccw else -((-turn) % (2 * math.pi))
    return start, turn


def flatten(piece, step):
    """Points from the piece's start on, without its end, and the area between
    the chords and the arc. Arcs on one circle share the angles at which they
    are cut: multiples of `step`."""
    if len(piece) == 4:
        return [(piece[0], piece[1])], 0.0
    ax, ay, _, _, cx, cy, radius, _ = piece
    start, turn = sweep(piece)
    end = start + turn
    low, high = min(start, end), max(start, end)
    first, last = math.ceil(low / step + 1e-6), math.floor(high / step - 1e-6)
    angles = [k * step for k in range(first, last + 1)]
    if turn < 0:
        angles.reverse()
    cuts = np.array([start, *angles, end])
    parts = np.abs(np.diff(cuts))
    missed = 0.5 * radius**2 * float(np.sum(parts - np.sin(parts)))
    points = [(ax, ay)] + [(cx + radius * math.cos(t), cy + radius * math.sin(t)) for t in angles]
    return points, missed


def polygon(region, step):
    """The region as a shapely geometry, and a bound of the area by which the
    two differ."""
    rings, missed = [], 0.0
    for loop in region:
        points = []
        for piece in loop:
            found, area = flatten(piece, step)
            points += found
            missed += area
        if len(points) > 2:
            rings.append(points)
    # Loops may touch in points, but each crosses over to the other side of what
    # is inside so far: even-odd, in any order.
    shape = shapely.Polygon()
    for points in rings:
        face = shapely.Polygon(points)
        face = face if face.is_valid else shapely.make_valid(face)
        shape = face if shape.is_empty else shape.symmetric_difference(face)
    return shape, missed


def band(region, reach, step):
    """All points within `reach` of the region's boundary, piece by piece, and
    how far the outline of that may lie inside the exact one. (A buffer of a
    whole ring is simplified first by GEOS, by more than it says.)"""
    parts, largest = [], reach
    for piece in (piece for loop in region for piece in loop):
        if len(piece) == 4:
            line = shapely.LineString([piece[0:2], piece[2:4]])
            parts.append(line.buffer(reach, quad_segs=64))
            continue
        start, turn = sweep(piece)
        centre, radius = np.array(piece[4:6]), piece[6]
        angles = start + turn * np.linspace(0, 1, 2 + math.ceil(abs(turn) / step))
        rays = np.column_stack([np.cos(angles), np.sin(angles)])
        outer, inner = radius + reach, max(radius - reach, 0.0)
        sector = np.vstack([centre + rays * outer, centre + rays[::-1] * inner])
        parts.append(shapely.make_valid(shapely.Polygon(sector)))
        ends = shapely.MultiPoint([piece[0:2], piece[2:4]])
        parts.append(ends.buffer(reach, quad_segs=64))
        largest = max(largest, outer)
    sag = largest * (1 - math.cos(step / 2)) + reach * (1 - math.cos(math.pi / 4 / 64))
    return shapely.union_all(parts), sag


def distance(points, region):
    """Exact distances of points from the region's boundary."""
    best = np.full(len(points), np.inf)
    for piece in (piece for loop in region for piece in loop):
        a, b = np.array(piece[0:2]), np.array(piece[2:4])
        ends = np.minimum(np.linalg.norm(points - a, axis=1), np.linalg.norm(points - b, axis=1))
        if len(piece) == 4:
            d = b - a
            t = (points - a) @ d / (d @ d)
            foot = np.linalg.norm(points - a - np.outer(np.clip(t, 0, 1), d), axis=1)
            best = np.minimum(best, np.minimum(foot, ends))
            continue
        centre, radius = np.array(piece[4:6]), piece[6]
        start, turn = sweep(piece)
        off = points - centre
        angle = np.arctan2(off[:, 1], off[:, 0]) - start
        inside = (angle % (2 * np.pi) if turn > 0 else (-angle) % (2 * np.pi)) <= abs(turn)
        to_arc = np.abs(np.hypot(off[:, 0], off[:, 1]) - radius)
        best = np.minimum(best, np.where(inside, to_arc, ends))
    return best


def along(piece, t):
    """The point at fraction `t` of a piece."""
    if len(piece) == 4:
        return (piece[0] + (piece[2] - piece[0]) * t, piece[1] + (piece[3] - piece[1]) * t)
    start, turn = sweep(piece)
    angle = start + turn * t
    return (piece[4] + piece[6] * math.cos(angle), piece[5] + piece[6] * math.sin(angle))


def passes(region, direction, offset):
    """Where the line `offset` to the left of the one through the origin along
    the unit vector `direction` goes through the boundary, in order."""
    d = np.array(direction)
    n = np.array([-d[1], d[0]])
    found = []
    for piece in (piece for loop in region for piece in loop):
        a, b = np.array(piece[0:2]), np.array(piece[2:4])
        if len(piece) == 4:
            u, v = a @ n - offset, b @ n - offset
            if (u > 0) != (v > 0):
                found.append(float(a @ d + (b - a) @ d * u / (u - v)))
            continue
        centre, radius = np.array(piece[4:6]), piece[6]
        start, turn = sweep(piece)
        h = offset - centre @ n
        if abs(h) >= radius:
            continue
        for side in (-1, 1):
            t = centre @ d + side * math.sqrt(radius**2 - h**2)
            p = d * t + n * offset - centre
            angle = math.atan2(p[1], p[0]) - start
            angle = angle % (2 * math.pi) if turn > 0 else (-angle) % (2 * math.pi)
            if angle < abs(turn):
                found.append(float(t))
    return sorted(found)
