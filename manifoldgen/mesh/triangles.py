"""A named triangle mesh: arrays, colour, and the few numbers every writer needs."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from manifoldgen.geometry.vectors import Array

Index = NDArray[np.int64]
Colour = tuple[float, float, float]
STEEL: Colour = (0.66, 0.68, 0.70)

WELD_MM = 1e-3  # vertices closer than this are one; 1e-4 leaves open edges in engraved text


@dataclass(frozen=True, eq=False)
class Mesh:
    """Triangles of one part.

    vertices : (n, 3) mm, bench frame.  triangles : (m, 3) indices, counter-clockwise seen from outside.
    colour : red, green, blue, 0 … 1.
    """

    name: str
    vertices: Array
    triangles: Index
    colour: Colour = STEEL

    @property
    def corners(self) -> Array:
        """The corner points of every triangle, (m, 3, 3) mm."""
        placed: Array = self.vertices[self.triangles]
        return placed

    @property
    def volume(self) -> float:
        """Enclosed volume, mm³ (divergence theorem; meaningful for a closed mesh)."""
        a, b, c = np.moveaxis(self.corners, 1, 0)
        return float(np.einsum("ij,ij->", a, np.cross(b, c)) / 6.0)

    @property
    def closed(self) -> bool:
        """True if every edge is met by exactly one triangle from either side."""
        t = self.triangles
        edges = np.concatenate([t[:, [0, 1]], t[:, [1, 2]], t[:, [2, 0]]])
        size = int(t.max(initial=0)) + 1
        there, back = edges[:, 0] * size + edges[:, 1], edges[:, 1] * size + edges[:, 0]
        return len(t) > 0 and len(np.unique(there)) == len(there) and bool(np.isin(there, back).all())


def welded(mesh: Mesh, within: float = WELD_MM) -> Mesh:
    """Merge the vertices that agree `within` so many mm, 0: exactly, and drop the triangles that vanish.

    The first vertex met keeps its exact place; order follows the input, so equal input gives equal output.
    """
    keys = np.round(mesh.vertices / within).astype(np.int64) if within > 0 else mesh.vertices + 0.0  # no -0
    _, first, inverse = np.unique(keys, axis=0, return_index=True, return_inverse=True)
    order = np.argsort(first, kind="stable")
    place = np.empty_like(order)
    place[order] = np.arange(len(order))
    triangles = place[inverse.reshape(-1)][mesh.triangles]
    a, b, c = triangles.T
    whole = (a != b) & (b != c) & (c != a)
    return Mesh(mesh.name, mesh.vertices[first[order]], triangles[whole], mesh.colour)


def merged(name: str, meshes: tuple[Mesh, ...], colour: Colour = STEEL) -> Mesh:
    """Put several meshes into one, without joining them."""
    offsets = np.cumsum([0, *(len(m.vertices) for m in meshes)])
    return Mesh(
        name,
        np.concatenate([m.vertices for m in meshes]),
        np.concatenate([m.triangles + int(k) for m, k in zip(meshes, offsets, strict=False)]),
        colour,
    )
