"""Judges exported bodies by programs that share no code with borewright.

usage: referee.py MANIFEST.json

The manifest is a list of bodies:

    name      product name in the STEP file
    step      path of a STEP file, or null; bodies may share one file
    stl       path of a binary STL file, or null
    package   path of a 3MF file with this body alone, or null
    mesh_volume  exact volume of the 3MF's triangles, mm3
    volume    exact volume, mm3
    area      exact area, mm2
    centroid  [x, y, z], mm
    inertia   3 x 3 about the centroid at unit density, mm5 (optional)
    bbox      [[x, y, z], [x, y, z]], smallest and largest, mm
    faces     {"plane": n, "cylinder": n, "cone": n} (optional)
    shells    boundary pieces: 1 + voids (default 1)
    chord     largest distance of the STL's triangles from the surface, mm

Relative paths count from the manifest's folder. Every STEP file is read by
OpenCascade and searched for unresolved and unused instances; every STL file
is read by trimesh, every 3MF file by package_referee. Prints one line per body and one per fault; exits with 1 if
there is any fault.
"""

import json
import re
import sys
from pathlib import Path

import numpy as np
import package_referee
import trimesh
from OCP.Bnd import Bnd_Box
from OCP.BRepAdaptor import BRepAdaptor_Surface
from OCP.BRepBndLib import BRepBndLib
from OCP.BRepCheck import BRepCheck_Analyzer
from OCP.BRepGProp import BRepGProp
from OCP.GeomAbs import GeomAbs_Cone, GeomAbs_Cylinder, GeomAbs_Plane
from OCP.gp import gp_Pnt
from OCP.GProp import GProp_GProps
from OCP.IFSelect import IFSelect_RetDone
from OCP.Message import Message, Message_Fail
from OCP.STEPCAFControl import STEPCAFControl_Reader
from OCP.TCollection import TCollection_ExtendedString
from OCP.TDataStd import TDataStd_Name
from OCP.TDF import TDF_LabelSequence
from OCP.TDocStd import TDocStd_Document
from OCP.TopAbs import TopAbs_FACE, TopAbs_SHELL, TopAbs_SOLID
from OCP.TopExp import TopExp_Explorer
from OCP.TopoDS import TopoDS
from OCP.XCAFDoc import XCAFDoc_DocumentTool

# Relative error of volume, area, centroid (of the body's size) and inertia.
PROPERTY_TOLERANCE = 1e-6
# Asked of OpenCascade's adaptive integration, relative.
INTEGRATION_TOLERANCE = 1e-9
# Difference of box corners, mm.
BOX_TOLERANCE = 1e-5
# Instances that nothing refers to because they are what a reader starts from.
STEP_ROOTS = {
    "APPLICATION_PROTOCOL_DEFINITION",
    "PRODUCT_RELATED_PRODUCT_CATEGORY",
    "SHAPE_DEFINITION_REPRESENTATION",
}
SURFACES = {GeomAbs_Plane: "plane", GeomAbs_Cylinder: "cylinder", GeomAbs_Cone: "cone"}
NUMBER = re.compile(r"[+-]?\d+\.\d*(E[+-]?\d+)?|[+-]?\d+")


def relative(value, expected):
    return abs(value - expected) / max(abs(expected), 1e-300)


def explore(shape, kind):
    found = []
    explorer = TopExp_Explorer(shape, kind)
    while explorer.More():
        found.append(explorer.Current())
        explorer.Next()
    return found


def check_text(path):
    """Faults in the exchange structure itself."""
    raw = path.read_bytes()
    faults = []
    if not all(32 <= b < 127 or b == 10 for b in raw):
        faults.append("bytes outside printable ASCII")
    source = raw.decode("latin-1")
    if not source.startswith("ISO-10303-21;\n") or not source.endswith("END-ISO-10303-21;\n"):
        faults.append("not enclosed in ISO-10303-21 tokens")
    data = source.split("\nDATA;\n")[1].split("\nENDSEC;")[0]
    # Strings may hold anything, number signs too.
    data = re.sub(r"'(?:[^']|'')*'", "''", data)
    kinds, used = {}, set()
    for statement in data.split(";"):
        statement = statement.strip()
        if not statement:
            continue
        match = re.fullmatch(r"#(\d+)=([A-Z0-9_]*)(\(.*\))", statement, re.S)
        if not match:
            faults.append(f"statement cannot be read: {statement[:60]}")
            continue
        name, kind, arguments = match.groups()
        if name in kinds:
            faults.append(f"#{name} is defined twice")
        kinds[name] = kind
        used.update(re.findall(r"#(\d+)", arguments))
        bare = re.sub(r"#\d+|''|\.[A-Z_]+\.|[A-Z_][A-Z0-9_]*(?=\()", "", arguments)
        for token in re.findall(r"[^\s(),*$]+", bare):
            if not NUMBER.fullmatch(token):
                faults.append(f"#{name}: number in a wrong form: {token}")
            elif token.startswith("-0.") and float(token) == 0.0:
                faults.append(f"#{name}: negative zero")
    for name in sorted(used - kinds.keys(), key=int):
        faults.append(f"#{name} is used and not defined")
    for name in sorted(kinds.keys() - used, key=int):
        if kinds[name] not in STEP_ROOTS:
            faults.append(f"#{name} {kinds[name]} is defined and not used")
    return faults


