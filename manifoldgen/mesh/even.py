"""A closed surface drawn anew in even triangles, for flow and stress meshers.

The kernel draws a straight tube in strips from end to end and leaves needles where faces meet at a flat angle; a mesher
that fills the inside gives up on those. Here edges are split, taken out and turned and corners moved along the surface
until triangles are near even (Botsch and Kobbelt 2004, A remeshing approach to multiresolution modeling). Creases,
so the outlines of openings too, stay; corners stay on the surface that was given, drawn fine.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from manifoldgen.errors import GeometryError
from manifoldgen.geometry.mesh_distance import Tree, tree
from manifoldgen.geometry.vectors import Array
from manifoldgen.mesh.triangles import Index, Mesh

ROUNDS = 5  # of splitting, taking out, turning and moving; more change little
TURN_DEG = 2.0  # faces that meet at more have a crease between them
CORNER_DEG = 35.0  # a crease that turns by more has a corner there
# two faces place a shared corner 1e-13 mm apart; where rounding parts those, the next grid is tried
_MERGED_MM = (1e-6, 1e-5, 1e-7)
_SHORTEST = 0.2  # of the longest edge: no size wanted is less, however tight the bend
_STEADY = 0.05  # mm: the turn of a crease over less says nothing of its bend
_CRUMBS = 0.1  # of the wanted length: what is shorter goes before anything is split


@dataclass(frozen=True, eq=False)
class SmoothFace:
    """One smooth face of a closed surface, drawn fine.

    points (n, 3) mm, triangles (m, 3) seen from outside, normals (n, 3) out of it.
    radius : of its tightest bend, mm; infinite where it is flat.
    """

    points: Array
    triangles: Index
    normals: Array
    radius: float


@dataclass(frozen=True)
class Wanted:
    """How fine: no edge longer than `longest` mm, none further than `sag` mm from the round it spans, by much."""

    longest: float
    sag: float

    def size(self, radius: Array) -> Array:
        """Edge length to aim at where the surface bends by these radii, mm: the longest is a third more."""
        allowed = np.minimum(np.sqrt(8.0 * radius * self.sag), self.longest)
        aimed: Array = np.maximum(0.75 * allowed, _SHORTEST * self.longest)
        return aimed


@dataclass(frozen=True, eq=False)
class _Fine:
    """All faces in one: points, triangles, and of each triangle its corners' normals (m, 3, 3), face and wanted size."""

    points: Array
    triangles: Index
    normals: Array
    face: Index
    size: Array


def quality(corners: Array) -> Array:
    """4 √3 area / (sum of the squared edges) of triangles (m, 3, 3): 1 for an even one, 0 for a needle."""
    sides = corners - np.roll(corners, 1, axis=1)
    twice = np.linalg.norm(np.cross(sides[:, 0], sides[:, 1]), axis=1)
    found: Array = 2 * math.sqrt(3.0) * twice / (sides**2).sum(axis=(1, 2))
    return found


def even(name: str, faces: Sequence[SmoothFace], wanted: Wanted, volume: float) -> Mesh:
    """The surface in even triangles; the same faces give the same triangles.

    volume : what it encloses, mm³; kept, by corners a little outside a round where edges are a little inside.
    Raises GeometryError where the faces do not close.
    """
    from manifoldgen.mesh import _even_kernels

    kernels: Any = _even_kernels  # numba has types only for what is compiled beforehand
    fine = _joined(name, faces, wanted)
    beside = _beside(fine.triangles)
    crease = _creases(fine, beside)
    surface = tree(fine.points, fine.triangles)
    places = (*_place(surface, fine.size), *_place(*_lines(fine, crease, wanted)))
    state, used = _state(fine, beside, crease)
    points, _, kind, *links = state
    kernels.collapse_short(*state, used, _CRUMBS)
    few = len(fine.triangles) // 500
    for _ in range(ROUNDS):
        while kernels.split_long(*state, used, *places) > few:
            kernels.flip_better(points, *links, used)
        kernels.collapse_short(*state, used, kernels.SHORT)
        while kernels.flip_better(points, *links, used) > few:
            pass
        kernels.smooth(*state, used, *places)
    while kernels.split_long(*state, used, *places) or kernels.flip_better(points, *links, used) > few:
        pass
    kernels.smooth(*state, used, *places)
    kept = links[0][links[0][:, 0] >= 0]
    seen, numbers = np.unique(kept, return_inverse=True)
    made = Mesh(name, points[seen], numbers.reshape(-1, 3).astype(np.int64))
    return _filled(made, kind[seen] == 0, surface, volume)


