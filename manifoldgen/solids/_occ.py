"""The one door to the CAD kernel: thin, typed helpers, cadquery shapes in and out.

Points and directions are tuples or arrays of three numbers, mm; angles degrees. Booleans never change
their arguments. Nothing here judges a result: `solids.acceptance` does.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from typing import Literal

import cadquery as cq
import numpy as np
from numpy.typing import ArrayLike, NDArray
from OCP.BOPAlgo import BOPAlgo_ArgumentAnalyzer, BOPAlgo_CheckStatus, BOPAlgo_GlueEnum
from OCP.BRep import BRep_Tool
from OCP.BRepAdaptor import BRepAdaptor_Surface
from OCP.BRepAlgoAPI import BRepAlgoAPI_Common, BRepAlgoAPI_Cut, BRepAlgoAPI_Fuse
from OCP.BRepBuilderAPI import (
    BRepBuilderAPI_Copy,
    BRepBuilderAPI_MakeEdge,
    BRepBuilderAPI_MakeFace,
    BRepBuilderAPI_MakePolygon,
    BRepBuilderAPI_MakeWire,
)
from OCP.BRepCheck import BRepCheck_Analyzer
from OCP.BRepGProp import BRepGProp
from OCP.BRepLProp import BRepLProp_SLProps
from OCP.BRepMesh import BRepMesh_IncrementalMesh
from OCP.BRepOffsetAPI import BRepOffsetAPI_MakePipe
from OCP.BRepPrimAPI import (
    BRepPrimAPI_MakeBox,
    BRepPrimAPI_MakeCone,
    BRepPrimAPI_MakeCylinder,
    BRepPrimAPI_MakePrism,
    BRepPrimAPI_MakeRevol,
    BRepPrimAPI_MakeTorus,
)
from OCP.BRepTools import BRepTools
from OCP.gp import gp_Ax1, gp_Ax2, gp_Ax3, gp_Circ, gp_Dir, gp_Pln, gp_Pnt, gp_Trsf, gp_Vec
from OCP.GProp import GProp_GProps
from OCP.IMeshTools import IMeshTools_MeshAlgoType, IMeshTools_Parameters
from OCP.TopAbs import TopAbs_Orientation
from OCP.TopLoc import TopLoc_Location
from OCP.TopTools import TopTools_ListOfShape

from manifoldgen.geometry.path import Arc, Line, Segment
from manifoldgen.geometry.pose import Frame
from manifoldgen.geometry.vectors import Array, array, first_square_to

Glue = Literal["full", "shift"] | None

_GLUE = {"full": BOPAlgo_GlueEnum.BOPAlgo_GlueFull, "shift": BOPAlgo_GlueEnum.BOPAlgo_GlueShift}
_QUADRATURE = 1e-6  # relative, face by face
_SAME = 1e-9  # mm: radii closer than this make a cylinder, not a cone


# points, directions, axes


def pnt(p: ArrayLike) -> gp_Pnt:
    """Return a kernel point."""
    return gp_Pnt(*array(p).tolist())


def direction(d: ArrayLike) -> gp_Dir:
    """Return a kernel direction (made unit by the kernel)."""
    return gp_Dir(*array(d).tolist())


def axes(at: ArrayLike, z: ArrayLike, x: ArrayLike | None = None) -> gp_Ax2:
    """Right-handed axes at a point; the seam of round faces lies along `x` (any square one if None)."""
    if x is None:
        x = first_square_to(((0.0, 1.0, 0.0), (1.0, 0.0, 0.0)), z)
    return gp_Ax2(pnt(at), direction(z), direction(x))


# primitives


def cylinder(
    at: ArrayLike, along: ArrayLike, radius: float, length: float, x: ArrayLike | None = None
) -> cq.Shape:
    """Make a cylinder from the centre `at` of its first end, `length` mm `along` its axis."""
    return cq.Shape.cast(BRepPrimAPI_MakeCylinder(axes(at, along, x), float(radius), float(length)).Solid())


def cone(
    at: ArrayLike, along: ArrayLike, start: float, end: float, length: float, *, x: ArrayLike | None = None
) -> cq.Shape:
    """Make a cone frustum with the radii `start` and `end`; a cylinder where they are equal."""
    if abs(start - end) < _SAME:
        return cylinder(at, along, start, length, x)
    return cq.Shape.cast(
        BRepPrimAPI_MakeCone(axes(at, along, x), float(start), float(end), float(length)).Solid()
    )


def torus_sector(
    centre: ArrayLike, axis: ArrayLike, radial: ArrayLike, *, clr: float, radius: float, angle: float
) -> cq.Shape:
    """Make a filled bend: `angle` degrees right-handed about `axis`, starting at `radial` from the centre."""
    made = BRepPrimAPI_MakeTorus(
        axes(centre, axis, radial), float(clr), float(radius), math.radians(float(angle))
    )
    return cq.Shape.cast(made.Solid())


def box(low: ArrayLike, high: ArrayLike) -> cq.Shape:
    """Make an axis-parallel box between two corners."""
    size = array(high) - array(low)
    return cq.Shape.cast(BRepPrimAPI_MakeBox(pnt(low), *size.tolist()).Solid())


def half_space(at: ArrayLike, normal: ArrayLike, size: float = 4000.0) -> cq.Shape:
    """Make a cutter filling what lies behind a plane, (p - at) · normal ≤ 0, `size` mm deep and wide."""
    n = array(normal) / np.linalg.norm(array(normal))
    corner = axes(array(at) - n * size, n)
    face = BRepBuilderAPI_MakeFace(gp_Pln(gp_Ax3(corner)), -size, size, -size, size).Face()
    return prism(cq.Shape.cast(face), n * size)


def prism(face: cq.Shape, vector: ArrayLike) -> cq.Shape:
    """Push a face along a vector."""
    return cq.Shape.cast(BRepPrimAPI_MakePrism(face.wrapped, gp_Vec(*array(vector).tolist())).Shape())


def revolved(profile: Sequence[tuple[float, float]], x: ArrayLike = (1.0, 0.0, 0.0)) -> cq.Shape:
    """A closed polygon of (radius, z) turned once about the z axis; the seam lies along `x`."""
    d = array(x) / np.linalg.norm(array(x))
    outline = BRepBuilderAPI_MakePolygon()
    for radius, z in profile:
        outline.Add(pnt((radius * d[0], radius * d[1], z)))
    outline.Close()
    face = BRepBuilderAPI_MakeFace(outline.Wire()).Face()
    turn = BRepPrimAPI_MakeRevol(face, gp_Ax1(gp_Pnt(0.0, 0.0, 0.0), gp_Dir(0.0, 0.0, 1.0)))
    return outward(cq.Shape.cast(turn.Shape()))


def annulus(
    at: ArrayLike, normal: ArrayLike, outer: float, inner: float = 0.0, x: ArrayLike | None = None
) -> cq.Shape:
    """Make a flat ring (a disc where `inner` is 0) square to `normal`."""
    frame = axes(at, normal, x)

    def circle(radius: float) -> object:
        return BRepBuilderAPI_MakeWire(BRepBuilderAPI_MakeEdge(gp_Circ(frame, float(radius))).Edge()).Wire()

    made = BRepBuilderAPI_MakeFace(gp_Pln(gp_Ax3(frame)), circle(outer))
    if inner > 0:
        hole = circle(inner)
        hole.Reverse()  # type: ignore[attr-defined]
        made.Add(hole)
    return cq.Shape.cast(made.Face())


def wire(segments: Iterable[Segment]) -> cq.Wire:
    """Return the centreline as an exact wire of lines and circular arcs; lengths of 0 are left out."""
    edges = []
    for segment in segments:
        if segment.length <= 0:
            continue
        if isinstance(segment, Line):
            ends = (pnt(segment.at), pnt(segment.point(segment.length)))
            edges.append(BRepBuilderAPI_MakeEdge(*ends).Edge())
        else:
            edges.append(_arc_edge(segment))
    return cq.Wire.assembleEdges([cq.Edge(e) for e in edges])


def _arc_edge(arc: Arc) -> object:
    circle = gp_Circ(axes(arc.centre, arc.axis, arc.radial), float(arc.clr))
    return BRepBuilderAPI_MakeEdge(circle, 0.0, math.radians(arc.angle)).Edge()


def pipe(spine: cq.Wire, profile: cq.Shape) -> cq.Shape:
    """Sweep a face along a wire: exact cylinders and tori where the tangents agree exactly."""
    return cq.Shape.cast(BRepOffsetAPI_MakePipe(spine.wrapped, profile.wrapped).Shape())


# booleans: never change their arguments


def fuse(shapes: Sequence[cq.Shape], glue: Glue = None, fuzzy: float = 0.0) -> cq.Shape:
    """All shapes as one.

    glue : ``full`` where they only share whole faces, ``shift`` where faces touch partly; both are blind
        to overlaps, so certify the clearance first.  fuzzy : mm, at least the misfit.
    """
    if len(shapes) == 1:
        return copy(shapes[0])
    return _boolean(BRepAlgoAPI_Fuse(), shapes[:1], shapes[1:], glue, fuzzy)


def cut(shape: cq.Shape, tools: Sequence[cq.Shape], glue: Glue = None, fuzzy: float = 0.0) -> cq.Shape:
    """`shape` without the tools."""
    return _boolean(BRepAlgoAPI_Cut(), [shape], tools, glue, fuzzy)


def common(shape: cq.Shape, tools: Sequence[cq.Shape], glue: Glue = None, fuzzy: float = 0.0) -> cq.Shape:
    """Keep what `shape` shares with the tools."""
    return _boolean(BRepAlgoAPI_Common(), [shape], tools, glue, fuzzy)


def _boolean(
    operation: BRepAlgoAPI_Fuse | BRepAlgoAPI_Cut | BRepAlgoAPI_Common,
    arguments: Sequence[cq.Shape],
    tools: Sequence[cq.Shape],
    glue: Glue,
    fuzzy: float,
) -> cq.Shape:
    operation.SetArguments(_listed(arguments))
    operation.SetTools(_listed(tools))
    operation.SetRunParallel(thFlag=True)
    operation.SetUseOBB(thFlag=True)
    operation.SetNonDestructive(theFlag=True)
    if fuzzy > 0:
        operation.SetFuzzyValue(float(fuzzy))
    if glue is not None:
        operation.SetGlue(_GLUE[glue])
    operation.Build()
    return unwrapped(cq.Shape.cast(operation.Shape()))


def _listed(shapes: Iterable[cq.Shape]) -> TopTools_ListOfShape:
    listed = TopTools_ListOfShape()
    for shape in shapes:
        listed.Append(shape.wrapped)
    return listed


# placing, copying, measuring


def unwrapped(shape: cq.Shape) -> cq.Shape:
    """Return the solid itself where a compound holds exactly one and nothing else."""
    if isinstance(shape, cq.Compound):
        inside = list(shape)
        if len(inside) == 1:
            return unwrapped(inside[0])
    return shape


def outward(shape: cq.Shape) -> cq.Shape:
    """The same solid with its faces looking out (positive volume)."""
    return cq.Shape.cast(shape.wrapped.Reversed()) if volume(shape) < 0 else shape


def location(frame: Frame) -> cq.Location:
    """Return the placing that takes local coordinates of `frame` to the bench."""
    placed = gp_Trsf()
    placed.SetTransformation(gp_Ax3(axes(frame.at, frame.z, frame.x)), gp_Ax3())
    return cq.Location(placed)


def moved(shape: cq.Shape, frame: Frame) -> cq.Shape:
    """Place a shape built in local coordinates by `frame` (geometry is shared, not copied)."""
    return shape.moved(location(frame))


def copy(shape: cq.Shape) -> cq.Shape:
    """Make a deep copy that shares no geometry with its model and carries no mesh."""
    return cq.Shape.cast(BRepBuilderAPI_Copy(shape.wrapped, copyGeom=True, copyMesh=False).Shape())


def volume(shape: cq.Shape) -> float:
    """Volume in mm³ to about 1e-9 of it.

    The kernel's default quadrature is off by up to 1e-3 where a saddle trims a cylinder; with a tolerance it
    is adaptive.
    """
    properties = GProp_GProps()
    BRepGProp.VolumeProperties_s(shape.wrapped, properties, _QUADRATURE)
    return float(properties.Mass())


def is_valid(shape: cq.Shape) -> bool:
    """Ask the kernel's own check of geometry and topology; alone it accepts many wrong shapes."""
    return bool(BRepCheck_Analyzer(shape.wrapped, GeomControls=True).IsValid())


