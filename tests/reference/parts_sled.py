"""A board sled and its gate, built from the numbers of their reports: a
cylinder less boxes, frusta of boxes and the rods of pilots."""

import math

from kernel import box, cone, cut, cylinder, fuse, loft, prism, rod
from stone import snap

# Beyond every part, mm.
FAR = 200.0
# How far a groove reaches out; sills nearer than this to what follows are one
# with it; how far the tongue's lip stands out, mm.
BEYOND, NEAR, TIE_EDGE = 2.0, 1.0, 1.2


def rect(x, y):
    """Counter-clockwise."""
    return [(x[0], y[0]), (x[1], y[0]), (x[1], y[1]), (x[0], y[1])]


def out(points, by):
    """A rectangle with all sides moved out."""
    (a, b), (c, d) = points[0], points[2]
    return rect((a - by, c + by), (b - by, d + by))


def wide(half):
    return -half, half


class Sled:
    def __init__(self, job, part, made):
        self.part, self.made = part, made
        printer = job["print"]["printer"]
        bore = min(job["handle"]["bore"]) - job["handle"]["caliper"]
        self.radius = snap((bore - printer["fit_" + part["fit"]]) / 2 - part["coat"])
        self.low = made["from_z"]
        self.high = snap(made["from_z"] + made["length"])

    def pair(self, key):
        return self.made[key + "_low"], self.made.get(key + "_high", FAR)

    def every(self, key):
        """What is numbered, as the beginnings of its keys."""
        n = 1
        while any(k.startswith(f"{key}{n}_") for k in self.made):
            yield f"{key}{n}"
            n += 1

    def floors(self):
        """The well: z, and the heights of its floor at both ends."""
        made = self.made
        board, floor, end = made["height"], made["floor"], made["room_z_high"]
        depth = made["under"]
        steps = [v for k, v in made.items() if k.startswith("stepped")]
        sills, at = [self.pair(s) for s in self.every("sill")], self.low
        for sill, following in zip(sills, [*sills[1:], (end, end)]):
            if at < sill[0]:
                yield (at, sill[0]), (floor, floor)
            foot = snap(sill[1] + depth)
            if foot + NEAR > following[0]:
                yield (sill[0], following[0]), (board, board)
                at = following[0]
                continue
            yield sill, (board, board)
            stepped = any(abs(s - sill[1]) < 1e-6 for s in steps)
            yield (sill[1], foot), (floor, floor) if stepped else (board, floor)
            at = foot
        if at < end:
            yield (at, end), (floor, floor)

    def cuts(self):
        """Rectangles at both ends of a stretch of z."""
        made, part = self.made, self.part
        low, high = self.low, self.high
        room_z, room_y = self.pair("room_z"), self.pair("room_y")
        found = [
            ((low, high), rect(wide(FAR), (made["top"], FAR))),
            ((room_z[1], high), rect(wide(made["well_half"]), (made["bar"], FAR))),
        ]
        if part["keel"] > 0:
            keel = rect(wide(FAR), (-FAR, snap(snap(part["keel"]) - self.radius)))
            found.append(((low, high), keel))
        if part["hold"] == "rails":
            found.append(((low, room_z[1]), rect(wide(made["room_half"]), room_y)))
        for key in ("keep_out", "port"):
            for one in self.every(key):
                if one + "_x_low" in made:
                    x, y = self.pair(one + "_x"), self.pair(one + "_y")
                    z = self.pair(one + "_z")
                    found.append(((max(z[0], low), min(z[1], high)), rect(x, y)))
        found = [(z, r, r) for z, r in found]
        for z, (a, b) in self.floors():
            x = wide(made["well_half"])
            found.append((z, rect(x, (a, FAR)), rect(x, (b, FAR))))
        if "slot_half" in made:
            held = snap(made["slot_half"] - made["well_half"])
            straight = snap(made["gate_low"] + held)
            narrow, full = (rect(wide(made[k]), (made["floor"], FAR))
                            for k in ("well_half", "slot_half"))
            found += [((made["gate_low"], straight), narrow, full),
                      ((straight, made["slot_high"]), full, full)]
        if part["strain_relief"] == "tie":
            end, half = snap(low + made["tongue_length"]), made["tongue_half"]
            lip = snap(low + TIE_EDGE)
            place = snap(lip + made["tie_place"])
            for y in ((made["tongue_top"], FAR), (-FAR, made["tongue_bottom"])):
                found.append(((low, end), rect(wide(FAR), y), rect(wide(FAR), y)))
            for side in (1, -1):
                outer, inner = (rect(sorted((side * h, side * FAR)), wide(FAR))
                                for h in (half + TIE_EDGE, half))
                found += [((low, lip), outer, inner), ((lip, place), inner, inner),
                          ((place, end), outer, outer)]
        return found

    def groove(self, z, less=(0.0, 0.0)):
        """The groove for wires, wider by `less` at either end."""
        made = self.made
        if self.part["wires"] == 0:
            return []
        half = made["groove_width"] / 2
        turn = math.radians(self.part["groove_at"])
        way = (-math.sin(turn), math.cos(turn))
        middle = [snap(w * (self.radius - half)) for w in way]
        norm = math.hypot(*middle)
        far = [snap(m / norm * (self.radius + BEYOND + half)) for m in middle]
        length = math.dist(far, middle)
        way = [(f - m) / length for f, m in zip(far, middle)]
        side = (-way[1], way[0])

        def lane(by):
            h = half + by
            return [tuple(p[i] + s * h * side[i] for i in (0, 1))
                    for p, s in ((middle, -1), (far, -1), (far, 1), (middle, 1))]

        return [cone(tuple(middle), half + less[0], half + less[1], *z),
                loft(lane(less[0]), lane(less[1]), *z)]

    def pilots(self):
        made = self.made
        if "pilot" not in made:
            return []
        tools = []
        for hole in self.every("hole"):
            mouth = (made[hole + "_x"], made["height"], made[hole + "_z"])
            for size in ("pilot_relief", "pilot"):
                depth = made[size + "_depth"]
                tools.append(rod(mouth, (0, -1, 0), depth, snap(made[size] / 2)))
        return tools

    def body(self):
        low, high, size = self.low, self.high, self.made["chamfer_high"]
        r, tools = self.radius, []
        cuts = self.cuts()
        for z, first, last in cuts:
            tools.append(loft(first, last, *z))
        tools += self.groove((low, high)) + self.pilots()
        if size > 0:
            z = (snap(high - size), high)
            outer = cone((0, 0), r + 1, r + 1, *z)
            tools.append(cut(outer, [cone((0, 0), r, r - size, *z)]))
            for span, _, last in cuts:
                if span[1] >= high - 1e-9:
                    tools.append(loft(last, out(last, size), *z))
            tools += self.groove(z, (0.0, size))
        return cut(cylinder((0, 0), r, low, high), tools)


