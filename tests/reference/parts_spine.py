"""A spine, built from the numbers of its report."""

import math
import re

from kernel import box, common, cone, cut, fuse, loft, rod

# Beyond every part, mm.
FAR = 200.0


def numbered(made, name):
    """The values `name1_...`, `name2_...` as dicts by their number."""
    out = {}
    for key, value in made.items():
        found = re.fullmatch(name + r"(\d+)_(.*)", key)
        if found:
            out.setdefault(int(found[1]), {})[found[2]] = value
    return out


class Keel:
    """The keel from end to end; a piece is cut from it at its joints."""

    def __init__(self, part, made):
        self.part, self.made = part, made
        self.radius = made["outside"] / 2
        self.top, self.half = made["keel_top"], made["keel_width"] / 2

    def blank(self, low, high, less=(0.0, 0.0), sunk=0.0):
        """The keel without cuts, its flat `sunk` deep, smaller all round by
        `less` at either end."""
        whole = cone((0, 0), self.radius - less[0], self.radius - less[1], low, high)
        edge, outlines = max(self.made["keel_edge"] - sunk, 0.0), []
        for by in less:
            half, top = self.half - by, self.top - sunk - by
            # A broken edge of 45 degrees moves in square to itself.
            inset = edge - (2 - math.sqrt(2)) * by
            corners = [(half, -FAR), (half, top)]
            if edge > 0:
                corners = [(half, -FAR), (half, top - inset), (half - inset, top)]
            outlines.append(corners + [(-a, b) for a, b in reversed(corners)])
        return common(whole, loft(*outlines, low, high))

    def cuts(self):
        out, made = [], self.made
        deep = self.top - made["notch_depth"]
        for notch in numbered(made, "notch").values():
            out.append(box((-FAR, FAR), (deep, FAR), (notch["low"], notch["high"])))
        for run in self.ducts():
            x = (run["duct_left"], run["duct_right"])
            y = (self.top - run["duct_depth"], FAR)
            out.append(box(x, y, (run["duct_low"], run["duct_high"])))
        for screw in numbered(made, "screw").values():
            at = (0.0, -FAR, screw["z"])
            hole, recess = made["screw_hole"] / 2, made["screw_recess"] / 2
            bears = FAR - self.radius + made["screw_recess_depth"]
            out.append(rod(at, (0, 1, 0), 2 * FAR, hole))
            if self.part["screw"]["head"] == "countersunk":
                half = math.radians(self.part["screw"]["head_angle"] / 2)
                slope = (recess - hole) / math.tan(half)
                out.append(rod(at, (0, 1, 0), bears - slope, recess))
                out.append(rod((0.0, bears - slope - FAR, screw["z"]), (0, 1, 0), slope, recess, hole))
            else:
                out.append(rod(at, (0, 1, 0), bears, recess))
        return out

    def ducts(self):
        runs = numbered(self.made, "run").values()
        return [run for run in runs if "duct_depth" in run]

    def keyed(self, z, gap):
        """Boxes of a key, or with a gap of its slot, that begins at z."""
        made = self.made
        long, neck, head = made["key_long"], made["key_neck"] / 2 + gap, made["key_head"] / 2 + gap
        return [box((-neck, neck), (-FAR, FAR), (z, z + long)),
                box((-head, head), (-FAR, FAR), (z + long - gap, z + 2 * long + gap))]

    def piece(self):
        made = self.made
        low, high, chamfer = made["low"], made["high"], made["chamfer_high"]
        parts = [self.blank(low, high - chamfer)]
        if chamfer > 0:
            # A notch that runs out at the end is chamfered with it.
            notches = numbered(made, "notch").values()
            sunk = made["notch_depth"] if any(n["high"] >= high for n in notches) else 0.0
            parts.append(self.blank(high - chamfer, high, (0.0, chamfer), sunk))
        body, tools = fuse(parts), self.cuts()
        for joint in numbered(made, "joint").values():
            z, gap = joint["z"], made["key_gap"]
            if low < z < high:
                # The key stands beyond it.
                beyond = box((-FAR, FAR), (-FAR, FAR), (z, z + FAR))
                tools.append(cut(beyond, self.keyed(z, 0.0)))
            elif abs(low - z - gap) < 1e-6:
                tools += self.keyed(z, gap)
        return cut(body, tools)


