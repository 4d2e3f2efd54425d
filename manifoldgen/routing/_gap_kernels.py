"""Compiled kernels of clearances between stations and what stands around: signed distances, least margins.

`solids` are rows as in `geometry.rows`; beside each a rule (RULE columns) says what a runner asks of it:

    0 gap  1 gap near the inlet  2 how near that is  3 left out at the start  4 left out at the end
    5 group  6 moves with the turbo (1)  7-9 centre, 10 radius of a ball that holds the solid
    11, 12 first and end of its outline's edges
"""

# mypy: ignore-errors
# ruff: noqa: PLR0911, PLR0917, PLW3301 - compiled kernels are loops over plain arrays
from __future__ import annotations

import math

import numpy as np

from manifoldgen.compiled.mark import inlined, part
from manifoldgen.geometry._kernels import BOX, CAPSULE, CONE, HALF, PLATE, ROD, nearest, outline
from manifoldgen.geometry.vectors import Array

RULE = 13
GROUPS = 3  # obstacles, tools, the manifold's own parts
FAR = 60.0  # mm: margins are not told apart beyond
SELF_TURN = math.radians(150)  # between two places of one tube that may clash
PARTS = 2
SCAN = 7.0  # kind of row for a grid of distances: counts, lowest corner, step; the values stand in the edges


