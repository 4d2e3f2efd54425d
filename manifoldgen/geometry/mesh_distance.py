"""Certified distances of tubes and points to triangle meshes.

A mesh is held as a `Tree` of boxes.  A tube is the union of its solid straights and bends; against each
triangle its distance comes from branch and bound over the triangle (`_mesh_kernels.walls`), with flat ends.
Meaning, asked gaps and the result are those of `distance`.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from manifoldgen.errors import GeometryError
from manifoldgen.geometry.gap import Asked, Gap
from manifoldgen.geometry.movement import Movement
from manifoldgen.geometry.rows import NO_EDGES, run_of
from manifoldgen.geometry.searching import (
    FAR,
    AskedStretch,
    FoundGap,
    WorstGap,
    along,
    fresh,
    from_centre,
    from_lines,
    from_walls,
    matters_below,
    stretches,
)
from manifoldgen.geometry.shapes import Tube
from manifoldgen.geometry.vectors import Array, Vec, array, vec

CAP = 4_000_000.0  # steps of one search: some seconds


@dataclass(frozen=True, eq=False)
class Tree:
    """Triangles behind a tree of boxes, as flat arrays that any compiled kernel may read.

    boxes : (m, 6), low and high corner of everything below node i; node 0 is the root.
    links : (m, 2) int32; an inner node's two children; of a leaf -1 - first and end, the range of its
        triangles in `corners`.  No node lies deeper than 64, children come after their parents.
    corners : (n, 9), the triangles in the order of the tree, three corners each, mm.
    faces : (n,) int32, the triangle's number in the mesh it was built from.
    closed : the surface encloses a solid, whose inside counts as it.
    """

    boxes: Array
    links: NDArray[np.int32]
    corners: Array
    faces: NDArray[np.int32]
    closed: bool = False

    @property
    def arrays(self) -> tuple[Array, NDArray[np.int32], Array]:
        """`boxes`, `links`, `corners`: what the kernels take, in that order."""
        return self.boxes, self.links, self.corners

    def nearest(self, point: ArrayLike) -> tuple[float, Vec]:
        """Distance of a point to the solid (closed) or the surface, mm, and the nearest point of it."""
        from manifoldgen.geometry import _mesh_kernels

        at = vec(array(point))
        if self.holds(at):
            return 0.0, at
        d, x, y, z, _ = _mesh_kernels.point(*self.arrays, *at, math.inf)
        return float(d), (float(x), float(y), float(z))

    def point_distance(self, point: ArrayLike) -> float:
        """Distance of a point to the solid (closed) or the surface, mm; 0 inside."""
        return self.nearest(point)[0]

    def holds(self, point: ArrayLike) -> bool:
        """Whether a point lies inside; never, where the surface is not closed."""
        from manifoldgen.geometry import _mesh_kernels

        return self.closed and bool(_mesh_kernels.inside(self.boxes, self.corners, *vec(array(point))))


def tree(vertices: ArrayLike, faces: ArrayLike, *, closed: bool = False) -> Tree:
    """The tree over a mesh.

    Parameters
    ----------
    vertices : (v, 3), mm.  faces : (n, 3), numbers of vertices.
    closed : whether every edge has a face on both sides, so that there is an inside.

    Raises
    ------
    GeometryError : no triangle, or a corner that is no number.
    """
    from manifoldgen.geometry import _mesh_kernels

    points, numbers = array(vertices).reshape(-1, 3), np.asarray(faces, dtype=np.int64).reshape(-1, 3)
    corners = np.ascontiguousarray(points[numbers].reshape(-1, 9))
    if not len(corners):
        raise GeometryError("a mesh without a triangle has no distance: give it one at least")
    if not np.isfinite(corners).all():
        raise GeometryError("a mesh with a corner that is no number has no distance: correct it")
    order = np.arange(len(corners), dtype=np.int32)
    boxes, links = np.empty((len(corners), 6)), np.empty((len(corners), 2), dtype=np.int32)
    used = _mesh_kernels.build(corners, order, boxes, links)
    return Tree(boxes[:used].copy(), links[:used].copy(), corners[order], order, closed)


def to_mesh(a: Tube, mesh: Tree, asked: Asked | None = None, tol: float = 1e-3) -> Gap:
    """The worst place between a tube and a mesh, as `distance.to_shape` gives it for a shape.

    Where they touch (nearer than `tol`) the gap is the distance of the centreline less the radius: 0 to
    -radius; -radius too where the tube lies in the inside of a closed mesh.

    Raises
    ------
    GeometryError : a tube of no length, or asked gaps that end elsewhere than its path.
    """
    run = run_of(a)
    worst = WorstGap()
    start = a.path.start.at
    buried = mesh.holds(start)
    for part in stretches(run, asked):
        if buried:
            ask = part.most
            worst.take(fresh(FAR), math.inf, ask, FoundGap(-run.radius, ask, start, start))
        else:
            _part_to_mesh(part, mesh, tol, worst)
    return worst.as_gap(along(worst, run, None), tol)


def _part_to_mesh(part: AskedStretch, mesh: Tree, tol: float, worst: WorstGap) -> None:
    """Better `worst` by one stretch of a tube against a mesh."""
    from manifoldgen.geometry import _mesh_kernels

    run = part.run
    if part.slope != 0.0:
        before = worst.margin
        best = centre_march(part, mesh, Movement(), tol, before)
        worst.take(best, before, 0.0, from_centre(best, run.radius, part))
        return
    before = matters_below(worst, part, tol)
    best = fresh(before)
    _mesh_kernels.walls(run.kernel[1], NO_EDGES, *mesh.arrays, tol, CAP, best)
    if best[0] > tol:
        worst.take(best, before, part.ask, from_walls(best, part.ask))
        return
    best = fresh(FAR)
    _mesh_kernels.walls(run.lines, NO_EDGES, *mesh.arrays, tol, CAP, best)
    worst.take(best, FAR, part.ask + run.radius, from_lines(best, run.radius, 0.0, part))


def centre_march(
    part: AskedStretch, solid: Tree | tuple[Array, Array], movement: Movement, tol: float, before: float = FAR
) -> Array:
    """The kernel's `best` for a centreline against a mesh, or rows and their edges, over a movement."""
    from manifoldgen.geometry import _movement_kernels

    rows, edges = (np.empty((0, 16)), NO_EDGES) if isinstance(solid, Tree) else solid
    arrays = solid.arrays if isinstance(solid, Tree) else _NO_MESH
    best = fresh(before)
    run, asks = part.run, part.ask + part.slope * part.run.starts
    _movement_kernels.march(
        run.segs, asks, part.slope, run.radius, movement.row, rows, edges, *arrays, tol, CAP, best
    )  # fmt: skip
    return best


_NO_MESH = (np.empty((0, 6)), np.empty((0, 2), dtype=np.int32), np.empty((0, 9)))
