"""How far two surfaces are apart: from points all over either one to the nearest place on the other, by VTK."""

from __future__ import annotations

import cadquery as cq
import numpy as np
from vtkmodules.util.numpy_support import numpy_to_vtk, numpy_to_vtkIdTypeArray
from vtkmodules.vtkCommonCore import mutable, vtkPoints
from vtkmodules.vtkCommonDataModel import vtkCellArray, vtkPolyData, vtkStaticCellLocator

from manifoldgen.mesh.triangles import Mesh
from manifoldgen.solids import _occ

FINE_MM = 0.02  # the kernel's own facets: what the B-rep is drawn with here
FINE_DEG = 4.0


def brep(name: str, shape: cq.Shape) -> Mesh:
    """The kernel's surface, drawn fine."""
    points, triangles = _occ.triangulate(shape, FINE_MM, FINE_DEG)
    return Mesh(name, np.asarray(points, float), np.asarray(triangles, np.int64))


def farthest(one: Mesh, other: Mesh, most: int = 6000) -> float:
    """The farthest that any place of either surface lies from the other, mm; places: corners and middles."""
    return max(_from(one, other, most), _from(other, one, most))


def _from(points_of: Mesh, surface: Mesh, most: int) -> float:
    corners = points_of.corners
    places = np.concatenate([points_of.vertices, corners.mean(axis=1), corners[:, :2].mean(axis=1)])
    if len(places) > most:
        places = places[np.random.default_rng(1).choice(len(places), most, replace=False)]
    locator = vtkStaticCellLocator()
    locator.SetDataSet(_poly(surface))
    locator.BuildLocator()
    worst, near = 0.0, [0.0, 0.0, 0.0]
    cell, part, square = mutable(0), mutable(0), mutable(0.0)
    for place in places.tolist():
        locator.FindClosestPoint(place, near, cell, part, square)
        worst = max(worst, float(square))
    return worst**0.5


def _poly(mesh: Mesh) -> vtkPolyData:
    cells = np.column_stack([np.full(len(mesh.triangles), 3), mesh.triangles]).astype(np.int64).ravel()
    points, triangles, made = vtkPoints(), vtkCellArray(), vtkPolyData()
    points.SetData(numpy_to_vtk(np.ascontiguousarray(mesh.vertices), deep=True))
    triangles.ImportLegacyFormat(numpy_to_vtkIdTypeArray(cells, deep=True))
    made.SetPoints(points)
    made.SetPolys(triangles)
    return made
