"""Primitives, booleans and comparison of solids, by OpenCascade."""

import math

import numpy as np
from OCP.BOPAlgo import BOPAlgo_PaveFiller
from OCP.BRepAlgoAPI import BRepAlgoAPI_Common, BRepAlgoAPI_Cut, BRepAlgoAPI_Fuse
from OCP.BRepBuilderAPI import (
    BRepBuilderAPI_MakeEdge,
    BRepBuilderAPI_MakeFace,
    BRepBuilderAPI_MakeSolid,
    BRepBuilderAPI_MakeWire,
    BRepBuilderAPI_Sewing,
)
from OCP.BRepGProp import BRepGProp
from OCP.BRepPrimAPI import (
    BRepPrimAPI_MakeCone,
    BRepPrimAPI_MakeCylinder,
    BRepPrimAPI_MakePrism,
    BRepPrimAPI_MakeRevol,
)
from OCP.gp import gp_Ax1, gp_Ax2, gp_Dir, gp_Pln, gp_Pnt, gp_Vec
from OCP.GProp import GProp_GProps
from OCP.IFSelect import IFSelect_RetDone
from OCP.Message import Message, Message_Fail
from OCP.STEPControl import STEPControl_Reader
from OCP.TopAbs import TopAbs_SHELL, TopAbs_SOLID
from OCP.TopExp import TopExp_Explorer
from OCP.TopoDS import TopoDS
from OCP.TopTools import TopTools_ListOfShape

# Positions nearer than this are one for OpenCascade's booleans, mm. Splines in
# STEP files are 1e-6 off; where its booleans fail or leave crumbs with one of
# these, the next one is tried. A part that is wrong is wrong with all of them.
FUZZY = [1e-5, 1e-6, 1e-4]
# The same while a part is built from primitives, which meet exactly, mm.
BUILDING = 1e-7
# How far the corners of a loft's side may lie off its plane, mm: float noise,
# where walls meet at a very flat angle.
TWIST = 1e-8
# Asked of OpenCascade's adaptive integration, relative.
INTEGRATION_TOLERANCE = 1e-9


def quiet():
    """Errors only: the printer would tell of every step."""
    for printer in Message.DefaultMessenger_s().Printers():
        printer.SetTraceLevel(Message_Fail)


def properties(shape):
    found = GProp_GProps()
    BRepGProp.VolumeProperties_s(shape, found, INTEGRATION_TOLERANCE, True)
    return found


def volume(shape):
    return properties(shape).Mass()


def area(shape):
    found = GProp_GProps()
    BRepGProp.SurfaceProperties_s(shape, found, INTEGRATION_TOLERANCE)
    return found.Mass()


def read(path):
    reader = STEPControl_Reader()
    if reader.ReadFile(str(path)) != IFSelect_RetDone:
        raise ValueError("OpenCascade cannot read the file")
    reader.TransferRoots()
    return reader.OneShape()


def operate(kind, objects, tools, fuzzy=FUZZY[0]):
    """A boolean of lists of shapes with common settings."""
    operation = kind()
    for shapes, set_them in [(objects, operation.SetArguments), (tools, operation.SetTools)]:
        many = TopTools_ListOfShape()
        for shape in shapes:
            many.Append(shape)
        set_them(many)
    operation.SetFuzzyValue(fuzzy)
    operation.SetRunParallel(False)
    operation.Build()
    if not operation.IsDone():
        raise ValueError(f"{kind.__name__} failed")
    return operation.Shape()


def fuse(shapes):
    if len(shapes) == 1:
        return shapes[0]
    return operate(BRepAlgoAPI_Fuse, shapes[:1], shapes[1:], BUILDING)


def cut(shape, tools):
    return operate(BRepAlgoAPI_Cut, [shape], tools, BUILDING) if tools else shape


def common(shape, other):
    return operate(BRepAlgoAPI_Common, [shape], [other], BUILDING)


