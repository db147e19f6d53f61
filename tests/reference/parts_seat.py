"""A locking seat, built from the numbers of its job and report; and the
outside that modules of a chassis have in common."""

import math

from kernel import cone, cut, cylinder, fuse, grown, loft, prism, rod, turned
from parts_plate import Axes
from stone import snap

# Beyond every part; how far cuts reach beyond the outside, mm.
FAR, BEYOND = 100.0, 2.0
# Seats of a slot around: its wedge reaches this many times beyond.
WEDGE = 2.0


class Module:
    """A part that fits the bore, with chamfered ends: outside, keel, groove.

    A chamfer goes around everything in an end's section, so that what is cut
    there widens by it."""

    def __init__(self, job, part, made):
        self.part, self.made, self.printer = part, made, job["print"]["printer"]
        bore = min(job["handle"]["bore"]) - job["handle"]["caliper"]
        self.radius = snap((bore - self.printer["fit_" + part["fit"]]) / 2 - part["coat"])
        self.fitted = self.radius
        self.low, self.high = snap(made["from_z"]), snap(made["from_z"] + made["length"])
        self.chamfers = made["chamfer_low"], made["chamfer_high"]

    def heights(self, z):
        """Pieces of a cut's height with what they widen by at both ends."""
        (low, high), (c, d) = z, self.chamfers
        pieces = []
        if low <= self.low and c > 0:
            pieces.append((self.low, snap(self.low + c), c, 0.0))
            low = snap(self.low + c)
        end = snap(self.high - d) if high >= self.high else high
        pieces.append((low, end, 0.0, 0.0))
        if high >= self.high and d > 0:
            pieces.append((end, self.high, 0.0, d))
        return pieces

    def polygon(self, points, z):
        """A convex polygon that is cut between two heights."""
        return [loft(grown(points, a), grown(points, b), low, high)
                for low, high, a, b in self.heights(z)]

    def disc(self, centre, radius, z):
        return [cone(centre, radius + a, radius + b, low, high)
                for low, high, a, b in self.heights(z)]

    def body(self):
        """The bore's cylinder, chamfered."""
        (c, d), r = self.chamfers, self.radius
        side = [(r, self.low)] if c == 0 else [(r - c, self.low), (r, snap(self.low + c))]
        side += [(r, self.high)] if d == 0 else [(r, snap(self.high - d)), (r - d, self.high)]
        return turned([(0.0, self.low), *side, (0.0, self.high)])

    def whole(self):
        return self.low, self.high

    def keel(self):
        if self.part["keel"] <= 0:
            return []
        y = snap(snap(self.part["keel"]) - self.fitted)
        return self.polygon([(-FAR, -FAR), (FAR, -FAR), (FAR, y), (-FAR, y)], self.whole())

    def groove(self):
        if self.part["wires"] == 0:
            return []
        half = snap(self.made["groove_width"] / 2)
        axes = Axes(self.part["groove_at"])
        middle = tuple(snap((self.fitted - half) * v) for v in axes.along)
        # Its far end is on the grid, and so are its sides' directions.
        away = math.hypot(*middle)
        end = tuple(snap(v / away * (self.fitted + BEYOND + half)) for v in middle)
        reach = math.dist(end, middle)
        along = tuple((q - p) / reach for p, q in zip(middle, end))
        left = (-along[1], along[0])

        def point(u, v):
            return tuple(middle[i] + left[i] * u + along[i] * v for i in (0, 1))

        # Wide enough at its far end that widening there does not matter.
        strip = [point(half, 0), point(-half, 0), point(-half, FAR), point(half, FAR)]
        if area(strip) < 0:
            strip.reverse()
        out = []
        for low, high, a, b in self.heights(self.whole()):
            out.append(cone(middle, half + a, half + b, low, high))
            # The strip widens to its sides only; its near end is the disc's middle.
            wide = [self.widened(strip, middle, left, along, by) for by in (a, b)]
            out.append(loft(*wide, low, high))
        return out

    @staticmethod
    def widened(strip, middle, left, along, by):
        moved = []
        for p in strip:
            off = tuple(p[i] - middle[i] for i in (0, 1))
            side = off[0] * left[0] + off[1] * left[1]
            moved.append(tuple(p[i] + left[i] * math.copysign(by, side) for i in (0, 1)))
        return moved


