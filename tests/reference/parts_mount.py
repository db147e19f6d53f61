"""A front mount, built from the numbers of its job."""

import math

from kernel import cone, cut, cylinder, fuse, grown, loft, prism
from parts_plate import Axes
from stone import snap

# Beyond every part, and how far a groove's slot reaches past the outside, mm.
FAR, BEYOND = 200.0, 2.0
# Room around solder joints is no matter of shape; the ledge before a key, and
# radii that become one, mm.
KEY_SHELF, LEAST_STEP = 0.5, 0.05
# Room behind the joints in diameters of a wire; diameters of plastic around a
# screw.
BEND_WIRES, EDGE = 2.0, 2.0
# Circle packings: diameter of a bundle over that of a wire.
BUNDLE = [1, 2, 1 + 2 / math.sqrt(3), 1 + math.sqrt(2), 1 + math.sqrt(2 * (1 + 1 / math.sqrt(5))),
          3, 3]


class Outside:
    """A module in the bore with its keel's flat and its groove for wires."""

    def __init__(self, job, part, made):
        printer = job["print"]["printer"]
        bore = min(job["handle"]["bore"]) - job["handle"]["caliper"]
        self.radius = snap((bore - printer["fit_" + part["fit"]]) / 2 - part["coat"])
        self.keel = snap(snap(part["keel"]) - self.radius) if snap(part["keel"]) > 0 else None
        self.groove = None
        if part["wires"] > 0:
            half = snap(made["groove_width"] / 2)
            way = Axes(part["groove_at"])
            at = tuple(snap(c * (self.radius - half)) for c in way.along)
            self.groove = (at, half)

    def body(self, low, high, chamfers):
        """The outside between two heights, chamfered at its ends."""
        c, d = chamfers
        whole = stepped([(low, c), (low + c, 0.0), (high - d, 0.0), (high, d)],
                        lambda by: self.radius - by)
        tools = []
        for a, b, by in spans(low, high, chamfers):
            if self.keel is not None:
                corners = [(-FAR, -FAR), (FAR, -FAR), (FAR, self.keel), (-FAR, self.keel)]
                tools.append(loft(grown(corners, by[0]), grown(corners, by[1]), a, b))
            if self.groove:
                (x, y), half = self.groove
                axes = Axes.__new__(Axes)
                size = math.hypot(x, y)
                axes.along = (x / size, y / size)
                axes.left = (-axes.along[1], axes.along[0])
                quad = [axes.quad((-half - g, half + g), (size, FAR)) for g in by]
                tools.append(loft(*quad, a, b))
                tools.append(cone((x, y), half + by[0], half + by[1], a, b))
        return cut(whole, tools)


def spans(low, high, chamfers):
    """Heights between which a cut is straight or widens, and by how much."""
    c, d = chamfers
    found = [(low, low + c, (c, 0.0)), (low + c, high - d, (0.0, 0.0)), (high - d, high, (0.0, d))]
    return [span for span in found if span[1] - span[0] > 1e-9]


def stepped(levels, radius):
    """Frusta on top of each other."""
    found = []
    for (a, by), (b, to) in zip(levels, levels[1:]):
        if b - a > 1e-9:
            found.append(cone((0, 0), radius(by), radius(to), a, b))
    return fuse(found)


class Mount:
    def __init__(self, job, part, made):
        self.part, self.made = part, made
        board, printer = part["contacts"], job["print"]["printer"]
        self.outside = Outside(job, part, made)
        room = part.get("clearance", printer["fit_slide"] / 2)
        nominal = board["diameter"] / 2
        self.pocket = snap(nominal + board["diameter_tolerance"] / 2 + room)
        limits = [nominal - part["ledge"]]
        self.key = None
        if board["notch_width"] > 0:
            self.key = (Axes(part["clocking"]), snap((board["notch_width"] - 2 * room) / 2),
                        snap(nominal - board["notch_depth"] + room))
            limits.append(self.key[2] - KEY_SHELF)
        self.screws = []
        if part["fixing"] == "screws":
            thread = part["screw"]["thread"]
            limits.append(made["recess"] / 2)
            first = part["clocking"] + board["screw_turn"]
            for i in range(board["screw_count"]):
                along = Axes(first + 360 * i / board["screw_count"]).along
                self.screws.append(tuple(snap(c * board["screw_circle"] / 2) for c in along))
            if made["recess"] / 2 > board["screw_circle"] / 2 - EDGE * thread + 1e-3:
                raise ValueError("too little plastic around the screws")
        self.recess = snap(min(limits))
        wire = part["lead"]["outer"]
        self.exit = snap(self.hole(board["contacts"], wire, printer))
        if self.recess - self.exit < LEAST_STEP:
            self.exit = self.recess
        shoulder = snap(part.get("shoulder_z", job["handle"]["length"]))
        contact = snap(shoulder + part["tube_recess"])
        middle = (board["compression_min"] + board["compression_max"]) / 2
        pressed = part.get("compression", middle)
        self.face = snap(contact - board["pin_height"] + pressed)
        self.seat = snap(self.face - board["thickness"])
        deep = part.get("solder_room", board["joint_height"] + BEND_WIRES * wire)
        self.floor = snap(self.seat - deep)
        self.low = snap(self.floor - part["land"])
        self.top = snap(self.face + part["rim"])

    def hole(self, count, wire, printer):
        """Radius of the wires' hole; of large bundles, as reported."""
        if count > len(BUNDLE):
            return self.made["exit"] / 2
        duct = BUNDLE[count - 1] * wire * (1 + self.part["slack"] / 100)
        return (max(duct, printer["hole_min"]) + printer["hole_shrink"]) / 2

    def body(self):
        low, high = self.low, self.top
        c, d = self.made["chamfer_low"], self.made["chamfer_high"]
        tools = [stepped([(low, c), (low + c, 0.0), (self.floor, 0.0)], lambda by: self.exit + by),
                 cylinder((0, 0), self.recess, self.floor, self.seat)]
        seat = stepped([(self.seat, 0.0), (high - d, 0.0), (high, d)],
                       lambda by: self.pocket + by)
        if self.key:
            axes, half, inner = self.key
            quad = axes.quad((-half, half), (inner, 2 * self.pocket))
            keys = [prism(quad, self.seat, high - d)]
            if d > 0:
                top = axes.quad((-half + d, half - d), (inner + d, 2 * self.pocket))
                keys.append(loft(quad, top, high - d, high))
            seat = cut(seat, keys)
        tools.append(seat)
        made = self.made
        for at in self.screws:
            for width, depth in [("pilot", "pilot_depth"), ("pilot_mouth", "pilot_mouth_depth")]:
                radius = snap(made[width] / 2)
                tools.append(cylinder(at, radius, self.seat - made[depth], self.seat))
        return cut(self.outside.body(low, high, (c, d)), tools)


def features(part):
    """What of the kind a part uses."""
    found = {"fixing " + part["fixing"]}
    found.add("key" if part["contacts"]["notch_width"] > 0 else "no key")
    found |= {key for key in ("keel", "rim") if part[key] > 0}
    if part["wires"] > 0:
        found.add("groove")
    if part.get("socket_diameter") and part.get("tube_diameter"):
        found.add("socket")
    if "retention" in part:
        found.add("retention")
    return found


def build(job, part, bodies):
    """The solids of a part by body; `bodies` holds their computed values."""
    (name, made), = bodies.items()
    return {name: Mount(job, part, made).body()}
