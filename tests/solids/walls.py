"""Wall thickness of a collector measured on its mesh, from the bore to the outside, by the nearest surface."""

from __future__ import annotations

import numpy as np
import trimesh
from vtkmodules.util.numpy_support import numpy_to_vtk, numpy_to_vtkIdTypeArray
from vtkmodules.vtkCommonCore import mutable, vtkPoints
from vtkmodules.vtkCommonDataModel import vtkCellArray, vtkPolyData, vtkStaticCellLocator

from manifoldgen.manifold.collector import inlet_start
from manifoldgen.manifold.model import Collector


def least_wall_ratio(
    c: Collector, mesh: trimesh.Trimesh, rng: np.random.Generator, count: int = 4000
) -> float:
    """Least (thickness / nominal) over random points of the bore.

    The nominal is the wall of what the nearest outside point belongs to: the outlet's wall on the cone,
    the inlets' wall on tubes and lid.
    """
    bore, outside = _skins(c, mesh)
    points = bore.sample(count, seed=int(rng.integers(2**31)))
    nearest = _nearest(points, outside)
    depth = c.frame.into(nearest)[:, 2] - c.merge_depth
    nominal = np.where(depth > 1e-3, c.outlet.wall, c.section.wall)
    return float((np.linalg.norm(points - nearest, axis=1) / nominal).min())


def _skins(c: Collector, mesh: trimesh.Trimesh) -> tuple[trimesh.Trimesh, trimesh.Trimesh]:
    """The mesh without the end rings falls apart into bore and outside; the bore is narrower at the outlet."""
    keep = np.ones(len(mesh.faces), dtype=bool)
    ends = [inlet_start(c, k) for k in c.order]
    rings = [(np.array(p.at), np.array(p.direction), c.section.radius) for p in ends]
    rings.append((c.frame.out((0, 0, c.length)), np.array(c.frame.z), c.outlet.radius))
    centres = mesh.triangles_center
    for at, normal, radius in rings:
        off = centres - at
        flat = (np.abs(off @ normal) < 1e-6) & (np.abs(mesh.face_normals @ normal) > 0.999)
        keep &= ~(flat & (np.linalg.norm(off, axis=1) <= radius))
    skins = trimesh.graph.connected_components(
        mesh.face_adjacency[keep[mesh.face_adjacency].all(axis=1)], nodes=np.flatnonzero(keep)
    )
    assert len(skins) == 2, f"{len(skins)} skins"
    a, b = (mesh.submesh([s], append=True, repair=False) for s in skins)
    return (a, b) if _end_radius(c, a) < _end_radius(c, b) else (b, a)


def _end_radius(c: Collector, skin: trimesh.Trimesh) -> float:
    x, y, z = c.frame.into(skin.vertices).T
    return float(np.hypot(x, y)[np.abs(z - c.length) < 1e-6].mean())


def _nearest(points: np.ndarray, surface: trimesh.Trimesh) -> np.ndarray:
    cells = np.column_stack([np.full(len(surface.faces), 3), surface.faces]).astype(np.int64).ravel()
    vertices, triangles, poly = vtkPoints(), vtkCellArray(), vtkPolyData()
    vertices.SetData(numpy_to_vtk(np.ascontiguousarray(surface.vertices), deep=True))
    triangles.ImportLegacyFormat(numpy_to_vtkIdTypeArray(cells, deep=True))
    poly.SetPoints(vertices)
    poly.SetPolys(triangles)
    locator = vtkStaticCellLocator()
    locator.SetDataSet(poly)
    locator.BuildLocator()
    found = np.empty_like(points)
    nearest, cell, sub, squared = [0.0, 0.0, 0.0], mutable(0), mutable(0), mutable(0.0)
    for i, point in enumerate(points.tolist()):
        locator.FindClosestPoint(point, nearest, cell, sub, squared)
        found[i] = nearest
    return found