def ring(points, z):
    """A closed wire of straight edges through points of one height."""
    maker = BRepBuilderAPI_MakeWire()
    for (ax, ay), (bx, by) in zip(points, points[1:] + points[:1]):
        maker.Add(BRepBuilderAPI_MakeEdge(gp_Pnt(ax, ay, z), gp_Pnt(bx, by, z)).Edge())
    return maker.Wire()


def prism(points, low, high):
    """A polygon along z."""
    face = BRepBuilderAPI_MakeFace(ring(points, low), True).Face()
    return BRepPrimAPI_MakePrism(face, gp_Vec(0, 0, high - low)).Shape()


def box(x, y, z):
    """A box between two values each of x, y and z."""
    corners = [(x[0], y[0]), (x[1], y[0]), (x[1], y[1]), (x[0], y[1])]
    return prism(corners, *z)


def grown(points, by):
    """A convex polygon, counter-clockwise, with all sides moved out."""
    if by == 0:
        return points
    p = np.array(points)
    d = np.roll(p, -1, axis=0) - p
    n = np.column_stack([d[:, 1], -d[:, 0]]) / np.linalg.norm(d, axis=1)[:, None]
    reach = np.sum(n * p, axis=1) + by
    corners = [np.linalg.solve(n[[i - 1, i]], reach[[i - 1, i]]) for i in range(len(p))]
    return [(float(x), float(y)) for x, y in corners]


def side(corners):
    """The plane through the longer of the two level sides of four corners, and
    the other one."""
    a, b, c, d = (np.array(p) for p in corners)
    along = max(b - a, c - d, key=np.linalg.norm)
    normal = np.cross(along, d - a)
    normal /= np.linalg.norm(normal)
    off = max(abs(normal @ (p - a)) for p in (b, c, d))
    if off > TWIST:
        raise ValueError(f"a side of a loft is {off:.1e} mm off its plane")
    return gp_Pln(gp_Pnt(*corners[0]), gp_Dir(*(float(x) for x in normal)))


def loft(bottom, top, low, high):
    """The solid between two polygons whose sides are parallel in pairs: all
    its faces are planes."""
    if bottom == top:
        return prism(bottom, low, high)
    sewing = BRepBuilderAPI_Sewing(1e-7)
    for points, z in [(bottom, low), (top, high)]:
        sewing.Add(BRepBuilderAPI_MakeFace(ring(points, z), True).Face())
    count = len(bottom)
    for i in range(count):
        j = (i + 1) % count
        corners = [(*bottom[i], low), (*bottom[j], low), (*top[j], high), (*top[i], high)]
        maker = BRepBuilderAPI_MakeWire()
        for p, q in zip(corners, corners[1:] + corners[:1]):
            if math.dist(p, q) > 1e-9:
                maker.Add(BRepBuilderAPI_MakeEdge(gp_Pnt(*p), gp_Pnt(*q)).Edge())
        face = BRepBuilderAPI_MakeFace(side(corners), maker.Wire(), True)
        sewing.Add(face.Face())
    sewing.Perform()
    explorer = TopExp_Explorer(sewing.SewedShape(), TopAbs_SHELL)
    solid = BRepBuilderAPI_MakeSolid(TopoDS.Shell_s(explorer.Current())).Solid()
    return solid if volume(solid) > 0 else solid.Reversed()


def turned(profile):
    """A profile of radii and heights, turned about the z axis."""
    maker = BRepBuilderAPI_MakeWire()
    for (r, z), (s, y) in zip(profile, profile[1:] + profile[:1]):
        maker.Add(BRepBuilderAPI_MakeEdge(gp_Pnt(r, 0, z), gp_Pnt(s, 0, y)).Edge())
    face = BRepBuilderAPI_MakeFace(maker.Wire(), True).Face()
    return BRepPrimAPI_MakeRevol(face, gp_Ax1(gp_Pnt(0, 0, 0), gp_Dir(0, 0, 1))).Shape()


