"""Cut tubes built by the kernel for tests of templates: their cut edges, lengths and areas.

Lengths come from the kernel's abscissa to 1e-7: the plain edge length is wrong by up to 0.4 % on long
ellipse arcs.
"""

from __future__ import annotations

import math

import cadquery as cq
import numpy as np
from OCP.BRepAdaptor import BRepAdaptor_Surface
from OCP.BRepGProp import BRepGProp
from OCP.GCPnts import GCPnts_AbscissaPoint
from OCP.GeomAbs import GeomAbs_SurfaceType
from OCP.GProp import GProp_GProps

FAR = 3000.0


def cylinder(radius, length, at, axis) -> cq.Solid:
    """Make a full cylinder from `at` along `axis`."""
    return cq.Solid.makeCylinder(radius, length, cq.Vector(*at), cq.Vector(*axis))


def inlet_blank(radius: float, inlets: int, half_angle: float, before: float) -> cq.Solid:
    """Make a full inlet tube that begins `before` mm ahead of the apex (the origin), cut to its wedge.

    The collector's axis is z, the inlet comes from +x.
    """
    g = math.radians(half_angle)
    d = np.array([-math.sin(g), 0, math.cos(g)])
    tube = cylinder(radius, before + FAR / 2, -before * d, d)
    half = math.pi / inlets
    if inlets == 2:
        wedge = cq.Solid.makeBox(2 * FAR, 2 * FAR, 2 * FAR, cq.Vector(0, -FAR, -FAR))
    else:
        corners = [(0, 0), (FAR, FAR * math.tan(half)), (FAR, -FAR * math.tan(half))]
        wedge = cq.Workplane("XY").polyline(corners).close().extrude(FAR, both=True).val()
    return largest(tube.intersect(wedge))


def behind(shape: cq.Shape, depth: float) -> cq.Shape:
    """Keep what lies before z = depth."""
    return largest(
        shape.cut(cq.Solid.makeBox(4 * FAR, 4 * FAR, 4 * FAR, cq.Vector(-2 * FAR, -2 * FAR, depth)))
    )


def largest(shape: cq.Shape) -> cq.Shape:
    """Keep the biggest of the solids."""
    return max(shape.Solids(), key=lambda s: s.Volume())


def wall(shape: cq.Shape, radius: float) -> list[cq.Face]:
    """Find the round faces of a radius."""
    found = []
    for face in shape.Faces():
        surface = BRepAdaptor_Surface(face.wrapped)
        round_ = surface.GetType() == GeomAbs_SurfaceType.GeomAbs_Cylinder
        if round_ and abs(surface.Cylinder().Radius() - radius) < 1e-6:
            found.append(face)
    return found


def cut_edges(shape: cq.Shape, radius: float) -> list[cq.Edge]:
    """Find the edges of the outside that are neither lines along the tube nor square ends."""
    found = [e for f in wall(shape, radius) for e in f.Edges() if e.geomType() not in ("LINE", "CIRCLE")]
    return list({e.hashCode(): e for e in found}.values())


def length(edges) -> float:
    """Sum the edges' lengths, mm."""
    return sum(GCPnts_AbscissaPoint.Length_s(e._geomAdaptor(), 1e-7) for e in edges)


def area(faces) -> float:
    """Sum the faces' areas, mm²: with the adaptive rule, as the default is off by 0.2 mm² on a skew saddle."""
    total = 0.0
    for face in faces:
        props = GProp_GProps()
        BRepGProp.SurfaceProperties_s(face.wrapped, props, 1e-7)
        total += props.Mass()
    return total


def distance(edges, points) -> float:
    """Greatest distance of points to the nearest of the edges, mm."""
    held = cq.Compound.makeCompound(edges)
    return max(held.distance(cq.Vertex.makeVertex(*map(float, p))) for p in points)
