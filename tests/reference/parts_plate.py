"""A switch plate, built from the numbers of its job.

All that is cut is a convex polygon along z: in axes of a plunger or of the way
the plate faces, to the left and along.
"""

import math

from kernel import cone, cut, grown, loft, prism, rod, solids, volume
from stone import snap

# Beyond every part, and how far a cut from below begins under the back, mm.
FAR, BEYOND = 100.0, 5.0
# Sheet that legs are cut from; legs shorter than this have no room; what a
# channel is wider than a slot on each side; lanes less deep are not cut, mm.
LEG_SHEET, SHORT_LEGS, MARGIN, SHALLOW = 0.3, 0.3, 0.1, 0.05
# Plungers that lean less, degrees, have slots along the plunger.
UPRIGHT = 3.0
# Largest loose part that is left out, of the plate's volume.
LOOSE = 0.15


def level(value):
    """To a hundredth, halves away from zero."""
    return math.copysign(math.floor(abs(value) * 100 + 0.5), value) / 100


class Axes:
    """Along a direction given by its clocking angle, and to its left."""

    def __init__(self, clocking):
        turn = clocking % 360
        exact = {0: (0.0, 1.0), 90: (-1.0, 0.0), 180: (0.0, -1.0), 270: (1.0, 0.0)}
        angle = math.radians(turn)
        self.along = exact.get(turn, (-math.sin(angle), math.cos(angle)))
        self.left = (-self.along[1], self.along[0])

    def point(self, u, v):
        return tuple(self.left[i] * u + self.along[i] * v for i in (0, 1))

    def local(self, p):
        return dot(p, self.left), dot(p, self.along)

    def quad(self, u, v):
        """A rectangle, counter-clockwise."""
        corners = [(u[0], v[0]), (u[0], v[1]), (u[1], v[1]), (u[1], v[0])]
        return [self.point(*c) for c in corners]


def dot(a, b):
    return a[0] * b[0] + a[1] * b[1]


def ccw(points):
    pairs = zip(points, points[1:] + points[:1])
    return points if sum(a[0] * b[1] - a[1] * b[0] for a, b in pairs) > 0 else points[::-1]


def overlap(one, other):
    """What two convex polygons share; nothing if they only touch."""
    for (ax, ay), (bx, by) in zip(other, other[1:] + other[:1]):
        off = [(bx - ax) * (y - ay) - (by - ay) * (x - ax) for x, y in one]
        kept = []
        for i, (p, d) in enumerate(zip(one, off)):
            q, e = one[(i + 1) % len(one)], off[(i + 1) % len(one)]
            if d >= 0:
                kept.append(p)
            if d * e < 0:
                t = d / (d - e)
                kept.append((p[0] + (q[0] - p[0]) * t, p[1] + (q[1] - p[1]) * t))
        one = kept
        if len(one) < 3:
            return []
    return one


class Plunger:
    """A plunger's switch as seen along it: half sizes and slots."""

    def __init__(self, plate, row, number):
        made, switch, job = plate.made, row["switch"], plate.job
        self.z, self.axes = level(row["z"]), Axes(row["clocking"])
        self.seat = made[f"plunger{number}_seat"]
        self.tip = row["tip"] if "tip" in row else (
            job["handle"]["outside"] / 2 - row["depth"])
        self.diameter = row["diameter"]
        room = plate.clearance
        self.legs = 0.0
        if switch["legs"] == "through":
            self.legs = max(switch["leg_length"] - row["pad"], 0.0)
        spare = switch["body_tolerance"]
        across, along = (
            level(0.5 * (switch[key] + spare) + room) for key in ("body_width", "body_length"))
        span = level(0.5 * switch["leg_span"] + room)
        leg, pitch = 0.5 * switch["leg_width"] + room, 0.5 * switch["leg_pitch"]
        outer, inner = level(max(pitch + leg, along)), level(pitch - leg)
        spans = [(-outer, outer)]
        if 2 * inner >= plate.printer["wall_free"]:
            spans = [(-outer, -inner), (inner, outer)]
        width = max(LEG_SHEET + 2 * room, plate.wire + 2 * room, plate.printer["gap_min"])
        slot = (max(level(span - width), level(0.4 * span)), span)
        turned = row["turned"]

        def rect(u, z):
            return (z, u) if turned else (u, z)

        self.pocket = rect((-across, across), (-along, along))
        self.rooms = [rect((-span, span), z) for z in spans] if span > across else []
        self.slots = [rect(u, z) for z in spans for u in (slot, (-slot[1], -slot[0]))]
        rects = [self.pocket, *self.rooms]
        self.half = tuple(max(r[i][1] for r in rects) for i in (0, 1))