def rod(start, direction, length, radius, end=None):
    """A cylinder, or a frustum of two radii, along any direction."""
    axes = gp_Ax2(gp_Pnt(*start), gp_Dir(*direction))
    if end is None:
        return BRepPrimAPI_MakeCylinder(axes, radius, length).Shape()
    return BRepPrimAPI_MakeCone(axes, radius, end, length).Shape()


def cylinder(centre, radius, low, high, turn=2 * math.pi, start=(1.0, 0.0)):
    """A cylinder along z, or the part of it that `turn` sweeps from `start`."""
    return cone(centre, radius, radius, low, high, turn, start)


def cone(centre, bottom, top, low, high, turn=2 * math.pi, start=(1.0, 0.0)):
    """A frustum along z, or the part of it that `turn` sweeps from `start`."""
    axes = gp_Ax2(gp_Pnt(*centre, low), gp_Dir(0, 0, 1), gp_Dir(*start, 0))
    if bottom == top:
        return BRepPrimAPI_MakeCylinder(axes, bottom, high - low, turn).Shape()
    return BRepPrimAPI_MakeCone(axes, bottom, top, high - low, turn).Shape()


def measures(shape):
    """Volume, area, centroid and inertia about it."""
    found = properties(shape)
    centre, matrix = found.CentreOfMass(), found.MatrixOfInertia()
    inertia = [[matrix.Value(i, j) for j in (1, 2, 3)] for i in (1, 2, 3)]
    centroid = np.array([centre.X(), centre.Y(), centre.Z()])
    return found.Mass(), area(shape), centroid, np.array(inertia)


def differences(one, other):
    """What is in only one of two solids, in only the other, and in both, for
    each fuzzy value with which this can be found."""
    pair = TopTools_ListOfShape()
    pair.Append(one)
    pair.Append(other)
    for fuzzy in FUZZY:
        # All three share one intersection of the two.
        met = BOPAlgo_PaveFiller()
        met.SetArguments(pair)
        met.SetFuzzyValue(fuzzy)
        met.SetRunParallel(False)
        met.Perform()
        operations = [
            BRepAlgoAPI_Cut(one, other, met, True),
            BRepAlgoAPI_Cut(one, other, met, False),
            BRepAlgoAPI_Common(one, other, met),
        ]
        if all(operation.IsDone() for operation in operations):
            yield [operation.Shape() for operation in operations]


def apart(one, other, allowed):
    """Volume in only one of two solids over their volume, by both differences
    and by the common part; the first fuzzy value that gives no more than
    `allowed` counts, or the best one."""
    size, whole = volume(one), volume(other)
    best = (math.inf, math.inf)
    for shapes in differences(one, other):
        left, right, shared = (volume(shape) for shape in shapes)
        sides = (abs(left) + abs(right)) / size
        best = min(best, (sides, abs(size + whole - 2 * shared) / size), key=max)
        if max(best) <= allowed:
            break
    return best


def solids(shape):
    found, explorer = [], TopExp_Explorer(shape, TopAbs_SOLID)
    while explorer.More():
        found.append(explorer.Current())
        explorer.Next()
    return found


def trimmed(whole, part, allowed):
    """How `part` is less than `whole`: its volume that is not in it, or that
    the common part misses, over the whole's; and of each piece that it lacks,
    volume and mean thickness. Pieces below `allowed` of the volume are crumbs.
    The fuzzy value counts as in `apart`."""
    size, rest = volume(whole), volume(part)
    best = (math.inf, [])
    for lacking, outside, shared in differences(whole, part):
        pieces = [(volume(s), area(s)) for s in solids(lacking)]
        pieces = [(v, 2 * v / a) for v, a in pieces if abs(v) > allowed * size]
        beyond = max(abs(volume(outside)), abs(rest - volume(shared))) / size
        best = min(best, (beyond, pieces), key=lambda found: found[0])
        if best[0] <= allowed:
            break
    return best
