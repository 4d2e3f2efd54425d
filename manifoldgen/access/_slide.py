# mypy: ignore-errors
# ruff: noqa: ANN001, ANN202, PLR0917 - plain numbers are fastest
"""How far a set of solids slides along a direction before it meets another set, compiled."""

from __future__ import annotations

import math

import numpy as np

from manifoldgen.access._gjk import signed_gap
from manifoldgen.compiled.mark import inlined, kernel, part

_SHARP = 1e-3  # mm of travel


@part
def _gap(row, points, other, others, along, travel):
    drawn = row.copy()
    for c in range(3):
        drawn[13 + c] += travel * along[c]
    return signed_gap(drawn, points, other, others, 1.0)[0]


@part
def _balls_gap(ball, other, along, travel):
    """The nearest that a ball which slides comes to another ball."""
    dx = other[0] - ball[0]
    dy = other[1] - ball[1]
    dz = other[2] - ball[2]
    t = min(max(dx * along[0] + dy * along[1] + dz * along[2], 0.0), travel)
    dx -= t * along[0]
    dy -= t * along[1]
    dz -= t * along[2]
    return math.sqrt(dx * dx + dy * dy + dz * dz) - ball[3] - other[3]


@inlined
def _free(row, points, other, others, along, travel):
    """How far one solid slides before it meets another, at most `travel`."""
    if _gap(row, points, other, others, along, travel) >= 0.0:
        return travel
    low = 0.0
    high = travel
    while high - low > _SHARP:
        mid = (low + high) / 2
        if _gap(row, points, other, others, along, mid) < 0.0:
            high = mid
        else:
            low = mid
    return low


@kernel(
    "void(f8[:, ::1], f8[:, ::1], i8[::1], f8[:, ::1], f8[:, ::1], f8[:, ::1], i8[::1], f8[:, ::1], f8[:, ::1], f8[::1], b1[:, ::1], f8[::1])"
)
def slide(
    rows, bounds, owner, points, still, still_bounds, still_owner, still_points, blocks, along, spared, free
):
    """Lower `free`, one number a group that stays, to the travel at which a moving solid meets it.

    rows, bounds, owner : what moves, with its group.  blocks : of what stays (`access.pack.blocks`).
    spared : pairs of groups (moving, staying) that may touch.
    """
    most = free.max()
    for i in range(rows.shape[0]):
        for b in range(blocks.shape[0]):
            if _balls_gap(bounds[i], blocks[b], along, most) >= 0.0:
                continue
            for j in range(int(blocks[b, 4]), int(blocks[b, 5])):
                there = still_owner[j]
                if (
                    spared[owner[i], there]
                    or _balls_gap(bounds[i], still_bounds[j], along, free[there]) >= 0.0
                ):
                    continue
                free[there] = _free(rows[i], points, still[j], still_points, along, free[there])
                most = free.max()


@kernel("f8[:, ::1](f8[:, ::1])")
def ball_rows(balls):
    """Balls as rows."""
    rows = np.zeros((balls.shape[0], 16))
    for i in range(balls.shape[0]):
        rows[i, 0] = 1.0
        for c in range(3):
            rows[i, 1 + c] = balls[i, c]
            rows[i, 4 + c] = balls[i, c]
        rows[i, 9] = 1.0
        rows[i, 12] = balls[i, 3]
    return rows
