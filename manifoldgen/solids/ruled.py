"""Closed rings of exact edges, the ruled walls between two of them, and solids sewn from such walls.

    ring b ────────   a wall joins edge k of ring a to edge k of ring b by straight rulings
      │  │  │  │      a cap is a flat face: one outer ring, any number of inner ones
    ring a ────────   a solid is caps and walls sewn edge to edge: no boolean is needed

Rings run anticlockwise, looking upstream. A round edge is an arc of a circle or an ellipse, as a
tube cut square or obliquely leaves it. mm; angles of round edges are in radians (they never leave here).
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise

import cadquery as cq
import numpy as np
from numpy.typing import ArrayLike
from OCP.BRepBuilderAPI import (
    BRepBuilderAPI_MakeEdge,
    BRepBuilderAPI_MakeFace,
    BRepBuilderAPI_MakeSolid,
    BRepBuilderAPI_MakeWire,
    BRepBuilderAPI_Sewing,
)
from OCP.BRepFill import BRepFill
from OCP.BRepLib import BRepLib
from OCP.BRepPrimAPI import BRepPrimAPI_MakePrism
from OCP.gp import gp_Ax2, gp_Ax3, gp_Circ, gp_Cone, gp_Elips, gp_Pln, gp_Vec
from OCP.TopoDS import TopoDS

from manifoldgen.errors import GeometryError
from manifoldgen.geometry.contour import Contour
from manifoldgen.geometry.edges import ArcEdge
from manifoldgen.geometry.pose import Frame
from manifoldgen.geometry.vectors import Array, Vec, array, unit, vec
from manifoldgen.solids import _occ
from manifoldgen.solids._occ import direction, pnt

MOST_TURN = math.radians(120)  # longer arcs come in equal parts
SEWING = 1e-6  # mm: edges closer than this are one
_ROUND = 1e-12  # relative: semi-axes closer than this make a circle
_SQUARE = 1e-9  # sine of the lean under which an axis stands square
_SAME = 1e-9  # mm
_GAUSS, _WEIGHT = np.polynomial.legendre.leggauss(16)


@dataclass(frozen=True)
class Flat:
    """A straight edge."""

    start: Vec
    end: Vec

    def at(self, s: Array) -> tuple[Array, Array]:
        """Points and derivatives at s = 0 … 1."""
        way = array(self.end) - array(self.start)
        return array(self.start) + s[:, None] * way, np.broadcast_to(way, (len(s), 3))

    def kernel(self) -> object:
        """Return the kernel's edge."""
        return BRepBuilderAPI_MakeEdge(pnt(self.start), pnt(self.end)).Edge()


@dataclass(frozen=True)
class RoundEdge:
    """An arc, centre + cos a · u + sin a · v for a = first … last; u and v are square to each other."""

    centre: Vec
    u: Vec
    v: Vec
    first: float
    last: float

    def at(self, s: Array) -> tuple[Array, Array]:
        """Points and derivatives at s = 0 … 1, in proportion to the turn, as the kernel rules."""
        a = self.first + (self.last - self.first) * s
        u, v = array(self.u), array(self.v)
        c, n = np.cos(a)[:, None], np.sin(a)[:, None]
        return array(self.centre) + c * u + n * v, (self.last - self.first) * (c * v - n * u)

    def kernel(self) -> object:
        """Return the kernel's edge."""
        u, v, first, last = array(self.u), array(self.v), self.first, self.last
        if last < first:
            v, first, last = -v, -first, -last
        a, b = float(np.linalg.norm(u)), float(np.linalg.norm(v))
        if abs(a - b) <= _ROUND * a:
            axes = gp_Ax2(pnt(self.centre), direction(np.cross(u, v)), direction(u))
            return BRepBuilderAPI_MakeEdge(gp_Circ(axes, a), first, last).Edge()
        if a < b:  # the kernel wants the longer axis first
            u, v, a, b, first, last = v, -u, b, a, first - math.pi / 2, last - math.pi / 2
        axes = gp_Ax2(pnt(self.centre), direction(np.cross(u, v)), direction(u))
        return BRepBuilderAPI_MakeEdge(gp_Elips(axes, a, b), first, last).Edge()


Ring = tuple[Flat | RoundEdge, ...]


def outline(contour: Contour, frame: Frame, height: float) -> Ring:
    """A contour of the frame's x-y plane as a ring at local z = `height`; long arcs come in equal parts."""
    ring: list[Flat | RoundEdge] = []

    def place(p: tuple[float, float]) -> Vec:
        return vec(frame.out((p[0], p[1], height)))

    for edge in contour.edges():
        if not isinstance(edge, ArcEdge):
            ring.append(Flat(place(edge.start), place(edge.end)))
            continue
        parts = max(1, math.ceil(abs(edge.sweep) / MOST_TURN - 1e-9))
        u, v = vec(edge.radius * array(frame.x)), vec(edge.radius * array(frame.y))
        for k in range(parts):
            turned = (edge.first + edge.sweep * k / parts, edge.first + edge.sweep * (k + 1) / parts)
            ring.append(RoundEdge(place(edge.centre), u, v, *turned))
    return tuple(ring)


