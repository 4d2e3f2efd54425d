# mypy: ignore-errors
# ruff: noqa: ANN001, ANN202, PLR0917 - plain numbers are fastest
"""How far a set of solids slides along a direction before it meets another set, compiled."""

from __future__ import annotations

import math

import numpy as np
from numba import njit

from manifoldgen.access._gjk import signed_gap

_SHARP = 1e-3  # mm of travel


@njit("f8(f8[::1], f8[:, ::1], f8[::1], f8[:, ::1], f8[::1], f8)", cache=True)
def _gap(row, points, other, others, along, travel):
    drawn = row.copy()
    for c in range(3):
        drawn[13 + c] += travel * along[c]
    return signed_gap(drawn, points, other, others, 1.0)[0]


@njit(
    "void(f8[:, ::1], f8[:, ::1], i8[::1], f8[:, ::1], f8[:, ::1], f8[:, ::1], i8[::1], f8[:, ::1], f8[::1], b1[:, ::1], f8[::1])",
    cache=True,
)
def slide(rows, bounds, owner, points, still, still_bounds, still_owner, still_points, along, spared, free):
    """Lower `free`, one number a group that stays, to the travel at which a moving solid meets it.

    rows, bounds, owner : what moves, with its group.  spared : pairs of groups (moving, staying) that may touch.
    """
    for j in range(still.shape[0]):
        there = still_owner[j]
        for i in range(rows.shape[0]):
            if spared[owner[i], there]:
                continue
            # a ball that slides: the nearest it comes to the other ball
            dx = still_bounds[j, 0] - bounds[i, 0]
            dy = still_bounds[j, 1] - bounds[i, 1]
            dz = still_bounds[j, 2] - bounds[i, 2]
            t = min(max(dx * along[0] + dy * along[1] + dz * along[2], 0.0), free[there])
            dx -= t * along[0]
            dy -= t * along[1]
            dz -= t * along[2]
            if math.sqrt(dx * dx + dy * dy + dz * dz) >= bounds[i, 3] + still_bounds[j, 3]:
                continue
            if _gap(rows[i], points, still[j], still_points, along, free[there]) >= 0.0:
                continue
            low = 0.0
            high = free[there]
            while high - low > _SHARP:
                mid = (low + high) / 2
                if _gap(rows[i], points, still[j], still_points, along, mid) < 0.0:
                    high = mid
                else:
                    low = mid
            free[there] = low


@njit("f8[:, ::1](f8[:, ::1])", cache=True)
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
