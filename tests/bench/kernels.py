"""Times of other kernels on the shapes of the benchmark, as JSON.

usage: kernels.py SHAPES.json

Prints, per shape and engine, the quartiles in milliseconds of building it (from
section outlines, by booleans), of meshing it, and of writing STEP and STL.
"""

import json
import sys
import tempfile
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent.parent / "reference"))

import manifold3d
from OCP.BRepAlgoAPI import BRepAlgoAPI_Cut, BRepAlgoAPI_Fuse
from OCP.BRepMesh import BRepMesh_IncrementalMesh
from OCP.BRepTools import BRepTools
from OCP.Message import Message, Message_Fail
from OCP.STEPControl import STEPControl_AsIs, STEPControl_Writer
from OCP.StlAPI import StlAPI_Writer

from exact import flatten
from quartiles import quartiles
from stack_referee import Tool, operate, slab

# Largest angle between chords, radians: 15 degrees, as borewright's default.
ANGLE = 0.2617993877991494


def kernel(shape, tools):
    layers = [slab(region, low, high) for low, high, region in shape["slabs"]]
    built = layers[0] if len(layers) == 1 else operate(BRepAlgoAPI_Fuse, layers[:1], layers[1:])
    parts = [part for tool in tools for part in tool.exact()]
    return operate(BRepAlgoAPI_Cut, [built], parts) if parts else built


def chords(shape, step):
    """The slabs with arcs cut into chords: no part of what is measured."""
    return [
        (low, high, [[p for piece in loop for p in flatten(piece, step)[0]] for loop in region])
        for low, high, region in shape["slabs"]
    ]


def meshes(slabs, tools):
    layers = [
        manifold3d.CrossSection(rings, manifold3d.FillRule.Positive)
        .extrude(high - low)
        .translate([0, 0, low])
        for low, high, rings in slabs
    ]
    body = manifold3d.Manifold.batch_boolean(layers, manifold3d.OpType.Add)
    parts = [part for tool in tools for part in tool.meshes()[0]]
    if parts:
        body -= manifold3d.Manifold.batch_boolean(parts, manifold3d.OpType.Add)
    # Its booleans are lazy.
    return body.num_tri()


def main():
    if len(sys.argv) != 2:
        sys.exit(__doc__)
    for printer in Message.DefaultMessenger_s().Printers():
        printer.SetTraceLevel(Message_Fail)
    task = json.loads(Path(sys.argv[1]).read_text())
    runs, chord = task["runs"], task["chord"]
    # Chords of that height on a radius of 12.5 mm.
    step = 2 * (2 * chord / 12.5) ** 0.5
    result = {}
    with tempfile.TemporaryDirectory() as folder:
        for shape in task["shapes"]:
            tools = [Tool(bore, shape["slabs"]) for bore in shape["bores"]]
            slabs = chords(shape, step)
            built = kernel(shape, tools)

            def mesh():
                BRepTools.Clean_s(built)
                BRepMesh_IncrementalMesh(built, chord, False, ANGLE, False)

            def write_step():
                writer = STEPControl_Writer()
                writer.Transfer(built, STEPControl_AsIs)
                writer.Write(f"{folder}/b.step")

            def write_stl():
                writer = StlAPI_Writer()
                writer.ASCIIMode = False
                writer.Write(built, f"{folder}/b.stl")

            result[shape["name"]] = {
                "OpenCascade": {
                    "build": quartiles(lambda: kernel(shape, tools), runs),
                    "mesh": quartiles(mesh, runs),
                    "STEP": quartiles(write_step, runs),
                    "STL": quartiles(write_stl, runs),
                },
                "manifold3d": {"build": quartiles(lambda: meshes(slabs, tools), runs)},
            }
    # Writers may print to the standard output: the result is its last line.
    print(json.dumps(result))


if __name__ == "__main__":
    main()
