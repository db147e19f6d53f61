"""A kill-switch pocket, built from the numbers of its job and report."""

from kernel import cone, cut, rod
from parts_plate import Axes
from parts_seat import BEYOND, FAR, Module
from stone import snap


class Pocket(Module):
    def __init__(self, job, part, made):
        super().__init__(job, part, made)
        self.axes = Axes(part["turn"])
        self.high_side = 1 if part["on"] == "high" else -1

    def quad(self, u, v, z):
        """A box in the pocket's axes; like all cuts it widens with a chamfer."""
        return self.polygon(self.axes.quad(u, v), z)

    def about(self, u, v, z):
        return self.quad((-u, u), (-v, v), z)

    def endways(self):
        made = self.made
        plate = made["plate"]
        out = self.about(made["opening_half_width"], made["opening_half_length"], (self.low, plate))
        out += self.about(made["pocket_half_width"], made["pocket_half_length"], (plate, self.high))
        if "pilot" in made:
            for side in (-0.5, 0.5):
                centre = tuple(snap(v) for v in self.axes.point(0, side * made["pilot_span"]))
                z = (snap(plate - made["pilot_depth"]), plate)
                out += self.disc(centre, snap(made["pilot"] / 2), z)
        if "mark_made" in made:
            z = (self.low, snap(self.low + made["mark_made"]))
            half = made["mark_size"] / 2
            line = max(made["mark_line"], half / 3)
            v = self.high_side * made["mark_at"]
            out += self.quad((-half, half), (v - line / 2, v + line / 2), z)
            out += self.ring(tuple(snap(c) for c in self.axes.point(0, -v)), half, z)
        return out

    def ring(self, centre, half, z):
        """The mark O: its island narrows where the part's end is chamfered."""
        inner = snap(self.made["ring_inner"] / 2)
        return [cut(cone(centre, half + a, half + b, low, high),
                    [cone(centre, inner - a, inner - b, low, high)])
                for low, high, a, b in self.heights(z)]

    def sideways(self):
        part, made = self.part, self.made
        middle, far, width = made["middle"], self.radius + BEYOND, made["pocket_half_width"]

        def bar(half, u, v):
            return self.quad((-u, u), (v, far), (snap(middle - half), snap(middle + half)))

        flat = (snap(middle - made["flat_half_length"]), self.high)
        out = self.quad((-FAR, FAR), (made["face"], far), flat)
        out += bar(made["ears_half_length"], width, made["seat"])
        out += bar(made["body_half_length"], width, made["floor"])
        out += bar(made["terminals_half_length"], width, made["bottom"])
        half, bottom = made["channel"] / 2, made["bottom"]
        z = (self.low, middle) if part["leads"] == "cap" else (middle, self.high)
        out += self.quad((-half, half), (bottom, snap(bottom + made["channel_depth"])), z)
        if "mark_made" in made:
            out += self.letters()
        if "pilot" in made:
            out += self.pilots()
        return out

    def letters(self):
        made, half = self.made, self.made["mark_size"] / 2
        deep, far = snap(made["face"] - made["mark_made"]), self.radius + BEYOND
        bar, line = max(made["mark_line"], half / 3), snap(min(made["mark_line"], half / 2))

        def push(z, high, u):
            at = made["middle"] + z
            return self.quad(u, (deep, far), (snap(at - high), snap(at + high)))

        on = self.high_side * made["mark_z"]
        out = push(on, snap(bar / 2), (-half, half))
        for end in (-1, 1):
            out += push(-on + end * (half - line / 2), line / 2, (-half, half))
        inner = half - line
        for u in ((-half, -inner), (inner, half)):
            out += push(-on, inner, u)
        return out

    def pilots(self):
        made, along = self.made, self.axes.along
        seat, out = made["seat"], []
        for side in (-0.5, 0.5):
            z = made["middle"] + side * made["pilot_span"]

            def at(v):
                return along[0] * v, along[1] * v, z

            low = at(seat - made["pilot_depth"])
            out.append(rod(low, (along[0], along[1], 0), FAR, snap(made["pilot"] / 2)))
        return out

    def built(self):
        pocket = self.sideways() if self.part["face"] == "side" else self.endways()
        return cut(self.body(), [*self.keel(), *self.groove(), *pocket])


def features(part):
    """What of the kind a part uses."""
    ears = "ears" if "ear_length" in part["switch"] else "no ears"
    found = {f"{part['face']} {part['fixing']}", f"{part['face']} {ears}", "on " + part["on"]}
    if part["face"] == "side":
        found.add("leads " + part["leads"])
    found |= {key for key in ("keel", "wires", "mark_depth", "coat") if part[key] > 0}
    return found


def build(job, part, bodies):
    """The solids of a part by body; `bodies` holds their computed values."""
    return {name: Pocket(job, part, made).built() for name, made in bodies.items()}
