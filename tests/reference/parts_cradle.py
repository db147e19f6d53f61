"""A crystal cradle, built from the numbers of its job."""

import math

import stone as stones
from kernel import box, common, cone, cut, cylinder, fuse, grown, loft, prism
from stone import snap, turned

# Beyond every part, mm.
FAR = 200.0
# Walls reach past the stone's widest place and past the axis; the flat rim
# beside an upright wall; the least slope left above it. mm
PAST, RIM, LEAST_SLOPE = 0.3, 0.3, 0.5
# Width of a pointed end of the seat over the printer's narrowest sunk mark.
FOOT = 1.16
# Openings that differ by less are one, degrees.
SAME_OPENING = 0.5
# Where no window was asked for, degrees.
USUAL_WINDOW = 120.0
# Ledges of a cap, at most, mm.
LAND = 2.0


def sector_edge(degrees):
    """The right edge of a sector about +y."""
    return math.sin(math.radians(degrees / 2)), math.cos(math.radians(degrees / 2))


class Outside:
    """A cylinder in the bore, or a block in a cavity; both can be drawn
    smaller all round, for chamfers."""

    def __init__(self, job, part):
        self.radius = None
        if "cavity" not in part:
            bore = min(job["handle"]["bore"]) - job["handle"]["caliper"]
            gap = job["print"]["printer"]["fit_" + part["fit"]]
            self.radius = self.top = snap((bore - gap) / 2 - part["coat"])
            self.keel = snap(part["keel"] - self.radius) if part["keel"] > 0 else None
            self.bottom = -self.radius if self.keel is None else self.keel
            return
        cavity = part["cavity"]
        gap = cavity["clearance"] + part["coat"]
        self.half = snap(cavity["width"] / 2 - gap)
        lowest = cavity.get("floor_y", -cavity["depth"] / 2)
        self.bottom, self.top = snap(lowest), snap(lowest + cavity["depth"])
        self.trough = None
        if cavity["floor"] == "arc":
            middle, radius = snap(lowest + cavity["floor_radius"]), cavity["floor_radius"]
            self.trough = (middle, snap(radius - gap))
            self.bottom = snap(middle - self.trough[1])

    def solid(self, low, high, less=(0.0, 0.0)):
        """Between two heights, smaller by `less` at either."""
        if self.radius:
            whole = cone((0, 0), self.radius - less[0], self.radius - less[1], low, high)
            if self.keel is None:
                return whole
            below = [[(-FAR, -FAR), (FAR, -FAR), (FAR, self.keel + by), (-FAR, self.keel + by)]
                     for by in less]
            return cut(whole, [loft(*below, low, high)])
        floors = [self.bottom + by for by in less]
        if self.trough:
            floors = [self.bottom - 1.0] * 2
        sides = []
        for by, floor in zip(less, floors):
            x, y = self.half - by, self.top - by
            sides.append([(-x, floor), (x, floor), (x, y), (-x, y)])
        body = loft(*sides, low, high)
        if not self.trough:
            return body
        middle, radius = self.trough
        below = cone((0, middle), radius - less[0], radius - less[1], low, high, math.pi, (-1, 0))
        if self.top <= middle:
            return common(body, below)
        wide = radius + 1.0
        above = box((-wide, wide), (middle, self.top + 1.0), (low, high))
        trimmed = [common(body, tool) for tool in (below, above)]
        return fuse(trimmed)


