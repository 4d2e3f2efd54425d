"""The gas side for a flow solver: one ASCII STL in metres with a named surface for every opening.

Surfaces: ``inlet_1`` … by cylinder, ``outlet``, ``wastegate``, ``wall`` for all the rest. Triangles are even, so that a
mesher can fill the inside from them as they are.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path

import cadquery as cq
import numpy as np
from numpy.typing import NDArray

from manifoldgen.errors import GeometryError, SolidError
from manifoldgen.export.stl import unit_normals
from manifoldgen.geometry.vectors import Array, Vec, array
from manifoldgen.mesh.even import SmoothFace, Wanted, even
from manifoldgen.mesh.triangles import Mesh
from manifoldgen.solids import _occ
from manifoldgen.solids.acceptance import ANGLE, DEFLECTION

_PLANE_MM = 1e-3  # a facet lies on an opening if all its corners are this near to the opening's plane
_SCALE = 1e-3  # mm → m
LONGEST = 0.08  # of the narrowest opening: the longest edge aimed at
SAG_MM = 0.045  # between an edge and the round it spans, so that nothing is 0.05 mm off
# mm and degrees: what the even triangles are laid on; where that does not close, what the solid was accepted by
_FINE = ((0.02, 4.0), (DEFLECTION, ANGLE))


@dataclass(frozen=True)
class Disc:
    """Where the gas passes an outer face: a named flat opening and a radius round its centre."""

    name: str
    at: Vec
    normal: Vec
    radius: float


def surface(gas: cq.Shape, volume: float, openings: Iterable[Array]) -> Mesh:
    """The gas as a closed mesh of even triangles, mm.

    volume : of the gas, mm³.  openings : outlines (n, 3) of where it passes an outer face; the narrowest sets the edges.
    Raises SolidError where the surface does not close.
    """
    wanted = Wanted(LONGEST * min(map(_width, openings)), SAG_MM)
    for deflection, angle in _FINE:
        faces = []
        for face, points, triangles in _occ.triangulated_faces(gas, deflection, angle):
            normals, bends = _occ.bends_of(face)
            tightest = float(bends.max())
            faces.append(SmoothFace(points, triangles, normals, 1 / tightest if tightest > 0 else math.inf))
        try:
            return even("lumen", faces, wanted, volume)
        except GeometryError as error:
            trouble = error
    raise SolidError("lumen.stl", trouble.beside("lumen")) from trouble


def _width(outline: Array) -> float:
    """Hydraulic diameter of an opening, mm: four times its area over the length of its edge."""
    edges = np.roll(outline, -1, axis=0) - outline
    middle = outline - outline.mean(axis=0)
    area = np.linalg.norm(np.cross(middle, np.roll(middle, -1, axis=0)).sum(axis=0)) / 2
    return float(4 * area / np.linalg.norm(edges, axis=1).sum())


def patches(mesh: Mesh, discs: tuple[Disc, ...]) -> dict[str, NDArray[np.bool_]]:
    """Tell for each patch which triangles are on it; every triangle is on exactly one.

    Raises
    ------
    SolidError : an opening has no facets: the gas would have no way in or out there.
    """
    corners = mesh.corners
    free = np.ones(len(corners), dtype=bool)
    found: dict[str, NDArray[np.bool_]] = {}
    for disc in discs:
        on = free & _on(corners, disc)
        if not on.any():
            raise SolidError("lumen.stl", f"no facet lies on the opening {disc.name}")
        found[disc.name] = on
        free = np.logical_and(free, ~on)
    return {**found, "wall": free}


def _on(corners: Array, disc: Disc) -> NDArray[np.bool_]:
    offset = corners - array(disc.at)
    near = np.abs(offset @ array(disc.normal)) < _PLANE_MM
    inside = np.linalg.norm(offset, axis=2) < disc.radius + 1.0
    return np.asarray((near & inside).all(axis=1), dtype=np.bool_)


def write_lumen(path: Path, mesh: Mesh, discs: tuple[Disc, ...]) -> None:
    """Write the lumen's mesh (mm) as ASCII STL in metres, one `solid` a patch."""
    with path.open("w", encoding="ascii", newline="\n") as out:
        for name, on in patches(mesh, discs).items():
            out.write(f"solid {name}\n")
            out.writelines(_facets(mesh.corners[on] * _SCALE))
            out.write(f"endsolid {name}\n")


def _facets(corners: Array) -> Iterator[str]:
    for normal, (a, b, c) in zip(unit_normals(corners).tolist(), corners.tolist(), strict=True):
        yield (
            f" facet normal {_numbers(normal)}\n  outer loop\n   vertex {_numbers(a)}\n"
            f"   vertex {_numbers(b)}\n   vertex {_numbers(c)}\n  endloop\n endfacet\n"
        )


def _numbers(values: list[float]) -> str:
    return " ".join(f"{v + 0.0:.8g}" for v in values)