class Standing:
    """A ring or a chair, chamfered around all its edges at the ends."""

    def __init__(self, made):
        self.made, self.radius = made, made["outside"] / 2
        self.low, self.high = made["low"], made["high"]
        self.foot = made["foot"]

    def slices(self):
        """Heights with how much smaller the section is at both."""
        c, d = self.made["chamfer_low"], self.made["chamfer_high"]
        spans = [(self.low, self.low + c, (c, 0.0)), (self.low + c, self.high - d, (0.0, 0.0)),
                 (self.high - d, self.high, (0.0, d))]
        return [span for span in spans if span[0] < span[1]]

    def rect(self, half, y, span, less):
        """A box that is smaller all round by `less`; half and y at no chamfer."""
        low, high, _ = span
        sides = [[(-half + b, y[0] + b), (half - b, y[0] + b), (half - b, y[1] - b),
                  (-half + b, y[1] - b)] for b in less]
        return loft(*sides, low, high)

    def chair(self):
        half, out = self.made["width"] / 2, []
        for span in self.slices():
            low, high, less = span
            round_ = cone((0, 0), self.radius - less[0], self.radius - less[1], low, high)
            out.append(common(round_, self.rect(half, (self.foot, self.made["top"]), span, less)))
        return fuse(out)

    def ring(self):
        radius, wall, out = self.radius, self.made["ring_wall"], []
        for span in self.slices():
            low, high, less = span
            outer = common(cone((0, 0), radius - less[0], radius - less[1], low, high),
                           self.rect(FAR, (self.foot, FAR), span, less))
            more = tuple(-b for b in less)
            hole = common(cone((0, 0), radius - wall + less[0], radius - wall + less[1], low, high),
                          self.rect(FAR, (self.foot + wall, FAR), span, more))
            tools = [hole]
            for run in numbered(self.made, "run").values():
                tools += self.notch(run, span, less)
            out.append(cut(outer, tools))
        return fuse(out)

    def notch(self, run, span, less):
        """A slot with a round end, open to the outside."""
        low, high, _ = span
        x, y, r = run["notch_x"], run["notch_y"], run["notch_radius"]
        far = math.hypot(x, y)
        u, v = x / far, y / far
        grown = [r + b for b in less]
        sides = [[(x + v * g, y - u * g), (x + FAR * u + v * g, y + FAR * v - u * g),
                  (x + FAR * u - v * g, y + FAR * v + u * g), (x - v * g, y + u * g)]
                 for g in grown]
        return [cone((x, y), grown[0], grown[1], low, high), loft(*sides, low, high)]


def features(part):
    """What of the kind a part uses."""
    found = {"rings " + part["rings"], "fixing " + part["fixing"]}
    if part["fixing"] == "screws":
        found.add("head " + part["screw"]["head"])
    if part["seat"] > 0:
        found.add("notches")
    found |= {"path " + run["path"] for run in part.get("run", [])}
    found |= {"plug" for run in part.get("run", []) if run["plug"]}
    found.add("pieces" if part.get("pieces", 1) > 1 else "one piece")
    return found


def build(job, part, bodies):
    """The solids of a part by body; `bodies` holds their computed values."""
    out = {}
    for name, made in bodies.items():
        if "keel_top" in made:
            # What holds for all pieces is told once for each.
            out[name] = Keel(part, made).piece()
        elif "ring_wall" in made:
            out[name] = Standing(made).ring()
        else:
            out[name] = Standing(made).chair()
    return out