def check_list(checks, what):
    faults = []
    checks.Start()
    while checks.More():
        check = checks.Value()
        for i in range(1, check.NbFails() + 1):
            faults.append(f"{what}: fail: {check.CFail(i)}")
        for i in range(1, check.NbWarnings() + 1):
            faults.append(f"{what}: warning: {check.CWarning(i)}")
        checks.Next()
    return faults


def read_step(path):
    """Shapes by product name, and faults."""
    reader = STEPCAFControl_Reader()
    reader.SetNameMode(True)
    if reader.ReadFile(str(path)) != IFSelect_RetDone:
        return {}, ["OpenCascade cannot read the file"]
    document = TDocStd_Document(TCollection_ExtendedString("referee"))
    if not reader.Transfer(document):
        return {}, ["OpenCascade cannot transfer the file"]
    session = reader.Reader().WS()
    faults = check_list(session.ModelCheckList(True), "file")
    transfer = session.TransferReader()
    faults += check_list(transfer.TransientProcess().CheckList(False), "transfer")
    tool = XCAFDoc_DocumentTool.ShapeTool_s(document.Main())
    labels = TDF_LabelSequence()
    tool.GetFreeShapes(labels)
    shapes = {}
    for i in range(1, labels.Length() + 1):
        label = labels.Value(i)
        name = TDataStd_Name()
        found = label.FindAttribute(TDataStd_Name.GetID_s(), name)
        name = name.Get().ToExtString() if found else ""
        if name in shapes:
            faults.append(f"two products are named {name!r}")
        shapes[name] = tool.GetShape_s(label)
    return shapes, faults


def check_shape(shape, body):
    """Faults of a body against the manifest, and the largest relative error."""
    faults = []
    if not BRepCheck_Analyzer(shape, True).IsValid():
        faults.append("OpenCascade finds the shape invalid")
    solids = explore(shape, TopAbs_SOLID)
    if len(solids) != 1:
        return faults + [f"{len(solids)} solids"], float("nan")
    solid = solids[0]
    shells = len(explore(solid, TopAbs_SHELL))
    if shells != body.get("shells", 1):
        faults.append(f"{shells} shells, not {body.get('shells', 1)}")
    counts = {"plane": 0, "cylinder": 0, "cone": 0, "other": 0}
    for face in explore(solid, TopAbs_FACE):
        kind = BRepAdaptor_Surface(TopoDS.Face_s(face)).GetType()
        counts[SURFACES.get(kind, "other")] += 1
    expected = {**dict.fromkeys(counts, 0), **body.get("faces", counts)}
    if counts != expected:
        faults.append(f"faces {counts}, not {expected}")

    volume, area = GProp_GProps(), GProp_GProps()
    BRepGProp.VolumeProperties_s(solid, volume, INTEGRATION_TOLERANCE, True)
    BRepGProp.SurfaceProperties_s(solid, area, INTEGRATION_TOLERANCE)
    centre = volume.CentreOfMass()
    low, high = np.array(body["bbox"][0]), np.array(body["bbox"][1])
    size = np.linalg.norm(high - low)
    centroid = np.array([centre.X(), centre.Y(), centre.Z()])
    errors = {
        "volume": relative(volume.Mass(), body["volume"]),
        "area": relative(area.Mass(), body["area"]),
        "centroid": np.linalg.norm(centroid - body["centroid"]) / size,
    }
    if "inertia" in body:
        matrix = volume.MatrixOfInertia()
        found = np.array([[matrix.Value(i, j) for j in (1, 2, 3)] for i in (1, 2, 3)])
        inertia = np.array(body["inertia"])
        errors["inertia"] = np.linalg.norm(found - inertia) / np.linalg.norm(inertia)
    for name, error in errors.items():
        if not error <= PROPERTY_TOLERANCE:
            faults.append(f"{name} differs by {error:.3g} relative")

    box = Bnd_Box()
    BRepBndLib.AddOptimal_s(solid, box, False, False)
    # The box reports its corners widened by its gap.
    gap = box.GetGap()
    corners = [box.CornerMin(), box.CornerMax()]
    found = np.array([[p.X(), p.Y(), p.Z()] for p in corners]) + [[gap] * 3, [-gap] * 3]
    difference = np.abs(found - np.array([low, high])).max()
    if not difference <= BOX_TOLERANCE:
        faults.append(f"bounding box differs by {difference:.3g} mm")
    return faults, max(errors.values())


