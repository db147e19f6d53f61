"""The largest ball inside a mesh that touches it at a point: a mesh library's,
ours, and the arbiter's word on both.

Balls that touch at one point with centres along one line lie in each other, so
the largest empty one is found by two distances from its centre: it is empty,
and a slightly larger one is not. The arbiter measures them over all triangles,
without a tree and without either side's code.

    python thickness.py cases.json
"""

import json
import sys
import time

import numpy as np
import trimesh

# Agreement that is asked for, relative.
WITHIN = 0.01
# The arbiter's slack for an empty ball, relative to its radius: float noise of
# coordinates of some ten mm around balls of some hundredths.
EMPTY = 1e-10
# A ball of the library counts as inscribed if it cuts the surface by no more
# than this, mm. Its iteration may end with a ball that cuts by ten times as much
# (its `tol.planar`), or when a step gains less than a millionth of the mesh's
# diagonal: where facets meet at a small angle, such a ball may be many times too
# large.
INSCRIBED = 1e-6
# Least share of its balls that must be inscribed, and of all that must agree, for
# the comparison to mean anything; least factor of time.
SHARE = 0.5
AGREE = 0.97
FASTER = 30.0


def along(p, a, b):
    """Points of the segments a-b nearest to p."""
    d = b - a
    square = (d * d).sum(1)
    t = ((p - a) * d).sum(1) / np.where(square > 0, square, 1)
    return a + d * np.clip(t, 0, 1)[:, None]


def distance(p, triangles, boxes, within):
    """Distance of p from the triangles, or `within` if that is less."""
    off = np.maximum(np.maximum(boxes[0] - p, p - boxes[1]), 0)
    near = triangles[(off * off).sum(1) <= within * within]
    if not len(near):
        return within
    a, b, c = near[:, 0], near[:, 1], near[:, 2]
    best = np.full(len(near), np.inf)
    for u, v in ((a, b), (b, c), (c, a)):
        best = np.minimum(best, np.linalg.norm(along(p, u, v) - p, axis=1))
    n = np.cross(b - a, c - a)
    long = np.linalg.norm(n, axis=1)
    n /= np.where(long > 0, long, 1)[:, None]
    high = ((p - a) * n).sum(1)
    foot = p - n * high[:, None]
    inside = long > 0
    for u, v in ((a, b), (b, c), (c, a)):
        inside &= (np.cross(v - u, foot - u) * n).sum(1) >= 0
    best = np.where(inside, np.abs(high), best)
    return min(best.min(), within)


class Arbiter:
    """How much of a ball's radius is beyond the surface."""

    def __init__(self, triangles, points, normals):
        self.triangles, self.points, self.normals = triangles, points, normals
        self.boxes = triangles.min(1), triangles.max(1)

    def cut(self, radii):
        out = np.empty(len(radii))
        for i, (p, n, r) in enumerate(zip(self.points, self.normals, radii)):
            out[i] = 1 - distance(p - n * r, self.triangles, self.boxes, r) / r
        return out

    def faults(self, ours):
        """Where ours are not the largest balls."""
        cut, larger = self.cut(0.5 * ours), self.cut(0.5 * ours * (1 + WITHIN))
        print(
            f"  ours: {np.sum(cut <= EMPTY)} of {len(ours)} balls are empty, the deepest cut is"
            f" {cut.max():.1e} of the radius; {np.sum(larger > EMPTY)} cut if {WITHIN:.0%} larger"
        )
        found = []
        if (cut > EMPTY).any():
            found.append("a ball of ours cuts the surface")
        if (larger <= EMPTY).any():
            found.append("a larger ball than ours would fit")
        return found


def judge(case):
    mesh = trimesh.Trimesh(case["vertices"], case["triangles"], process=False)
    points, normals, ours = (np.array(case[k], float) for k in ("points", "normals", "ours"))
    start = time.process_time()
    theirs = trimesh.proximity.thickness(mesh, points, normals=normals, method="max_sphere")
    seconds = time.process_time() - start
    factor = seconds / case["seconds"]

    print(f"{case['name']}: {len(mesh.faces)} triangles, {len(points)} points")
    print(f"  {seconds:.2f} s against {case['seconds']:.4f} s: {factor:.0f} times faster")
    arbiter = Arbiter(np.asarray(mesh.triangles), points, normals)
    faults = arbiter.faults(ours)
    cut = arbiter.cut(0.5 * theirs)
    inscribed = cut * 0.5 * theirs <= INSCRIBED
    off = np.abs(theirs / ours - 1)
    apart = off > WITHIN
    print(
        f"  theirs: {np.mean(inscribed):.2%} are inscribed; of these none is further from ours"
        f" than {off[inscribed].max():.1e}"
    )
    print(
        f"  all points: {np.mean(~apart):.2%} within {WITHIN:.0%}; the largest difference is"
        f" {off.max():.2f}; theirs are larger at {np.sum(apart & (theirs > ours))} of the"
        f" {np.sum(apart)} others"
    )
    if apart.any():
        mm = cut[apart] * 0.5 * theirs[apart]
        print(f"  where their balls cut the surface by {mm.min():.1e} to {mm.max():.1e} mm")
    if np.mean(inscribed) < SHARE:
        faults.append("too few balls to compare with")
    if np.mean(~apart) < AGREE:
        faults.append("too many balls differ")
    if (apart & inscribed).any():
        faults.append("inscribed balls of both differ")
    if (apart & (theirs < ours)).any():
        faults.append("a ball of theirs is smaller")
    if factor < FASTER:
        faults.append(f"not {FASTER:.0f} times faster")
    return faults, arbiter


def main():
    with open(sys.argv[1]) as file:
        cases = json.load(file)
    bad = False
    for case in cases:
        faults, arbiter = judge(case)
        # The arbiter is worth nothing if it lets wrong answers pass.
        for wrong in (1 + 1e-3, 1 - 2 * WITHIN) if case is cases[0] else ():
            print(f"  planted, {wrong} times ours:")
            if not arbiter.faults(np.array(case["ours"]) * wrong):
                faults.append("wrong answers pass")
        for fault in faults:
            print(f"FAULT {case['name']}: {fault}")
            bad = True
    sys.exit(bad)


if __name__ == "__main__":
    main()
