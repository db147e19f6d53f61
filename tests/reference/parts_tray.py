"""A cell tray and its cover, built from the numbers of their job."""

import math

from kernel import box, common, cut, cylinder, fuse, prism, turned
from stone import snap

# Beyond every part, mm.
FAR = 200.0
# Room of a sheet in its slot, least frame before it, and of a cover between
# its flanges, mm.
SLOT_PLAY, FRAME_MIN, COVER_PLAY = 0.2, 0.8, 0.15
# Lips stand this far from the ends of the cell's body; pieces that become one
# reach this far into one another, mm.
LIP_RELIEF, OVERLAP = 3.0, 0.3
# Contacts: held on each side, play beside them, room beside a leaf and around
# a button, button that counts as flat, sill before a leaf, mm.
HELD, PLAY, LEAF_ROOM, BUTTON_ROOM, FLAT, SILL = 1.2, 0.2, 0.4, 0.5, 0.4, 1.0
# Levels nearer than this are made one or moved apart, mm.
LEVEL = 0.1


def at_angle(degrees, radius=1.0):
    """A point `degrees` counter-clockwise from +x."""
    return radius * math.cos(math.radians(degrees)), radius * math.sin(math.radians(degrees))


def on_grid(points):
    return [(snap(x), snap(y)) for x, y in points]


