"""Compiled kernels of the pools: runners whose straights come out linear, checked, sorted and put together."""

# mypy: ignore-errors
# ruff: noqa: C901, PLR0917 - compiled kernels are loops over plain arrays
from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from manifoldgen.compiled.mark import inlined, kernel, part
from manifoldgen.geometry.vectors import Array
from manifoldgen.routing._closure_kernels import describe, lean_axis
from manifoldgen.routing._gap_kernels import least_margin
from manifoldgen.routing._path_kernels import stations

Ints = NDArray[np.int64]
DEPTH = -25.0  # mm: deeper clashes of a pair are not told apart
_SECANT = 12


@inlined
def _solve4(a: Array, b: Array) -> bool:
    """Solve a x = b in place (b becomes x); False where the rows are nearly dependent."""
    for i in range(4):
        pivot = i
        for r in range(i + 1, 4):
            if abs(a[r, i]) > abs(a[pivot, i]):
                pivot = r
        if abs(a[pivot, i]) < 1e-6:
            return False
        if pivot != i:
            for c in range(4):
                a[i, c], a[pivot, c] = a[pivot, c], a[i, c]
            b[i], b[pivot] = b[pivot], b[i]
        for r in range(i + 1, 4):
            f = a[r, i] / a[i, i]
            for c in range(i, 4):
                a[r, c] -= f * a[i, c]
            b[r] -= f * b[i]
    for i in range(3, -1, -1):
        for c in range(i + 1, 4):
            b[i] -= a[i, c] * b[c]
        b[i] /= a[i, i]
    return True


@inlined
def _headings(draw: Array, caps: Array, choice: Ints, u: Array) -> None:
    """Fill the headings between the first and the last, evenly over the cap that a bend may turn.

    Each leans on from the one before, the last but one leans back from the inlet.
    """
    bends = choice.shape[0]
    side = np.empty(3)
    for k in range(1, bends):
        back = k == bends - 1
        cap = caps[choice[k if back else k - 1]]
        lean = math.acos(1 - draw[2 * k - 2] * (1 - math.cos(cap)))
        lean_axis(u[bends] if back else u[k - 1], lean, 2 * math.pi * draw[2 * k - 1], side, u[k])


@inlined
def _takes(u: Array, radii: Array, caps: Array, low: float, choice: Ints, take: Array) -> float:
    """What every bend takes off its straights; the length of all bends, -1 where one turns too far or too little."""
    length = 0.0
    for k in range(choice.shape[0]):
        dot = u[k, 0] * u[k + 1, 0] + u[k, 1] * u[k + 1, 1] + u[k, 2] * u[k + 1, 2]
        angle = math.acos(min(max(dot, -1.0), 1.0))
        if angle > caps[choice[k]] + 1e-9 or angle < low:
            return -1.0
        take[k] = radii[choice[k]] * math.tan(angle / 2)
        length += radii[choice[k]] * angle
    return length


@inlined
def _straights(
    ends: Array, u: Array, take: Array, rest: float, pin: int, a: Array, b: Array, straight: Array
) -> bool:
    """Solve the straights that close the run with `rest` mm in all; straight[pin] is given (pin -1: none).

    ends : start point, target point (2, 3).
    """
    bends = take.shape[0]
    for c in range(3):
        b[c] = ends[1, c] - ends[0, c]
        for k in range(bends):
            b[c] -= take[k] * (u[k, c] + u[k + 1, c])
    b[3] = rest
    column = 0
    for k in range(bends + 1):
        if k == pin:
            for c in range(3):
                b[c] -= straight[k] * u[k, c]
            b[3] -= straight[k]
        else:
            for c in range(3):
                a[c, column] = u[k, c]
            a[3, column] = 1.0
            column += 1
    if not _solve4(a, b):
        return False
    column = 0
    for k in range(bends + 1):
        if k != pin:
            straight[k] = b[column]
            column += 1
    return True


@inlined
def _short(straight: Array, least: Array) -> bool:
    """Whether a straight is shorter than it has to be."""
    short = False
    for k in range(straight.shape[0]):
        short = short or straight[k] - least[k] < -1e-9
    return short