class Plate:
    def __init__(self, job, part, made):
        self.job, self.part, self.made = job, part, made
        self.printer = printer = job["print"]["printer"]
        bore = min(job["handle"]["bore"]) - job["handle"]["caliper"]
        self.radius = snap((bore - printer["fit_" + part["fit"]]) / 2 - part["coat"])
        self.nudge = made["moved_apart"]
        self.clearance = part.get("clearance", 0.5 * printer["fit_slide"])
        self.wire = part["wire"]["outer"]
        self.wires = part["wires"]
        self.depth = 0.0 if self.wires == "none" else level(self.wire + 2 * self.clearance)
        self.back, self.wall = made["back"], made["wall"]
        self.low = level(made["from_z"])
        self.high = level(made["from_z"] + made["length"])
        self.facing = Axes(made["facing"])
        rows = sorted(enumerate(part["plunger"], 1), key=lambda r: level(r[1]["z"]))
        self.plungers = [Plunger(self, row, n) for n, row in rows]
        self.flange = made.get("flange_length", 0.0)

    def half_chord(self, v):
        return math.sqrt(max((self.radius - v) * (self.radius + v), 0.0))

    def column(self, p):
        return level(0.5 * p.diameter + self.printer["gap_min"] + self.nudge)

    def pocket(self, p):
        return level(p.z - p.half[1]), level(p.z + p.half[1])

    def zone(self, p):
        half = max(p.half[1] + self.wall + self.nudge, self.column(p))
        return level(p.z - half), level(p.z + half)

    def ledge(self, p):
        return level(p.seat + level(self.part["ledge"]) + self.nudge)

    def base(self):
        """What is not there of the bore's cylinder at all: below the back, and
        its long edges."""
        facing, back = self.facing, self.back
        cuts = [facing.quad((-FAR, FAR), (-FAR, back))]
        edge = level(self.part["first_layer"]) if self.part["print_on"] == "back" else 0.0
        if edge > 0:
            half = self.half_chord(back)
            edge = level(min(edge + 0.5 * self.nudge, 0.25 * half))
            near, arc = level(half - edge), self.half_chord(back + edge)
            corners = [(2 * near - arc, -edge), (FAR, -edge), (FAR, edge), (arc, edge)]
            for side in (1, -1):
                cuts.append(ccw([facing.point(side * u, back + v) for u, v in corners]))
        return [(self.low, self.high, polygon) for polygon in cuts]

    def facets(self):
        """What is taken off above the ledges."""
        out, quads = [], []
        for p in self.plungers:
            half = FAR
            if self.part["facet"] == "trough":
                half = max(level(p.half[0] + self.wall + self.nudge), self.column(p))
            quads.append(p.axes.quad((-half, half), (self.ledge(p), FAR)))
        pockets = [self.pocket(p) for p in self.plungers]
        zones = [self.zone(p) for p in self.plungers]
        heights = {z for pair in pockets + zones for z in pair} | {self.low, self.high}
        heights = sorted(z for z in heights if self.low <= z <= self.high)
        every = range(len(quads))
        for low, high in zip(heights, heights[1:]):
            z = (low + high) / 2
            here = [i for i in every if pockets[i][0] < z < pockets[i][1]]
            if not here:
                walls = [i for i in every if zones[i][0] < z < zones[i][1]]
                if walls:
                    shared = quads[walls[0]]
                    for i in walls[1:]:
                        shared = overlap(shared, quads[i])
                    if shared:
                        out.append((low, high, shared))
                    continue
                before = [i for i in every if zones[i][1] < z]
                after = [i for i in every if zones[i][0] > z]
                if before and after:
                    here = [max(before, key=lambda i: zones[i][1]),
                            min(after, key=lambda i: zones[i][0])]
            out += [(low, high, quads[i]) for i in here]
        return out

    def upright(self, p):
        return dot(p.axes.along, self.facing.along) >= math.cos(math.radians(UPRIGHT))

    def switch(self, p):
        """Pocket, leg rooms, slots, room for the plunger and its lane."""
        out = []

        def across(z, u, v):
            out.append((level(p.z + z[0]), level(p.z + z[1]), p.axes.quad(u, v)))

        for u, z in [*p.rooms, p.pocket]:
            across(z, u, (p.seat, FAR))
        for u, z in p.slots:
            if self.upright(p):
                across(z, u, (-FAR, p.seat))
                continue
            a, b = (p.axes.point(x, p.seat) for x in u)
            down = tuple(-FAR * c for c in self.facing.along)
            away = [(q[0] + down[0], q[1] + down[1]) for q in (b, a)]
            out.append((level(p.z + z[0]), level(p.z + z[1]), ccw([a, b, *away])))
            if p.legs >= SHORT_LEGS:
                # A wall to the bore is left below the legs.
                wide, inside = max(abs(x) for x in u), self.radius - self.printer["wall_supported"]
                most = p.seat + math.sqrt(max((inside - wide) * (inside + wide), 0.0))
                legs = level(min(p.legs + self.clearance + self.nudge, most - self.nudge))
                if legs > 0:
                    across(z, u, (p.seat - legs, p.seat))
        column, free = self.column(p), self.printer["gap_min"]
        across((-column, column), (-column, column), (self.ledge(p), FAR))
        floor = level(p.tip - free - self.nudge)
        if self.part["plungers"] == "stay" and floor < self.radius - SHALLOW:
            across((column, self.high - p.z), (-column, column), (floor, FAR))
        return out

    def lands(self):
        """Ends that are lower than the bore: flanges, and lands on request."""
        out, wide = [], (-FAR, FAR)
        if self.flange:
            top = self.back + self.made["flange_height"]
            quad = self.facing.quad(wide, (top, FAR))
            out += [(self.low, self.low + self.flange, quad),
                    (self.high - self.flange, self.high, quad)]
        top = self.part.get("land_top", math.inf)
        if top < self.radius - 0.1:
            quad = self.facing.quad(wide, (level(top + self.nudge), FAR))
            zones = [self.zone(p) for p in self.plungers]
            out += [(self.low, min(z[0] for z in zones), quad),
                    (max(z[1] for z in zones), self.high, quad)]
        return out

    def exit(self, p, u):
        """Where a slot comes out of the back, to the left of the facing."""
        found = []
        for x in u:
            at = p.axes.point(x, p.seat)
            if self.upright(p):
                lean = dot(p.axes.along, self.facing.along)
                down = (self.back - dot(at, self.facing.along)) / lean
                at = tuple(a + d * down for a, d in zip(at, p.axes.along))
            found.append(dot(at, self.facing.left))
        return min(found), max(found)

    def running(self):
        """Channels from the slots to the end where wires leave: joined where
        they would leave a thin wall, and as wide as their wires."""
        lanes = []
        for p in self.plungers:
            for u, z in p.slots:
                a, b = self.exit(p, u)
                half = 0.5 * max(b - a, self.depth) + MARGIN + self.nudge
                middle = 0.5 * (a + b)
                ends = (self.low, level(p.z + z[1])) if self.wires == "cap" else (
                    level(p.z + z[0]), self.high)
                lanes.append((*ends, level(middle - half), level(middle + half), 2 / len(p.slots)))
        heights = sorted({z for lane in lanes for z in lane[:2]})
        out = []
        for low, high in zip(heights, heights[1:]):
            z = (low + high) / 2
            groups = sorted((list(lane[2:]) for lane in lanes if lane[0] < z < lane[1]),
                            key=lambda g: g[0])
            while True:
                joined = []
                for a, b, wires in groups:
                    if joined and a < joined[-1][1] + self.printer["wall_supported"]:
                        last = joined[-1]
                        last[1], last[2] = max(last[1], b), last[2] + wires
                    else:
                        joined.append([a, b, wires])
                for group in joined:
                    needed = math.ceil(group[2]) * self.wire + 2 * self.clearance
                    more = max(0.5 * (needed - (group[1] - group[0])), 0.0)
                    group[:2] = level(group[0] - more), level(group[1] + more)
                done = len(joined) == len(groups)
                groups = joined
                if done:
                    break
            out += [(low, high, a, b) for a, b, _ in groups]
        return out

    def channels(self):
        if self.wires == "none":
            return []
        found = self.running()
        if "wires_from" in self.made:
            # Past a flange all wires run together, after a stretch where they
            # cross over.
            gathered = (self.made["wires_from"], self.made["wires_to"])
            cross = level(self.depth + self.nudge)
            if self.wires == "cap":
                flange = (self.low, level(self.low + self.flange))
                over = (flange[1], level(self.low + self.flange + cross))
            else:
                flange = (level(self.high - self.flange), self.high)
                over = (level(self.high - self.flange - cross), flange[0])
            met = [c for c in found if c[0] < over[1] and c[1] > over[0]]
            wide = (min([gathered[0]] + [c[2] for c in met]),
                    max([gathered[1]] + [c[3] for c in met]))
            rest = [(max(c[0], over[1]), c[1], c[2], c[3]) for c in found]
            if self.wires != "cap":
                rest = [(c[0], min(c[1], over[0]), c[2], c[3]) for c in found]
            found = [(*flange, *gathered), (*over, *wide), *(c for c in rest if c[0] < c[1])]
        v = (self.back - BEYOND, self.back + self.depth)
        return [(low, high, self.facing.quad((a, b), v)) for low, high, a, b in found]

    def screws(self):
        made, out = self.made, []
        if not self.flange:
            return out
        top = self.back + made["flange_height"]
        hole, recess, deep = (made[k] for k in ("screw_hole", "screw_recess", "screw_recess_depth"))
        down = tuple(-a for a in self.facing.along)
        number = 1
        while f"screw{number}_z" in made:
            u, z = made[f"screw{number}_beside"], made[f"screw{number}_z"]
            number += 1

            def tool(start, length, *radii):
                at = self.facing.point(u, top - start)
                out.append(rod((*at, z), (*down, 0.0), length, *radii))

            tool(-FAR, FAR + 2 * self.radius, hole / 2)
            if self.part["screw"]["head"] == "countersunk":
                half = math.radians(self.part["screw"]["head_angle"] / 2)
                flat = deep - (recess - hole) / 2 / math.tan(half)
                tool(-FAR, FAR + flat, recess / 2)
                tool(flat, deep - flat, recess / 2, hole / 2)
            else:
                tool(-FAR, FAR + deep, recess / 2)
        return out

    def body(self):
        low, high = self.low, self.high
        cuts = self.base() + self.facets() + self.lands() + self.channels()
        for p in self.plungers:
            cuts += self.switch(p)
        cuts = [(snap(max(a, low)), snap(min(b, high)), polygon) for a, b, polygon in cuts]
        cuts = joined([c for c in cuts if c[0] < c[1]])
        tools = [prism(polygon, a, b) for a, b, polygon in cuts]
        c, d = self.made["chamfer_low"], self.made["chamfer_high"]
        ends = [(low, snap(low + c), (c, 0.0)), (snap(high - d), high, (0.0, d))]
        r, pieces = self.radius, []
        for a, b, by in ends:
            if a == b:
                continue
            outer = cone((0, 0), r + 1, r + 1, a, b)
            pieces.append(cut(outer, [cone((0, 0), r - by[0], r - by[1], a, b)]))
            z = low if by[0] else high
            here = [polygon for p, q, polygon in cuts if p <= z <= q]
            pieces += [loft(grown(h, by[0]), grown(h, by[1]), a, b) for h in here]
        whole = cone((0, 0), r, r, low, high)
        return largest(cut(whole, tools + pieces + self.screws()))


