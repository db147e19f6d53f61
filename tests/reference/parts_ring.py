"""An adapter ring and its shims, built from the numbers of job and report."""

from kernel import cut, prism, rod, turned
from parts_plate import Axes
from parts_seat import FAR, Module
from stone import snap

# Gaps and notches begin this far from the axis, as a share of the hole's radius.
INSIDE = 0.5


class Ring(Module):
    def __init__(self, job, part, made):
        super().__init__(job, part, made)
        self.radius, self.inner = snap(made["ring_outside"] / 2), snap(made["ring_inside"] / 2)
        self.foot = self.low
        if "flange" in made:
            self.low = snap(-made["flange"])

    def body(self):
        (c, d), r = self.chamfers, self.radius
        wide = snap(self.made["flange_diameter"] / 2) if self.low < self.foot else r
        side = [(wide, self.low)] if c == 0 else [(wide - c, self.low), (wide, snap(self.low + c))]
        if wide > r:
            side += [(wide, self.foot), (r, self.foot)]
        side += [(r, self.high)] if d == 0 else [(r, snap(self.high - d)), (r - d, self.high)]
        return turned([(0.0, self.low), *side, (0.0, self.high)])

    def gap(self):
        if "gap_angle" not in self.made:
            return []
        turn, at = self.made["gap_angle"] / 2, self.part["gap_at"]
        right, left = Axes(at - turn), Axes(at + turn)
        near = INSIDE * self.inner
        corners = [right.point(0, near), right.point(0, FAR), left.point(0, FAR), left.point(0, near)]
        return self.polygon(corners, self.whole())

    def notches(self):
        out = []
        for i in range(1, 20):
            if f"notch{i}_at" in self.made:
                half, axes = self.made["notch_width"] / 2, Axes(self.made[f"notch{i}_at"])
                quad = axes.quad((-half, half), (INSIDE * self.inner, FAR))
                out += self.polygon(quad, (snap(self.high - self.made["notch_depth"]), self.high))
        return out

    def holes(self):
        out = []
        for i, hole in enumerate(self.part.get("hole", []), 1):
            axes, radius = Axes(hole["clocking"]), snap(self.made[f"hole{i}_diameter"] / 2)
            z, between = snap(hole["z"]), snap(snap(hole["slot"]) / 2)
            ends = (z - between, z + between) if between > 0 else (z,)
            out += [rod((0, 0, end), (*axes.along, 0), FAR, radius) for end in ends]
            if between > 0:
                out.append(prism(axes.quad((-radius, radius), (0.0, FAR)), *ends))
        return out

    def built(self):
        tools = [*self.disc((0, 0), self.inner, self.whole()), *self.keel(), *self.groove(),
                 *self.gap(), *self.notches(), *self.holes()]
        return cut(self.body(), tools)


def features(part):
    """What of the kind a part uses."""
    found = {"form " + part["form"], "inner_fit " + part["inner_fit"]}
    found |= {key for key in ("flange", "keel", "wires", "shim_count") if part[key] > 0}
    for hole in part.get("hole", []):
        found.add("slotted hole" if hole["slot"] > 0 else "round hole")
    return found


def build(job, part, bodies):
    """The solids of a part by body; `bodies` holds their computed values."""
    return {name: Ring(job, part, made).built() for name, made in bodies.items()}