class Cradle:
    def __init__(self, job, part, made):
        self.part, self.made = part, made
        self.printer = printer = job["print"]["printer"]
        self.nudge = made["moved_apart"]
        self.outside = Outside(job, part)
        self.stone = stones.read(part)
        self.clearance = snap(part["clearance"]) + snap(0.25 * self.nudge)
        self.length = self.stone[-1].at
        self.kind = part["retention"]
        self.pixel_low = part["pixel_end"] == "low"
        self.pixel_wall()
        far = snap(part["far_wall"])
        walls = (self.web + self.web_thickness, far)
        walls = walls if self.pixel_low else walls[::-1]
        self.low = snap(part["from_z"])
        seat_low = snap(self.low + walls[0])
        seat_length = self.length + 2 * self.clearance
        if self.kind == "lips":
            # The stone slides from under the far lip, which must overlap it
            # still, to under the near one.
            seat_length = snap(self.length + made["slide"] + 2 * self.clearance)
        seat_high = snap(seat_low + seat_length)
        self.high = snap(seat_high + walls[1])
        width = max(printer["gap_min"], FOOT * printer["engrave_width"]) + self.nudge
        if self.kind == "lips":
            self.seat = stones.straight(self.stone, seat_low, seat_high, self.clearance)
        else:
            at = seat_low + self.clearance if self.pixel_low else (
                seat_high - self.clearance - self.length)
            self.seat = stones.along(self.stone, snap(at), self.clearance, width)
            for key, high, end in (("tip_low", False, 0), ("tip_high", True, -1)):
                if key in part:
                    lit = high != self.pixel_low
                    room = (self.at, self.drawn / 2 + RIM) if lit else (
                        self.stone[end].middle, width)
                    self.seat = stones.blunted(self.seat, high, *room)
        nodes = self.seat.nodes
        self.ends = (nodes[0], nodes[-1])
        feet = [self.seat.corners(i) for i in range(len(nodes))]
        self.feet = [(f[0], f[-1]) for f in feet]
        free = max(printer["wall_free"], part.get("wall", 0.0))
        self.cap_depth = 0.0
        if self.kind == "cap":
            self.cap_depth = snap(part["cap_thickness"]) + snap(part["glue_gap"])
        self.ledge = snap(self.outside.top - self.cap_depth)
        self.trimmed = None
        if self.outside.radius:
            widest = max(max(-l[0], r[0], 0.0) for l, r in self.feet)
            reach = (widest + RIM + self.nudge) / (self.outside.radius - self.cap_depth - free)
            degrees = 2 * math.degrees(math.asin(min(max(reach, 0.0), 1.0)))
            self.trimmed = min(max(degrees, 10.0), 180.0)
        usual = part.get("window_angle", USUAL_WINDOW)
        least = self.trimmed or 0.0
        self.window = least if usual < least + SAME_OPENING else usual
        self.window_z = (made["window_from"], made["window_to"])

    def pixel_wall(self):
        """Depths from the outer face, and the cuts."""
        part, pixel = self.part, self.part["pixel"]
        spare = part["pixel_clearance"] + 0.4 * self.nudge
        play = pixel["package_tolerance"]
        self.at = (snap(self.made["pixel_x"]), snap(self.made["pixel_y"]))
        self.package = self.pocket(pixel["package_width"], pixel["package_length"], spare + play / 2)
        self.board = self.package
        thick = 0.0
        if pixel["board"] == "round":
            self.board = snap(pixel["board_width"] / 2 + spare)
        elif pixel["board"] == "rectangle":
            self.board = self.pocket(pixel["board_width"], pixel["board_length"], spare)
        if pixel["board"] != "none":
            thick = pixel.get("board_thickness", 0.0)
        self.back = self.made["wire_exit_depth"]
        self.step = snap(self.back + thick)
        self.web = snap(self.step + pixel["package_height"] + play)
        self.web_thickness = snap(self.made["web"])
        self.exit = self.made["wire_exit"] / 2
        self.round = part["light_shape"] == "round"
        self.drawn = snap(self.made["light_bore"])
        self.bore = self.drawn / 2
        if self.round:
            self.bore = snap(self.bore)

    def pocket(self, width, height, spare):
        return snap(width / 2 + spare), snap(height / 2 + spare)

    def hole(self, shape, low, high, more=(0.0, 0.0)):
        """A round hole or a turned pocket, wider by `more` at its ends."""
        if not isinstance(shape, tuple):
            return cone(self.at, shape + more[0], shape + more[1], low, high)

        a, b = shape
        found = turned([(-a, -b), (a, -b), (a, b), (-a, b)], self.part["pixel_turn"])
        found = [(snap(self.at[0] + x), snap(self.at[1] + y)) for x, y in found]
        return loft(grown(found, more[0]), grown(found, more[1]), low, high)

    def channel(self, top, low, high, more=(0.0, 0.0)):
        """A channel from below, as wide as the wire exit."""
        x = self.at[0]

        def corners(by):
            left, right = snap(x - self.exit) - by, snap(x + self.exit) + by
            return [(left, -FAR), (right, -FAR), (right, snap(top) + by), (left, snap(top) + by)]

        return loft(corners(more[0]), corners(more[1]), low, high)

    def pixel_cuts(self):
        """Of the wall with the pixel, but for its chamfer."""
        bore = self.bore if self.round else None
        inner = self.web + self.web_thickness
        depths = [(0.0, self.back, self.board), (0.0, self.back, "exit"),
                  (self.back, self.step, self.board), (self.step, self.web, self.package),
                  (self.web, inner, bore)]
        out = []
        for near, far, shape in depths:
            if near == far:
                continue
            z = (snap(self.low + near), snap(self.low + far))
            if not self.pixel_low:
                start = self.ends[1]
                z = (snap(start + inner - far), snap(start + inner - near))
            if shape == "exit":
                out.append(self.channel(self.at[1], *z))
            elif shape is None:
                x, y = self.at
                r = self.bore
                out.append(box((snap(x - r), snap(x + r)), (snap(y - r), snap(y + r)), z))
            else:
                out.append(self.hole(shape, *z))
        return out

    def groove(self):
        depth = snap(self.part["wire_groove"])
        return snap(self.outside.bottom + depth) if depth > 0 else None

    def chamfer(self, low):
        """What is cut off at an end: the wall there, less the smaller end."""
        size = self.made["chamfer_low" if low else "chamfer_high"]
        if size == 0:
            return []
        z = (self.low, snap(self.low + size)) if low else (snap(self.high - size), self.high)
        less = (size, 0.0) if low else (0.0, size)
        keep = self.outside.solid(*z, less)
        slab = box((-FAR, FAR), (-FAR, FAR), z)
        out = [cut(slab, [keep])]
        if low == self.pixel_low:
            out.append(self.hole(self.board, *z, less))
            out.append(self.channel(self.at[1], *z, less))
        if self.groove() is not None:
            out.append(self.channel(self.groove(), *z, less))
        return out

    def rim(self, node, degrees):
        left, right = self.feet[node]
        least = max(left[1], right[1], 0.0) + PAST + self.nudge
        x, y = sector_edge(degrees)
        reach = max(right[0], -left[0]) + RIM + self.nudge
        return max(least, reach * y / x)

    def opening(self, degrees, low, high):
        """What the opening cuts between two heights."""
        out, outside = [], self.outside
        x, y = sector_edge(degrees)
        if outside.radius:
            highest = self.ledge * y - LEAST_SLOPE
        else:
            highest = (outside.half - LEAST_SLOPE) * y / x
        nodes = self.seat.nodes
        for i in range(len(nodes) - 1):
            a, b = max(nodes[i], low), min(nodes[i + 1], high)
            if a >= b:
                continue
            rims = [self.rim(j, degrees) for j in (i, i + 1)]
            if not outside.radius and max(rims) > outside.top - LEAST_SLOPE:
                continue
            through = max(rims) >= highest or y < 1e-9

            def corners(z):
                t = (z - nodes[i]) / (nodes[i + 1] - nodes[i])
                rim = rims[0] + (rims[1] - rims[0]) * t
                if through:
                    return [(-FAR, rim), (FAR, rim), (FAR, FAR), (-FAR, FAR)]
                near, far = rim * x / y, FAR * x / y
                return [(-near, rim), (near, rim), (far, FAR), (-far, FAR)]

            out.append(loft(corners(a), corners(b), a, b))
        return out

    def seat_cuts(self):
        nodes, seat, out = self.seat.nodes, self.seat, []
        low, high = self.ends
        if self.kind == "lips":
            near, far = self.made["lip_near"], self.made["lip_far"]
            lifts = (0.0, self.made["lift"])
            at_low, at_high = (near, far) if self.pixel_low else (far, near)
            lifts = lifts if self.pixel_low else lifts[::-1]
            lips = (snap(low + at_low), snap(high - at_high))
            spans = [(0.0, min(at_low, self.length)), (max(self.length - at_high, 0.0), self.length)]
            for span, lift, z in zip(spans, lifts, [(low, lips[0]), (lips[1], high)]):
                outline = stones.closed(self.stone, seat, span, self.clearance, lift)
                out.append(prism(outline, *z))
            low, high = lips
        for i in range(len(nodes) - 1):
            a, b = max(nodes[i], low), min(nodes[i + 1], high)
            if a >= b:
                continue

            def corners(node):
                found = seat.corners(node)
                return found + [(found[-1][0], FAR), (found[0][0], FAR)]

            # Lips leave the middle of one stretch, which is straight.
            out.append(loft(corners(i), corners(i + 1), a, b))
            if seat.middle is not None:
                radii = (seat.radii[i], seat.radii[i + 1])
                out.append(cone(seat.middle, *radii, a, b, math.pi, (-1, 0)))
        if self.kind == "cap":
            window = (low, low)
        else:
            window = tuple(min(max(z, low), high) for z in self.window_z)
        out += self.opening(self.window, *window)
        if self.trimmed is not None:
            out += self.opening(self.trimmed, low, window[0])
            out += self.opening(self.trimmed, window[1], high)
        return out

    def cap_place(self):
        """Ends of the cap's recess and its angle in the bore."""
        walls = (self.web_thickness, snap(self.part["far_wall"]))
        walls = walls if self.pixel_low else walls[::-1]
        lands = [snap(min(wall - self.printer["wall_supported"], LAND)) for wall in walls]
        ends = (snap(self.ends[0] - lands[0]), snap(self.ends[1] + lands[1]))
        degrees = None
        if self.outside.radius:
            degrees = self.trimmed + 2 * math.degrees(self.made["land_width"] / self.ledge)
        return ends, degrees

    def recess(self):
        ends, degrees = self.cap_place()
        if degrees is None:
            return box((-FAR, FAR), (self.ledge, FAR), ends)
        x, y = sector_edge(degrees)
        wedge = prism([(0, 0), (FAR * x / y, FAR), (-FAR * x / y, FAR)], *ends)
        return cut(wedge, [cylinder((0, 0), self.ledge, ends[0] - 1, ends[1] + 1)])

    def cap(self, made):
        """The cap that lies in the recess, less the glue."""
        ends, degrees = self.cap_place()
        gap, out = snap(self.part["glue_gap"]), self.outside
        low, high = snap(ends[0] + gap), snap(ends[1] - gap)
        inner = snap(out.top - snap(self.part["cap_thickness"]))
        if degrees is None:
            body = box((-out.half, out.half), (inner, out.top), (low, high))
        else:
            half = math.radians(degrees / 2) - gap / inner
            start = (math.sin(half), math.cos(half))
            z = (low, high)
            body = cut(cylinder((0, 0), out.radius, *z, 2 * half, start),
                       [cylinder((0, 0), inner, low - 1, high + 1)])
        x, y = sector_edge(made["window_angle"])
        wedge = [(0, 0), (FAR * x, FAR * y), (FAR * x, FAR + 1), (-FAR * x, FAR + 1),
                 (-FAR * x, FAR * y)]
        return cut(body, [prism(wedge, *self.window_z)])

    def body(self):
        tools = self.pixel_cuts() + self.seat_cuts()
        if self.kind == "cap":
            tools.append(self.recess())
        if self.groove() is not None:
            tools.append(self.channel(self.groove(), self.low, self.high))
        tools += self.chamfer(True) + self.chamfer(False)
        return cut(self.outside.solid(self.low, self.high), tools)


def features(part):
    """What of the kind a part uses."""
    found = {"retention " + part["retention"], "pixel " + part["pixel_end"]}
    found.add("light " + part["light_shape"])
    found.add("board " + part["pixel"]["board"])
    if "cavity" in part:
        found.add("cavity " + part["cavity"]["floor"])
    if part["wire_groove"] > 0:
        found.add("groove")
    if part["keel"] > 0:
        found.add("keel")
    found |= {"stone " + row["section"] for row in part["station"]}
    found |= {key for key in ("tip_low", "tip_high") if key in part}
    return found


def build(job, part, bodies):
    """The solids of a part by body; `bodies` holds their computed values."""
    names = list(bodies)
    cradle = Cradle(job, part, bodies[names[0]])
    out = {names[0]: cradle.body()}
    if cradle.kind == "cap":
        out[names[1]] = cradle.cap(bodies[names[1]])
    return out
