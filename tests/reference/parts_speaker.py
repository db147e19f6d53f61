"""A speaker cup and its ring, built from the numbers of job and report."""

import math

from kernel import cut, cylinder, fuse
from modules import OVER, Module, oval, slot
from stone import snap


def grid(reach):
    """Points of the unit hexagonal grid, nearest first."""
    n, found = math.ceil(2 * reach), []
    for j in range(-n, n + 1):
        for i in range(-2 * n, 2 * n + 1):
            x, y = i + j / 2, j * math.sqrt(0.75)
            if math.hypot(x, y) <= reach * (1 + 1e-9):
                found.append((i * i + i * j + j * j, j, i, x, y))
    return [point[3:] for point in sorted(found)]


class Cup:
    def __init__(self, job, part, made):
        self.part, self.made, self.module = part, made, Module(job, part, made)
        self.printer, speaker = job["print"]["printer"], part["speaker"]
        self.straight = snap((speaker.get("length", speaker["width"]) - speaker["width"]) / 2)
        self.y = made["speaker_y_made"]
        self.front_down = part["facing"] == "front"

    def span(self, low, high):
        """Heights above the print bed as z."""
        start, length = self.module.low, self.module.length
        if self.front_down:
            return start + length - high, start + length - low
        return start + low, start + high

    def ports(self):
        made, pitch = self.made, self.made["port_pitch"]
        count = round(made["ports"])
        if pitch == 0:
            return [(0.0, 0.0)]
        if self.straight == 0:
            return [(x * pitch, y * pitch) for x, y in grid(60)[:count]]
        web = self.part.get("web", self.printer["wall_supported"])
        reach = made["opening_width"] / 2 - made["port_drawn"] / 2 - web
        reach -= self.printer["hole_shrink"] / 2
        found = [(x * pitch, y * pitch) for x, y in grid((reach + self.straight) / pitch)]
        found = [(x, y) for x, y in found
                 if math.hypot(max(abs(x) - self.straight, 0), y) <= reach * (1 + 1e-9)]
        if len(found) != count:
            raise ValueError(f"{len(found)} ports, not {count}")
        return found

    def cup(self):
        made, centre = self.made, (0.0, self.y)
        grille, shoulder = snap(self.part["grille"]), made["shoulder"]
        length = self.module.length
        radius = snap(made["port_drawn"] / 2)
        through = self.span(-OVER, grille + OVER / 10)
        tools = [cylinder((snap(x), snap(self.y + y)), radius, *through) for x, y in self.ports()]
        half = made["opening_width"] / 2
        tools.append(oval(centre, self.straight, half, half, *self.span(grille, shoulder + OVER)))
        half = made["seat_width"] / 2
        seat = oval(centre, self.straight, half, half, *self.span(shoulder, length + OVER))
        tools.append(seat)
        if "channel" in made:
            middle, half = (made["channel_x"], made["channel_y"]), made["channel"] / 2
            tools.append(cylinder(middle, half, *self.span(-OVER, length + OVER)))
            tools.append(slot(middle, centre, half, *self.span(shoulder, length + OVER)))
        return cut(self.module.outside(), tools)

    def ring(self, made):
        low, high = made["from_z"], made["from_z"] + made["length"]
        a, b = made["chamfer_low"], made["chamfer_high"]
        centre, size = (0.0, self.y), self.straight

        def body(half, sign):
            pieces = [oval(centre, size, half, half, low + a, high - b)]
            if a > 0:
                pieces.append(oval(centre, size, half - sign * a, half, low, low + a))
            if b > 0:
                pieces.append(oval(centre, size, half, half - sign * b, high - b, high))
            return fuse(pieces)

        return cut(body(made["outer_width"] / 2, 1), [body(made["inner_width"] / 2, -1)])


def features(part):
    """What of the kind a part uses."""
    found = {f"{key} {part[key]}" for key in ("facing", "retention", "exit")}
    long = part["speaker"].get("length", part["speaker"]["width"])
    found.add("oval" if long > part["speaker"]["width"] else "round")
    return found | {key for key in ("keel", "wires", "gasket") if part[key] > 0}


def build(job, part, bodies):
    """The solids of a part by body; `bodies` holds their computed values."""
    names = list(bodies)
    cup = Cup(job, part, bodies[names[0]])
    out = {names[0]: cup.cup()}
    if len(names) > 1:
        out[names[1]] = cup.ring(bodies[names[1]])
    return out
