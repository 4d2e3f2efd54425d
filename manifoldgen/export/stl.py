"""Binary STL of one closed mesh, mm."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from manifoldgen.geometry.vectors import Array
from manifoldgen.mesh.triangles import Mesh

_HEADER = b"manifoldgen, mm"
_FACET = np.dtype([("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("attribute", "<u2")])


def write_stl(path: Path, mesh: Mesh) -> None:
    """Write `mesh` as binary STL (80-byte header, count, 50 bytes a facet; normals from the corners)."""
    facets = np.zeros(len(mesh.triangles), dtype=_FACET)
    corners = mesh.corners
    facets["corners"] = corners
    facets["normal"] = unit_normals(corners)
    count = np.uint32(len(facets)).astype("<u4").tobytes()
    path.write_bytes(_HEADER.ljust(80) + count + facets.tobytes())


def unit_normals(corners: Array) -> Array:
    """Outward unit normals of triangles given as (m, 3, 3) corners; zero for a triangle without area."""
    normals = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    lengths = np.linalg.norm(normals, axis=1, keepdims=True)
    units: Array = np.divide(normals, lengths, out=np.zeros_like(normals), where=lengths > 0)
    return units