def circle(centre: ArrayLike, frame: Frame, radius: float, axis: ArrayLike | None = None) -> Ring:
    """A whole circle square to the frame's z, as one edge; its seam lies where `bore` of `axis` has it."""
    u, v = _lean(frame, frame.z if axis is None else axis)
    return (RoundEdge(vec(array(centre)), vec(radius * u), vec(radius * v), 0.0, 2 * math.pi),)


def bore(centre: ArrayLike, frame: Frame, axis: ArrayLike, radius: float, like: Ring | None = None) -> Ring:
    """The edge a round tube leaves on a plane square to the frame's z: a circle, or an ellipse if oblique.

    centre : where the tube's axis meets the plane.  axis : the tube's direction.
    like : a ring whose corners it copies, seen from that ring's own middle, so that a wall can join the two;
        None gives one whole edge.  Raises GeometryError where the corners do not go round once.
    """
    u, v = _lean(frame, axis)
    cosine = abs(float(unit(axis) @ array(frame.z)))
    at, long, short = vec(array(centre)), vec(u * (radius / cosine)), vec(v * radius)
    if like is None:
        return (RoundEdge(at, long, short, 0.0, 2 * math.pi),)
    seen = np.array([edge.at(np.zeros(1))[0][0] for edge in like]) - middle(like)
    angles = np.unwrap(np.arctan2(seen @ v, seen @ u * cosine))
    angles = np.append(angles, angles[0] + 2 * math.pi)
    if (np.diff(angles) <= 0).any():
        raise GeometryError(
            "an opening that is not star-shaped about its middle has no clean way to a round bore"
        )
    turns = pairwise(angles.tolist())
    return tuple(RoundEdge(at, long, short, a, b) for a, b in turns)


def _lean(frame: Frame, axis: ArrayLike) -> tuple[Array, Array]:
    """Axes in the frame's x-y plane, the first the way `axis` leans (x where it stands square)."""
    z, d = array(frame.z), unit(axis)
    lean = d - float(d @ z) * z
    u = unit(lean) if float(np.linalg.norm(lean)) > _SQUARE else array(frame.x)
    return u, np.cross(z, u)


def middle(ring: Ring) -> Array:
    """Mean of a ring's corners (the centre of a single round edge), mm."""
    if len(ring) == 1 and isinstance(ring[0], RoundEdge):
        return array(ring[0].centre)
    found: Array = np.mean([edge.at(np.zeros(1))[0][0] for edge in ring], axis=0)
    return found


def area_vector(ring: Ring) -> Array:
    """Half the integral of P × dP: its length is the enclosed area (mm²), its direction the normal."""
    total = np.zeros(3)
    for point, rate in _nodes(ring):
        total += (_WEIGHT[:, None] * np.cross(point, rate)).sum(axis=0) / 4
    return total


def between(a: Ring, b: Ring) -> float:
    """Volume enclosed by the two flat rings and the ruled wall between them, mm³ (divergence theorem)."""
    total = float(_anchor(b) @ area_vector(b)) - float(_anchor(a) @ area_vector(a))
    for (p, dp), (q, dq) in zip(_nodes(a), _nodes(b), strict=True):
        for t, weight in ((0.5 - math.sqrt(0.15), 5 / 18), (0.5, 8 / 18), (0.5 + math.sqrt(0.15), 5 / 18)):
            point, along = (1 - t) * p + t * q, (1 - t) * dp + t * dq
            flux = np.einsum("ij,ij->i", point, np.cross(along, q - p))
            total += weight * float((_WEIGHT * flux).sum()) / 2
    return total / 3


def _anchor(ring: Ring) -> Array:
    corner: Array = ring[0].at(np.zeros(1))[0][0]
    return corner


def _nodes(ring: Ring) -> list[tuple[Array, Array]]:
    parts = ring
    if len(ring) == 1 and isinstance(ring[0], RoundEdge):  # a whole turn is no single rational arc
        e = ring[0]
        cuts = np.linspace(e.first, e.last, 5)
        parts = tuple(RoundEdge(e.centre, e.u, e.v, a, b) for a, b in pairwise(cuts.tolist()))
    return [edge.at((_GAUSS + 1) / 2) for edge in parts]


def wall(a: Ring, b: Ring) -> list[cq.Face]:
    """The ruled faces from ring `a` to ring `b`, edge by edge: exact planes, cylinders, cones where they are."""
    return [_face(p, q) for p, q in zip(a, b, strict=True)]