def self_intersects(shape: cq.Shape) -> bool:
    """Tell whether parts of the shape cut each other (slow; the kernel's boolean argument check)."""
    analyser = BOPAlgo_ArgumentAnalyzer()
    analyser.SetShape1(shape.wrapped)
    analyser.ArgumentTypeMode = True
    analyser.SelfInterMode = True
    analyser.StopOnFirstFaulty = True
    analyser.SetRunParallel(theFlag=True)
    analyser.Perform()
    wrong = (BOPAlgo_CheckStatus.BOPAlgo_SelfIntersect, BOPAlgo_CheckStatus.BOPAlgo_OperationAborted)
    return any(result.GetCheckStatus() in wrong for result in analyser.GetCheckResult())


def triangulate(
    shape: cq.Shape, deflection: float = 0.1, angle: float = 5.0
) -> tuple[Array, NDArray[np.int64]]:
    """Triangles of a shape's surface.

    deflection : mm, largest chord error.  angle : degrees, largest turn between neighbouring facets.
    Returns points (n, 3) in mm and triangles (m, 3); faces do not share points yet.
    """
    points: list[Array] = []
    triangles: list[NDArray[np.int64]] = []
    count = 0
    for _, corners, faces in triangulated_faces(shape, deflection, angle):
        points.append(corners)
        triangles.append(faces + count)
        count += len(corners)
    if not points:
        return np.zeros((0, 3)), np.zeros((0, 3), dtype=np.int64)
    return np.vstack(points), np.vstack(triangles)