def _joined(name: str, faces: Sequence[SmoothFace], wanted: Wanted) -> _Fine:
    points = np.concatenate([f.points for f in faces])
    offsets = np.cumsum([0, *(len(f.points) for f in faces)])
    triangles = np.concatenate([f.triangles + k for f, k in zip(faces, offsets, strict=False)])
    counts = [len(f.triangles) for f in faces]
    face = np.repeat(np.arange(len(faces)), counts)
    size = wanted.size(np.array([f.radius for f in faces]))[face]
    normals = np.concatenate([f.normals for f in faces])[triangles]
    for within in _MERGED_MM:
        keys = np.round(points / within).astype(np.int64)
        _, first, inverse = np.unique(keys, axis=0, return_index=True, return_inverse=True)
        merged = inverse.reshape(-1)[triangles]
        a, b, c = merged.T
        whole = (a != b) & (b != c) & (c != a)
        if Mesh(name, points[first], merged[whole]).closed:
            return _Fine(points[first], merged[whole], normals[whole], face[whole], size[whole])
    raise GeometryError("its surface does not close, so no even triangles can be laid on it", name)


def _beside(triangles: Index) -> Index:
    """The triangle across every edge, (m, 3); edge k runs from corner k to the next."""
    start, end = triangles.reshape(-1), np.roll(triangles, -1, axis=1).reshape(-1)
    count = int(triangles.max()) + 1
    order = np.argsort(start * count + end)
    across = order[np.searchsorted((start * count + end)[order], end * count + start)]
    beside: Index = (across // 3).reshape(-1, 3)
    return beside


def _creases(fine: _Fine, beside: Index) -> NDArray[np.bool_]:
    """Which edges are creases, (m, 3): two faces meet there, at an angle at one end at least."""
    crease = np.zeros(beside.shape, dtype=bool)
    for k in range(3):
        t = np.flatnonzero(fine.face != fine.face[beside[:, k]])
        u = beside[t, k]
        for corner in (k, (k + 1) % 3):
            there = np.argmax(fine.triangles[u] == fine.triangles[t, corner][:, None], axis=1)
            here, over = fine.normals[t, corner], fine.normals[u, there]
            known = (np.abs(here).max(axis=1) > 0) & (np.abs(over).max(axis=1) > 0)
            turns = np.einsum("ij,ij->i", here, over) < math.cos(math.radians(TURN_DEG))
            crease[t, k] |= known & turns
    return crease


def _lines(fine: _Fine, crease: NDArray[np.bool_], wanted: Wanted) -> tuple[Tree, Array]:
    """The creases as triangles without area, which the tree measures as their edges, and the size wanted there."""
    a, b, turns = _turns(fine, crease)
    if not len(a):  # nothing is ever drawn to it
        return tree(fine.points, fine.triangles[:1]), fine.size[:1]
    length = np.linalg.norm(fine.points[b] - fine.points[a], axis=1)
    around = np.bincount(a, length, len(fine.points)) / 2  # of the crease that belongs to a point
    bent = (turns > 0) & (around > _STEADY) & (np.bincount(a, minlength=len(fine.points)) == 2)
    radius = np.where(bent, around / np.where(bent, turns, 1.0), np.inf)
    size = np.full(len(fine.points), np.inf)
    np.minimum.at(size, fine.triangles, fine.size[:, None])
    size = np.minimum(size, wanted.size(radius))
    return tree(fine.points, np.column_stack([a, b, b])), np.minimum(size[a], size[b])


def _turns(fine: _Fine, crease: NDArray[np.bool_]) -> tuple[Index, Index, Array]:
    """Each crease edge from point to point, once each way, and by how much two creases turn at every point, radians."""
    t, k = np.nonzero(crease)
    a, b = fine.triangles[t, k], fine.triangles[t, (k + 1) % 3]
    along = fine.points[b] - fine.points[a]
    along /= np.linalg.norm(along, axis=1, keepdims=True)
    summed = np.zeros_like(fine.points)
    np.add.at(summed, a, along)
    # two unit vectors at 180° less an angle add up to twice the sine of half of it
    return a, b, 2 * np.arcsin(np.minimum(np.linalg.norm(summed, axis=1) / 2, 1.0))


def _place(lines: Tree, size: Array) -> tuple[tuple[Any, ...], Array]:
    return lines.arrays, np.ascontiguousarray(size[lines.faces])


def _state(fine: _Fine, beside: Index, crease: NDArray[np.bool_]) -> tuple[tuple[Any, ...], Index]:
    """The arrays of `_even_kernels`, with room for what is added, and how much of them is used."""
    from scipy.sparse import coo_matrix
    from scipy.sparse.csgraph import connected_components

    n, m = len(fine.points), len(fine.triangles)
    t, k = np.nonzero(~crease)
    near = coo_matrix((np.ones(len(t), np.int8), (t, beside[t, k])), shape=(m, m))
    patch = connected_components(near)[1]
    corners = fine.points[fine.triangles]
    area = np.linalg.norm(np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]), axis=1) / 2
    more = int(12 * (area / fine.size**2).sum()) + m

    size = np.full(n, np.inf)
    np.minimum.at(size, fine.triangles, fine.size[:, None])
    spoke = np.zeros(n, np.int64)
    spoke[fine.triangles] = np.arange(m)[:, None]
    state = (
        _roomy(fine.points, more // 2),
        _roomy(size, more // 2),
        _roomy(_kinds(fine, crease), more // 2),
        _roomy(fine.triangles, more, -1),
        _roomy(beside, more),
        _roomy(crease, more),
        _roomy(patch.astype(np.int64), more),
        _roomy(spoke, more // 2),
    )
    return state, np.array([n, m])


def _kinds(fine: _Fine, crease: NDArray[np.bool_]) -> Index:
    """Of every point: 0 inside a face, 1 along a crease, 2 where creases meet, end or have a corner."""
    a, _, turns = _turns(fine, crease)
    degree, sharp = np.bincount(a, minlength=len(fine.points)), turns > math.radians(CORNER_DEG)
    kinds: Index = np.where(degree == 0, 0, np.where((degree == 2) & ~sharp, 1, 2)).astype(np.int64)
    return kinds


def _roomy(values: NDArray[Any], more: int, empty: int = 0) -> NDArray[Any]:
    shape = (more, *values.shape[1:])
    return np.ascontiguousarray(np.concatenate([values, np.full(shape, empty, values.dtype)]))


def _filled(mesh: Mesh, free: NDArray[np.bool_], surface: Tree, volume: float) -> Mesh:
    """Corners inside faces moved out by as much as the middles of their triangles lie inside, until the volume is kept."""
    from manifoldgen.geometry import _mesh_kernels

    middles = mesh.corners.mean(axis=1)
    off = np.zeros_like(middles)
    for k, (x, y, z) in enumerate(middles.tolist()):
        off[k] = _mesh_kernels.point(*surface.arrays, x, y, z, math.inf)[1:4]
    off -= middles
    moves, count = np.zeros_like(mesh.vertices), np.bincount(mesh.triangles.reshape(-1))
    for k in range(3):
        np.add.at(moves, mesh.triangles[:, k], off)
    moves = np.where(free[:, None], moves / count[:, None], 0.0)

    def moved(share: float) -> Mesh:
        return Mesh(mesh.name, mesh.vertices + share * moves, mesh.triangles, mesh.colour)

    start, step = mesh.volume, moved(1.0).volume - mesh.volume
    share = (volume - start) / step if abs(step) > 0 else 0.0
    return moved(min(max(share, 0.0), 2.0))
