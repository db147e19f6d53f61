"""Builds stacks of sections with cross bores by other programs' booleans.

usage: stack_referee.py CASES.jsonl

Every line is a case: `slabs`, each [bottom, top, region] (see exact.py), and
`bores`, as borewright was asked for them; what it made: a STEP file, its
`volume` and `area`. Each is built anew from those numbers

- by OpenCascade: prisms of lines and true arcs, fused, and tools of cylinders,
  cones and prisms, cut; then compared with the STEP file by the volume that is
  in one of the two only;
- by manifold3d: prisms and tools with arcs cut into chords, as booleans of
  meshes; then the volumes compared within what the chords miss.

Prints a summary and one line per fault; exits with 1 if there is any fault.
"""

import json
import math
import sys
from multiprocessing import Pool
from pathlib import Path

import manifold3d
import numpy as np
from OCP.BRepAlgoAPI import BRepAlgoAPI_Common, BRepAlgoAPI_Cut, BRepAlgoAPI_Fuse
from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeEdge, BRepBuilderAPI_MakeFace
from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeWire
from OCP.BRepPrimAPI import BRepPrimAPI_MakeCone, BRepPrimAPI_MakeCylinder, BRepPrimAPI_MakePrism
from OCP.GC import GC_MakeArcOfCircle
from OCP.gp import gp_Ax2, gp_Dir, gp_Pnt, gp_Vec

from exact import along, flatten, passes, sweep
from kernel import FUZZY, operate, quiet, read, volume

# Volume in one solid only, and difference of volumes, relative to the solid.
APART = 1e-6
# Where OpenCascade differs by more, though by less than this, integrals along
# lines decide, which must agree with ours to the second number.
ROUGH = 1e-4
LINES = 1e-8
# Chords of arcs in meshes, radians.
STEP = 2 * math.pi / 256
# Tools reach this far beyond everything, mm.
FAR = 100.0


def wire(loop, z):
    maker = BRepBuilderAPI_MakeWire()
    for piece in loop:
        a, b = (gp_Pnt(x, y, z) for x, y in (piece[0:2], piece[2:4]))
        if len(piece) == 4:
            edge = BRepBuilderAPI_MakeEdge(a, b)
        else:
            x, y = along(piece, 0.5)
            edge = BRepBuilderAPI_MakeEdge(GC_MakeArcOfCircle(a, gp_Pnt(x, y, z), b).Value())
        maker.Add(edge.Edge())
    return maker.Wire()


def twice_area(loop):
    total = 0.0
    for piece in loop:
        total += piece[0] * piece[3] - piece[1] * piece[2]
        if len(piece) > 4:
            turn = sweep(piece)[1]
            total += piece[6] ** 2 * (turn - math.sin(turn))
    return total


def prisms(region, bottom, top):
    """Outer loops as prisms, and holes as prisms to be cut away."""
    up = gp_Vec(0, 0, top - bottom)
    solid, holes = [], []
    for loop in region:
        face = BRepBuilderAPI_MakeFace(wire(loop, bottom), True).Face()
        prism = BRepPrimAPI_MakePrism(face, up).Shape()
        (solid if twice_area(loop) > 0 else holes).append((abs(twice_area(loop)), prism))
    return solid, holes


def slab(region, bottom, top):
    """A slab of material: loops from the largest to the smallest, so that
    islands in holes come back."""
    solid, holes = prisms(region, bottom, top)
    steps = sorted([(a, True, p) for a, p in solid] + [(a, False, p) for a, p in holes],
                   key=lambda s: -s[0])
    shape = steps[0][2]
    for _, adds, prism in steps[1:]:
        shape = operate(BRepAlgoAPI_Fuse if adds else BRepAlgoAPI_Cut, [shape], [prism])
    return shape


class NotFlat(Exception):
    """No tool with flat ends drills just this."""


