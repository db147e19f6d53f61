"""Judges laid-out plates by a 2D polygon library.

usage: plate_referee.py MANIFEST.json

The manifest is a list of plates:

    package  path of the 3MF file
    bed      [x, y], mm
    gap      least distance of two bodies, mm
    margin   least distance from the edge of the bed, mm
    items    what should lie there, as package_referee has it
    covered  area of the outlines as stated, mm2

The outline of a body is the union of its triangles seen from above. Prints a
line per plate and one per fault; exits with 1 if there is any fault.
"""

import numpy as np
import package_referee
import shapely
import trimesh

# Room for rounding in a distance, mm.
DISTANCE_TOLERANCE = 1e-4
# Of the area stated as covered, relative.
AREA_TOLERANCE = 2e-3


def cross(corners):
    a, b = corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]
    return a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]


def outline(mesh):
    corners = mesh.triangles[:, :, :2]
    flat = np.abs(cross(corners)) > 1e-12
    return shapely.union_all(shapely.polygons(corners[flat]))


def judge(plate, path):
    found = package_referee.check(path, plate["items"])
    scene = trimesh.load_scene(str(path), file_type="3mf")
    shapes = [outline(mesh) for mesh in scene.dump()]
    closest = float("inf")
    for i, one in enumerate(shapes):
        for other in shapes[:i]:
            closest = min(closest, shapely.distance(one, other))
    if closest < plate["gap"] - DISTANCE_TOLERANCE:
        found.append(f"two bodies are {closest:.4f} mm apart, not {plate['gap']}")
    low = np.min([s.bounds[:2] for s in shapes], axis=0)
    high = np.max([s.bounds[2:] for s in shapes], axis=0)
    edge = min(low.min(), (np.array(plate["bed"]) - high).min())
    if edge < plate["margin"] - DISTANCE_TOLERANCE:
        found.append(f"a body is {edge:.4f} mm from the edge, not {plate['margin']}")
    covered = sum(s.area for s in shapes)
    if not abs(plate["covered"] - covered) <= AREA_TOLERANCE * covered:
        found.append(f"{plate['covered']:.1f} mm2 stated as covered, {covered:.1f} found")
    return f"{path.name:28} {len(shapes):6} {closest:12.3f} {edge:9.3f} {covered:13.1f}", found


if __name__ == "__main__":
    heading = f"{'plate':28} {'bodies':>6} {'closest, mm':>12} {'edge, mm':>9} {'covered, mm2':>13}"
    package_referee.run("plates", judge, heading)