class Tray:
    def __init__(self, job, part, made):
        self.part, self.made = part, made
        printer, cell = job["print"]["printer"], part["cell"]
        bore = min(job["handle"]["bore"]) - job["handle"]["caliper"]
        self.radius = snap((bore - printer["fit_" + part["fit"]]) / 2 - part["coat"])
        self.cell_radius = cell["diameter_max"] / 2
        self.trough = snap(self.cell_radius + part["clearance"])
        self.y = made["cell_y"]
        self.mark = snap(part["mark_depth"])
        self.floor_mark = snap(made["floor_mark"])
        self.tail = snap(0.5 * snap(part["tail"]))
        self.wall = printer["wall_supported"]
        self.root = made["root_made"]
        self.low, self.flip = part["from_z"], part["positive"] == "back"
        self.underside(part)
        self.levels(printer, cell)
        self.contacts(printer, cell)
        self.ducts(printer)
        wide = snap(max(printer["engrave_width"], 1.0))
        room = 1.2 * self.trough * math.cos(math.radians(self.root))
        self.bar = (snap(max(min(self.trough * 0.6, room, 6.0), 2 * wide)), wide)
        self.cover_wall = None
        if part["cover"] != "none":
            self.cover_wall = snap(part.get("cover_wall", printer["wall_free"]))
            self.cover_gap = snap(printer["fit_slide"] / 2)

    def underside(self, part):
        """The flat below, if there is one."""
        y = None
        if "base" in part:
            y = self.y - self.trough - part["base"]
        elif part["layers"] == "lying":
            # As wide as seven tenths of the radius.
            y = -self.radius * math.sqrt(1 - 0.35**2)
        y = max(-self.radius if y is None else y, snap(part["keel"]) - self.radius)
        self.flat = snap(y) if y > -self.radius + 0.1 else None

    def levels(self, printer, cell):
        """Heights from the outer face of the negative end."""
        part, made = self.part, self.made
        wall, frame = snap(part["end_wall"]), snap(max(self.wall, printer["wall_free"], FRAME_MIN))

        def slot(sheet):
            return snap(max(sheet + SLOT_PLAY, printer["gap_min"]))

        self.touch = wall + made["spring_space"]
        button = cell["button_height"]
        first = slot(made["spring_thickness"])
        tab = slot(part["tab_thickness"])
        recess = min(frame + tab - part["tab_thickness"], button - FLAT)
        self.spring_slot = (wall, snap(wall + first))
        self.frame = snap(wall + first + frame)
        self.guard = snap(self.touch - recess)
        start = snap(self.guard + frame)
        self.tab_slot = (start, snap(start + tab))
        end = snap(max(self.touch - button + part["vent_gap"], self.guard))
        for level in (self.guard, *self.tab_slot):
            if end != level and abs(end - level) < LEVEL:
                end = level if end < level else snap(level + LEVEL)
        self.end = end
        self.total = snap(max(end, self.tab_slot[1]) + wall)
        self.flange = snap(wall / 2)
        piece = made["lip_length_made"] / 2
        low = self.touch - cell["length_min"] + LIP_RELIEF
        high = self.touch - button - LIP_RELIEF
        self.pieces = [(snap(low), snap(low + piece)), (snap(high - piece), snap(high))]
        self.fingers = (low + piece, high - piece)
        self.button = button

    def contacts(self, printer, cell):
        part, made = self.part, self.made
        plate = part.get("plate_width", made["spring_width"] + 2 * (LEAF_ROOM + HELD - 0.1))
        self.window = snap(made["spring_width"] / 2 + LEAF_ROOM)
        half = snap(plate / 2 + PLAY)
        deep = min(made["spring_beam"], math.sqrt(self.trough**2 - half**2))
        self.plate = (half, snap(self.y - deep))
        if cell["button_height"] <= FLAT:
            hole = part.get("tab_width", 0.7 * self.cell_radius) / 2 - HELD
        else:
            diameter = cell.get("button_diameter", 0.38 * cell["diameter_max"])
            hole = diameter / 2 + BUTTON_ROOM
        self.hole = snap(max(hole, printer["gap_min"]))
        half = snap(part.get("tab_width", 2 * (self.hole + HELD)) / 2 + PLAY)
        deep = min(math.sqrt(self.trough**2 - half**2), max(self.hole + HELD, 4.0))
        self.tab = (half, snap(self.y - deep))
        self.block = snap(half + 1.25 * self.wall)

    def ducts(self, printer):
        """Middles of the ducts below the cell, side by side around the bore."""
        count = round(self.made.get("ducts", 0))
        self.duct_at = []
        if count == 0:
            return
        duct, wall = self.made["duct"], self.wall
        closed = self.part["duct"] == "closed"
        if not closed:
            # What is left between grooves stands free.
            wall = max(wall, printer["wall_free"])
        below = wall if closed else 0.0
        far = self.radius - duct / 2 - below

        def turn():
            angle = 2 * math.asin((duct + wall) / 2 / far)
            # Beside the tail's slit a wall is left, or the duct runs into it by
            # half of its radius. The outermost are looked at first.
            clear = self.tail + wall + duct / 2
            for i in range(count, 0, -1):
                places = i - (count + 1) / 2
                beside = far * math.sin(max(places, 0) * angle)
                if self.tail > 0 and self.tail + duct / 4 < beside < clear:
                    angle = math.asin(clear / far) / places
            return angle

        if self.flat is not None and (closed or self.part["keel"] > 0):
            # Of an even number none lies in the middle, where the flat is nearest.
            for _ in range(3):
                least = 0.0 if count % 2 else turn() / 2
                far = min(far, (-self.flat - below - duct / 2) / math.cos(least))
        for i in range(count):
            angle = (i - (count - 1) / 2) * turn()
            self.duct_at.append((snap(far * math.sin(angle)), snap(-far * math.cos(angle))))

    def place(self, low, high):
        """Two heights of the tray in the handle."""
        if self.flip:
            low, high = self.total - high, self.total - low
        return snap(self.low + low), snap(self.low + high)

    def bar_between(self, half, y, z):
        """A box of a width about x = 0."""
        half = snap(half)
        return box((-half, half), tuple(snap(v) for v in y), self.place(*z))

    def round(self, centre, radius, z, **more):
        return cylinder(centre, radius, *self.place(*z), **more)

    def outside(self):
        """The bore's cylinder, chamfered at its ends as the print stands."""
        low, high = self.place(0, self.total)
        c, d = self.made["chamfer_low"], self.made["chamfer_high"]
        r = self.radius
        side = [(r, low)] if c == 0 else [(snap(r - c), low), (r, snap(low + c))]
        side += [(r, high)] if d == 0 else [(r, snap(high - d)), (snap(r - d), high)]
        return turned([(0.0, low), *side, (0.0, high)])

    def above(self, apex, dip, z):
        """All that is not below two rays from a point that dip."""
        x, y = at_angle(-dip, FAR)
        right, left = on_grid([(x, apex + y), (-x, apex + y)])
        outline = [(0.0, apex), right, (2 * FAR, right[1]), (2 * FAR, FAR), (-2 * FAR, FAR),
                   (-2 * FAR, left[1]), left]
        return prism(outline, *self.place(*z))

    def lip(self, side, z):
        """A piece of ring with a round tip."""
        inner, thick = self.trough, self.made["lip_thickness_made"]
        half = inner * math.cos(math.radians(self.made["wrap_made"])) + thick / 2
        tip = math.degrees(math.acos(min(half / (inner + thick / 2), 1.0)))
        low = -self.root - math.degrees(OVERLAP / inner)
        start = at_angle(low if side > 0 else 180 - tip)
        turn = math.radians(tip - low)
        ring = cut(self.round((0, self.y), inner + thick, z, turn=turn, start=start),
                   [self.round((0, self.y), inner, (z[0] - 1, z[1] + 1))])
        x, y = at_angle(tip, inner + thick / 2)
        return fuse([ring, self.round((side * x, self.y + y), thick / 2, z)])

    def slot_along(self, a, b, radius, z):
        """A slot with round ends between two points."""
        d = math.dist(a, b)
        nx, ny = -(b[1] - a[1]) / d * radius, (b[0] - a[0]) / d * radius
        sides = [(a[0] - nx, a[1] - ny), (b[0] - nx, b[1] - ny),
                 (b[0] + nx, b[1] + ny), (a[0] + nx, a[1] + ny)]
        return [prism(sides, *self.place(*z)), self.round(a, radius, z), self.round(b, radius, z)]

    def tray(self):
        inside, total = (self.frame, self.end), self.total
        first = [
            self.above(self.y, self.root, inside),
            self.round((0, self.y), self.trough, inside),
        ]
        if self.cover_wall is not None:
            # Walls are lower where the cover lies, down to its edges.
            covered = snap(self.radius - self.cover_wall - self.cover_gap)
            rebate = self.made_cover["cover_wrap"] + 3.0
            for z in [(self.flange, self.frame), (self.end, total - self.flange)]:
                core = self.round((0, 0), covered, (z[0] - 1, z[1] + 1))
                first.append(cut(self.above(0.0, rebate, z), [core]))
        body = cut(self.outside(), first)
        more = [self.lip(side, piece) for piece in self.pieces for side in (1, -1)]
        if self.guard < self.end:
            z = (self.guard, self.end)
            y = (self.y - self.trough - OVERLAP, self.y + 0.55 * self.trough)
            disc = self.round((0, self.y), snap(self.trough + OVERLAP), z)
            more.append(common(self.bar_between(self.block, y, z), disc))
        return cut(fuse([body, *more]), self.cuts())

    def cuts(self):
        total, out, deep = self.total, [], (-FAR, self.y)
        if self.flat is not None:
            out.append(self.bar_between(FAR, (-FAR, self.flat), (0, total)))
        for at in self.duct_at:
            radius = snap(self.made["duct"] / 2)
            if self.part["duct"] == "closed":
                out.append(self.round(at, radius, (0, total)))
                continue
            far = 2 * self.made["duct"] / math.hypot(*at)
            mouth = (snap(at[0] + at[0] * far), snap(at[1] + at[1] * far))
            out += self.slot_along(at, mouth, radius, (0, total))
        half, sill = self.plate
        out.append(self.bar_between(half, (sill, FAR), self.spring_slot))
        z = (self.spring_slot[1], self.frame)
        out.append(self.bar_between(self.window, (sill + SILL, FAR), z))
        z = (self.guard, self.tab_slot[0])
        out += self.slot_along((0, self.y), (0, FAR), self.hole, z)
        half, foot = self.tab
        out.append(self.bar_between(half, (foot, FAR), self.tab_slot))
        if self.tail > 0:
            out.append(self.bar_between(self.tail, (-FAR, sill), (0, self.spring_slot[1])))
            out.append(self.bar_between(self.tail, (-FAR, foot), (self.tab_slot[0], total)))
        long, wide = self.bar
        if self.floor_mark > 0:
            minus = snap(self.frame + 2.0 + long / 2)
            plus = snap(self.guard - 2.0 - long / 2)
            for at, across, along in [(minus, long, wide), (plus, long, wide), (plus, wide, long)]:
                z = (snap(at - along / 2), snap(at + along / 2))
                disc = self.round((0, self.y), snap(self.trough + self.floor_mark), z)
                out.append(common(self.bar_between(across / 2, deep, z), disc))
        if self.mark > 0:
            y = snap(self.y + 1.0)
            flat, upright = (y - wide / 2, y + wide / 2), (y - long / 2, y + long / 2)
            ends = [(0, self.mark), (snap(total - self.mark), total)]
            for z, half, span in [(ends[0], long, flat), (ends[1], long, flat),
                                  (ends[1], wide, upright)]:
                out.append(self.bar_between(half / 2, span, z))
        return out

    def cover(self):
        inner = snap(self.radius - self.cover_wall)
        thick = self.radius - inner
        wrap = self.made_cover["cover_wrap"]
        half = inner * math.cos(math.radians(wrap)) + thick / 2
        tip = math.degrees(math.acos(min(half / (inner + thick / 2), 1.0)))
        z = (snap(self.flange + COVER_PLAY), snap(self.total - self.flange - COVER_PLAY))
        turn = math.radians(180 + 2 * tip)
        body = cut(self.round((0, 0), self.radius, z, turn=turn, start=at_angle(-tip)),
                   [self.round((0, 0), inner, (z[0] - 1, z[1] + 1))])
        ends = [at_angle(a, inner + thick / 2) for a in (-tip, 180 + tip)]
        body = fuse([body, *(self.round(at, thick / 2, z) for at in ends)])
        tools, kind = [], self.part["cover"]
        if kind == "fingers":
            opened = tuple(snap(f) for f in self.fingers)
            crown = [at_angle(a, 3 * self.radius) for a in (55, 125)]
            strip = prism(on_grid([(0, 0), *crown]), *self.place(opened[0] - 1, opened[1] + 1))
            tools.append(cut(self.bar_between(FAR, (-FAR, FAR), opened), [strip]))
        if kind == "mouth":
            opened = (self.frame, snap(self.touch + 0.3))
            opened = (max(opened[0], z[0]), min(opened[1], z[1]))
            tools.append(self.bar_between(self.cell_radius + 0.3, (0, 2 * self.radius), opened))
        else:
            vent = (max(snap(self.touch - self.button), z[0]), z[1])
            if vent[0] < vent[1]:
                half = 0.35 * self.cell_radius
                tools.append(self.bar_between(half, (0, 2 * self.radius), vent))
        return cut(body, tools)


def features(part):
    """What of the kind a part uses."""
    found = {"positive " + part["positive"], "cover " + part["cover"], "layers " + part["layers"]}
    found.add(f"duct {part['duct']}" if part["wires"] else "no wires")
    found |= {key for key in ("base", "tail", "mark_depth", "keel") if part.get(key, 0) > 0}
    return found


def build(job, part, bodies):
    """The solids of a part by body; `bodies` holds their computed values."""
    names = list(bodies)
    tray = Tray(job, part, bodies[names[0]])
    if tray.cover_wall is not None:
        tray.made_cover = bodies[names[1]]
    out = {names[0]: tray.tray()}
    if tray.cover_wall is not None:
        out[names[1]] = tray.cover()
    return out