class Tool:
    """The lengths of a bore: (from, to, radius at from, radius at to, half the
    length of a slot along z), along its direction."""

    def __init__(self, bore, slabs):
        self.d = np.array(bore["direction"]) / np.linalg.norm(bore["direction"])
        self.z, self.offset = bore["z"], bore["offset"]
        self.half = bore["half"]
        radius = bore["radius"]
        region = next(r for low, high, r in slabs if low <= self.z < high)
        widest = bore["mouth"].get("radius", radius)
        met = passes(region, self.d, self.offset)
        start = bore["start"] if bore["start"] is not None else -FAR
        first = next(i for i in range(0, len(met), 2) if met[i] >= start)
        entry, out = met[first], met[first + 1]
        # The tool stays clear of walls before the first, and for the next wall
        # only of those behind it, all across its width.
        limits = [[-FAR], [entry], [out], [FAR]]
        for across in np.linspace(-widest, widest, 41):
            there = passes(region, self.d, self.offset + across)
            walls = list(zip(there[0::2], there[1::2]))
            near = min((w[0] for w in walls), key=lambda t: abs(t - entry))
            far = min((w[1] for w in walls), key=lambda t: abs(t - out))
            limits[0] += [w[1] for w in walls if w[1] < near]
            limits[1].append(near)
            limits[2].append(far)
            limits[3] += [w[0] for w in walls if w[0] > far]
        flat = bore["end"] != "next" or max(limits[2]) < min(limits[3])
        if not flat or max(limits[0]) >= min(limits[1]):
            raise NotFlat
        before = 0.5 * (max(limits[0]) + min(limits[1]))
        end = FAR
        if bore["end"] == "next":
            end = 0.5 * (max(limits[2]) + min(limits[3]))
        if isinstance(bore["end"], float):
            end = entry + bore["end"]
        self.lengths = [(before, end, radius, radius)]
        mouth = bore["mouth"]
        if mouth["kind"] == "counterbore":
            self.lengths.append((before, entry + mouth["depth"], mouth["radius"], mouth["radius"]))
        if mouth["kind"] == "countersink":
            rim = mouth["radius"]
            top = entry + mouth["depth"]
            tip = top + (rim - radius) / math.tan(mouth["angle"] / 2)
            self.lengths.append((before, top, rim, rim))
            self.lengths.append((top, tip, rim, radius))

    def point(self, t, up=0.0):
        n = np.array([-self.d[1], self.d[0]])
        x, y = self.d * t + n * self.offset
        return float(x), float(y), self.z + up

    def exact(self):
        shapes = []
        direction = gp_Dir(float(self.d[0]), float(self.d[1]), 0.0)
        for low, high, r0, r1 in self.lengths:
            for up in {-self.half, self.half}:
                axes = gp_Ax2(gp_Pnt(*self.point(low, up)), direction)
                if r0 == r1:
                    shapes.append(BRepPrimAPI_MakeCylinder(axes, r0, high - low).Shape())
                else:
                    shapes.append(BRepPrimAPI_MakeCone(axes, r0, r1, high - low).Shape())
            if self.half > 0:
                n = np.array([-self.d[1], self.d[0]]) * r0
                x, y, z = self.point(low)
                corners = [(x + s * n[0], y + s * n[1], z + t * self.half)
                           for s, t in [(-1, -1), (1, -1), (1, 1), (-1, 1)]]
                maker = BRepBuilderAPI_MakeWire()
                for p, q in zip(corners, corners[1:] + corners[:1]):
                    maker.Add(BRepBuilderAPI_MakeEdge(gp_Pnt(*p), gp_Pnt(*q)).Edge())
                face = BRepBuilderAPI_MakeFace(maker.Wire(), True).Face()
                way = gp_Vec(direction).Multiplied(high - low)
                shapes.append(BRepPrimAPI_MakePrism(face, way).Shape())
        return shapes

    def meshes(self):
        """Meshes inside the exact tools, and a bound of the volume they miss
        within a body of the given thickness along the bore."""
        out, missed = [], 0.0
        n = round(2 * math.pi / STEP)
        d = np.array([self.d[0], self.d[1], 0.0])
        across, up = np.array([-self.d[1], self.d[0], 0.0]), np.array([0.0, 0.0, 1.0])
        for low, high, r0, r1 in self.lengths:
            for lift in {-self.half, self.half}:
                body = manifold3d.Manifold.cylinder(high - low, r0, r1, n)
                place = np.column_stack([across, up, d, self.point(low, lift)])
                out.append(body.transform(place))
                missed += 0.5 * max(r0, r1) ** 2 * n * (STEP - math.sin(STEP))
            if self.half > 0:
                body = manifold3d.Manifold.cube([2 * r0, 2 * self.half, high - low])
                corner = np.array(self.point(low)) - across * r0 - up * self.half
                out.append(body.transform(np.column_stack([across, up, d, corner])))
        return out, missed


    def taken(self, slabs):
        """Volume of the bore in upright walls, by lines along it; None for a
        slot with a wide mouth."""
        low, _, radius, _ = self.lengths[0]
        region = next(r for bottom, top, r in slabs if bottom <= self.z < top)

        def length(across, distance):
            ends = [
                high if r0 == r1 or distance <= r1 else begin + (high - begin) * (r0 - distance) / (r0 - r1)
                for begin, high, r0, r1 in self.lengths
                if distance <= r0
            ]
            met = passes(region, self.d, self.offset + across)
            return sum(
                max(0.0, min(t1, max(ends)) - max(t0, low)) for t0, t1 in zip(met[0::2], met[1::2])
            )

        if len(self.lengths) == 1:
            # Gauss-Chebyshev rule of the second kind for the round part, of the
            # first kind for the slot's sides.
            n, total = 2000, 0.0
            for angle in np.pi * np.arange(1, n + 1) / (n + 1):
                across, sine = radius * math.cos(angle), math.sin(angle)
                part = length(across, 0.0) * radius * math.pi / (n + 1)
                total += part * 2 * (radius * sine**2 + self.half * sine)
            return total
        if self.half > 0:
            return None
        nodes, weights = np.polynomial.legendre.leggauss(16)
        radii, total = sorted({0.0} | {r for _, _, *ends in self.lengths for r in ends}), 0.0
        turns = 2 * np.pi * (np.arange(128) + 0.5) / 128
        for r0, r1 in zip(radii, radii[1:]):
            for node, weight in zip(nodes, weights):
                r = 0.5 * (r0 + r1 + (r1 - r0) * node)
                around = sum(length(r * math.cos(turn), r) for turn in turns)
                total += weight * 0.5 * (r1 - r0) * r * around * 2 * np.pi / 128
        return total