@inlined
def in_grid(row: Array, values: Array, x: float, y: float, z: float) -> float:
    """A scan's distance out of its grid, linear between eight values; beyond the grid that of its rim."""
    at, part, counts = np.empty(3, np.int64), np.empty(3), row[1:4]
    for c in range(3):
        v = ((x if c == 0 else y if c == 1 else z) - row[4 + c]) / row[7]
        v = min(max(v, 0.0), counts[c] - 1.000001)
        at[c] = int(v)
        part[c] = v - at[c]
    total = 0.0
    for k in range(8):
        place = 0
        weight = 1.0
        for c in range(3):
            up = (k >> c) & 1
            place = place * int(counts[c]) + at[c] + up
            weight *= part[c] if up else 1 - part[c]
        total += weight * values[place // 8, place % 8]
    return total


@inlined
def signed(row: Array, edges: Array, x: float, y: float, z: float) -> float:
    """Distance of a point to a solid row, negative inside: there by the nearest of its faces."""
    kind = row[0]
    if kind == SCAN:
        return in_grid(row, edges, x, y, z)
    vx, vy, vz = x - row[1], y - row[2], z - row[3]
    if kind == HALF:
        return vx * row[4] + vy * row[5] + vz * row[6]
    d = nearest(row, edges, x, y, z)[0]
    if d > 0:
        return d
    u = vx * row[4] + vy * row[5] + vz * row[6]
    if kind == CAPSULE:
        on = min(max(u, 0.0), row[7])
        return math.sqrt(max(vx * vx + vy * vy + vz * vz - u * u, 0.0) + (u - on) ** 2) - row[8]
    if kind in (ROD, CONE):
        across = math.sqrt(max(vx * vx + vy * vy + vz * vz - u * u, 0.0))
        if kind == ROD:
            side = across - row[8]
        else:
            slope = (row[9] - row[8]) / max(row[7], 1e-9)
            side = (across - row[8] - slope * u) / math.sqrt(1 + slope * slope)
        return max(side, max(-u, u - row[7]))
    v = vx * row[7] + vy * row[8] + vz * row[9]
    if kind in (BOX, PLATE):
        w = vx * row[10] + vy * row[11] + vz * row[12]
        if kind == BOX:
            return max(abs(u) - row[13], max(abs(v) - row[14], abs(w) - row[15]))
        return max(outline(edges, u, v)[0], max(-w, w - row[13]))
    w = vx * row[10] + vy * row[11] + vz * row[12]  # a bend: to its centreline
    return math.sqrt((math.sqrt(u * u + v * v) - row[13]) ** 2 + w * w) - row[15]


@part
def to_solid(
    station: Array, length: float, radius: float, row: Array, edges: Array, rule: Array, shift: Array
) -> float:
    """Margin of a station to a solid; FAR where nothing is asked."""
    s, left = station[3], length - station[3]
    if s < rule[3] or left < rule[4]:
        return FAR
    gap = rule[1] if left < rule[2] else rule[0]
    a = rule[6]
    d = signed(row, edges, station[0] - a * shift[0], station[1] - a * shift[1], station[2] - a * shift[2])
    return d - radius - gap


@part
def to_leg(station: Array, length: float, radius: float, inlet: Array, leg: Array) -> float:
    """Margin of a station to another cylinder's inlet beyond the ring plane.

    inlet : point and direction (2, 3).  leg : its length, gap, gap near the inlet, how near, left out at the end.
    """
    left = length - station[3]
    if left < leg[4]:
        return FAR
    gap = leg[2] if left < leg[3] else leg[1]
    vx, vy, vz = station[0] - inlet[0, 0], station[1] - inlet[0, 1], station[2] - inlet[0, 2]
    u = vx * inlet[1, 0] + vy * inlet[1, 1] + vz * inlet[1, 2]
    on = min(max(u, 0.0), leg[0])
    return math.sqrt(max(vx * vx + vy * vy + vz * vz - u * u, 0.0) + (u - on) ** 2) - 2 * radius - gap


@inlined
def solid_margins(
    path: Array,
    radius: float,
    solids: Array,
    edges: Array,
    rules: Array,
    shift: Array,
    best: Array,
    which: Array,
) -> None:
    """Least margin of a runner by group and stretch: best (GROUPS, B), which (GROUPS, B, 2) station and solid."""
    n, blocks = path.shape[0], best.shape[1]
    length = path[n - 1, 3]
    best[:] = FAR
    which[:] = -1
    for j in range(n):
        b = j * blocks // n
        left = length - path[j, 3]
        for m in range(solids.shape[0]):
            rule = rules[m]
            if path[j, 3] < rule[3] or left < rule[4]:
                continue
            g = int(rule[5])
            a = rule[6]
            reach = max(best[g, b] + radius + max(rule[0], rule[1]) + rule[10], 0.0)
            dx = path[j, 0] - a * shift[0] - rule[7]
            dy = path[j, 1] - a * shift[1] - rule[8]
            dz = path[j, 2] - a * shift[2] - rule[9]
            if dx * dx + dy * dy + dz * dz > reach * reach:
                continue
            d = to_solid(
                path[j], length, radius, solids[m], edges[int(rule[11]) : int(rule[12])], rule, shift
            )
            if d < best[g, b]:
                best[g, b] = d
                which[g, b, 0] = j
                which[g, b, 1] = m


@inlined
def leg_margins(
    path: Array, radius: float, own: int, inlets: Array, leg: Array, best: Array, which: Array
) -> None:
    """The same against the inlets of all other cylinders, into the group of parts; solids count from -2 down."""
    n, blocks = path.shape[0], best.shape[1]
    length = path[n - 1, 3]
    if leg[0] <= 0:
        return
    for j in range(n):
        b = j * blocks // n
        for i in range(inlets.shape[0]):
            if i != own:
                d = to_leg(path[j], length, radius, inlets[i], leg)
                if d < best[PARTS, b]:
                    best[PARTS, b] = d
                    which[PARTS, b, 0] = j
                    which[PARTS, b, 1] = -2 - i


@inlined
def pair_margins(a: Array, b: Array, radii: float, best: Array, which: Array) -> None:
    """Least of gap less asked gap of two runners by stretches of both: best (B, B), which (B, B, 2) stations."""
    na, nb, blocks = a.shape[0], b.shape[0], best.shape[0]
    best[:] = FAR
    which[:] = -1
    for i in range(na):
        x, y, z, ask = a[i, 0], a[i, 1], a[i, 2], a[i, 4]
        p = i * blocks // na
        for j in range(nb):
            q = j * blocks // nb
            dx = x - b[j, 0]
            dy = y - b[j, 1]
            dz = z - b[j, 2]
            square = dx * dx + dy * dy + dz * dz
            least = max(ask, b[j, 4]) + radii
            reach = max(best[p, q] + least, 0.0)
            if square < reach * reach:
                best[p, q] = math.sqrt(square) - least
                which[p, q, 0] = i
                which[p, q, 1] = j


@part
def self_margin(path: Array, radius: float, gap: float, which: Array) -> float:
    """Least of gap less `gap` between places of one runner with at least 150° of bend between them."""
    n = path.shape[0]
    best = FAR
    which[:] = -1
    if path[n - 1, 5] < SELF_TURN:
        return best
    for i in range(n):
        for j in range(n - 1, i, -1):
            if path[j, 5] - path[i, 5] < SELF_TURN:
                break
            square = (
                (path[i, 0] - path[j, 0]) ** 2
                + (path[i, 1] - path[j, 1]) ** 2
                + (path[i, 2] - path[j, 2]) ** 2
            )
            reach = max(best + 2 * radius + gap, 0.0)
            if square < reach * reach:
                best = math.sqrt(square) - 2 * radius - gap
                which[0] = i
                which[1] = j
    return best


@inlined
def least_margin(
    path: Array, radius: float, self_gap: float, solids: Array, edges: Array, rules: Array, floor: float
) -> float:
    """Least margin of a runner to all solids and to itself; anything below `floor` may be returned for less."""
    n = path.shape[0]
    length = path[n - 1, 3]
    none = np.zeros(3)
    best = FAR
    for m in range(solids.shape[0]):
        rule = rules[m]
        for j in range(n):
            if path[j, 3] < rule[3] or length - path[j, 3] < rule[4]:
                continue
            reach = max(best + radius + max(rule[0], rule[1]) + rule[10], 0.0)
            square = (path[j, 0] - rule[7]) ** 2 + (path[j, 1] - rule[8]) ** 2 + (path[j, 2] - rule[9]) ** 2
            if square > reach * reach:
                continue
            d = to_solid(path[j], length, radius, solids[m], edges[int(rule[11]) : int(rule[12])], rule, none)
            best = min(best, d)
        if best < floor:
            return best
    return min(best, self_margin(path, radius, self_gap, np.empty(2, np.int64)))
