# mypy: ignore-errors
# ruff: noqa: ANN001, ANN202, PLR0917 - plain numbers are fastest
"""Distances of a posed torch, rod or ray to what lies on the bench, compiled.

Everywhere `bench` is (balls, their groups, solids, balls round the solids, their groups, the hulls' corners)
and `rules` is (clearance asked by group, whether the group is welded here, bores, flat, clearance in the bores):
through the bores a torch reaches a seam from the merge side, and the flat is where they end.
"""

from __future__ import annotations

import math

import numpy as np

from manifoldgen.access._gjk import core_gap
from manifoldgen.compiled.mark import inlined, part

FAR = 1e9
BENCH = "Tuple((f8[:, ::1], i8[::1], f8[:, ::1], f8[:, ::1], i8[::1], f8[:, ::1]))"
RULES = "Tuple((f8[::1], b1[::1], f8[:, ::1], f8[::1], f8))"
_STATION = 4.0  # mm between the balls a rod is judged by inside a bore


@part
def to_frustum(rho, z, r0, z0, r1, z1):
    """Distance of a point to a solid frustum about the axis, (rho, z) in axis coordinates; < 0 inside."""
    ex, ez = r1 - r0, z1 - z0
    if z0 <= z <= z1:
        edge = r0 + ex * (z - z0) / ez
        if rho <= edge:
            return -min((edge - rho) * ez / math.hypot(ex, ez), z - z0, z1 - z)
    t = ((rho - r0) * ex + (z - z0) * ez) / (ex * ex + ez * ez)
    t = min(max(t, 0.0), 1.0)
    best = math.hypot(rho - r0 - t * ex, z - z0 - t * ez)
    if z < z0:
        best = min(best, math.hypot(max(rho - r0, 0.0), z0 - z))
    if z > z1:
        best = min(best, math.hypot(max(rho - r1, 0.0), z - z1))
    return best


@part
def to_segment(p, a, u, length):
    """Distance of a point to the segment from a along the unit vector u."""
    wx, wy, wz = p[0] - a[0], p[1] - a[1], p[2] - a[2]
    t = min(max(wx * u[0] + wy * u[1] + wz * u[2], 0.0), length)
    return math.sqrt((wx - t * u[0]) ** 2 + (wy - t * u[1]) ** 2 + (wz - t * u[2]) ** 2)


@part
def axial(p, tip, axis):
    """Axis coordinates (rho, z) of a point."""
    wx, wy, wz = p[0] - tip[0], p[1] - tip[1], p[2] - tip[2]
    h = wx * axis[0] + wy * axis[1] + wz * axis[2]
    return math.sqrt(max(wx * wx + wy * wy + wz * wz - h * h, 0.0)), h


@part
def gap(part, solid, corners, enough):
    """Distance of a torch's part to a solid, at least `enough` where it is more; 0 where their cores meet."""
    grown = part[12] + solid[12]
    return core_gap(part, corners, solid, corners, enough + grown)[0] - grown


@part
def rod_row(row, a, u, length, r0, r1, rounding):
    """Fill a row of `access.pack` for a frustum or, with `rounding`, a capsule."""
    row[0] = 1.0
    for i in range(3):
        row[1 + i] = a[i]
        row[4 + i] = a[i] + length * u[i]
        row[7 + i] = u[i]
    row[10], row[11], row[12] = r0, r1, rounding


@part
def on(at, way, far):
    """The point `far` mm from a place along a way."""
    out = np.empty(3)
    for c in range(3):
        out[c] = at[c] + far * way[c]
    return out


@part
def in_bores(p, r, rules):
    """Whether a ball lies within one of the bores, or wholly past the flat they end in."""
    bores, flat, wall = rules[2], rules[3], rules[4]
    depth = (p[0] - flat[0]) * flat[3] + (p[1] - flat[1]) * flat[4] + (p[2] - flat[2]) * flat[5]
    if depth >= r:
        return True
    for k in range(bores.shape[0]):
        off, _ = axial(p, bores[k, :3], bores[k, 3:6])
        if off + r <= bores[k, 6] - wall:
            return True
    return False


@part
def rod_in_bores(a, u, length, r0, r1, rules):
    """Whether a frustum stays within the bores as far as the flat, judged by balls along it; True without bores."""
    if rules[2].shape[0] == 0:
        return True
    steps = max(2, math.ceil(length / _STATION))
    for i in range(steps + 1):
        share = i / steps
        if not in_bores(on(a, u, length * share), r0 + (r1 - r0) * share, rules):
            return False
    return True


@part
def crossed(a, b, out):
    """Write a × b to `out`."""
    out[0] = a[1] * b[2] - a[2] * b[1]
    out[1] = a[2] * b[0] - a[0] * b[2]
    out[2] = a[0] * b[1] - a[1] * b[0]


@part
def across_of(tau, bis):
    """The unit vector across a weld: along × bisector."""
    out = np.empty(3)
    crossed(tau, bis, out)
    return out


@part
def _shrunk(v):
    """Scale a vector to length 1, in place."""
    size = math.sqrt(v[0] ** 2 + v[1] ** 2 + v[2] ** 2)
    for c in range(3):
        v[c] /= size