def by_lines(case, tools):
    """Relative difference of the volume from that of the slabs less bores."""
    whole = sum((top - bottom) * 0.5 * twice_area(loop)
                for bottom, top, region in case["slabs"] for loop in region)
    holes = [tool.taken(case["slabs"]) for tool in tools]
    if None in holes:
        return math.inf
    return abs(whole - sum(holes) - case["volume"]) / case["volume"]


def by_kernel(case, tools, folder):
    """Relative differences: of the volumes, and what is in one only."""
    layers = [slab(r, low, high) for low, high, r in case["slabs"] if r]
    ours = read(folder / case["step"])
    best = (math.inf, math.inf)
    for fuzzy in FUZZY:
        try:
            built = layers[0]
            if len(layers) > 1:
                built = operate(BRepAlgoAPI_Fuse, layers[:1], layers[1:], fuzzy)
            for tool in tools:
                built = operate(BRepAlgoAPI_Cut, [built], tool.exact(), fuzzy)
            apart = sum(
                abs(volume(operate(BRepAlgoAPI_Cut, [p], [q], fuzzy)))
                for p, q in [(built, ours), (ours, built)]
            )
            if apart > APART * case["volume"]:
                # Its cuts can leave crumbs; the common part is another way.
                common = volume(operate(BRepAlgoAPI_Common, [built], [ours], fuzzy))
                apart = min(apart, abs(volume(built) + volume(ours) - 2 * common))
        except ValueError:
            continue
        found = (abs(volume(built) - case["volume"]) / case["volume"], apart / case["volume"])
        best = min(best, found, key=max)
        if max(best) <= APART:
            break
    return best


