"""Compiled kernels of the closure: corner form of a run, and samples whose straights come out linear.

A closure with K bends runs over the corners V_1 … V_K. V_1 lies on the start's axis (s mm on), V_K on the
target's (t mm before it), so both ends hold whatever the variables x = (s, t, V_2 … V_{K-1}) are.
"""

# mypy: ignore-errors
# ruff: noqa: C901, PLR0912, PLR0917 - compiled kernels are loops over plain arrays
from __future__ import annotations

import math

import numpy as np

from manifoldgen.compiled.mark import inlined, kernel, part
from manifoldgen.geometry.vectors import Array

_TINY = 1e-12


@kernel("void(f8[::1], f8[:, ::1], f8[:, ::1], f8[::1], f8[::1], f8[::1], f8[:, ::1])")
def describe(
    x: Array, start: Array, target: Array, radii: Array, straights: Array, angles: Array, headings: Array
) -> None:
    """Fill straights (K+1, mm), bend angles (K, rad) and headings (K+1, 3) of the corners in x.

    start, target : point and unit direction, (2, 3).  radii : CLR of every bend, (K,).
    """
    bends = radii.shape[0]
    for k in range(bends + 1):
        length = 0.0
        for c in range(3):
            if k == 0:
                a = start[0, c]
            elif k == 1:
                a = start[0, c] + x[0] * start[1, c]
            else:
                a = x[2 + 3 * (k - 2) + c] if k < bends else target[0, c] - x[1] * target[1, c]
            if k == bends:
                b = target[0, c]
            elif k == bends - 1:
                b = target[0, c] - x[1] * target[1, c]
            else:
                b = start[0, c] + x[0] * start[1, c] if k == 0 else x[2 + 3 * (k - 1) + c]
            headings[k, c] = b - a
            length += (b - a) ** 2
        length = math.sqrt(length)
        straights[k] = length
        for c in range(3):
            headings[k, c] /= length + _TINY
    # the first and the last leg keep their sign: a corner behind the start is a negative straight
    straights[0], straights[bends] = x[0], x[1]
    for c in range(3):
        headings[0, c], headings[bends, c] = start[1, c], target[1, c]
    for k in range(bends):
        dot = 0.0
        square = 0.0
        for c in range(3):
            d, e = (c + 1) % 3, (c + 2) % 3
            dot += headings[k, c] * headings[k + 1, c]
            square += (headings[k, d] * headings[k + 1, e] - headings[k, e] * headings[k + 1, d]) ** 2
        angles[k] = math.atan2(math.sqrt(square), dot)
        take = radii[k] * math.tan(min(angles[k], 3.1) / 2)
        straights[k] -= take
        straights[k + 1] -= take


@kernel("f8[::1](f8[::1], f8[:, ::1], f8[:, ::1], f8[::1], f8[::1], f8[::1], f8, f8, f8)")
def judge(
    x: Array,
    start: Array,
    target: Array,
    radii: Array,
    caps: Array,
    least: Array,
    least_bend: float,
    longest: float,
    per_mm: float,
) -> Array:
    """Cost (total bend in degrees + per_mm · length), then the slacks of all conditions, 3 + 3 K in all.

    caps : largest angle of every bend, rad.  least : shortest straights, mm (K+1).  longest : run, mm.
    """
    bends = radii.shape[0]
    out = np.empty(3 + 3 * bends)
    straights = np.empty(bends + 1)
    angles = np.empty(bends)
    headings = np.empty((bends + 1, 3))
    describe(x, start, target, radii, straights, angles, headings)
    bend = 0.0
    length = 0.0
    for k in range(bends + 1):
        out[1 + k] = straights[k] - least[k]
        length += straights[k]
    for k in range(bends):
        bend += angles[k]
        length += angles[k] * radii[k]
        out[2 + bends + k] = (caps[k] - angles[k]) * radii[k]
        out[2 + 2 * bends + k] = (angles[k] - least_bend) * radii[k]
    out[0] = bend * 180 / math.pi + per_mm * length
    out[2 + 3 * bends] = longest - length
    return out


