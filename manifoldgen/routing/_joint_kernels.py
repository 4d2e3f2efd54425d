"""Compiled kernels of all runners together: every condition as a margin in mm, and its slopes.

The margins stand in one vector, in this order (N runners, F fixed tubes, B stretches a runner):

    straights      K + 1 each      straight less its least
    bends          K each          (largest - angle) · CLR, then K each (angle - least) · CLR
    runner gaps    B² a pair       runners by twos, then every runner with every fixed tube
    solids         GROUPS · B each obstacles, tools, the manifold's own parts
    itself         1 each

A least margin has the slope of the place where it is least, so slopes move one variable at a time and look
at those places only.
"""

# mypy: ignore-errors
# ruff: noqa: C901, PLR0917 - compiled kernels are loops over plain arrays
from __future__ import annotations

import math

import numpy as np

from manifoldgen.compiled.mark import kernel, part
from manifoldgen.geometry.vectors import Array
from manifoldgen.routing._gap_kernels import (
    GROUPS,
    leg_margins,
    pair_margins,
    self_margin,
    solid_margins,
    to_leg,
    to_solid,
)
from manifoldgen.routing._path_kernels import STATION, stations

BLOCKS = 3
_STEP = 1e-5  # mm
RUNNERS = (  # types of what all kernels here begin with
    "f8[::1], i8[::1], i8[::1], f8[:, ::1], f8[:, :, ::1], f8[:, :, ::1], f8[::1], f8[:, ::1], f8[:, ::1], f8, f8, f8,"
    " f8[:, :, ::1], f8[:, ::1], f8[:, ::1], f8[:, ::1], f8[:, :, ::1], f8[::1], f8[::1]"
)


def count(bends: Array, fixed: int) -> int:
    """How many margins there are."""
    n = bends.shape[0]
    pairs = n * (n - 1) // 2 + n * fixed
    return int(3 * bends.sum()) + n + pairs * BLOCKS * BLOCKS + n * GROUPS * BLOCKS + n


@part
def copied(a: Array, b: Array) -> None:
    """Write one table into another."""
    for i in range(a.shape[0]):
        for c in range(a.shape[1]):
            b[i, c] = a[i, c]


@part
def total(values: Array, count: int) -> float:
    """The sum of the first few."""
    found = 0.0
    for k in range(count):
        found += values[k]
    return found


@part
def walk(x: Array, first: Array, bends: Array, radii: Array, starts: Array, targets: Array, limits: Array,
         i: int, path: Array, straights: Array, angles: Array) -> float:  # fmt: skip
    """One runner's stations, straights and angles out of the common variables; its length."""
    k = bends[i]
    return stations(
        x[first[i] : first[i + 1]],
        starts[i],
        targets[i],
        radii[i, :k],
        limits,
        path,
        straights[: k + 1],
        angles[:k],
    )


@part
def shape_margins(i: int, bends: Array, radii: Array, least: Array, caps: Array, low: float,
                  straights: Array, angles: Array, out: Array) -> None:  # fmt: skip
    """Margins of straights and bends of runner i into their places in `out`."""
    at, total = 0, 0
    for j in range(bends.shape[0]):
        if j < i:
            at += bends[j]
        total += bends[j]
    k = bends[i]
    for m in range(k + 1):
        out[at + i + m] = straights[m] - least[i, m]
    begin = total + bends.shape[0]
    for m in range(k):
        out[begin + 2 * at + m] = (caps[i, m] - angles[m]) * radii[i, m]
        out[begin + 2 * at + k + m] = (angles[m] - low) * radii[i, m]


