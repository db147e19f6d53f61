"""Times of a ray engine's first hits, as JSON.

usage: rays.py MESHES.json

Prints, per mesh, the quartiles in milliseconds of building its tree and of the
first hits of all rays, on one thread, and the triangle of each hit (-1: none).
"""

import json
import sys
from pathlib import Path

import numpy as np
from embreex import rtcore_scene
from embreex.mesh_construction import TriangleMesh

from quartiles import quartiles


def scene(corners):
    made = rtcore_scene.EmbreeScene()
    # The scene does not keep its mesh alive.
    return made, TriangleMesh(made, corners)


def build(corners, ray):
    """The tree is built when the first ray is cast."""
    made, mesh = scene(corners)
    made.run(*ray)
    return made, mesh


def main():
    if len(sys.argv) != 2:
        sys.exit(__doc__)
    task = json.loads(Path(sys.argv[1]).read_text())
    result = []
    for case in task["meshes"]:
        corners, origins, ways = (
            np.array(case[key], dtype=np.float32) for key in ("corners", "from", "along"))
        ray = (origins[:1], ways[:1])
        made, mesh = build(corners, ray)
        result.append({
            "tree": quartiles(lambda: build(corners, ray), task["runs"]),
            "first": quartiles(lambda: made.run(origins, ways), task["runs"]),
            "hits": made.run(origins, ways).tolist(),
        })
        del mesh
    print(json.dumps(result))


if __name__ == "__main__":
    main()