def joined(cuts):
    """The same with one cut for all heights in a row of one polygon."""
    out = []
    for low, high, polygon in sorted(cuts, key=lambda c: (c[2], c[0])):
        if out and out[-1][2] == polygon and low <= out[-1][1]:
            out[-1] = (out[-1][0], max(high, out[-1][1]), polygon)
        else:
            out.append((low, high, polygon))
    return out


def largest(shape):
    """The largest solid; small loose ones are left out."""
    found = sorted(solids(shape), key=volume)
    if sum(volume(s) for s in found[:-1]) > LOOSE * volume(found[-1]):
        raise ValueError("the plate falls apart")
    return found[-1]


def features(part):
    """What of the kind a part uses."""
    found = {f"{key} {part[key]}" for key in ("facet", "plungers", "wires", "fixing", "print_on")}
    if part["fixing"] == "screws":
        found.add("head " + part["screw"]["head"])
    if part["keel"] > 0:
        found.add("keel")
    if "land_top" in part:
        found.add("land_top")
    found.add(f"{min(len(part['plunger']), 4)} plungers")
    found |= {"legs " + row["switch"]["legs"] for row in part["plunger"]}
    return found


def build(job, part, bodies):
    """The solids of a part by body; `bodies` holds their computed values."""
    (name, made), = bodies.items()
    return {name: Plate(job, part, made).body()}