def check_stl(path, body):
    """Faults of a mesh, its triangles and its volume's relative error."""
    raw = path.read_bytes()
    faults = []
    if raw[:5].lower() == b"solid":
        faults.append("header begins with 'solid'")
    count = int.from_bytes(raw[80:84], "little")
    if len(raw) != 84 + 50 * count:
        return faults + [f"{len(raw)} bytes for {count} triangles"], 0, float("nan")
    mesh = trimesh.load_mesh(str(path), file_type="stl")
    if len(mesh.faces) != count:
        faults.append(f"{count - len(mesh.faces)} triangles are degenerate")
    if not mesh.is_watertight:
        faults.append("mesh is not watertight")
    if not mesh.is_winding_consistent:
        faults.append("mesh is not wound consistently")
    if mesh.body_count != body.get("shells", 1):
        faults.append(f"mesh has {mesh.body_count} pieces, not {body.get('shells', 1)}")
    # A boundary within a chord of the exact one encloses a volume that differs
    # by no more than the layer between them; single precision adds its own.
    noise = np.abs(body["bbox"]).max() * 2**-23
    allowed = body["area"] * (body["chord"] + noise)
    if not abs(mesh.volume - body["volume"]) <= allowed:
        faults.append(f"mesh volume {mesh.volume:.6f}, not {body['volume']:.6f} +- {allowed:.6f}")
    box = np.abs(mesh.bounds - np.array(body["bbox"])).max()
    if not box <= body["chord"] + noise:
        faults.append(f"mesh box differs by {box:.3g} mm")
    normals = np.frombuffer(raw[84:], dtype=np.uint8).reshape(count, 50)[:, :12]
    normals = np.ascontiguousarray(normals).view("<f4")
    if len(mesh.faces) == count and np.abs(normals - mesh.face_normals).max() > 1e-4:
        faults.append("normals do not belong to their triangles")
    return faults, count, relative(mesh.volume, body["volume"])


def main():
    if len(sys.argv) != 2:
        sys.exit(__doc__)
    # Findings are collected from the check lists; the printer would repeat them.
    for printer in Message.DefaultMessenger_s().Printers():
        printer.SetTraceLevel(Message_Fail)
    manifest = Path(sys.argv[1])
    bodies = json.loads(manifest.read_text())
    files, faults = {}, 0

    def report(place, found):
        nonlocal faults
        for fault in found:
            faults += 1
            print(f"FAULT {place}: {fault}")

    print(f"{'body':32} {'volume, mm3':>16} {'STEP error':>11} {'triangles':>10} {'STL error':>10}")
    for body in bodies:
        row = f"{body['name']:32} {body['volume']:16.6f}"
        found = []
        if body.get("step"):
            path = manifest.parent / body["step"]
            if path not in files:
                files[path], read = read_step(path)
                expected = sum(manifest.parent / (b.get("step") or "") == path for b in bodies)
                if len(files[path]) != expected:
                    read.append(f"{len(files[path])} products, not {expected}")
                report(path.name, check_text(path) + read)
            shape = files[path].get(body["name"])
            if shape is None:
                found.append(f"{path.name}: no such product, but {sorted(files[path])}")
                error = float("nan")
            else:
                judged, error = check_shape(shape, body)
                found += [f"{path.name}: {fault}" for fault in judged]
            row += f" {error:11.1e}"
        else:
            row += f" {'-':>11}"
        if body.get("stl"):
            path = manifest.parent / body["stl"]
            judged, count, error = check_stl(path, body)
            found += [f"{path.name}: {fault}" for fault in judged]
            row += f" {count:10} {error:10.1e}"
        if body.get("package"):
            path = manifest.parent / body["package"]
            items = [{"name": body["name"], "volume": body["mesh_volume"]}]
            found += [f"{path.name}: {fault}" for fault in package_referee.check(path, items)]
        print(row)
        report(body["name"], found)
    print(f"{len(bodies)} bodies, {faults} faults")
    sys.exit(1 if faults or not bodies else 0)


if __name__ == "__main__":
    main()
