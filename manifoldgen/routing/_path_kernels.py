"""Compiled kernels of a runner in corner form: stations along its centreline, gap asked at each, turn so far.

The corner variables are those of `_closure_kernels`: x = (s, t, V_2 … V_{K-1}), so both end poses hold exactly.
"""

# mypy: ignore-errors
# ruff: noqa: C901, PLR0912, PLR0917 - compiled kernels are loops over plain arrays
from __future__ import annotations

import math

import numpy as np

from manifoldgen.compiled.mark import kernel, part
from manifoldgen.geometry.vectors import Array
from manifoldgen.routing._closure_kernels import describe

MOST = 6  # bends a runner may have here
STATION = 6  # columns of a station: x, y, z, arc length, gap asked of other runners, turn so far (rad)


@kernel("f8(f8, f8, f8[::1])")
def asked(s: float, length: float, limits: Array) -> float:
    """Gap asked of other runners at arc length s: flange and merge zone with their ramps, the smaller.

    limits : gap, at merge, merge zone, at flange, flange zone, ramp.
    """
    least = limits[0]
    for k in range(2):
        beyond = (length - s if k == 0 else s) - limits[2 + 2 * k]
        low = limits[1 + 2 * k]
        here = limits[0]
        if beyond <= 0:
            here = low
        elif beyond < limits[5]:
            here = low + (limits[0] - low) * beyond / limits[5]
        least = min(least, here)
    return least


@part
def corner(x: Array, start: Array, target: Array, bends: int, k: int, c: int) -> float:
    """Coordinate c of corner k (0 … bends - 1)."""
    if k == 0:
        return start[0, c] + x[0] * start[1, c]
    if k == bends - 1:
        return target[0, c] - x[1] * target[1, c]
    return x[2 + 3 * (k - 1) + c]


@part
def stations(
    x: Array,
    start: Array,
    target: Array,
    radii: Array,
    limits: Array,
    out: Array,
    straights: Array,
    angles: Array,
) -> float:
    """Fill `out` (n, STATION) with evenly spaced stations, and the straights and angles; the length, mm.

    A straight that comes out negative counts as such in the length and has no station.
    """
    bends = radii.shape[0]
    headings = np.empty((bends + 1, 3))
    describe(x, start, target, radii, straights, angles, headings)
    length = 0.0
    walked = 0.0
    for k in range(bends + 1):
        length += straights[k]
        walked += max(straights[k], 0.0)
        if k < bends:
            length += radii[k] * angles[k]
            walked += radii[k] * angles[k]
    n = out.shape[0]
    k = 0
    on_bend = False
    done = 0.0  # walked before the element we are on
    turned = 0.0
    here = max(straights[0], 0.0)
    at = np.empty(3)
    inward = np.zeros(3)
    for c in range(3):
        at[c] = start[0, c]
    for j in range(n):
        s = walked * j / (n - 1)
        while s > done + here + 1e-9 and not (k == bends and not on_bend):
            done += here
            if on_bend:
                turned += angles[k]
                on_bend = False
                take = radii[k] * math.tan(min(angles[k], 3.1) / 2)
                for c in range(3):
                    at[c] = corner(x, start, target, bends, k, c) + take * headings[k + 1, c]
                k += 1
                here = max(straights[k], 0.0)
            else:
                on_bend = True
                take = radii[k] * math.tan(min(angles[k], 3.1) / 2)
                sine = math.sin(angles[k])
                cosine = math.cos(angles[k])
                for c in range(3):
                    at[c] = corner(x, start, target, bends, k, c) - take * headings[k, c]
                    inward[c] = (headings[k + 1, c] - cosine * headings[k, c]) / sine if sine > 1e-9 else 0.0
                here = radii[k] * angles[k]
        along = s - done
        if on_bend:
            turn = along / radii[k]
            u = radii[k] * math.sin(turn)
            v = radii[k] * (1 - math.cos(turn))
            for c in range(3):
                out[j, c] = at[c] + u * headings[k, c] + v * inward[c]
            out[j, 5] = turned + turn
        else:
            for c in range(3):
                out[j, c] = at[c] + along * headings[k, c]
            out[j, 5] = turned
        out[j, 3] = s
        out[j, 4] = asked(s, walked, limits)
    return length
