"""Thickness of a mesh by trimesh's largest inscribed spheres.

usage: thickness.py MESH.stl POINTS.json

POINTS.json holds a list of [x, y, z, nx, ny, nz]: points on the mesh with the
outward normals there. Prints one JSON object: the diameters in the order of
the points, the seconds that they took (without loading, with the search trees
that trimesh builds on first use built beforehand), and the number of triangles.
"""

import json
import sys
import time

import numpy as np
import trimesh


def main() -> None:
    mesh = trimesh.load_mesh(sys.argv[1])
    with open(sys.argv[2]) as file:
        rows = np.array(json.load(file))
    points, normals = rows[:, :3], rows[:, 3:]
    # Builds what is cached in the mesh.
    trimesh.proximity.thickness(mesh, points[:1], normals=normals[:1], method="max_sphere")
    start = time.perf_counter()
    diameters = trimesh.proximity.thickness(
        mesh, points, normals=normals, method="max_sphere"
    )
    seconds = time.perf_counter() - start
    report = {
        "diameters": [float(d) if np.isfinite(d) else None for d in diameters],
        "seconds": seconds,
        "triangles": len(mesh.faces),
    }
    json.dump(report, sys.stdout)


if __name__ == "__main__":
    main()