@kernel(
    "i8(f8[:, ::1], f8[:, ::1], f8[::1], f8[::1], f8, f8, f8, f8, f8[:, ::1], i8[:, ::1], f8[:, ::1], i8[::1])"
)
def directed(start: Array, target: Array, radii: Array, caps: Array, low: float, first: float, last: float,
             length: float, draws: Array, choice: Ints, x: Array, took: Ints) -> int:  # fmt: skip
    """Runners of exactly `length` mm with three or four bends; how many were found.

    The headings between the ends are drawn; place and length are then linear in the straights: four equations,
    four straights (of four bends a fifth straight, every time another, is drawn).

    draws : (n, 2 (K-1) + 1), each 0 … 1.  choice : (n, K) which radius.
    x : (·, 2 + 3 (K-2)), filled with corner variables.  took : (·,), filled with the row drawn.  The search ends
        when they are full.
    """
    bends = choice.shape[1]
    u, ends = np.empty((bends + 1, 3)), np.empty((2, 3))
    take, least, straight = np.empty(bends), np.zeros(bends + 1), np.empty(bends + 1)
    a, b = np.empty((4, 4)), np.empty(4)
    least[0], least[bends] = first, last
    for c in range(3):
        u[0, c], u[bends, c], ends[0, c], ends[1, c] = start[1, c], target[1, c], start[0, c], target[0, c]
    found = 0
    for n in range(draws.shape[0]):
        _headings(draws[n], caps, choice[n], u)
        bent = _takes(u, radii, caps, low, choice[n], take)
        if bent < 0:
            continue
        pin = n % 5 if bends == 4 else -1
        if pin >= 0:
            straight[pin] = least[pin] + max(draws[n, 2 * bends - 2] - 0.4, 0.0) * 120
        if not _straights(ends, u, take, length - bent, pin, a, b, straight) or _short(straight, least):
            continue
        x[found, 0] = straight[0] + take[0]
        x[found, 1] = straight[bends] + take[bends - 1]
        for c in range(3):
            corner = start[0, c] + x[found, 0] * u[0, c]
            for k in range(1, bends - 1):
                corner += (straight[k] + take[k - 1] + take[k]) * u[k, c]
                x[found, 2 + 3 * (k - 1) + c] = corner
        took[found] = n
        found += 1
        if found == x.shape[0]:
            break
    return found


@part
def _excess(
    at: Array, start: Array, target: Array, radii: Array, length: float, straights: Array, angles: Array
) -> float:
    """How much longer than `length` a run with two bends is."""
    describe(at, start, target, radii, straights, angles, np.empty((3, 3)))
    straight, curved = 0.0, 0.0
    for k in range(3):
        straight += straights[k]
    for k in range(2):
        curved += radii[k] * angles[k]
    return straight + curved - length


@kernel("i8(f8[:, ::1], f8[:, ::1], f8[::1], f8[::1], f8, f8, f8, f8, f8[::1], f8[::1], f8[:, ::1])")
def two_bends(start: Array, target: Array, radii: Array, caps: Array, low: float, first: float, last: float,
              length: float, firsts: Array, seconds: Array, x: Array) -> int:  # fmt: skip
    """Runners of `length` mm with two bends: for every place of the first corner, the second by false position.

    firsts, seconds : mm of the corners beyond the least they must stand off.
    """
    straights, angles = np.empty(3), np.empty(2)
    found = 0
    at = np.empty(2)

    for s in firsts:
        at[0] = first + s
        before = 0.0
        for j in range(seconds.shape[0]):
            at[1] = last + seconds[j]
            now = _excess(at, start, target, radii, length, straights, angles)
            if j > 0 and before * now < 0:
                low_t, high_t, low_v, high_v = last + seconds[j - 1], at[1], before, now
                for _ in range(_SECANT):
                    at[1] = (low_t * high_v - high_t * low_v) / (high_v - low_v)
                    value = _excess(at, start, target, radii, length, straights, angles)
                    if value * low_v > 0:
                        low_t, low_v = at[1], value
                        high_v *= 0.5
                    else:
                        high_t, high_v = at[1], value
                        low_v *= 0.5
                    if abs(value) < 0.01:
                        break
                sound = (
                    straights[0] >= first and straights[1] >= 0 and straights[2] >= last
                    and low <= angles[0] <= caps[0] and low <= angles[1] <= caps[1]
                )  # fmt: skip
                if sound and abs(value) < 0.5:
                    x[found, 0], x[found, 1] = at[0], at[1]
                    found += 1
                    if found == x.shape[0]:
                        return found
                at[1] = last + seconds[j]
            before = now
    return found