@kernel("f8[:, ::1](f8[::1], f8[:, ::1], f8[:, ::1], f8[::1], f8[::1], f8[::1], f8, f8, f8)")
def slopes(
    x: Array,
    start: Array,
    target: Array,
    radii: Array,
    caps: Array,
    least: Array,
    least_bend: float,
    longest: float,
    per_mm: float,
) -> Array:
    """Central differences of `judge` over x, one row per value."""
    step = 1e-5
    moved = x.copy()
    columns = np.empty((3 + 3 * radii.shape[0], x.shape[0]))
    for k in range(x.shape[0]):
        moved[k] = x[k] + step
        up = judge(moved, start, target, radii, caps, least, least_bend, longest, per_mm)
        moved[k] = x[k] - step
        down = judge(moved, start, target, radii, caps, least, least_bend, longest, per_mm)
        moved[k] = x[k]
        for i in range(up.shape[0]):
            columns[i, k] = (up[i] - down[i]) / (2 * step)
    return columns


@part
def _solve3(a: Array, b: Array, c: Array, right: Array, out: Array) -> bool:
    """Solve [a b c] out = right by Cramer's rule; False where the three are nearly coplanar."""
    bx, by, bz = b[1] * c[2] - b[2] * c[1], b[2] * c[0] - b[0] * c[2], b[0] * c[1] - b[1] * c[0]
    det = a[0] * bx + a[1] * by + a[2] * bz
    if abs(det) < 1e-6:
        return False
    rx, ry, rz = (
        right[1] * a[2] - right[2] * a[1],
        right[2] * a[0] - right[0] * a[2],
        right[0] * a[1] - right[1] * a[0],
    )
    out[0] = (right[0] * bx + right[1] * by + right[2] * bz) / det
    out[1] = -(rx * c[0] + ry * c[1] + rz * c[2]) / det
    out[2] = (rx * b[0] + ry * b[1] + rz * b[2]) / det
    return True


@inlined
def _last_straight(base: Array, tilt: Array, least: Array, reach: float) -> float:
    """The last straight that keeps it and the first three (base - last · tilt) at their least.

    Near the end of its range that makes the run short; the middle of the conflict where there is none.
    """
    low, high, slope = least[-1], 1e9, 1.0
    for k in range(3):
        room = base[k] - least[k]
        slope -= tilt[k]
        if tilt[k] > 1e-9:
            high = min(high, room / tilt[k])
        elif tilt[k] < -1e-9:
            low = max(low, room / tilt[k])
    if low > high:
        return (low + high) / 2
    high = min(high, low + reach)
    return low + (high - low) * (0.05 if slope > 0 else 0.95)


@part
def lean_axis(axis: Array, angle: float, azimuth: float, side: Array, out: Array) -> None:
    """The unit vector `angle` away from `axis`, towards `azimuth` about it."""
    least = 0
    for c in range(1, 3):
        if abs(axis[c]) < abs(axis[least]):
            least = c
    for c in range(3):
        side[c] = (1.0 if c == least else 0.0) - axis[least] * axis[c]
    length = math.sqrt(side[0] ** 2 + side[1] ** 2 + side[2] ** 2)
    for c in range(3):
        d, e = (c + 1) % 3, (c + 2) % 3
        across = (axis[d] * side[e] - axis[e] * side[d]) / length
        bent = math.cos(azimuth) * side[c] / length + math.sin(azimuth) * across
        out[c] = math.cos(angle) * axis[c] + math.sin(angle) * bent


