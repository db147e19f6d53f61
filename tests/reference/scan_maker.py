"""Makes scans of stones for the tests by manifold3d: exact solids, cut fine, with
noise, decimated, and turned at random.

usage: scan_maker.py REQUEST.json

The request has `seed` and `cases`. Writes stone0.stl and so on beside it, and
stones.json: for each its `name`, its `file`, and its long `axis` in the file where
its symmetry tells it, else null. Prints one line a stone.
"""

import json
import sys
from pathlib import Path

import numpy as np
import trimesh
from manifold3d import CrossSection, Manifold

# Longest edge before the noise, mm: that of a handheld scanner's mesh.
EDGE = 0.9
# Noise either way, mm, and how far decimation may leave the surface, mm; a stone
# takes one of each in turn.
NOISE = [0.0, 0.02, 0.04]
DECIMATED = [0.0, 0.03, 0.08]


def polygon(sides, radius):
    a = 2 * np.pi * np.arange(sides) / sides
    return CrossSection([np.c_[radius * np.cos(a), radius * np.sin(a)]])


def pointed_prism(rng):
    r, length = rng.uniform(3.5, 5.5), rng.uniform(18, 24)
    prism = Manifold.extrude(polygon(6, r), length)
    tip = Manifold.extrude(polygon(6, r), rng.uniform(5, 9), scale_top=(0.0, 0.0))
    return prism + tip.translate([0, 0, length]), True


def ellipsoid(rng):
    r = rng.uniform(4, 6)
    size = [r, r * rng.uniform(0.65, 1.0), rng.uniform(12, 16)]
    return Manifold.sphere(1.0, 64).scale(size), True


def twisted_prism(rng):
    side = polygon(int(rng.integers(4, 8)), rng.uniform(4, 6))
    length = rng.uniform(24, 32)
    return Manifold.extrude(side, length, 40, rng.uniform(20, 60)), True


def hull(rng):
    points = rng.normal(size=(30, 3))
    points /= np.linalg.norm(points, axis=1)[:, None]
    return Manifold.hull_points(points * [5.5, 4.5, rng.uniform(9, 13)]), False


def cluster(rng):
    r = rng.uniform(3, 4.5)
    long = Manifold.extrude(polygon(6, r), rng.uniform(22, 28))
    short = Manifold.extrude(polygon(6, rng.uniform(2, 0.8 * r)), rng.uniform(7, 9))
    return long + short.rotate([0, 90, 0]).translate([0, 0, rng.uniform(5, 8)]), False


SHAPES = [pointed_prism, ellipsoid, twisted_prism, hull, cluster]


def scanned(solid, noise, decimated, rng):
    """The solid as a scanner gives it."""
    fine = solid.refine_to_length(EDGE)
    if noise:
        fine = fine.warp_batch(lambda p: p + rng.uniform(-noise, noise, p.shape))
    return fine.simplify(decimated) if decimated else fine


def main():
    path = Path(sys.argv[1])
    request = json.loads(path.read_text())
    stones = []
    for k in range(request["cases"]):
        rng = np.random.default_rng([request["seed"], k])
        again, which = divmod(k, len(SHAPES))
        shape = SHAPES[which]
        solid, symmetric = shape(rng)
        noise, decimated = NOISE[(which + again) % 3], DECIMATED[(which + 2 * again + 1) % 3]
        scan = scanned(solid, noise, decimated, rng)
        turn = trimesh.transformations.random_rotation_matrix(rng.uniform(size=3))
        mesh = scan.to_mesh()
        points = mesh.vert_properties[:, :3] @ turn[:3, :3].T + rng.uniform(-40, 40, 3)
        file = f"stone{k}.stl"
        out = trimesh.Trimesh(points, mesh.tri_verts, process=False)
        out.export(path.parent / file)
        name = shape.__name__.replace("_", " ")
        name = f"{name}, noise {noise}, decimated by {decimated}"
        print(f"{name}: {len(out.faces)} triangles, {solid.num_tri()} before")
        axis = turn[:3, 2].tolist() if symmetric else None
        stones.append({"name": name, "file": file, "axis": axis})
    (path.parent / "stones.json").write_text(json.dumps(stones))


main()
