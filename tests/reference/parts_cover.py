"""A wire cover's pieces, built from the numbers of job and report."""

from kernel import common, cut, cylinder, fuse, grown, loft
from parts_plate import Axes, ccw
from parts_seat import FAR, Module
from stone import snap


class Cover(Module):
    def __init__(self, job, part, made):
        super().__init__(job, part, made)
        self.inner = snap(made["inside"] / 2)
        self.middle = Axes((part["from_angle"] + part["to_angle"]) / 2)

    def added(self, points, z):
        """A convex polygon of material: a chamfer takes off it."""
        return fuse([loft(grown(points, -a), grown(points, -b), low, high)
                     for low, high, a, b in self.heights(z)])

    def around(self):
        """What lies beyond the edges: a half plane at each; of a cover that
        goes more than half around, what lies beyond both."""
        first, last = Axes(self.part["from_angle"]), Axes(self.part["to_angle"])
        halves = [first.quad((-FAR, 0.0), (-FAR, FAR)), last.quad((0.0, FAR), (-FAR, FAR))]
        # Left of the way counts; a quad runs counter-clockwise.
        out = [self.polygon(ccw(half), self.whole()) for half in halves]
        if self.part["to_angle"] - self.part["from_angle"] <= 180:
            return out[0] + out[1]
        return [common(a, b) for a, b in zip(*out)]

    def shell(self):
        tools = [*self.disc((0, 0), self.inner, self.whole()), *self.around()]
        for i, land in enumerate(self.part.get("land", []), 1):
            quad = Axes(land["clocking"]).quad((-FAR, FAR), (self.made[f"land{i}_height"], FAR))
            tools += self.polygon(quad, self.whole())
        return cut(self.body(), tools)

    def legs(self):
        made, out = self.made, []
        within = cylinder((0, 0), snap(0.5 * (self.inner + self.radius)), self.low, self.high)
        inner, outer = made["leg_inside"], made["leg_outside"]
        tip = made["hook_tip_beside"], made["hook_tip"]
        hook = [(outer, made["leg_end"]), (inner, made["leg_end"]), tip,
                (outer, made["hook_back"])]
        for side in (1, -1):
            leg = self.middle.quad(sorted((side * inner, side * outer)), (made["leg_end"], FAR))
            out.append(common(self.added(leg, self.whole()), within))
            points = ccw([self.middle.point(side * u, v) for u, v in hook])
            out.append(self.added(points, self.whole()))
        return out

    def built(self):
        if self.part["hold"] == "glue":
            return self.shell()
        return fuse([self.shell(), *self.legs()])


def features(part):
    """What of the kind a part uses."""
    found = {"hold " + part["hold"]}
    round_more = part["to_angle"] - part["from_angle"] > 180
    found.add("more than half around" if round_more else "less than half around")
    found |= {name for name, there in [("lands", part.get("land", [])), ("coat", part["coat"] > 0),
                                       ("pieces", part["pieces"] > 1)] if there}
    return found


def build(job, part, bodies):
    """The solids of a part by body; `bodies` holds their computed values."""
    return {name: Cover(job, part, made).built() for name, made in bodies.items()}
