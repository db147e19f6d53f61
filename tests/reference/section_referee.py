"""Judges operations on regions by shapely and by plain distances.

usage: section_referee.py CASES.jsonl

Every line is a case: regions `a` and `b` (see exact.py), what borewright made
of them (`union`, `difference`, `intersection`, `xor`, and `moved`: `a` offset
by `by`) and the area of each result (`areas`). Arcs are cut into chords, so the
symmetric difference between shapely's result and ours may be as large as what
the chords miss; without arcs they must agree to 1e-9.

Prints a summary and one line per fault; exits with 1 if there is any fault.
"""

import json
import math
import sys
from multiprocessing import Pool

import numpy as np
import shapely

from exact import along, band, distance, polygon

# Chords of arcs, radians.
STEP = 2 * math.pi / 512
# Areas agree within this times the larger of the two regions' boundaries, mm.
NOISE = 1e-9
# Grid on which regions are compared, mm.
GRID = 1e-9
# Points of an offset boundary are this near to their distance, mm: twice the
# distance within which borewright takes two points for one.
ON_OFFSET = 2e-8

OPERATIONS = {
    "union": shapely.union,
    "difference": shapely.difference,
    "intersection": shapely.intersection,
    "xor": shapely.symmetric_difference,
}


def perimeter(region):
    return sum(
        math.dist(p[0:2], p[2:4]) * (1 if len(p) == 4 else math.pi / 2) for loop in region for p in loop
    )


def has_arcs(*regions):
    return any(len(p) > 4 for r in regions for loop in r for p in loop)


def judge_booleans(case, shapes):
    (a, missed_a), (b, missed_b) = shapes["a"], shapes["b"]
    exact = not has_arcs(case["a"], case["b"])
    noise = NOISE * max(perimeter(case["a"]) + perimeter(case["b"]), 1.0)
    faults, worst = [], [0.0, 0.0]
    for name, operation in OPERATIONS.items():
        expected = operation(a, b)
        ours, missed = polygon(case[name], STEP)
        off = abs(expected.area - case["areas"][name])
        # In floating point GEOS itself can go wrong on boundaries 1e-15 mm apart.
        pair = (shapely.set_precision(shape, GRID) for shape in (expected, ours))
        apart = shapely.symmetric_difference(*pair).area
        allowed = noise + missed_a + missed_b
        if off > allowed:
            faults.append(f"{name}: area differs by {off:.3g} mm2, {allowed:.3g} allowed")
        # Boundaries that run together within a vertex leave slivers of that width.
        between = allowed + missed + 2e-8 * perimeter(case[name])
        if apart > between:
            faults.append(f"{name}: {apart:.3g} mm2 in one only, {between:.3g} allowed")
        index = 0 if exact else 1
        worst[index] = max(worst[index], off if exact else off / allowed)
    return faults, worst


def judge_offset(case, shapes):
    by, moved = case["by"], case["moved"]
    shape, _ = shapes["a"]
    faults = []
    largest = max((p[6] for loop in case["a"] for p in loop if len(p) > 4), default=0.0)
    sag = (largest + abs(by)) * (1 - math.cos(STEP / 2))
    grown = [band(case["a"], abs(by) + step, STEP) for step in (-10 * sag, 10 * sag)]
    if by > 0:
        inner, outer = (shape.union(g) for g, _ in grown)
    else:
        outer, inner = (shape.difference(g) for g, _ in grown)
    assert 9 * sag > grown[1][1]
    ours, _ = polygon(moved, STEP)
    noise = 1e-6 * max(perimeter(moved), 1.0)
    for what, area in [
        ("is missing", inner.difference(ours).area),
        ("is too much", ours.difference(outer).area),
    ]:
        if area > noise:
            faults.append(f"offset by {by}: {area:.3g} mm2 {what}, {noise:.3g} allowed")
    # The boundary itself, exactly: as far from the old one as asked for, and
    # on the right side of it.
    if moved:
        rng = np.random.default_rng(case["seed"])
        pieces = [p for loop in moved for p in loop]
        points = np.array([along(p, t) for p in pieces for t in rng.uniform(0.05, 0.95, 3)])
        off = np.abs(distance(points, case["a"]) - abs(by))
        if off.max() > ON_OFFSET:
            faults.append(f"offset by {by}: a point is {off.max():.3g} mm from its distance")
        inside = shapely.contains_xy(shape, points[:, 0], points[:, 1])
        if inside.any() if by > 0 else not inside.all():
            faults.append(f"offset by {by}: a point is on the wrong side")
    return faults


def judge(line):
    case = json.loads(line)
    shapes = {name: polygon(case[name], STEP) for name in ("a", "b")}
    faults, worst = judge_booleans(case, shapes)
    faults += judge_offset(case, shapes)
    return [f"FAULT case {case['seed']}: {fault}" for fault in faults], worst


def main():
    if len(sys.argv) != 2:
        sys.exit(__doc__)
    with open(sys.argv[1]) as lines, Pool(2) as pool:
        verdicts = pool.map(judge, lines, chunksize=50)
    faults = [fault for found, _ in verdicts for fault in found]
    exact, chords = (max((w[i] for _, w in verdicts), default=0.0) for i in (0, 1))
    print("\n".join(faults))
    print(
        f"{len(verdicts)} cases, {5 * len(verdicts)} operations, {len(faults)} faults; areas off by "
        f"at most {exact:.1e} mm2 without arcs and {chords:.2f} of what chords miss with arcs"
    )
    sys.exit(1 if faults or not verdicts else 0)


if __name__ == "__main__":
    main()
