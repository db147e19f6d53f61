"""A display plug, built from the numbers of its job."""

import math

from kernel import cut, prism, rod, turned
from parts_plate import Axes
from stone import snap

# Beyond every part, and a flange beyond a socket of unknown handle, mm.
FAR, FLANGE_BEYOND = 200.0, 2.0
# Least chamfer, mm, and the share of a size that it may take.
LEAST_CHAMFER, SHARE = 0.1, 1 / 3


def fair(size, room):
    size = snap(min(size, SHARE * room))
    return 0.0 if size < LEAST_CHAMFER else size


class Plug:
    def __init__(self, job, part, made):
        self.part, self.made = part, made
        self.printer = printer = job["print"]["printer"]
        self.socket = part["socket_diameter"] - part["socket_tolerance"]
        self.stem = snap((self.socket - printer["fit_" + part["fit"]]) / 2 - part["coat"])
        shoulder = snap(part.get("shoulder_z", job["handle"]["length"]))
        self.low = snap(shoulder + part["end_gap"])
        self.front = snap(shoulder + part["socket_depth"])
        usual = job["handle"].get("outside", self.socket + 2 * FLANGE_BEYOND)
        self.flange = snap(part.get("flange_diameter", usual) / 2)
        self.stem_end = rim = self.front
        if part["seat"] == "cone":
            self.stem_end = snap(self.front - max(self.socket / 2 - self.stem, 0.0))
            rim = snap(self.stem_end + self.flange - self.stem)
        self.rim = rim
        self.flange_top = snap(rim + part["flange"])
        self.head = snap(part.get("head_diameter", 2 * self.flange) / 2)
        self.head_low = snap(self.flange_top + abs(self.head - self.flange))
        total, flat = part["head_length"], part["head"] == "flat"
        crown = 0.0 if flat else part.get("crown", min(total / 2, self.head))
        self.crown = crown
        self.head_high = snap(self.flange_top + total - crown)
        self.top = snap(self.flange_top + total)
        first, lead = snap(part["first_layer"]), snap(part["lead_in"])
        self.chamfers = (fair(lead if flat else max(lead, first),
                              min(self.stem_end - self.low, self.stem)),
                         fair(first if flat else 0.0,
                              min(self.head_high - self.head_low, self.head)))
        self.shoulder = shoulder

    def grooved(self, outline, low, width, depth, radius):
        low, width, depth = snap(low), snap(width), snap(depth)
        outline += [(radius, low), (radius - depth, low + depth),
                    (radius - depth, low + width - depth), (radius, low + width)]

    def outline(self):
        """Radii and heights from the stem's end to the head's."""
        part, (c, d) = self.part, self.chamfers
        out = [(0.0, self.low), (self.stem - c, self.low), (self.stem, self.low + c)]
        if "retention" in part:
            depth = snap(part["retention_depth"])
            width = snap(part["retention"]["thread"] + part["retention_play"] + 2 * depth)
            self.grooved(out, self.shoulder + part["retention_z"] - width / 2, width, depth,
                         self.stem)
        out += [(self.stem, self.stem_end), (self.flange, self.rim),
                (self.flange, self.flange_top), (self.head, self.head_low)]
        if part["grip"] == "groove":
            self.grooved(out, self.head_low + part["grip_z"], part["grip_width"],
                         part["grip_depth"], self.head)
        if part["head"] == "flat":
            out += [(self.head, self.top - d), (self.head - d, self.top)]
        elif part["head"] == "cone":
            blunt = snap(min(self.printer["wall_free"], self.head / 2))
            out += [(self.head, self.head_high), (blunt, self.top)]
        else:
            out += self.dome()
        out.append((0.0, out[-1][1]))
        return [p for i, p in enumerate(out) if i == 0 or math.dist(p, out[i - 1]) > 1e-9]

    def dome(self):
        """Corners of the tapers, from the angle at which the pole is near."""
        error, tapers = self.part["dome_error"], self.made["dome_tapers"]
        last = math.asin(min(max(1 - error / self.crown, 0.0), 1.0))
        found = []
        for i in range(round(tapers) + 1):
            angle = last * i / tapers
            found.append((snap(self.head * math.cos(angle)),
                          snap(self.head_high + self.crown * math.sin(angle))))
        return found

    def body(self):
        made, part, tools = self.made, self.part, []
        if "light_bore" in made:
            radius, tip = made["light_bore"] / 2, made["bore_tip"] / 2
            straight, end = made["bore_straight_z"], made["bore_end_z"]
            profile = [(0.0, self.low), (radius, self.low), (radius, straight), (tip, end),
                       (0.0, end)]
            tools.append(turned([p for i, p in enumerate(profile)
                                 if i == 0 or math.dist(p, profile[i - 1]) > 1e-9]))
        if part["grip"] == "slot":
            half, depth = snap(snap(part["grip_width"]) / 2), snap(part["grip_depth"])
            corners = [(-FAR, -half), (FAR, -half), (FAR, half), (-FAR, half)]
            tools.append(prism(corners, self.top - depth, self.top + 1))
        half = snap(part["window_width"] / 2)
        for i in range(part["windows"]):
            axes = Axes(part["window_at"] + 360 * i / part["windows"])
            low, high = made["window_low_z"], made["window_high_z"]
            if part["window"] == "round":
                tools.append(rod((0, 0, (low + high) / 2), (*axes.along, 0.0), FAR, half))
            else:
                tools.append(prism(axes.quad((-half, half), (0, FAR)), low, high))
        body = turned(self.outline())
        for tool in tools:
            body = cut(body, [tool])
        return body


def features(part):
    """What of the kind a part uses."""
    found = {f"{key} {part[key]}" for key in ("head", "seat", "grip")}
    if part["windows"] > 0:
        found.add("windows " + part["window"])
    if part["windows"] > 0 or part.get("light_bore", 0) > 0:
        found.add("light_bore")
    if "retention" in part:
        found.add("retention")
    return found


def build(job, part, bodies):
    """The solids of a part by body; `bodies` holds their computed values."""
    (name, made), = bodies.items()
    return {name: Plug(job, part, made).body()}