@part
def frame_of(tau, bis, travel, work):
    """The tungsten's axis and the two vectors roll counts from, as rows; travel and work are tangents."""
    out = np.empty((3, 3))
    across = across_of(tau, bis)
    for c in range(3):
        out[0, c] = bis[c] + travel * tau[c] + work * across[c]
    _shrunk(out[0])
    crossed(out[0], across, out[1])
    _shrunk(out[1])
    crossed(out[0], out[1], out[2])
    return out


@part
def profile_of(size, stick):
    """Heights (4) of the ends of cup, head and cap, and their radii (3, 2)."""
    heights, radii = np.empty(4), np.empty((3, 2))
    heights[0] = stick
    for k in range(3):
        heights[k + 1] = heights[k] + size[2 + 2 * k]
    radii[0, 0], radii[0, 1] = size[0], size[1]
    radii[1, 0] = radii[1, 1] = size[3]
    radii[2, 0] = radii[2, 1] = size[5]
    return heights, radii


@part
def widest(radii):
    """The largest radius of cup, head and cap."""
    most = radii[0, 0]
    for k in range(3):
        most = max(most, radii[k, 0], radii[k, 1])
    return most


@part
def near(at, reach, balls, group, ask):
    """Numbers of the balls within reach of a place."""
    found = np.empty(balls.shape[0], np.int64)
    n = 0
    for i in range(balls.shape[0]):
        q = reach + balls[i, 3] + ask[group[i]]
        if (balls[i, 0] - at[0]) ** 2 + (balls[i, 1] - at[1]) ** 2 + (balls[i, 2] - at[2]) ** 2 < q * q:
            found[n] = i
            n += 1
    return found[:n]


@part
def body_to_point(rho, h, heights, radii):
    """Distance of a point to cup, head and cap."""
    d = to_frustum(rho, h, radii[0, 0], heights[0], radii[0, 1], heights[1])
    d = min(d, to_frustum(rho, h, radii[1, 0], heights[1], radii[1, 1], heights[2]))
    return min(d, to_frustum(rho, h, radii[2, 0], heights[2], radii[2, 1], heights[3]))


@part
def body_to_solid(part, tip, axis, heights, radii, solid, corners, enough):
    """Distance of cup, head and cap to a solid."""
    d = FAR
    for p in range(3):
        rod_row(
            part, on(tip, axis, heights[p]), axis, heights[p + 1] - heights[p], radii[p, 0], radii[p, 1], 0.0
        )
        d = min(d, gap(part, solid, corners, enough))
    return d


@part
def handle_of(frame, size, turn):
    """The unit vector along the handle for a roll, radians."""
    s, c = math.sin(size[9]), math.cos(size[9])
    x, y = math.cos(turn), math.sin(turn)
    out = np.empty(3)
    for k in range(3):
        out[k] = s * (x * frame[1, k] + y * frame[2, k]) + c * frame[0, k]
    return out


@inlined
def body_room(tip, axis, heights, radii, bench, rules, floor):
    """Least of distance less clearance asked between cup, head and cap and everything; leaves at `floor`.

    A value at or below `floor` may be any that is: it has not looked at the rest. Past the first few hundredths
    of a mm the depth inside a solid is not measured: it is less than 0.
    """
    balls, group, solids, bounds, sgroup, corners = bench
    ask, part = rules[0], np.zeros(16)
    best, fat = FAR, widest(radii)
    for i in range(balls.shape[0]):
        thick = balls[i, 3] + ask[group[i]]
        rho, h = axial(balls[i], tip, axis)
        far = best + thick
        if rho < fat + far and heights[0] - far < h < heights[3] + far:
            best = min(best, body_to_point(rho, h, heights, radii) - thick)
            if best <= floor:
                return best
    for i in range(solids.shape[0]):
        rho, h = axial(bounds[i], tip, axis)
        enough = best + ask[sgroup[i]]
        far = enough + bounds[i, 3]
        if rho < fat + far and heights[0] - far < h < heights[3] + far:
            d = body_to_solid(part, tip, axis, heights, radii, solids[i], corners, enough)
            best = min(best, d - ask[sgroup[i]])
            if best <= floor:
                return best
    return best


@part
def handle_room(grip, way, size, bench, rules, floor, most):
    """The same for a handle, at most `most`."""
    balls, group, solids, bounds, sgroup, corners = bench
    ask, part = rules[0], np.zeros(16)
    best = most
    for i in range(balls.shape[0]):
        best = min(best, to_segment(balls[i], grip, way, size[8]) - size[7] - balls[i, 3] - ask[group[i]])
        if best <= floor:
            return best
    for i in range(solids.shape[0]):
        enough = best + ask[sgroup[i]]
        if to_segment(bounds[i], grip, way, size[8]) < size[7] + bounds[i, 3] + enough:
            rod_row(part, grip, way, size[8], 0.0, 0.0, size[7])
            best = min(best, gap(part, solids[i], corners, enough) - ask[sgroup[i]])
            if best <= floor:
                return best
    return best