@kernel(
    "void(f8[:, ::1], f8[:, ::1], f8[:, ::1], f8[:, ::1], f8[::1], f8, f8, f8[:, ::1], f8[:, ::1], f8[:, ::1], f8,"
    " f8[:, :, ::1], f8[:, ::1])"
)
def looked_at(x: Array, start: Array, target: Array, radii: Array, limits: Array, radius: float, self_gap: float,
              solids: Array, edges: Array, rules: Array, floor: float, paths: Array, found: Array) -> None:  # fmt: skip
    """Stations (n, ·, STATION) of every sample; length, turned (rad) and least margin into found (n, 3).

    radii : of every sample's bends (n, K).
    """
    bends = radii.shape[1]
    straights, angles = np.empty(bends + 1), np.empty(bends)
    for n in range(x.shape[0]):
        found[n, 0] = stations(x[n], start, target, radii[n], limits, paths[n], straights, angles)
        found[n, 1] = angles.sum()
        found[n, 2] = least_margin(paths[n], radius, self_gap, solids, edges, rules, floor)


@kernel("i8[::1](f8[:, :, ::1], i8[::1], i8, f8)")
def diverse(paths: Array, order: Ints, most: int, apart: float) -> Ints:
    """Best first, those that lie `apart` mm (mean over eight stations) from all kept before."""
    n = paths.shape[1]
    kept = np.empty(most, np.int64)
    count = 0
    for o in order:
        new = True
        for a in range(count):
            far = 0.0
            for k in range(1, 9):
                p, q = paths[o, k * (n - 1) // 9], paths[kept[a], k * (n - 1) // 9]
                far += math.sqrt((p[0] - q[0]) ** 2 + (p[1] - q[1]) ** 2 + (p[2] - q[2]) ** 2)
            if far < 8 * apart:
                new = False
                break
        if new:
            kept[count] = o
            count += 1
            if count == most:
                break
    return kept[:count]


@kernel("f8[:, ::1](f8[:, :, ::1], f8[:, :, ::1], f8)")
def pair_matrix(a: Array, b: Array, radii: float) -> Array:
    """Least margin of every path of `a` with every one of `b`, on every other station, within DEPTH … 60 mm."""
    n = a.shape[1]
    out = np.empty((a.shape[0], b.shape[0]))
    for p in range(a.shape[0]):
        for q in range(b.shape[0]):
            best = 60.0
            for i in range(0, n, 2):
                x, y, z, ask = a[p, i, 0], a[p, i, 1], a[p, i, 2], a[p, i, 4]
                for j in range(1, n, 2):
                    square = (x - b[q, j, 0]) ** 2 + (y - b[q, j, 1]) ** 2 + (z - b[q, j, 2]) ** 2
                    least = max(ask, b[q, j, 4]) + radii
                    if square < (best + least) ** 2:
                        best = math.sqrt(square) - least
                if best < DEPTH:
                    best = DEPTH
                    break
            out[p, q] = best
    return out


@kernel("void(f8[:, :, ::1], f8[:, :, ::1], f8, f8[::1])")
def with_fixed(paths: Array, fixed: Array, radii: float, margin: Array) -> None:
    """Lower `margin` (n,) of every path by its margin to the fixed tubes."""
    if fixed.shape[0] > 0:
        m = pair_matrix(paths, fixed, radii)
        for p in range(paths.shape[0]):
            margin[p] = min(margin[p], m[p].min())


@kernel("i8[:, ::1](f8[::1], i8[::1], f8[:, ::1], i8, f8)")
def beam(cost: Array, ends: Ints, pairs: Array, width: int, per_mm: float) -> Ints:
    """One candidate per runner with the least cost + per_mm · (mm missing over all pairs), best first (·, N).

    ends : (N + 1,) where each runner's candidates begin.  pairs : margins between all candidates.
    """
    n = ends.shape[0] - 1
    picked = np.zeros((1, n), np.int64)
    score = np.zeros(1)
    for r in range(n):
        have, here = picked.shape[0], ends[r + 1] - ends[r]
        scores = np.empty(have * here)
        for a in range(have):
            for c in range(here):
                total = score[a] + cost[ends[r] + c]
                for e in range(r):
                    m = pairs[ends[r] + c, picked[a, e]]
                    if m < 0:
                        total -= per_mm * m
                scores[a * here + c] = round(total, 9)
        order = np.argsort(scores, kind="mergesort")[:width]
        grown, kept = np.zeros((order.shape[0], n), np.int64), np.empty(order.shape[0])
        for k in range(order.shape[0]):
            a, c = order[k] // here, order[k] % here
            for e in range(n):
                grown[k, e] = picked[a, e]
            grown[k, r] = ends[r] + c
            kept[k] = scores[order[k]]
        picked, score = grown, kept
    return picked
