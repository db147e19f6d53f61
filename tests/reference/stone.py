"""A measured stone and the seat that it needs, from the numbers of a job.

A section is known by how far it reaches in a direction; between two sections
the stone runs straight, and so do these numbers.
"""

import math

import numpy as np

# How far flat walls that stand for a round stone may be outside it, mm.
OVERCUT = 0.02
# Least width of a wall of the seat, mm.
LEAST_WALL = 0.0025
# A lean is followed up to 60 degrees.
MOST_LEAN = 2.0
# How far into a pointed end is looked for the stone, and the shortest stretch beside
# where it is blunt, mm.
LOOK_IN, LEAST_STRETCH = 3.0, 0.05
# Slopes of a turned stone that differ by less are one.
SAME_SLOPE = 1e-5
# Upright wall kept under a lip, mm; least slope and width of what closes over.
LEAST_UPRIGHT, LEAST_SLOPE, LEAST_COVER = 0.1, 0.1, 0.05


def snap(value):
    """To the grid of a thousandth, halves away from zero."""
    return math.copysign(math.floor(abs(value) * 1000 + 0.5), value) / 1000


def turned(points, degrees):
    """Points turned counter-clockwise."""
    angle = math.radians(degrees)
    c, s = (round(f(angle)) if degrees % 90 == 0 else f(angle) for f in (math.cos, math.sin))
    return [(c * x - s * y, s * x + c * y) for x, y in points]


def hull(points):
    """Convex outline, counter-clockwise, by turning around a string; corners
    within a thousandth of a side are left out."""
    points = sorted({(snap(x), snap(y)) for x, y in points})

    def half(order):
        kept = []
        for p in order:
            while len(kept) > 1:
                (ax, ay), (bx, by) = kept[-2:]
                side = (p[0] - ax, p[1] - ay)
                if (bx - ax) * side[1] - (by - ay) * side[0] > 1e-3 * math.hypot(*side):
                    break
                kept.pop()
            kept.append(p)
        return kept[:-1]

    return half(points) + half(reversed(points))


def regular(count, width, height):
    """A polygon on a flat side, stretched to a box about the origin."""
    angles = [math.radians(-90 + (2 * k + 1) * 180 / count) for k in range(count)]
    x, y = np.cos(angles), np.sin(angles)
    x = (x - (x.min() + x.max()) / 2) * width / (x.max() - x.min())
    y = (y - (y.min() + y.max()) / 2) * height / (y.max() - y.min())
    return list(zip(x.tolist(), y.tolist()))