@kernel(f"void({RUNNERS}, f8[:, :, ::1], f8[::1], i8[:, ::1], f8[::1], f8[::1])")
def margins(x: Array, first: Array, bends: Array, radii: Array, starts: Array, targets: Array, limits: Array,
            least: Array, caps: Array, low: float, radius: float, self_gap: float, fixed: Array, solids: Array,
            edges: Array, rules: Array, legs: Array, leg: Array, shift: Array, paths: Array, out: Array,
            which: Array, lengths: Array, turned: Array) -> None:  # fmt: skip
    """All margins at x: fills out, the places `which` (m, 2) where each is least, lengths and turned (rad).

    paths : (N, n, STATION), filled.  fixed : (F, n, STATION).  legs : inlets of all cylinders (·, 2, 3), the
    searched runners' first, in their order.
    """
    n = bends.shape[0]
    straights, angles = np.empty(radii.shape[1] + 1), np.empty(radii.shape[1])
    which[:] = -1
    for i in range(n):
        lengths[i] = walk(x, first, bends, radii, starts, targets, limits, i, paths[i], straights, angles)
        turned[i] = total(angles, bends[i])
        shape_margins(i, bends, radii, least, caps, low, straights, angles, out)
    at = int(3 * bends.sum()) + n
    best, place = np.empty((BLOCKS, BLOCKS)), np.empty((BLOCKS, BLOCKS, 2), np.int64)
    for i in range(n):
        for j in range(i + 1, n + fixed.shape[0]):
            other = paths[j] if j < n else fixed[j - n]
            pair_margins(paths[i], other, 2 * radius, best, place)
            for p in range(BLOCKS):
                for q in range(BLOCKS):
                    out[at] = best[p, q]
                    which[at, 0], which[at, 1] = place[p, q, 0], place[p, q, 1]
                    at += 1
    best, place = np.empty((GROUPS, BLOCKS)), np.empty((GROUPS, BLOCKS, 2), np.int64)
    for i in range(n):
        solid_margins(paths[i], radius, solids, edges, rules, shift, best, place)
        leg_margins(paths[i], radius, i, legs, leg, best, place)
        for g in range(GROUPS):
            for b in range(BLOCKS):
                out[at] = best[g, b]
                which[at, 0], which[at, 1] = place[g, b, 0], place[g, b, 1]
                at += 1
    for i in range(n):
        out[at] = self_margin(paths[i], radius, self_gap, which[at])
        at += 1


@part
def at_places(who: int, n: int, paths: Array, radius: float, self_gap: float, fixed: Array, solids: Array, edges: Array,
              rules: Array, legs: Array, leg: Array, shift: Array, which: Array, at: int, out: Array) -> None:  # fmt: skip
    """Clearance margins at the recorded places only, of one runner (who ≥ 0) or of all (-1)."""
    for i in range(n):
        for j in range(i + 1, n + fixed.shape[0]):
            if who < 0 or who in (i, j):
                for m in range(at, at + BLOCKS * BLOCKS):
                    if which[m, 0] >= 0:
                        a = paths[i, which[m, 0]]
                        b = paths[j, which[m, 1]] if j < n else fixed[j - n, which[m, 1]]
                        d = math.sqrt((a[0] - b[0]) ** 2 + (a[1] - b[1]) ** 2 + (a[2] - b[2]) ** 2)
                        out[m] = d - max(a[4], b[4]) - 2 * radius
            at += BLOCKS * BLOCKS
    for i in range(n):
        length = paths[i, paths.shape[1] - 1, 3]
        for m in range(at, at + GROUPS * BLOCKS):
            if which[m, 0] >= 0 and (who < 0 or who == i or which[m, 1] == -2 - who):
                solid = which[m, 1]
                if solid >= 0:
                    rule = rules[solid]
                    part = edges[int(rule[11]) : int(rule[12])]
                    out[m] = to_solid(paths[i, which[m, 0]], length, radius, solids[solid], part, rule, shift)
                else:
                    out[m] = to_leg(paths[i, which[m, 0]], length, radius, legs[-2 - solid], leg)
        at += GROUPS * BLOCKS
    for i in range(n):
        if which[at, 0] >= 0 and (who < 0 or who == i):
            a, b = paths[i, which[at, 0]], paths[i, which[at, 1]]
            out[at] = (
                math.sqrt((a[0] - b[0]) ** 2 + (a[1] - b[1]) ** 2 + (a[2] - b[2]) ** 2)
                - 2 * radius
                - self_gap
            )
        at += 1


