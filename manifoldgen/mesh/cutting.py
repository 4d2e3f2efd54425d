"""Meshes cut by meshes and by planes, without the CAD kernel (manifold3d: always closed, a few ms each)."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

import numpy as np

from manifoldgen.errors import GeometryError
from manifoldgen.geometry.shapes import HalfSpace
from manifoldgen.geometry.vectors import Array, array
from manifoldgen.mesh.triangles import Mesh


def minus(mesh: Mesh, others: Iterable[Mesh]) -> Mesh:
    """The mesh without what the others hold."""
    body = _solid(mesh)
    for other in others:
        body = body - _solid(other)
    return _mesh(body, mesh)


def behind(mesh: Mesh, planes: Iterable[HalfSpace]) -> Mesh:
    """What of the mesh lies behind every one of the planes."""
    body = _solid(mesh)
    for plane in planes:
        normal = -array(plane.normal)
        body = body.trim_by_plane(normal.tolist(), float(normal @ array(plane.at)))
    return _mesh(body, mesh)


def extruded(name: str, outline: Array, height: float) -> Mesh:
    """A plate: an outline (n, 2) from z = 0 to `height`; it need not be convex."""
    from manifold3d import CrossSection

    body = CrossSection([outline]).extrude(height)
    return _mesh(body, Mesh(name, np.zeros((0, 3)), np.zeros((0, 3), np.int64)))


def largest(mesh: Mesh) -> Mesh:
    """The largest of its separate bodies."""
    return _mesh(max(_solid(mesh).decompose(), key=lambda body: body.volume()), mesh)


def _solid(mesh: Mesh) -> Any:  # noqa: ANN401 - the library has no types
    from manifold3d import Error, Manifold, Mesh64

    body = Manifold(
        Mesh64(np.ascontiguousarray(mesh.vertices), np.ascontiguousarray(mesh.triangles, dtype=np.uint64))
    )
    if body.status() != Error.NoError:
        raise GeometryError("its surface does not close, so nothing can be cut from it", mesh.name)
    return body


def _mesh(body: Any, like: Mesh) -> Mesh:  # noqa: ANN401 - the library has no types
    if body.is_empty():
        raise GeometryError("nothing is left of it after its cuts", like.name)
    made = body.to_mesh64()
    return Mesh(
        like.name, np.array(made.vert_properties[:, :3]), made.tri_verts.astype(np.int64), like.colour
    )