def triangulated_faces(
    shape: cq.Shape, deflection: float, angle: float
) -> Iterator[tuple[cq.Face, Array, NDArray[np.int64]]]:
    """Each face of a shape with its own points, mm, and triangles seen from outside; `triangulate` tells the measures."""
    wanted = IMeshTools_Parameters()
    wanted.Deflection = float(deflection)
    wanted.Angle = math.radians(angle)
    wanted.Relative = False
    wanted.InParallel = True
    wanted.MeshAlgo = IMeshTools_MeshAlgoType.IMeshTools_MeshAlgoType_Delabella
    BRepTools.Clean_s(shape.wrapped)
    BRepMesh_IncrementalMesh(shape.wrapped, wanted)
    for face in shape.Faces():
        place = TopLoc_Location()
        mesh = BRep_Tool.Triangulation_s(face.wrapped, place)
        if mesh is None:
            continue
        trsf = place.Transformation()
        nodes = [mesh.Node(i).Transformed(trsf) for i in range(1, mesh.NbNodes() + 1)]
        corner = np.array([mesh.Triangle(i).Get() for i in range(1, mesh.NbTriangles() + 1)], dtype=np.int64)
        if face.wrapped.Orientation() == TopAbs_Orientation.TopAbs_REVERSED:
            corner = corner[:, ::-1]
        yield face, np.array([(p.X(), p.Y(), p.Z()) for p in nodes]), corner - 1


def bends_of(face: cq.Face) -> tuple[Array, Array]:
    """At each point of a triangulated face: the unit normal out of the solid, (n, 3), and the tightest curvature, 1/mm.

    Where the surface has none, a zero normal; where it has no curvature, 0.
    """
    mesh = BRep_Tool.Triangulation_s(face.wrapped, TopLoc_Location())
    asked = BRepLProp_SLProps(BRepAdaptor_Surface(face.wrapped), 2, _SAME)
    turned = -1.0 if face.wrapped.Orientation() == TopAbs_Orientation.TopAbs_REVERSED else 1.0
    normals, curvatures = np.zeros((mesh.NbNodes(), 3)), np.zeros(mesh.NbNodes())
    for k in range(mesh.NbNodes()):
        uv = mesh.UVNode(k + 1)
        asked.SetParameters(uv.X(), uv.Y())
        if asked.IsNormalDefined():
            n = asked.Normal()
            normals[k] = turned * n.X(), turned * n.Y(), turned * n.Z()
            if asked.IsCurvatureDefined():
                curvatures[k] = max(abs(asked.MaxCurvature()), abs(asked.MinCurvature()))
    return normals, curvatures
