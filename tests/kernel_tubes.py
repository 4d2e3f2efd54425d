"""Tubes and plates as solids of the CAD kernel, and its distances: the outside measure of ours.

Every rim is made of four quarter circles: on whole circles the kernel's distance misses minima between
rims, by 0.002 to 2 mm in one pair of six.
"""

from __future__ import annotations

import math
from itertools import pairwise
from typing import Any

import cadquery as cq
from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeEdge, BRepBuilderAPI_MakeFace, BRepBuilderAPI_MakeWire
from OCP.BRepExtrema import BRepExtrema_DistShapeShape
from OCP.BRepPrimAPI import BRepPrimAPI_MakePrism, BRepPrimAPI_MakeRevol
from OCP.gp import gp_Ax1, gp_Ax2, gp_Circ, gp_Dir, gp_Pnt, gp_Vec

from manifoldgen.geometry.path import Line
from manifoldgen.geometry.shapes import Plate, Tube
from manifoldgen.geometry.vectors import array


def solids(tube: Tube) -> list[Any]:
    """One solid for every straight and bend."""
    made = []
    for segment in tube.path.segments:
        if segment.length == 0:
            continue
        at, travel = gp_Pnt(*segment.point(0)), gp_Dir(*segment.tangent(0))
        rim = gp_Circ(gp_Ax2(at, travel), tube.radius)
        wire = BRepBuilderAPI_MakeWire()
        for a, b in pairwise(math.pi / 2 * k for k in range(5)):
            wire.Add(BRepBuilderAPI_MakeEdge(rim, a, b).Edge())
        disc = BRepBuilderAPI_MakeFace(wire.Wire()).Face()
        if isinstance(segment, Line):
            along = gp_Vec(*(array(segment.direction) * segment.length))
            made.append(BRepPrimAPI_MakePrism(disc, along).Shape())
        else:
            axis = gp_Ax1(gp_Pnt(*segment.centre), gp_Dir(*segment.axis))
            made.append(BRepPrimAPI_MakeRevol(disc, axis, math.radians(segment.angle)).Shape())
    return made


def kernel_distance(a: Tube, b: Tube) -> float:
    """The CAD kernel's distance of two solid tubes, mm; pieces too far apart to matter are left out."""
    pairs = []
    for x, (mx, rx) in zip(solids(a), _balls(a), strict=True):
        for y, (my, ry) in zip(solids(b), _balls(b), strict=True):
            pairs.append((math.dist(mx, my) - rx - ry, len(pairs), x, y))
    least = math.inf
    for low, _, x, y in sorted(pairs, key=lambda pair: pair[:2]):
        if low < least:
            least = min(least, BRepExtrema_DistShapeShape(x, y).Value())
    return least


def _balls(tube: Tube) -> list[tuple[Any, float]]:
    """A ball about every piece: its middle, half its length and the tube's radius."""
    pieces = [segment for segment in tube.path.segments if segment.length > 0]
    return [(segment.point(segment.length / 2), segment.length / 2 + tube.radius) for segment in pieces]


def kernel_distance_to_plate(tube: Tube, plate: Plate) -> float:
    """The CAD kernel's distance of a solid tube and a plate, mm."""
    ring, frame = plate.contour.vertices, plate.frame
    drawn = cq.Workplane(cq.Plane(frame.at, frame.x, frame.z)).moveTo(*ring[0][:2])
    for (x, y, bulge), (u, v, _) in zip(ring, ring[1:] + ring[:1], strict=True):
        if bulge:  # the arc's middle stands bulge times half the chord to the right
            drawn = drawn.threePointArc(
                ((x + u + (v - y) * bulge) / 2, (y + v - (u - x) * bulge) / 2), (u, v)
            )
        else:
            drawn = drawn.lineTo(u, v)
    solid = drawn.close().extrude(plate.thickness).val().wrapped
    return min(BRepExtrema_DistShapeShape(solid, piece).Value() for piece in solids(tube))