def by_meshes(case, tools):
    """Difference of the volumes as a share of what the chords may miss."""
    layers, missed = [], 0.0
    for bottom, top, region in case["slabs"]:
        if not region:
            continue
        rings = []
        for loop in region:
            points = []
            for piece in loop:
                found, area = flatten(piece, STEP)
                points += found
                missed += area * (top - bottom)
            rings.append(points)
        section = manifold3d.CrossSection(rings, manifold3d.FillRule.Positive)
        layers.append(section.extrude(top - bottom).translate([0, 0, bottom]))
    body = manifold3d.Manifold.batch_boolean(layers, manifold3d.OpType.Add)
    box = np.array(body.bounding_box()).reshape(2, 3)
    through = float(np.linalg.norm(box[1] - box[0]))
    for tool in tools:
        meshes, area = tool.meshes()
        missed += area * through
        body -= manifold3d.Manifold.batch_boolean(meshes, manifold3d.OpType.Add)
    # manifold3d's vertices are in single precision.
    noise = case["area"] * 2**-20 * float(np.abs(box).max())
    return abs(body.volume() - case["volume"]) / (missed + noise)


def judge(job):
    folder, line = job
    case = json.loads(line)
    faults, off, apart, share = [], 0.0, 0.0, 0.0
    try:
        tools = [Tool(bore, case["slabs"]) for bore in case["bores"]]
        off, apart = by_kernel(case, tools, folder)
        share = by_meshes(case, tools)
    except NotFlat:
        return [], (0.0, 0.0, 0.0, 0.0), 0
    except (ValueError, RuntimeError) as error:
        faults.append(f"cannot be built: {error!r}")
    # OpenCascade's curves between cylinders can be rough: then lines decide.
    disputed = max(off, apart) > APART
    if disputed and not (max(off, apart) <= ROUGH and by_lines(case, tools) <= LINES):
        faults.append(f"volume off by {off:.3g}, {apart:.3g} in one only, relative")
    if share > 1.0:
        faults.append(f"mesh volume off by {share:.3g} of what chords miss")
    name = f"{case['name']} ({len(case['slabs'])} slabs, {len(case['bores'])} bores)"
    worst = (0.0 if disputed else off, 0.0 if disputed else apart, share, float(disputed))
    return [f"FAULT {name}: {f}" for f in faults], worst, len(case["bores"])


def main():
    if len(sys.argv) != 2:
        sys.exit(__doc__)
    quiet()
    path = Path(sys.argv[1])
    with open(path) as lines, Pool(2) as pool:
        verdicts = pool.map(judge, [(path.parent, line) for line in lines], chunksize=4)
    faults = [fault for found, _, _ in verdicts for fault in found]
    verdicts = [verdict for verdict in verdicts if verdict[2] > 0]
    off, apart, share, _ = np.max([worst for _, worst, _ in verdicts], axis=0)
    disputed = sum(worst[3] for _, worst, _ in verdicts)
    print("\n".join(faults))
    print(
        f"{len(verdicts)} stacks with {sum(n for _, _, n in verdicts)} bores, {len(faults)} faults; "
        f"rebuilt by OpenCascade: volume off by at most {off:.1e}, in one only {apart:.1e}, but in "
        f"{disputed:.0f} disputed ones, where lines along the bores agree with ours to {LINES:.0e}; "
        f"by manifold3d: off by at most {share:.2f} of what chords may miss"
    )
    sys.exit(1 if faults or len(verdicts) < 100 else 0)


if __name__ == "__main__":
    main()