def _face(p: Flat | RoundEdge, q: Flat | RoundEdge) -> cq.Face:
    ends = np.array([0.0, 0.5, 1.0])
    way = q.at(ends)[0] - p.at(ends)[0]
    if float(np.abs(way - way[0]).max()) < _SAME:  # the same edge further on
        if isinstance(p, RoundEdge) and not _is_circle(p):
            return _sleeve(p, way[0])
        return cq.Face(BRepPrimAPI_MakePrism(p.kernel(), gp_Vec(*way[0].tolist())).Shape())
    if isinstance(p, RoundEdge) and isinstance(q, RoundEdge):
        up = array(q.centre) - array(p.centre)
        apart = [float(np.abs(array(e) - array(f) * _ratio(q, p)).max()) for e, f in ((q.u, p.u), (q.v, p.v))]
        # arcs that begin or end in other directions share an axis, but no cone joins them
        apart += [abs(math.remainder(f - e, 2 * math.pi)) for e, f in ((p.first, q.first), (p.last, q.last))]
        if _is_circle(p) and max(*apart, float(np.abs(np.cross(up, np.cross(p.u, p.v))).max())) < _SAME:
            return _cone(p, q)
    return cq.Face(BRepFill.Face_s(p.kernel(), q.kernel()))


def _sleeve(p: RoundEdge, way: Array) -> cq.Face:
    """A round tube between two parallel planes that it meets obliquely; `p` is its whole edge on the first."""
    length, axis = float(np.linalg.norm(way)), unit(way)
    centre, normal = array(p.centre), np.cross(p.u, p.v)
    square = array(p.u) - float(array(p.u) @ axis) * axis
    reach = float(np.linalg.norm(p.u))
    whole = _occ.cylinder(centre - reach * axis, axis, float(np.linalg.norm(p.v)), length + 2 * reach, square)
    sign = 1.0 if float(normal @ axis) > 0 else -1.0
    size = 4 * (length + reach)
    ends = [_occ.half_space(centre, sign * normal, size), _occ.half_space(centre + way, -sign * normal, size)]
    faces = _occ.cut(whole, ends).Faces()
    return next(face for face in faces if face.geomType() == "CYLINDER")


def _ratio(q: RoundEdge, p: RoundEdge) -> float:
    return float(np.linalg.norm(q.u) / np.linalg.norm(p.u))


def _is_circle(e: RoundEdge) -> bool:
    return abs(float(np.linalg.norm(e.u) - np.linalg.norm(e.v))) <= _ROUND * float(np.linalg.norm(e.u))


def _cone(p: RoundEdge, q: RoundEdge) -> cq.Face:
    """A patch of a cone between two coaxial arcs."""
    up, start = array(q.centre) - array(p.centre), float(np.linalg.norm(p.u))
    height, grows = float(np.linalg.norm(up)), float(np.linalg.norm(q.u)) - start
    normal = np.cross(p.u, p.v)
    half = math.atan2(grows, height) * (1 if float(up @ normal) > 0 else -1)
    surface = gp_Cone(gp_Ax3(gp_Ax2(pnt(p.centre), direction(normal), direction(p.u))), half, start)
    reach = math.hypot(height, grows) * (1 if float(up @ normal) > 0 else -1)
    low, high = sorted((0.0, reach))
    return cq.Face(BRepBuilderAPI_MakeFace(surface, *sorted((p.first, p.last)), low, high).Face())


def cap(outer: Ring, inner: Sequence[Ring] = ()) -> cq.Face:
    """The flat face inside `outer` and outside every ring of `inner`."""
    normal = area_vector(outer)
    plane = gp_Pln(gp_Ax3(pnt(_anchor(outer)), direction(normal)))
    made = BRepBuilderAPI_MakeFace(plane, _wire(outer))
    for ring in inner:
        hole = _wire(ring)
        hole.Reverse()  # type: ignore[attr-defined]
        made.Add(hole)
    return cq.Face(made.Face())


def _wire(ring: Ring) -> object:
    made = BRepBuilderAPI_MakeWire()
    for edge in ring:
        made.Add(edge.kernel())
    return made.Wire()


def sewn(faces: Iterable[cq.Face]) -> cq.Shape:
    """One solid from the faces of its skin; raises GeometryError where they do not close."""
    sewing = BRepBuilderAPI_Sewing(SEWING)
    for face in faces:
        sewing.Add(face.wrapped)
    sewing.Perform()
    shells = cq.Shape.cast(sewing.SewedShape()).Shells()
    if len(shells) != 1 or sewing.NbFreeEdges() > 0:
        raise GeometryError(
            f"the faces of a part do not close: {len(shells)} shells, {sewing.NbFreeEdges()} open edges"
        )
    solid = BRepBuilderAPI_MakeSolid(TopoDS.Shell_s(shells[0].wrapped)).Solid()
    BRepLib.OrientClosedSolid_s(solid)
    return cq.Shape.cast(solid)
