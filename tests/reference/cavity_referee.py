"""Judges the room that a part has in a chassis, by manifold3d's least distances.

usage: cavity_referee.py MANIFEST.json

The manifest has `chord`, mm, of the part's mesh, and `questions`, each with

    part, chassis   binary STL files beside the manifest
    clearance       that the part keeps from the chassis all around, mm; 0 or less
                    for one that is pressed in
    way             sense of its way out, a unit vector
    round           binary STL file of the same part, made round; of one that
                    follows its cavity only
    outside         radius of the round part, mm
    reach           radius of the bore around the chassis, mm
    lacks           what its outside lacks of the cavity beyond its clearance, mm

Where it sits, and at steps of its way out, the part is nowhere nearer to the
chassis than its clearance, less the chord. One that follows its cavity takes nothing
of the round part away but for its chamfers; along rays from the axis on which the round part has its
outside and the chassis is further off than that, most end as near to the chassis as
is stated. Prints one line per fault; exits with 1 if there is any.
"""

import json
import sys
from pathlib import Path

import numpy as np
from manifolds import load

# Steps of the way out, and its length, mm.
STEPS, FAR = 12, 30.0
# Of single precision and of diameters rounded down, mm.
NOISE = 2e-3
# Heights and angles at which rays leave the axis.
LEVELS, RAYS = 7, 240
# Ends in which chamfers may be steps, mm.
CHAMFERS = 0.6
# Walls lean away from the rays: their gaps are wider along them.
SLANTED = 1.5
# Share of the rays on which a cavity is followed: not beside openings.
MOST = 0.7


def crossings(solid, z):
    """Distances at which each ray from the axis crosses a solid's section."""
    found = [[] for _ in range(RAYS)]
    for polygon in solid.slice(z).to_polygons():
        a = np.array(polygon)
        d = np.roll(a, -1, axis=0) - a
        for k in range(RAYS):
            turn = 2.0 * np.pi * (k + 0.37) / RAYS
            ray = np.array([np.cos(turn), np.sin(turn)])
            det = ray[0] * d[:, 1] - ray[1] * d[:, 0]
            with np.errstate(divide="ignore", invalid="ignore"):
                t = (a[:, 0] * d[:, 1] - a[:, 1] * d[:, 0]) / det
                s = (a[:, 0] * ray[1] - a[:, 1] * ray[0]) / det
            found[k].extend(t[(t > 0.0) & (s >= 0.0) & (s < 1.0)])
    return found


def follows(question, part, chassis, folder):
    """Rays on which a part follows its cavity, and all on which it could."""
    whole = load(folder / question["round"])
    low, high = part.bounding_box()[2], part.bounding_box()[5]
    lost = whole.trim_by_plane((0.0, 0.0, 1.0), low + CHAMFERS) - part
    lost = lost.trim_by_plane((0.0, 0.0, -1.0), CHAMFERS - high).volume()
    outside, near = question["outside"], question["clearance"] + question["lacks"]
    followed = wider = 0
    for k in range(LEVELS):
        z = low + (high - low) * (k + 0.5) / LEVELS
        rays = zip(crossings(whole, z), crossings(part, z), crossings(chassis, z))
        for before, after, walls in rays:
            if not before or max(before) < outside - 0.02:
                continue
            wall = min([w for w in walls if w > outside] + [question["reach"]])
            if wall - outside > 2.0 * near:
                wider += 1
                ends = [r for r in after if r < wall]
                followed += bool(ends) and wall - max(ends) <= SLANTED * near
    return lost, followed, wider


def main():
    path = Path(sys.argv[1])
    manifest = json.loads(path.read_text())
    faults, tightest = 0, np.inf
    followed = wider = 0
    for question in manifest["questions"]:
        part = load(path.parent / question["part"])
        chassis = load(path.parent / question["chassis"])
        wanted = question["clearance"]
        for k in range(STEPS + 1):
            moved = part.translate(np.array(question["way"]) * FAR * k / STEPS)
            if wanted > 0.0:
                gap = chassis.min_gap(moved, 5.0)
                tightest = min(tightest, gap - wanted)
                bad = gap < wanted - manifest["chord"] - NOISE
            else:
                common = chassis ^ moved
                gap = -2.0 * common.volume() / max(common.surface_area(), 1e-9)
                bad = gap < wanted - manifest["chord"] - NOISE
            if bad:
                faults += 1
                print(f"FAULT {question['name']}: step {k}: gap {gap:.4f}, wanted {wanted:.4f}")
                break
        if "round" in question:
            lost, *rays = follows(question, part, chassis, path.parent)
            if lost > 0.1:
                faults += 1
                print(f"FAULT {question['name']}: {lost:.3f} mm3 of the round part are gone")
            followed, wider = followed + rays[0], wider + rays[1]
    if wider and followed < MOST * wider:
        faults += 1
        print(f"FAULT: only {followed} of {wider} rays end where the cavity does")
    print(f"{followed} of {wider} rays follow the cavity")
    print(
        f"{len(manifest['questions'])} parts, {faults} faults; the tightest is {tightest:+.4f} mm "
        "from its clearance"
    )
    sys.exit(1 if faults else 0)


main()
