"""A kill-switch pocket, built from the numbers of job and report."""

import math

from kernel import cut, cylinder, prism
from modules import OVER, Module
from stone import snap


class Pocket:
    def __init__(self, job, part, made):
        self.part, self.made, self.module = part, made, Module(job, part, made)
        angle = math.radians(part["on_at"])
        self.on = -math.sin(angle), math.cos(angle)
        self.y = made["switch_y_made"]

    def bar(self, centre, along, across, z):
        """A block of half lengths along the switch and across."""
        (x, y), (c, s) = centre, self.on
        corners = [(-along, -across), (along, -across), (along, across), (-along, across)]
        return prism([(x + u * c - v * s, y + u * s + v * c) for u, v in corners], *z)

    def body(self):
        made, centre = self.made, (0.0, self.y)
        low, high = self.module.low, self.module.low + self.module.length
        level, back = made["level_z"], made["back_z"]
        tools = []
        for name, z in [("sink", (low - OVER, level)), ("pocket", (level - 0.1, back)),
                        ("room", (back - 0.1, high + OVER))]:
            half = made[name + "_length"] / 2, made[name + "_width"] / 2
            tools.append(self.bar(centre, *half, z))
        if "pilot" in made:
            pitch = self.part["switch"]["ear_pitch"] / 2
            for side in (-1, 1):
                middle = (snap(side * pitch * self.on[0]), snap(self.y + side * pitch * self.on[1]))
                for name in ("pilot", "relief"):
                    top = level + made[name + "_depth"]
                    radius = snap(made[name] / 2)
                    tools.append(cylinder(middle, radius, level - 0.1, snap(top)))
        if "mark_line" in made:
            z = low - OVER, snap(low + snap(self.part["mark_depth"]))
            on, off = [(made[f"mark_{k}_x"], made[f"mark_{k}_y"]) for k in ("on", "off")]
            height, line = made["mark_height"], made["mark_line"]
            ring = cylinder(off, snap(height / 2), *z)
            tools.append(cut(ring, [cylinder(off, snap(height / 2 - line), z[0] - OVER, z[1] + OVER)]))
            tools.append(self.bar(on, line / 2, made["mark_bar"] / 2, z))
        return cut(self.module.outside(), tools)


def features(part):
    """What of the kind a part uses."""
    switch = part["switch"]
    found = {switch["action"], "ears" if "ears_length" in switch else "ledge"}
    screwed = "ear_pitch" in switch and part["retention"] == "screws"
    found.add("screws" if screwed else "glue")
    found.add("marks" if part["mark_depth"] > 0 else "no marks")
    return found | {key for key in ("keel", "wires") if part[key] > 0}


def build(job, part, bodies):
    """The solids of a part by body; `bodies` holds their computed values."""
    (name, made), = bodies.items()
    return {name: Pocket(job, part, made).body()}
