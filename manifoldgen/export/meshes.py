"""Triangles of every part of an assembly, for viewers and pictures."""

from __future__ import annotations

from collections.abc import Iterator

import cadquery as cq
import numpy as np

from manifoldgen.mesh.triangles import STEEL, Colour, Mesh, merged, welded
from manifoldgen.solids import _occ

DEFLECTION_MM = 0.1  # coarse enough for a small file, fine enough that tubes look round
ANGLE_DEG = 10.0


def part_meshes(assembly: cq.Assembly) -> tuple[Mesh, ...]:
    """One mesh for each part directly under the assembly, its pieces merged, in the bench frame (mm)."""
    return tuple(
        merged(part.name, pieces, pieces[0].colour)
        for part in assembly.children
        if (pieces := tuple(_placed(part, assembly.loc, None)))
    )


def piece_meshes(assembly: cq.Assembly) -> tuple[Mesh, ...]:
    """One mesh for each named shape anywhere in the assembly, in the bench frame (mm)."""
    return tuple(_placed(assembly, cq.Location(), None))


def _placed(node: cq.Assembly, place: cq.Location, colour: Colour | None) -> Iterator[Mesh]:
    place = place * node.loc
    if node.color is not None:
        red, green, blue, _ = node.color.toTuple()
        colour = (red, green, blue)
    for shape in node.shapes:
        points, triangles = _occ.triangulate(shape.moved(place), DEFLECTION_MM, ANGLE_DEG)
        yield welded(
            Mesh(
                _name(node), np.asarray(points, np.float64), np.asarray(triangles, np.int64), colour or STEEL
            )
        )
    for child in node.children:
        yield from _placed(child, place, colour)


def _name(node: cq.Assembly) -> str:
    return str(node.name).rsplit("/", 1)[-1]