@kernel(
    f"void({RUNNERS}, f8[:, :, ::1], f8[::1], i8[:, ::1], f8[::1], f8[::1], f8[:, ::1], f8[:, ::1], f8[:, ::1])"
)
def slopes(x: Array, first: Array, bends: Array, radii: Array, starts: Array, targets: Array, limits: Array,
           least: Array, caps: Array, low: float, radius: float, self_gap: float, fixed: Array, solids: Array,
           edges: Array, rules: Array, legs: Array, leg: Array, shift: Array, paths: Array, out: Array,
           which: Array, lengths: Array, turned: Array, d_out: Array, d_length: Array, d_turned: Array) -> None:  # fmt: skip
    """Slopes of margins (m, v), lengths (N, v) and turned (N, v) over x, after `margins` at the same x."""
    n = bends.shape[0]
    straights, angles = np.empty(radii.shape[1] + 1), np.empty(radii.shape[1])
    at = int(3 * bends.sum()) + n
    moved_x, moved = x.copy(), np.empty(out.shape[0])
    mine = np.empty((paths.shape[1], STATION))
    kept = np.empty((paths.shape[1], STATION))
    d_out[:], d_length[:], d_turned[:] = 0.0, 0.0, 0.0
    for i in range(n):
        copied(paths[i], kept)
        for v in range(first[i], first[i + 1]):
            moved_x[v] = x[v] + _STEP
            longer = walk(moved_x, first, bends, radii, starts, targets, limits, i, mine, straights, angles)
            moved_x[v] = x[v]
            d_length[i, v] = (longer - lengths[i]) / _STEP
            d_turned[i, v] = (total(angles, bends[i]) - turned[i]) / _STEP
            for m in range(out.shape[0]):
                moved[m] = out[m]
            shape_margins(i, bends, radii, least, caps, low, straights, angles, moved)
            copied(mine, paths[i])
            at_places(
                i, n, paths, radius, self_gap, fixed, solids, edges, rules, legs, leg, shift, which, at, moved
            )
            for m in range(out.shape[0]):
                d_out[m, v] = (moved[m] - out[m]) / _STEP
        copied(kept, paths[i])


@kernel(f"void({RUNNERS}, f8[::1], i8[:, ::1], f8[::1], f8[::1], i8, f8, f8[::1], f8[::1], f8[::1])")
def slope_of_move(x: Array, first: Array, bends: Array, radii: Array, starts: Array, targets: Array, limits: Array,
                  least: Array, caps: Array, low: float, radius: float, self_gap: float, fixed: Array, solids: Array,
                  edges: Array, rules: Array, legs: Array, leg: Array, shift: Array, out: Array, which: Array,
                  lengths: Array, turned: Array, n_stations: int, step: float, d_out: Array, d_length: Array,
                  d_turned: Array) -> None:  # fmt: skip
    """Slopes (m,), (N,), (N,) of one move of inlets and parts: targets, legs and shift are given moved by `step`."""
    n = bends.shape[0]
    straights, angles = np.empty(radii.shape[1] + 1), np.empty(radii.shape[1])
    paths = np.empty((n, n_stations, STATION))
    moved = out.copy()
    for i in range(n):
        longer = walk(x, first, bends, radii, starts, targets, limits, i, paths[i], straights, angles)
        d_length[i] = (longer - lengths[i]) / step
        d_turned[i] = (total(angles, bends[i]) - turned[i]) / step
        shape_margins(i, bends, radii, least, caps, low, straights, angles, moved)
    at = int(3 * bends.sum()) + n
    at_places(-1, n, paths, radius, self_gap, fixed, solids, edges, rules, legs, leg, shift, which, at, moved)
    for m in range(out.shape[0]):
        d_out[m] = (moved[m] - out[m]) / step
