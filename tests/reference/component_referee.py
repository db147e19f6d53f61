"""Judges overlaps of components and bodies by manifold3d's booleans.

usage: component_referee.py MANIFEST.json

The manifest has `contact` and `chord`, mm, and `questions`, each with

    body, component   binary STL files beside the manifest
    pressed           overlap on purpose, mm: nothing is asked then
    volume            our overlap, mm3; null for none
    way, travel       sense of the straight way in, and its length, mm; or null
    blocked           whether we say that the body is in that way; or null

Where we say none, the two may share films only: their mean thickness is at
most contact and both chords. Where we say some, volumes agree to what the
chords can make. On the way, sampled at steps: what we call free shares films
only at each; what we call blocked shares more somewhere, at a step or between
two. Prints one line per fault; exits with 1 if there is any.
"""

import json
import sys
from pathlib import Path

import numpy as np
from manifolds import Faults, film, load

# Steps of the way that are tried.
STEPS = 60
# Relative error of volumes beside what chords explain: STL's single precision.
VOLUME_TOLERANCE = 1e-3


def main():
    path = Path(sys.argv[1])
    manifest = json.loads(path.read_text())
    thin = manifest["contact"] + 2.0 * manifest["chord"]
    fault, ways, largest = Faults(), 0, 0.0

    for question in manifest["questions"]:
        body = load(path.parent / question["body"])
        component = load(path.parent / question["component"])
        common = body ^ component
        volume = question["volume"]
        if question["pressed"] == 0.0:
            if volume is None:
                if film(common) > thin:
                    fault(question, f"shares {common.volume():.5f} mm3, we say none")
            else:
                allowed = manifest["chord"] * common.surface_area() + VOLUME_TOLERANCE * volume
                off = abs(common.volume() - volume)
                largest = max(largest, off / volume)
                # Films count for the other library, not for us.
                if off > allowed + thin * common.surface_area() / 2.0:
                    fault(question, f"shares {common.volume():.5f} mm3, we say {volume:.5f}")
        if question["blocked"] is None or question["pressed"] > 0.0:
            continue
        ways += 1
        way, travel = np.array(question["way"]), question["travel"]
        worst = 0.0
        for k in range(STEPS + 1):
            back = -way * travel * k / STEPS
            worst = max(worst, film(body ^ component.translate(back)))
            if worst > thin and question["blocked"]:
                break
        if not question["blocked"] and worst > thin:
            fault(question, f"is {worst:.4f} mm thick in the way, we say free")
        if question["blocked"] and worst == 0.0:
            fault(question, "is free at every step of its way, we say it is not")
    print(
        f"{len(manifest['questions'])} overlaps and {ways} ways looked at, {fault.count} faults; "
        f"volumes agree to {largest:.2e}"
    )
    sys.exit(1 if fault.count else 0)


main()
