"""Times of a mesh library's thickness and overhangs, as JSON.

usage: meshes.py MESHES.json

Prints, per mesh, the quartiles in milliseconds of the largest inscribed balls
at given points, and of the areas that lean out beyond 45 degrees: both from
bare triangles, with whatever trees the library builds.
"""

import json
import sys
from math import pi, sin
from pathlib import Path

import numpy as np
import trimesh

from quartiles import quartiles


def thickness(mesh, points, normals):
    fresh = trimesh.Trimesh(mesh.vertices, mesh.faces, process=False)
    return trimesh.proximity.thickness(fresh, points, normals=normals, method="max_sphere")


def overhang(mesh):
    fresh = trimesh.Trimesh(mesh.vertices, mesh.faces, process=False)
    under = fresh.face_normals[:, 2] < -sin(pi / 4)
    pairs = fresh.face_adjacency
    pairs = pairs[under[pairs].all(axis=1)]
    groups = trimesh.graph.connected_components(pairs, nodes=np.nonzero(under)[0])
    return [fresh.area_faces[group].sum() for group in groups]


def main():
    if len(sys.argv) != 2:
        sys.exit(__doc__)
    task = json.loads(Path(sys.argv[1]).read_text())
    result = []
    for case in task["meshes"]:
        mesh = trimesh.Trimesh(case["vertices"], case["triangles"], process=False)
        points = np.array(case["points"])
        normals = -np.array(case["inwards"])
        result.append({
            "thickness": quartiles(lambda: thickness(mesh, points, normals), task["runs"]),
            "overhang": quartiles(lambda: overhang(mesh), task["runs"]),
        })
    print(json.dumps(result))


if __name__ == "__main__":
    main()