def area(points):
    pairs = zip(points, points[1:] + points[:1])
    return 0.5 * sum(a[0] * b[1] - a[1] * b[0] for a, b in pairs)


class Seat(Module):
    def __init__(self, job, part, made):
        super().__init__(job, part, made)
        self.z = snap(part["screw_z"])
        self.axes = Axes(part["clocking"])
        self.floor = snap(made["seat_floor"])
        self.half = snap(made["seat_width"] / 2)
        self.height = snap(made["seat_height"] / 2)

    def around(self):
        """A slot around: from its floor outwards, between two screws' widths."""
        part, z = self.part, (snap(self.z - self.height), snap(self.z + self.height))
        far, turn = self.radius + BEYOND, part["angle_range"] / 2
        ends = [Axes(part["clocking"] + t) for t in (-turn, turn)]
        reach = WEDGE * far / math.cos(math.radians(turn))
        corners = [tuple(snap(reach * v) for v in e.along) for e in ends]
        shapes = [prism([(0.0, 0.0), *corners], *z)]
        shapes += [prism(e.quad((-self.half, self.half), (0.0, far)), *z) for e in ends]
        core = cylinder((0, 0), self.floor, z[0] - 1, z[1] + 1)
        return [cut(shape, [core]) for shape in shapes]

    def seat(self):
        part, z, along = self.part, self.z, self.axes.along
        if part["seat"] == "flat":
            heights = (snap(z - self.height), snap(z + self.height))
            return [prism(self.axes.quad((-FAR, FAR), (self.floor, FAR)), *heights)]
        if part["seat"] == "slot" and part["slot"] == "around":
            return self.around()
        if "cone_width" in self.made:
            return self.cone()
        ends = [z]
        if part["seat"] == "slot":
            ends = [z - (self.height - self.half), z + (self.height - self.half)]
        out = [rod((along[0] * self.floor, along[1] * self.floor, end), (*along, 0), FAR, self.half)
               for end in ends]
        if len(ends) > 1:
            out.append(prism(self.axes.quad((-self.half, self.half), (self.floor, FAR)), *ends))
        return out

    def cone(self):
        """A hole whose mouth is a cone, from the outside inwards."""
        along, made = self.axes.along, self.made
        inner, rim = snap(made["cone_width"] / 2), self.radius - made["cone_rim"]
        deep = (self.half - inner) / math.tan(math.radians(made["cone_angle"] / 2))

        def at(v):
            return along[0] * v, along[1] * v, self.z

        return [rod(at(self.floor), (*along, 0), rim - self.floor, inner),
                rod(at(rim - deep), (*along, 0), deep, inner, self.half),
                rod(at(rim), (*along, 0), FAR, self.half)]

    def marks(self):
        made = self.made
        if self.part["mark_depth"] <= 0:
            return []
        half, far = made["mark_width"] / 2, self.radius + BEYOND

        def lined(start, z):
            return self.polygon(self.axes.quad((-half, half), (start, far + FAR)), z)

        out = lined(made["mark_from"], (self.low, snap(self.low + made["mark_depth_low"])))
        out += lined(made["mark_from"], (snap(self.high - made["mark_depth_high"]), self.high))
        for i in (1, 2):
            if f"line{i}_from" in made:
                z = made[f"line{i}_from"], made[f"line{i}_to"]
                out += lined(self.radius - self.part["mark_depth"], z)
        return out

    def core(self):
        half = snap(self.part["core"] / 2)
        return self.disc((0, 0), half, self.whole()) if half > 0 else []

    def built(self):
        tools = [*self.keel(), *self.groove(), *self.core(), *self.marks(), *self.seat()]
        return cut(self.body(), tools)


def features(part):
    """What of the kind a part uses."""
    seat = part["seat"] if part["seat"] != "slot" else "slot " + part["slot"]
    found = {"seat " + seat, "point " + part["screw"]["point"]}
    found |= {key for key in ("keel", "core", "wires", "mark_depth", "coat") if part[key] > 0}
    return found


def build(job, part, bodies):
    """The solids of a part by body; `bodies` holds their computed values."""
    return {name: Seat(job, part, made).built() for name, made in bodies.items()}
