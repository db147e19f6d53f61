"""Judges the room that a part has in a chassis, by manifold3d's least distances.

usage: cavity_referee.py MANIFEST.json

The manifest has `chord`, mm, of the part's mesh, and `questions`, each with

    part, chassis   binary STL files beside the manifest
    clearance       that the part keeps from the chassis all around, mm; 0 or less
                    for one that is pressed in
    way             sense of its way out, a unit vector

Where it sits, and at steps of its way out, the part is nowhere nearer to the
chassis than its clearance, less the chord. Prints one line per fault; exits with 1
if there is any.
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


def main():
    path = Path(sys.argv[1])
    manifest = json.loads(path.read_text())
    faults, tightest = 0, np.inf
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
    print(
        f"{len(manifest['questions'])} parts, {faults} faults; the tightest is {tightest:+.4f} mm "
        "from its clearance"
    )
    sys.exit(1 if faults else 0)


main()