def gate(made):
    """The gate: a plate with slanted sides, less its openings."""
    z, y = (made["z_low"], made["z_high"]), (made["y_low"], made["y_high"])
    half, held = made["half"], made["held"]
    middle = snap(z[0] + held)
    full, narrow = rect(wide(half), y), rect(wide(snap(half - held)), y)
    whole = [prism(full, middle, z[1]), loft(narrow, full, z[0], middle)]
    tools = []
    if "opening_half" in made:
        opening = (made["opening_bottom"], FAR)
        tools.append(box(wide(made["opening_half"]), opening, z))
    n = 1
    while f"slot{n}_low" in made:
        x = (made[f"slot{n}_low"], made[f"slot{n}_high"])
        tools.append(box(x, (made["slot_bottom"], FAR), z))
        n += 1
    n = 1
    while f"window{n}_x_low" in made:
        x = (made[f"window{n}_x_low"], made[f"window{n}_x_high"])
        top = made.get(f"window{n}_y_high", FAR)
        tools.append(box(x, (made[f"window{n}_y_low"], top), z))
        n += 1

    return cut(fuse(whole), tools)


def features(part):
    """What of the kind a part uses."""
    found = {f"{key} {part[key]}" for key in ("outline", "face", "hold", "strain_relief")}
    if part["hold"] == "posts":
        found.add("fixing " + part["fixing"])
    else:
        found.add("lock " + part["lock"])
    found |= {"keep-out " + row["side"] for row in part.get("keep_out", [])}
    found |= {"port " + row["edge"] for row in part.get("port", [])}
    found |= {"plug" for row in part.get("port", []) if "plug" in row}
    if part["keel"] > 0:
        found.add("keel")
    if part["wires"] > 0:
        found.add("groove")
    return found


def build(job, part, bodies):
    """The solids of a part by body; `bodies` holds their computed values."""
    solids = {}
    for name, made in bodies.items():
        is_gate = name.endswith("-gate")
        solids[name] = gate(made) if is_gate else Sled(job, part, made).body()
    return solids
