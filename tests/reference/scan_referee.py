"""Judges seats of scanned stones by manifold3d, and surveys by trimesh.

usage: scan_referee.py MANIFEST.json

The manifest has `chord`, mm, and `cases`, each with

    stone, cradle   binary STL files beside the manifest
    clearance       that the seat keeps, mm
    numbers         the cradle's report: where the stone's middle and axis lie
                    in the file, how far it is turned, where it begins, where it
                    comes to rest
    axis            the stone's known axis in the file, or null
    survey          what the survey of the cradle found, or null

The stone is laid from the report's numbers alone. Where it lies and on its way up
the least distance of the two meshes is the clearance to 0.02 mm, and they have no
volume in common. The places where it rests are on the cradle and carry all of it.
Cylinders and boxes of the survey have no point inside. Prints one line a case;
exits with 1 if there is a fault.
"""

import json
import sys
from pathlib import Path

import numpy as np
import trimesh
from manifold3d import Error, Manifold, Mesh

# Heights above its place that are tried, mm.
WAY = [0.0, 0.15, 0.5, 1.5, 3.0, 6.0, 12.0, 25.0]
# By how much the clearance may be missed, mm.
TOLERANCE = 0.02
# Most that a known axis may be off, degrees.
AXIS = 0.5
# Inside of what is said to fit, mm.
SKIN = 0.003
# Most distance of a place of rest from the cradle, mm.
ON_WALL = 0.02
# Volume in common that is none, mm3.
NONE = 1e-6


def laid(mesh, n):
    """The stone where the report says that it lies."""
    z = np.array([n["scan_axis_x"], n["scan_axis_y"], n["scan_axis_z"]])
    up = np.array([0.0, 1.0, 0.0]) if abs(z[1]) < 0.9 else np.array([0.0, 0.0, 1.0])
    y = up - z * up.dot(z)
    y /= np.linalg.norm(y)
    x = np.cross(y, z)
    middle = np.array([n["scan_middle_x"], n["scan_middle_y"], n["scan_middle_z"]])
    p = (mesh.vertices - middle) @ np.array([x, y, z]).T
    a = np.radians(n["scan_turn"])
    turn = np.array([[np.cos(a), -np.sin(a), 0], [np.sin(a), np.cos(a), 0], [0, 0, 1]])
    p = p @ turn.T
    p[:, 2] += n["stone_from"] - p[:, 2].min()
    return trimesh.Trimesh(p, mesh.faces, process=False)


def solid(mesh):
    """The same mesh for another library."""
    out = Manifold(Mesh(mesh.vertices.astype(np.float32), mesh.faces.astype(np.uint32)))
    assert out.status() == Error.NoError, out.status()
    return out


def rests(cradle, n):
    """How far the places of rest are from the cradle at most, and their share."""
    places = range(1, int(n.get("rest_places", 0)) + 1)
    points = np.array([[n[f"rest_{k}_{c}"] for c in "xyz"] for k in places])
    if not len(points):
        return np.inf, 0.0
    off = trimesh.proximity.closest_point(cradle, points)[1].max()
    return off, sum(n[f"rest_{k}_share"] for k in places)


def around(cavity):
    """Points on the cylinder and on the box of a cavity."""
    z = np.linspace(cavity["from"] + SKIN, cavity["to"] - SKIN, 9)
    out = []
    if cavity["cylinder"]:
        c = cavity["cylinder"]
        a = np.linspace(0, 2 * np.pi, 48, endpoint=False)
        r = c["diameter"] / 2 - SKIN
        ring = np.c_[c["x"] + r * np.cos(a), c["y"] + r * np.sin(a)]
        out.append(ring)
    if cavity["box"]:
        b = cavity["box"]
        t = np.linspace(-1, 1, 13)
        one = np.ones_like(t)
        edge = np.concatenate([np.c_[t, one], np.c_[t, -one], np.c_[one, t], np.c_[-one, t]])
        edge = edge * [b["width"] / 2 - SKIN, b["depth"] / 2 - SKIN]
        a = np.radians(b["turn"])
        out.append(edge @ [[np.cos(a), np.sin(a)], [-np.sin(a), np.cos(a)]] + [b["x"], b["y"]])
    flat = np.concatenate(out) if out else np.zeros((0, 2))
    return np.concatenate([np.c_[flat, np.full(len(flat), h)] for h in z])


def main():
    path = Path(sys.argv[1])
    manifest = json.loads(path.read_text())
    faults = 0
    for case in manifest["cases"]:
        n = case["numbers"]
        stone = laid(trimesh.load_mesh(path.parent / case["stone"]), n)
        cradle = trimesh.load_mesh(path.parent / case["cradle"])
        body, moving = solid(cradle), solid(stone)
        least, inside = np.inf, 0.0
        for up in WAY:
            there = moving.translate([0, up, 0])
            least = min(least, body.min_gap(there, 2 * case["clearance"]))
            inside = max(inside, (body ^ there).volume())
        off = 0.0
        if case["axis"]:
            known = np.array(case["axis"])
            found = np.array([n["scan_axis_x"], n["scan_axis_y"], n["scan_axis_z"]])
            off = np.degrees(np.arctan2(np.linalg.norm(np.cross(found, known)), abs(found @ known)))
        on_wall, carried = rests(cradle, n)
        cavities = case["survey"]["cavities"] if case["survey"] else []
        tried = [around(c) for c in cavities]
        hit = sum(int(cradle.contains(t).sum()) for t in tried if len(t))
        bad = inside > NONE or least < case["clearance"] - TOLERANCE or off > AXIS or hit > 0
        bad = bad or on_wall > ON_WALL or abs(carried - 100) > 0.1
        bad = bad or (case["survey"] is not None and not cavities)
        faults += bad
        print(
            f"{'FAULT' if bad else 'ok'} {case['name']}: least distance {least:.3f} mm of "
            f"{case['clearance']:.2f}, {inside:.1e} mm3 inside, axis off by {off:.3f} deg, "
            f"{int(n.get('rest_places', 0))} places of rest {on_wall:.4f} mm off at most carry "
            f"{carried:.1f} %, {len(cavities)} cavities with {hit} points hit"
        )
    sys.exit(1 if faults else 0)


main()
