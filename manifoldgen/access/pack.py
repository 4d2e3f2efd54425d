"""Convex solids as rows of 16 numbers for the compiled distance search.

    HULL  [0, first point, points, …, rounding, sweep]                convex hull of points in a pool
    ROD   [1, start, end, axis, radius at start, at end, rounding, sweep]   hull of two discs

`rounding` grows the solid by a radius, `sweep` drags it along a vector; both stand at the same places in
either kind. A cylinder is a rod with equal radii, a capsule one with radii 0 and a rounding, a ball both
ends in one; a plate is its outline swept by its thickness.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import ArrayLike

from manifoldgen.access.convex import convex_parts
from manifoldgen.geometry import contour
from manifoldgen.geometry.shapes import Box, Capsule, Cone, Cylinder, HalfSpace, Plate, Shape
from manifoldgen.geometry.vectors import Array, array, first_square_to, unit

HULL, ROD = 0.0, 1.0
WIDTH = 16
ROUND, SWEEP = 12, 13  # columns of the rounding and of the sweep vector
BLOCK = 32  # solids that share a ball
_OUTLINE_TOL = 0.02  # mm a plate's round edge may stand outside its chords
_CORNERS = np.array([(x, y, z) for x in (-1, 1) for y in (-1, 1) for z in (-1, 1)], dtype=float)


def rod(
    start: ArrayLike,
    end: ArrayLike,
    radius_start: float,
    radius_end: float | None = None,
    *,
    rounding: float = 0.0,
    axis: ArrayLike | None = None,
) -> Array:
    """A row of kind ROD: a cylinder or frustum with flat ends, grown by `rounding`.

    axis : only for a disc (both ends in one); else it follows from the ends.
    """
    a, b = array(start), array(end)
    if axis is None:
        axis = b - a if math.dist(a, b) > 0 else (0.0, 0.0, 1.0)
    last = radius_start if radius_end is None else radius_end
    return np.array([ROD, *a, *b, *unit(axis), radius_start, last, rounding, 0.0, 0.0, 0.0])


def capsule(start: ArrayLike, end: ArrayLike, radius: float) -> Array:
    """A row for a cylinder with round ends; a ball where both ends agree."""
    return rod(start, end, 0.0, rounding=radius)


def swept(row: ArrayLike, along: ArrayLike) -> Array:
    """The row dragged along a vector, mm."""
    made = array(row).copy()
    made[SWEEP:] = made[SWEEP:] + array(along)
    return made


@dataclass
class Packing:
    """Rows and the points of their hulls, while a scene is put together."""

    rows: list[Array] = field(default_factory=list)
    points: list[Array] = field(default_factory=list)
    halves: list[Array] = field(default_factory=list)

    def add(self, row: Array) -> None:
        """One more row."""
        self.rows.append(row)

    def hull(self, corners: Iterable[ArrayLike], rounding: float = 0.0, sweep: ArrayLike = (0, 0, 0)) -> None:
        """The convex hull of points."""
        first = len(self.points)
        self.points += [array(p) for p in corners]
        row = np.zeros(WIDTH)
        row[:3] = HULL, first, len(self.points) - first
        row[ROUND] = rounding
        row[SWEEP:] = array(sweep)
        self.rows.append(row)

    def shape(self, shape: Shape) -> None:
        """Any solid shape; a plate of a hollow outline comes in convex parts."""
        if isinstance(shape, Box):
            self.hull(shape.frame.out(_CORNERS * array(shape.half)))
        elif isinstance(shape, Cylinder):
            self.add(rod(shape.start, shape.end, shape.radius))
        elif isinstance(shape, Capsule):
            self.add(capsule(shape.start, shape.end, shape.radius))
        elif isinstance(shape, Cone):
            self.add(rod(shape.start, shape.end, shape.radius_start, shape.radius_end))
        elif isinstance(shape, HalfSpace):
            self.halves.append(np.array([*shape.at, *unit(shape.normal)]))
        elif isinstance(shape, Plate):
            self._plate(shape)
        else:
            raise TypeError(f"no room is known round a {type(shape).__name__}")

    def _plate(self, plate: Plate) -> None:
        along = shape_axis(plate) * plate.thickness
        for part in convex_parts(contour.points(plate.contour, _OUTLINE_TOL)):
            self.hull(plate.frame.out([(x, y, 0.0) for x, y in part]), sweep=along)


def shape_axis(plate: Plate) -> Array:
    """Unit normal of a plate."""
    return array(plate.frame.z)


def bound(row: Sequence[float] | Array, points: Array) -> Array:
    """A ball (x, y, z, r) that holds the whole solid, its rounding and sweep."""
    row = array(row)
    drag = row[SWEEP:]
    if row[0] == ROD:
        a, b = row[1:4], row[4:7]
        along = float(np.linalg.norm(b - a)) / 2
        middle, reach = (a + b) / 2, math.hypot(along, max(row[10], row[11]))
    else:
        mine = points[int(row[1]) : int(row[1]) + int(row[2])]
        middle = (mine.min(axis=0) + mine.max(axis=0)) / 2
        reach = float(np.linalg.norm(mine - middle, axis=1).max())
    return np.array([*(middle + drag / 2), reach + row[ROUND] + float(np.linalg.norm(drag)) / 2])


def across(axis: ArrayLike) -> tuple[Array, Array]:
    """Two unit vectors square to an axis and to each other, right-handed with it."""
    n = unit(axis)
    u = first_square_to(((1.0, 0.0, 0.0), (0.0, 1.0, 0.0)), n)
    return u, np.cross(n, u)


def blocks(bounds: Array) -> Array:
    """Solids in blocks of neighbours: a ball round all of a block, its first number and the one after its last."""
    if not len(bounds):
        return np.zeros((0, 6))
    first = np.arange(0, len(bounds), BLOCK)
    count = np.diff([*first, len(bounds)])
    low = np.minimum.reduceat(bounds[:, :3] - bounds[:, 3:], first)
    high = np.maximum.reduceat(bounds[:, :3] + bounds[:, 3:], first)
    middle = (low + high) / 2
    off = np.linalg.norm(bounds[:, :3] - np.repeat(middle, count, axis=0), axis=1) + bounds[:, 3]
    return np.column_stack([middle, np.maximum.reduceat(off, first), first, first + count])
