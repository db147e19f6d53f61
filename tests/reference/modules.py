"""What modules of a chassis share, and sections with round ends, by primitives."""

import math

from kernel import box, cone, cut, cylinder, fuse, loft, prism
from stone import snap

# Beyond every part, and beyond its ends, mm.
FAR, OVER = 100.0, 1.0


def slot(p, q, radius, low, high):
    """All within `radius` of the line between two points, along z."""
    p, q = [tuple(snap(v) for v in point) for point in (p, q)]
    ends = [cylinder(p, radius, low, high)]
    length = math.dist(p, q)
    if length > 0:
        nx, ny = -(q[1] - p[1]) / length * radius, (q[0] - p[0]) / length * radius
        corners = [(p[0] - nx, p[1] - ny), (q[0] - nx, q[1] - ny),
                   (q[0] + nx, q[1] + ny), (p[0] + nx, p[1] + ny)]
        ends += [prism(corners, low, high), cylinder(q, radius, low, high)]
    return fuse(ends)


def oval(centre, straight, bottom, top, low, high):
    """A section with round ends along x whose half width goes from one value
    to another; round where `straight` is zero."""
    x, y = centre
    if straight == 0:
        return cone(centre, bottom, top, low, high)

    def bar(half):
        return [(x - straight, y - half), (x + straight, y - half),
                (x + straight, y + half), (x - straight, y + half)]

    return fuse([cone((x - straight, y), bottom, top, low, high),
                 loft(bar(bottom), bar(top), low, high),
                 cone((x + straight, y), bottom, top, low, high)])


class Module:
    """Outside, keel, groove and ends of a module."""

    def __init__(self, job, part, made):
        printer = job["print"]["printer"]
        bore = min(job["handle"]["bore"]) - job["handle"]["caliper"]
        self.radius = snap((bore - printer["fit_" + part["fit"]]) / 2 - part["coat"])
        self.low = snap(part["from_z"])
        self.length, self.made = made["length"], made
        self.keel, self.groove = snap(part["keel"]), None
        if part["wires"] > 0:
            half = made["groove_width"] / 2
            angle, reach = math.radians(part["groove_at"]), self.radius - half
            self.groove = (snap(-math.sin(angle) * reach), snap(math.cos(angle) * reach)), half

    def outside(self):
        """The whole module, before its inside is cut."""
        low, high = self.low, self.low + self.length
        a, b = low + self.made["chamfer_low"], high - self.made["chamfer_high"]
        pieces = [cylinder((0, 0), self.radius, a, b)]
        if a > low:
            pieces.append(cone((0, 0), self.radius - (a - low), self.radius, low, a))
        if b < high:
            pieces.append(cone((0, 0), self.radius, self.radius - (high - b), b, high))
        tools, z = [], (low - OVER, high + OVER)
        if self.keel > 0:
            tools.append(box((-FAR, FAR), (-FAR, snap(self.keel - self.radius)), z))
        if self.groove:
            middle, half = self.groove
            off = math.hypot(*middle)
            out = tuple(v / off * (self.radius + 2.0 + half) for v in middle)
            tools.append(slot(middle, out, half, *z))
        return cut(fuse(pieces), tools)
