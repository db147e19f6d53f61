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

import manifold3d
import numpy as np
import trimesh

# Steps of the way that are tried.
STEPS = 60
# Relative error of volumes beside what chords explain: STL's single precision.
VOLUME_TOLERANCE = 1e-3


def load(path, known={}):
    if path not in known:
        mesh = trimesh.load_mesh(path)
        known[path] = manifold3d.Manifold(
            manifold3d.Mesh(
                np.asarray(mesh.vertices, np.float32), np.asarray(mesh.faces, np.uint32)
            )
        )
        if known[path].status() != manifold3d.Error.NoError:
            raise SystemExit(f"FAULT {path} is no manifold: {known[path].status()}")
    return known[path]


def thickness(common):
    """Mean thickness of each piece as if it were a film, the largest."""
    worst = 0.0
    for piece in common.decompose():
        area = piece.surface_area()
        if area > 0.0:
            worst = max(worst, 2.0 * piece.volume() / area)
    return worst


def main():
    path = Path(sys.argv[1])
    manifest = json.loads(path.read_text())
    film = manifest["contact"] + 2.0 * manifest["chord"]
    faults, ways, largest = 0, 0, 0.0

    def fault(question, text):
        nonlocal faults
        faults += 1
        print(f"FAULT {question['name']}: {text}")

    for question in manifest["questions"]:
        body = load(path.parent / question["body"])
        component = load(path.parent / question["component"])
        common = body ^ component
        volume = question["volume"]
        if question["pressed"] == 0.0:
            if volume is None:
                if thickness(common) > film:
                    fault(question, f"shares {common.volume():.5f} mm3, we say none")
            else:
                allowed = manifest["chord"] * common.surface_area() + VOLUME_TOLERANCE * volume
                off = abs(common.volume() - volume)
                largest = max(largest, off / volume)
                # Films count for the other library, not for us.
                if off > allowed + film * common.surface_area() / 2.0:
                    fault(question, f"shares {common.volume():.5f} mm3, we say {volume:.5f}")
        if question["blocked"] is None or question["pressed"] > 0.0:
            continue
        ways += 1
        way, travel = np.array(question["way"]), question["travel"]
        worst = 0.0
        for k in range(STEPS + 1):
            back = -way * travel * k / STEPS
            worst = max(worst, thickness(body ^ component.translate(back)))
            if worst > film and question["blocked"]:
                break
        if not question["blocked"] and worst > film:
            fault(question, f"is {worst:.4f} mm thick in the way, we say free")
        if question["blocked"] and worst == 0.0:
            fault(question, "is free at every step of its way, we say it is not")
    print(
        f"{len(manifest['questions'])} overlaps and {ways} ways looked at, {faults} faults; "
        f"volumes agree to {largest:.2e}"
    )
    sys.exit(1 if faults else 0)


main()
