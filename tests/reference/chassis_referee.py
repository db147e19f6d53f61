"""Judges what of a chassis lies in a part and in its way, by manifold3d's booleans.

usage: chassis_referee.py MANIFEST.json

The manifest has `contact` and `chord` (of the part's mesh), mm, and `questions`,
each with

    part, chassis          binary STL files beside the manifest
    seated, along, above   what we say: volume with its bound, low, high, depth; or
                           null for none

Where it sits, volumes agree within our bound and what the chord of the part's mesh
can make, and boxes within `BOX`; where we say none, both share films only. On the
ways, the part is stepped: what is in the way, the swept steps less the part,
may not exceed ours, and comes near to it. Prints one line per fault; exits with 1
if there is any.
"""

import json
import sys
from pathlib import Path

import manifold3d
import numpy as np
from manifolds import Faults, film, load

# Steps of a way, mm.
STEP = 0.8
# Relative error of volumes beside what bounds and chords explain: single precision.
VOLUME_TOLERANCE = 2e-5
# Corners of boxes, mm.
BOX = 0.03
# Share of our volume in the way that the steps must find, and what they may miss
# besides, mm3.
FOUND = 0.5
MISSED = 2.0
# What is less is noise of faces that slide on each other, mm3.
SPECK = 1e-3


def without_films(solid, thin):
    """What is thicker than a film: faces that slide on each other leave some."""
    pieces = [p for p in solid.decompose() if film(p) > thin and p.volume() > SPECK]
    return manifold3d.Manifold.compose(pieces)


def main():
    path = Path(sys.argv[1])
    manifest = json.loads(path.read_text())
    chord = manifest["chord"]
    thin = manifest["contact"] + 2.0 * chord
    fault, worst_volume, worst_box, share = Faults(), 0.0, 0.0, 0.0

    for question in manifest["questions"]:
        part = load(path.parent / question["part"])
        chassis = load(path.parent / question["chassis"])
        common = part ^ chassis
        ours = question["seated"]
        if ours is None:
            if film(common) > thin:
                fault(question, f"shares {common.volume():.4f} mm3, we say none")
        else:
            # Films that are contact for us, and chords.
            allowed = (
                ours["bound"]
                + chord * common.surface_area()
                + VOLUME_TOLERANCE * common.volume()
            )
            pieces = common.decompose()
            films = sum(p.volume() for p in pieces if film(p) <= thin)
            off = abs(common.volume() - ours["volume"])
            worst_volume = max(worst_volume, off / max(common.volume(), 1e-9))
            share = max(share, (off - films) / allowed)
            if off > allowed + films:
                fault(
                    question,
                    f"shares {common.volume():.5f} mm3, we say {ours['volume']:.5f} to within "
                    f"{ours['bound']:.5f}",
                )
            if films == 0.0 and not common.is_empty():
                box = np.array(common.bounding_box())
                off = np.abs(box - np.array(ours["low"] + ours["high"])).max()
                worst_box = max(worst_box, off)
                if off > BOX:
                    fault(question, f"box {box}, we say {ours['low']} {ours['high']}")
        low, high = np.array(chassis.bounding_box()).reshape(2, 3)
        bottom, top = np.array(part.bounding_box()).reshape(2, 3)
        rest = chassis - part
        for key, way, far in (
            ("along", [0, 0, -1], top[2] - low[2]),
            ("above", [0, 1, 0], high[1] - bottom[1]),
        ):
            count = int(np.ceil(max(far, 0.0) / STEP))
            steps = [part.translate(np.array(way) * STEP * k) for k in range(1, count + 1)]
            passed = manifold3d.Manifold.batch_boolean(steps, manifold3d.OpType.Add)
            stuck = rest ^ passed if steps else manifold3d.Manifold()
            stuck = without_films(stuck, thin)
            ours = question[key]
            if ours is None:
                if not stuck.is_empty():
                    fault(question, f"{key}: {stuck.volume():.4f} mm3 in the way, we say none")
                continue
            most = ours["volume"] + ours["bound"] + chord * stuck.surface_area()
            least = FOUND * (ours["volume"] - ours["bound"]) - MISSED
            if stuck.volume() > most * (1.0 + VOLUME_TOLERANCE) or stuck.volume() < least:
                fault(question, f"{key}: {stuck.volume():.4f} mm3, we say {ours['volume']:.4f}")
            corners = np.array([ours["low"], ours["high"]]) + [[-BOX], [BOX]]
            box = manifold3d.Manifold.cube(corners[1] - corners[0]).translate(corners[0])
            beside = without_films(stuck - box, thin)
            if not beside.is_empty():
                fault(question, f"{key}: {beside.volume():.4f} mm3 outside of our box")
    print(
        f"{len(manifest['questions'])} parts and chassis, {fault.count} faults; volumes agree to "
        f"{worst_volume:.1e}, at most {share:.2f} of bound and chord is used; boxes to "
        f"{worst_box:.4f} mm"
    )
    sys.exit(1 if fault.count else 0)


main()