class Section:
    """Corners, or half axes of an ellipse and its turn, about a middle."""

    def __init__(self, at, middle, corners=None, half=(0.0, 0.0), turn=0.0):
        self.at, self.middle, self.half, self.turn = at, np.array(middle), half, turn
        self.corners = None if corners is None else np.array(turned(corners, turn))

    def reach(self, normal):
        """The largest n . p of its points, for the unit normal n."""
        if self.corners is not None:
            own = (self.corners @ normal).max()
        else:
            own = math.hypot(*(h * c for h, c in zip(self.half, self.seen(normal))))
        return float(own + self.middle @ normal)

    def seen(self, normal):
        """A direction in the axes of the ellipse."""
        return turned([tuple(normal)], -self.turn)[0]

    def normals(self):
        """Of its sides, in order."""
        sides = np.roll(self.corners, -1, axis=0) - self.corners
        return [np.array([y, -x]) / math.hypot(x, y) for x, y in sides]

    def touching(self):
        """Normals of a polygon around a round section, no more than
        `OVERCUT` outside."""
        a, b = self.half
        if min(a, b) <= 0:
            return []
        largest = max(a, b)
        step = 2 * math.acos(largest / (largest + OVERCUT))
        count = math.ceil(2 * math.pi / step / 4) * 4
        out = []
        for k in range(count):
            angle = math.pi / 2 + 2 * math.pi * k / count
            if 4 * k % count == 0:
                x, y = [(0, 1), (-1, 0), (0, -1), (1, 0)][4 * k // count]
            else:
                x, y = math.cos(angle), math.sin(angle)
            nx, ny = turned([(x / a, y / b)], self.turn)[0]
            out.append(np.array([nx, ny]) / math.hypot(nx, ny))
        return out


def read(part):
    """The sections of a part's stone, from its low end on."""
    rows = part["station"]
    start, out = snap(rows[0]["at"]), []
    for row in rows:
        at, middle = snap(row["at"]) - start, (snap(row["x"]), snap(row["y"]))
        kind, turn = row["section"], row["turn"]
        if kind == "points":
            out.append(Section(at, middle, hull(row["points"]), turn=turn))
            continue
        width, height = snap(row["width"]), snap(row["height"])
        if kind == "round":
            out.append(Section(at, middle, half=(width / 2, height / 2), turn=turn))
        elif kind == "rectangle":
            x, y = width / 2, height / 2
            out.append(Section(at, middle, [(-x, -y), (x, -y), (x, y), (-x, y)], turn=turn))
        else:
            count = 6 if kind == "hexagon" else row["facets"]
            out.append(Section(at, middle, regular(count, width, height), turn=turn))

    def tip(row, at, beside):
        middle = (snap(row.get("x", beside[0])), snap(row.get("y", beside[1])))
        return Section(at, middle)

    if "tip_low" in part:
        length = snap(part["tip_low"]["length"])
        for section in out:
            section.at += length
        out.insert(0, tip(part["tip_low"], 0.0, out[0].middle))
    if "tip_high" in part:
        at = out[-1].at + part["tip_high"]["length"]
        out.append(tip(part["tip_high"], at, out[-1].middle))
    for section in out:
        section.at = snap(section.at)
    return out


def directions(sections, clearance, up=False):
    """Normals of the walls of a seat, from -x over -y to +x (`up`: of what
    closes over it, from +x over +y to -x)."""
    side = -1.0 if up else 1.0
    least = math.atan(LEAST_WALL / clearance)
    kept = [(0.0, np.array([-side, 0.0])), (math.pi, np.array([side, 0.0]))]

    def add(normal, gap):
        angle = math.atan2(-normal[1] * side, -normal[0] * side)
        if not gap < angle < math.pi - gap:
            return
        if all(abs(angle - other) >= gap for other, _ in kept):
            kept.append((angle, normal))
            kept.sort(key=lambda k: k[0])

    for section in sections:
        if section.corners is not None:
            for normal in section.normals():
                add(normal, least)
    for section in sections:
        if section.corners is None:
            normals = section.touching()
            gap = max(min(math.pi / max(len(normals), 4), 0.1), least)
            for normal in normals:
                add(normal, gap)
    return [normal for _, normal in kept]


def meet(n, h, m, k):
    """Where the walls n . p = h and m . p = k meet."""
    x, y = np.linalg.solve([n, m], [h, k])
    return float(x), float(y)


class Seat:
    """Walls `n . p <= reach` for each node along the bore, open towards +y; or
    for a turned stone radii about `middle`."""

    def __init__(self, nodes):
        self.nodes, self.middle, self.radii = nodes, None, None
        self.normals, self.reaches = None, None

    def corners(self, node):
        """From the left wall's foot around below to the right one's."""
        if self.middle is not None:
            x, y = self.middle
            return [(x - self.radii[node], y), (x + self.radii[node], y)]
        pairs = list(zip(self.normals, self.reaches[node]))
        return [meet(*p, *q) for p, q in zip(pairs, pairs[1:])]


def along(sections, low, clearance, width):
    """The seat that follows a stone whose low end lies at `low`."""
    at = [s.at for s in sections]
    last = len(at) - 1
    nodes = [snap(low + a) for a in at]
    nodes = [snap(low - clearance), *nodes, snap(low + at[-1] + clearance)]
    seat = Seat(nodes)
    middle = sections[0].middle
    if all(s.corners is None and s.half[0] == s.half[1] and tuple(s.middle) == tuple(middle)
           for s in sections):
        bare = [s.half[0] for s in sections]
        slopes = [(bare[i + 1] - bare[i]) / (at[i + 1] - at[i]) for i in range(last)]
        out = [clearance * min(math.hypot(1, slope), MOST_LEAN) for slope in slopes]
        radii = []
        for i in range(last + 1):
            before, after = max(i - 1, 0), min(i, last - 1)
            a, b = slopes[before], slopes[after]
            if i in (0, last) or abs(a - b) < SAME_SLOPE:
                radii.append(bare[i] + max(out[before], out[after]))
                continue
            # Where the two lines, moved square to themselves, meet.
            room = 0.4 * min(at[i] - at[i - 1], at[i + 1] - at[i])
            shift = snap(min(max((out[after] - out[before]) / (a - b), -room), room))
            flat = before if abs(a) <= abs(b) else after
            nodes[i + 1] = snap(nodes[i + 1] + shift)
            radii.append(bare[i] + slopes[flat] * shift + out[flat])
        radii = [max(r, width / 2) for r in radii]
        seat.middle, seat.radii = tuple(float(c) for c in middle), [radii[0], *radii, radii[-1]]
        return seat
    normals = directions(sections, clearance)
    bare = np.array([[s.reach(n) for n in normals] for s in sections])
    steps = np.abs(np.diff(bare, axis=0) / np.diff(at)[:, None]).max(axis=1)
    leans = [max(steps[max(i - 1, 0)], steps[min(i, last - 1)]) for i in range(last + 1)]
    grown = [
        max(clearance * min(math.hypot(1, lean), MOST_LEAN), (width - row[0] - row[-1]) / 2)
        for lean, row in zip(leans, bare)
    ]
    reaches = bare + np.array(grown)[:, None]
    seat.normals, seat.reaches = normals, [reaches[0], *reaches, reaches[-1]]
    return seat


def blunted(seat, high, middle, radius):
    """The seat with an end that keeps its section from where a disc has room in it, at
    most `LOOK_IN` and the clearance from its end."""
    nodes = np.array(seat.nodes)
    if seat.middle is None:
        rows = np.array(seat.reaches)
        wanted = np.array([n @ np.array(middle) for n in seat.normals]) + radius
    else:
        rows = np.array(seat.radii)[:, None]
        wanted = np.array([radius + math.dist(middle, seat.middle)])
    sign = 1 if high else -1
    order = np.argsort(-sign * nodes)
    end, most = nodes[order[0]], LOOK_IN + abs(nodes[order[0]] - nodes[order[1]])
    roomy = [i for i in order if (rows[i] >= wanted).all()]
    if not roomy or roomy[0] == order[0]:
        return seat
    inner = roomy[0]
    outer = order[list(order).index(inner) - 1]
    lack, spare = wanted - rows[outer], rows[inner] - wanted
    share = max([o / (o + i) for o, i in zip(lack, spare) if o > 0], default=0.0)
    place = nodes[outer] + share * (nodes[inner] - nodes[outer])
    place = snap(float(max(place, end - most) if high else min(place, end + most)))
    kept = [i for i in range(len(nodes)) if sign * (place - nodes[i]) >= LEAST_STRETCH]
    kept = kept or [int(order[-1])]
    gone = [i for i in range(len(nodes)) if i not in kept]
    there = [float(np.interp(place, nodes, column)) for column in rows.T]
    blunt = np.maximum(there, rows[gone].max(axis=0))
    rows = [*rows[kept], blunt, blunt] if high else [blunt, blunt, *rows[kept]]
    at = [*nodes[kept], place, end] if high else [end, place, *nodes[kept]]
    out = Seat([float(z) for z in at])
    out.middle, out.normals = seat.middle, seat.normals
    if seat.middle is None:
        out.reaches = rows
    else:
        out.radii = [float(r[0]) for r in rows]
    return out


def straight(sections, low, high, clearance):
    """The seat for a stone that slides along in it."""
    seat = Seat([low, high])
    seat.normals = directions(sections, clearance)
    reach = [max(s.reach(n) for s in sections) + clearance for n in seat.normals]
    seat.reaches = [np.array(reach)] * 2
    return seat


def inside(planes):
    """Corners of what lies within all `n . p <= h`; sides above that would be
    narrow are left out."""
    planes = list(planes)
    while True:
        size = 400.0
        # Each corner with the plane that the side after it lies on.
        outline = [((x * size, y * size), None) for x, y in [(-1, -1), (1, -1), (1, 1), (-1, 1)]]
        for plane in sorted(planes, key=lambda p: math.atan2(p[0][1], p[0][0])):
            n, h = plane
            kept = []
            for (p, own), (q, _) in zip(outline, outline[1:] + outline[:1]):
                dp, dq = (float(n @ np.array(v)) - h for v in (p, q))
                if dp <= 0:
                    kept.append((p, own))
                if (dp <= 0) != (dq <= 0):
                    t = dp / (dp - dq)
                    at = (p[0] + (q[0] - p[0]) * t, p[1] + (q[1] - p[1]) * t)
                    kept.append((at, plane if dp <= 0 else own))
            outline = kept
        for (p, own), (q, _) in zip(outline, outline[1:] + outline[:1]):
            if own is not None and own[0][1] > 0 and math.dist(p, q) < LEAST_COVER:
                planes = [plane for plane in planes if plane is not own]
                break
        else:
            return [p for p, _ in outline]


def reach_between(sections, low, high, normal):
    """Largest reach of the stone between two distances from its low end."""
    at = [s.at for s in sections]
    reaches = [s.reach(normal) for s in sections]
    inner = [r for a, r in zip(at, reaches) if low <= a <= high]
    return max([*inner, np.interp(low, at, reaches), np.interp(high, at, reaches)])


def closed(sections, seat, span, clearance, lift):
    """The outline of a straight seat under a lip over `span` of the stone."""
    left, right = (np.array(seat.corners(0)[i]) + [0, LEAST_UPRIGHT] for i in (0, -1))
    planes = list(zip(seat.normals, seat.reaches[0]))
    for n in directions(sections, clearance, up=True):
        if n[1] >= LEAST_SLOPE:
            reach = reach_between(sections, *span, n) + clearance + lift * n[1]
            planes.append((n, max(reach, n @ left, n @ right)))
    return inside(planes)
