"""A raw mesh made fit to be measured: corners merged, useless faces dropped, what was found told."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from manifoldgen.errors import ManifoldgenError

SAME = 1e-4  # mm: corners nearer than this are one (every triangle of an STL brings its own three)
FINE = 1e-6  # of the extent, for what is very small
FARTHEST = 1e7  # mm
NONE = "holds no triangle: a cloud of points must be meshed first, a drawing has none"

Points = NDArray[np.float64]
Faces = NDArray[np.int32]


@dataclass(frozen=True, eq=False)
class Mended:
    """Vertices in mm and faces; whether it is closed, its open rims, and what was found on the way."""

    vertices: Points
    faces: Faces
    closed: bool
    holes: int
    notes: tuple[str, ...]


def mend(name: str, vertices: Points, faces: NDArray[np.integer[Any]]) -> Mended:
    """Merge corners, drop faces without area and double ones, look for holes and flipped faces.

    Raises
    ------
    ManifoldgenError : no triangle is left, or corners are no numbers.
    """
    _refuse(name, vertices, faces)
    notes = []
    points, sides = _merged(vertices, faces)
    sound = _areas(points, sides) > 0
    flat = int(np.sum(~sound))
    sides = sides[sound].astype(np.int32)
    _, first = np.unique(np.sort(sides, axis=1), axis=0, return_index=True)
    double = len(sides) - len(first)
    sides = sides[np.sort(first)]
    if not len(sides):
        raise ManifoldgenError(f"{name} {NONE}")
    if flat:
        notes.append(f"had {flat} {_n('face', flat)} without area: dropped")
    if double:
        notes.append(f"had {double} double {_n('face', double)}: dropped")
    rims, crowded, flipped = _edges(sides)
    closed = rims == 0 and crowded == 0
    if flipped:
        notes.append(
            f"has faces turned against their neighbours ({flipped} {_n('edge', flipped)}): no matter here"
        )
    if rims:
        notes.append(f"is not closed ({rims} {_n('hole', rims)}): used as a surface")
    elif crowded:
        notes.append(f"has {crowded} {_n('edge', crowded)} with more than two faces: used as a surface")
    used, inverse = np.unique(sides, return_inverse=True)
    sides = inverse.reshape(-1, 3).astype(np.int32)
    return Mended(np.ascontiguousarray(points[used]), sides, closed, rims, tuple(notes))


def _refuse(name: str, vertices: Points, faces: NDArray[np.integer[Any]]) -> None:
    """Raise the sentence for what no mending helps."""
    bad = int(np.sum(~np.isfinite(vertices).all(axis=1)))
    if bad:
        raise ManifoldgenError(
            f"{name} has {bad} {_n('corner', bad)} without a number (NaN or infinite): export it again"
        )
    if not len(faces):
        raise ManifoldgenError(f"{name} {NONE}")
    if faces.min() < 0 or faces.max() >= len(vertices):
        raise ManifoldgenError(
            f"{name} has faces on corners that it does not hold: it is cut short, export it again"
        )
    if np.abs(vertices).max() > FARTHEST:
        raise ManifoldgenError(
            f"{name} reaches {np.abs(vertices).max():.3g} mm away: correct its scale or origin"
        )


def _n(word: str, count: int) -> str:
    return word if count == 1 else word + "s"


def _merged(vertices: Points, faces: NDArray[np.integer[Any]]) -> tuple[Points, Faces]:
    """One corner for all that stand within the same small cell."""
    same = min(SAME, FINE * float(np.ptp(vertices, axis=0).max(initial=0.0))) or SAME
    cells = np.round(vertices / same).astype(np.int64)
    order = np.lexsort(cells.T)
    new = np.ones(len(order), dtype=bool)
    new[1:] = (np.diff(cells[order], axis=0) != 0).any(axis=1)
    number = np.empty(len(order), dtype=np.int32)
    number[order] = np.cumsum(new) - 1
    return vertices[order[new]], number[np.asarray(faces, dtype=np.int64).reshape(-1, 3)]


def _areas(vertices: Points, faces: Faces) -> Points:
    a, b, c = (vertices[faces[:, k]] for k in range(3))
    areas: Points = np.linalg.norm(np.cross(b - a, c - a), axis=1)
    return areas


def _edges(faces: Faces) -> tuple[int, int, int]:
    """How many open rims, edges of more than two faces, and edges that two faces run the same way."""
    from scipy.sparse import coo_array
    from scipy.sparse.csgraph import connected_components

    start, end = faces.ravel(), np.roll(faces, -1, axis=1).ravel()
    low, high = np.minimum(start, end).astype(np.int64), np.maximum(start, end)
    size = int(faces.max()) + 1
    _, which, times = np.unique(low * size + high, return_inverse=True, return_counts=True)
    forward = np.bincount(which, weights=start < end, minlength=len(times))
    flipped = int(np.sum((times == 2) & (forward != 1)))
    rim = times[which] == 1
    if not rim.any():
        return 0, int(np.sum(times > 2)), flipped
    corners, ends = np.unique(np.concatenate([start[rim], end[rim]]), return_inverse=True)
    half = int(np.sum(rim))
    graph = coo_array((np.ones(half), (ends[:half], ends[half:])), shape=(len(corners), len(corners)))
    return int(connected_components(graph, directed=False)[0]), int(np.sum(times > 2)), flipped
