"""Mesh files as solids of manifold3d, and how thick what they share is."""

import functools

import manifold3d
import numpy as np
import trimesh


@functools.cache
def load(path):
    """The solid of a mesh file; ends the program if it is none."""
    mesh = trimesh.load_mesh(path)
    solid = manifold3d.Manifold(
        manifold3d.Mesh(np.asarray(mesh.vertices, np.float32), np.asarray(mesh.faces, np.uint32))
    )
    if solid.status() != manifold3d.Error.NoError:
        raise SystemExit(f"FAULT {path} is no manifold: {solid.status()}")
    return solid


def film(common):
    """Mean thickness of each piece as if it were a film, the largest."""
    worst = 0.0
    for piece in common.decompose():
        area = piece.surface_area()
        if area > 0.0:
            worst = max(worst, 2.0 * piece.volume() / area)
    return worst


class Faults:
    """Prints a fault of a question as it is found, and counts them."""

    count = 0

    def __call__(self, question, text):
        self.count += 1
        print(f"FAULT {question['name']}: {text}")
