"""Scans with fewer triangles: corners that share a cell of a grid become one."""

from __future__ import annotations

import numpy as np

from manifoldgen.geometry.vectors import Array
from manifoldgen.mesh.triangles import Index

_COARSER = 1.25  # the cell's growth from one try to the next


def decimated(vertices: Array, triangles: Index, most: int) -> tuple[Array, Index, float]:
    """A mesh of at most `most` triangles, and how far its corners may have moved, mm (0: nothing was left out).

    Every corner moves to the mean of its cell; triangles that vanish are dropped, the coarsest needed and no more.
    """
    if len(triangles) <= most:
        return vertices, triangles, 0.0
    low = vertices.min(axis=0)
    size = float((vertices.max(axis=0) - low).max())
    cell = size / np.sqrt(most) / 2
    while True:
        points, faces = _clustered(vertices, triangles, low, cell)
        if len(faces) <= most:
            return points, faces, float(cell * np.sqrt(3.0))
        cell *= _COARSER


def _clustered(vertices: Array, triangles: Index, low: Array, cell: float) -> tuple[Array, Index]:
    keys = np.floor((vertices - low) / cell).astype(np.int64)
    _, place = np.unique(keys, axis=0, return_inverse=True)
    place = place.reshape(-1)
    count = np.bincount(place).astype(float)
    points = np.column_stack([np.bincount(place, weights=vertices[:, k]) / count for k in range(3)])
    faces = place[triangles]
    a, b, c = faces.T
    faces = faces[(a != b) & (b != c) & (c != a)]
    _, first = np.unique(np.sort(faces, axis=1), axis=0, return_index=True)
    return points, faces[np.sort(first)].astype(np.int64)
