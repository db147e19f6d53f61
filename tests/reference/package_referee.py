"""Judges 3MF packages by lib3mf, the 3MF Consortium's own reader, in its
strict mode, and by trimesh.

`check(path, items)` gives faults of a package; `items` are what its build
should hold, in order: {"name", "volume" (of the mesh, mm3)} and, if it is
known, "bbox" as placed, mm. As a program:

    package_referee.py MANIFEST.json

The manifest is a list of {"package": PATH, "items": [...], "metadata":
{name: text}, "thumbnail": bool}; exits with 1 if there is any fault.
"""

import json
import sys
import zipfile
from pathlib import Path

import lib3mf
import numpy as np
import trimesh
from lib3mf import get_wrapper

# Of a mesh's volume, relative: coordinates have six decimals.
VOLUME_TOLERANCE = 1e-6
# Of a placed box, mm.
BOX_TOLERANCE = 1e-5


def model_of(path, faults):
    model = get_wrapper().CreateModel()
    reader = model.QueryReader("3mf")
    reader.SetStrictModeActive(True)
    try:
        reader.ReadFromFile(str(path))
    except Exception as error:  # lib3mf has no narrower class
        faults.append(f"lib3mf cannot read it: {error}")
        return None
    for i in range(reader.GetWarningCount()):
        faults.append(f"lib3mf warns: {reader.GetWarning(i)}")
    return model


def walk(iterator, get):
    while iterator.MoveNext():
        yield getattr(iterator, get)()


def check(path, items, metadata=None, thumbnail=None):
    faults = []
    model = model_of(path, faults)
    if model is None:
        return faults
    if model.GetUnit() != lib3mf.ModelUnit.MilliMeter:
        faults.append(f"unit {model.GetUnit()}, not millimetre")
    for mesh in walk(model.GetMeshObjects(), "GetCurrentMeshObject"):
        if not mesh.IsManifoldAndOriented():
            faults.append(f"mesh {mesh.GetName()!r} is not manifold and oriented")
    built = list(walk(model.GetBuildItems(), "GetCurrent"))
    names = [item.GetObjectResource().GetName() for item in built]
    wanted = [item["name"] for item in items]
    if names != wanted:
        faults.append(f"the build holds {names}, not {wanted}")
    found = {}
    group = model.GetMetaDataGroup()
    for i in range(group.GetMetaDataCount()):
        entry = group.GetMetaData(i)
        found[entry.GetName()] = entry.GetValue()
    for name, text in (metadata or {}).items():
        if found.get(name) != text:
            faults.append(f"metadata {name} is {found.get(name)!r}, not {text!r}")
    if thumbnail is not None:
        names = zipfile.ZipFile(path).namelist()
        if thumbnail != ("Metadata/thumbnail.png" in names):
            faults.append(f"thumbnail: {not thumbnail}, but should be {thumbnail}")

    scene = trimesh.load_scene(str(path), file_type="3mf")
    placed = scene.dump()
    if len(placed) != len(items):
        return faults + [f"trimesh finds {len(placed)} bodies, not {len(items)}"]
    # The scene is in no order that is promised: match by box, else by volume.
    for item in items:
        def distance(mesh):
            gap = abs(mesh.volume - item["volume"]) / item["volume"]
            if "bbox" in item:
                gap += np.abs(mesh.bounds - np.array(item["bbox"])).max()
            return gap

        best = min(placed, key=distance)
        placed.remove(best)
        if not best.is_watertight:
            faults.append(f"{item['name']} is not watertight to trimesh")
        if not abs(best.volume - item["volume"]) <= VOLUME_TOLERANCE * item["volume"]:
            faults.append(f"{item['name']}: volume {best.volume:.6f}, not {item['volume']:.6f}")
        if "bbox" in item:
            gap = np.abs(best.bounds - np.array(item["bbox"])).max()
            if not gap <= BOX_TOLERANCE:
                faults.append(f"{item['name']}: its box is off by {gap:.3g} mm")
        if best.bounds.min() < -BOX_TOLERANCE:
            faults.append(f"{item['name']} reaches below zero: {best.bounds.min():.6f}")
    return faults


def run(kind, judge, heading=None):
    """Judges all entries of the manifest named on the command line: `judge`
    takes an entry and its package's path, and gives a line to print, if any,
    and the faults."""
    if len(sys.argv) != 2:
        sys.exit(__doc__)
    manifest = Path(sys.argv[1])
    entries, faults = json.loads(manifest.read_text()), 0
    if heading:
        print(heading)
    for entry in entries:
        path = manifest.parent / entry["package"]
        line, found = judge(entry, path)
        if line:
            print(line)
        for fault in found:
            print(f"FAULT {path.name}: {fault}")
        faults += len(found)
    print(f"{len(entries)} {kind}, {faults} faults")
    sys.exit(1 if faults or not entries else 0)


def judge(entry, path):
    return None, check(path, entry["items"], entry.get("metadata"), entry.get("thumbnail"))


if __name__ == "__main__":
    run("packages", judge)