@kernel("void(f8[:, ::1], f8[:, ::1], f8[::1], f8[::1], f8[::1], f8[:, ::1], f8, f8[:, ::1])")
def sample(
    start: Array, target: Array, radii: Array, caps: Array, least: Array, draws: Array, reach: float, x: Array
) -> None:
    """For every draw take directions between the ends and solve the straights, which are then linear.

    Three or four bends. The first three straights are solved, the last takes what keeps all at their
    least, a fourth in the middle is drawn.

    draws : (n, 2 (K-1) + 1), each 0 … 1: per middle leg the bend's share of its cap and the azimuth; the
    last draws the fourth straight (up to `reach` mm, mostly short).
    Fills x : corner variables (n, 2 + 3 (K-2)); NaN where the directions lie in one plane.
    """
    bends = radii.shape[0]
    u = np.empty((bends + 1, 3))
    take = np.empty(bends)
    right = np.empty(3)
    straight = np.empty(bends + 1)
    tilt = np.empty(3)
    side = np.empty(3)
    for n in range(draws.shape[0]):
        for k in range(x.shape[1]):
            x[n, k] = math.nan
        for c in range(3):
            u[0, c], u[bends, c] = start[1, c], target[1, c]
        for k in range(1, bends):
            lean_axis(
                u[k - 1], draws[n, 2 * k - 2] * caps[k - 1], 2 * math.pi * draws[n, 2 * k - 1], side, u[k]
            )
        for k in range(bends):
            dot = min(max(u[k, 0] * u[k + 1, 0] + u[k, 1] * u[k + 1, 1] + u[k, 2] * u[k + 1, 2], -1.0), 1.0)
            take[k] = radii[k] * math.tan(min(math.acos(dot), 3.0) / 2)
        if bends > 3:
            straight[3] = draws[n, 2 * bends - 2] ** 2 * reach
        for c in range(3):
            right[c] = target[0, c] - start[0, c]
            for k in range(bends):
                right[c] -= take[k] * (u[k, c] + u[k + 1, c])
            if bends > 3:
                right[c] -= straight[3] * u[3, c]
        if not _solve3(u[0], u[1], u[2], right, straight):
            continue
        _solve3(u[0], u[1], u[2], u[bends], tilt)
        straight[bends] = _last_straight(straight, tilt, least, reach)
        for k in range(3):
            straight[k] -= straight[bends] * tilt[k]
        x[n, 0] = straight[0] + take[0]
        x[n, 1] = straight[bends] + take[bends - 1]
        for c in range(3):
            corner = start[0, c] + x[n, 0] * u[0, c]
            for k in range(1, bends - 1):
                corner += (straight[k] + take[k - 1] + take[k]) * u[k, c]
                x[n, 2 + 3 * (k - 1) + c] = corner


@kernel("void(f8[:, ::1], f8[:, ::1], f8[:, ::1], f8[::1], f8[::1], f8[::1], f8, f8[:, ::1])")
def measure(
    x: Array,
    start: Array,
    target: Array,
    radii: Array,
    caps: Array,
    least: Array,
    least_bend: float,
    found: Array,
) -> None:
    """Total bend (degrees), length (mm) and mm missing of many samples x (n, …), into found (n, 3).

    Missing: by straights below `least` (mm) and, along the bend, angles above `caps` and below
    `least_bend` (rad).
    """
    bends = radii.shape[0]
    straights = np.empty(bends + 1)
    angles = np.empty(bends)
    headings = np.empty((bends + 1, 3))
    for n in range(x.shape[0]):
        describe(x[n], start, target, radii, straights, angles, headings)
        bend, straight, curved, missing = 0.0, 0.0, 0.0, 0.0
        for k in range(bends + 1):
            straight += straights[k]
            if not least[k] <= straights[k]:  # also where it is no number
                missing += least[k] - straights[k]
        for k in range(bends):
            bend += angles[k]
            curved += angles[k] * radii[k]
            missing += radii[k] * (max(angles[k] - caps[k], 0.0) + max(least_bend - angles[k], 0.0))
        found[n, 0], found[n, 1], found[n, 2] = bend * 180 / math.pi, straight + curved, missing
