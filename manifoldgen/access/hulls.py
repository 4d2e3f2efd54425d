"""Gaps between solids as convex hulls: flanges against what stands around, at rest or moved with the engine."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

import numpy as np

from manifoldgen.access.pack import HULL, SWEEP, Packing, across
from manifoldgen.geometry.gap import Gap
from manifoldgen.geometry.movement import Movement
from manifoldgen.geometry.shapes import Shape
from manifoldgen.geometry.vectors import Array, array, rotated, unit, vec

ROUND = 96  # corners that stand for a circle, outside it
ROLLS = 9  # rolls of the engine that are looked at, over its whole range
_CORNERS = np.array([(x, y, z) for x in (-1, 1) for y in (-1, 1) for z in (-1, 1)], dtype=float)
_SIDES = np.vstack([np.eye(3), -np.eye(3)])


def hulls(shape: Shape) -> list[Array]:
    """Corners (n, 3) of convex parts that hold a shape: box, plate, cylinder or cone."""
    pool = Packing()
    pool.shape(shape)
    made = []
    for row in pool.rows:
        if row[0] == HULL:
            points = np.array(pool.points[int(row[1]) : int(row[1] + row[2])])
            made.append(np.vstack([points, points + row[SWEEP:]]) if row[SWEEP:].any() else points)
        else:
            u, v = across(row[7:10])
            turn = 2 * math.pi * np.arange(ROUND) / ROUND
            ring = (np.cos(turn)[:, None] * u + np.sin(turn)[:, None] * v) / math.cos(math.pi / ROUND)
            made.append(np.vstack([row[1:4] + row[10] * ring, row[4:7] + row[11] * ring]))
    return made


def gap(a: Sequence[Shape], b: Sequence[Shape], asked: float, movement: Movement | None = None) -> Gap:
    """The least gap between two things made of shapes, mm; below 0 the least way out of an overlap.

    movement : of `a` against `b`: every shift, at `ROLLS` rolls.
    """
    still = [q for shape in b for q in hulls(shape)]
    found = [
        _pair(moved, q)
        for shape in a
        for p in hulls(shape)
        for moved in (_moved(p, movement) if movement else (p,))
        for q in still
    ]
    least, start, end = min(found, key=lambda f: f[0])
    return Gap(least, asked, (vec(start), vec(end)), (0.0, None), certified=True, slack=0.0)


def _moved(points: Array, movement: Movement) -> Iterator[Array]:
    """Corners of all that a hull sweeps by the shifts, roll by roll."""
    about, axis = array(movement.at), unit(movement.axis)
    for roll in np.linspace(-movement.roll_deg, movement.roll_deg, ROLLS if movement.roll_deg else 1):
        turned = about + np.array([rotated(p - about, axis, float(roll)) for p in points])
        yield (turned[:, None] + _CORNERS * array(movement.shift)).reshape(-1, 3)


def _pair(a: Array, b: Array) -> tuple[float, Array, Array]:
    from manifoldgen.access import _gjk

    rows = np.zeros((2, 16))
    rows[:, 2] = len(a), len(b)
    p, q = np.ascontiguousarray(a), np.ascontiguousarray(b)
    low, *way = _gjk.core_gap(rows[0], p, rows[1], q, math.inf)
    if low > 0.0:
        at = array(_gjk.support(rows[0], p, *way))
        return float(low), at, at + low * array(way)
    middle = q.mean(axis=0) - p.mean(axis=0)
    ways = [*_SIDES, unit(middle)] if middle.any() else [*_SIDES]
    out, k = min((float(_gjk.reach(rows[0], p, rows[1], q, *w)), i) for i, w in enumerate(ways))
    at = array(_gjk.support(rows[0], p, *ways[k]))
    return -out, at, at - out * ways[k]
