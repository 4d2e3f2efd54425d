# mypy: ignore-errors
# ruff: noqa: ANN001, ANN202, PLR0917 - the compiled signatures say the types; plain numbers are fastest
"""Certified least distances by branch and bound, compiled.

One dimension (`march`): g(s), the distance from a tube's centreline point to a solid, changes by at most 1
per mm of arc length, so an interval of length h holds nothing below (g(a) + g(b) - h)/2.  Where the
distance bends down by at most c, tangents of g(s) + c (s - a)(s - b)/2 bound it far better: valleys of
parallel tubes cost a few steps.  It never bends up by more than k = 1/g + 1/clr, so an interval with
g'(b) > k h or g'(a) < -k h has no critical point.

Flat ends: balls along a centreline cover the tube plus two round caps.  A closest wall point away from the
end discs lies on a critical point of g; `tubes` and `shape` therefore drop intervals without one, take
upper bounds from true points of the tube only and search the end discs apart (`_patch`).  Two places
need more than that argument, because a solid that is not convex may hide the wall's partner behind a
nearer point: near an end, against a bend (then the other tube is marched against the end zones) and near
two ends of two bends, or near an end against a hollow plate (then the wall itself is searched).

`best` carries: 0 least value, 1:4 point on the moving tube, 4:7 point on the other solid, 7 steps taken,
8 lower bound left behind where the steps ran out, 9 lower bound of what the critical-point test could
not settle.
"""

from __future__ import annotations

import math

import numpy as np

from manifoldgen.compiled.mark import inlined, kernel, part
from manifoldgen.geometry._kernels import (
    BEND,
    PLATE,
    any_square,
    hollow,
    is_convex,
    length_of,
    nearest,
    place,
)

STEPS, LEFT, LOOSE = 7, 8, 9  # places in `best`
FLAT, ROUND = True, False  # how the moving tube ends
WALL, DISC = True, False  # what `_patch` covers


@part
def _keep(best, value, px, py, pz, qx, qy, qz):
    best[0] = value
    best[1] = px
    best[2] = py
    best[3] = pz
    best[4] = qx
    best[5] = qy
    best[6] = qz


@part
def _probe(seg, s, row, edges, r, ask, slope, exact, best):
    """Value and slope of the margin at `s`, and the centreline distance; betters `best` where it can."""
    x, y, z, tx, ty, tz = place(seg, s)
    d, qx, qy, qz = nearest(row, edges, x, y, z)
    wx = qx - x
    wy = qy - y
    wz = qz - z
    along = wx * tx + wy * ty + wz * tz
    value = d - r - ask - slope * s
    if value < best[0]:
        if exact:  # the disc's own nearest point to q is a true point of the tube
            wx -= along * tx
            wy -= along * ty
            wz -= along * tz
            out = math.sqrt(wx * wx + wy * wy + wz * wz)
            k = r / out if out > r else 1.0
            px = x + k * wx
            py = y + k * wy
            pz = z + k * wz
            dp, qx, qy, qz = nearest(row, edges, px, py, pz)
            if dp < best[0]:
                _keep(best, dp, px, py, pz, qx, qy, qz)
        else:
            _keep(best, value, x, y, z, qx, qy, qz)
    return value, (-along / d if d > 0.0 else 0.0) - slope, d


@inlined
def _tangent_bound(va, vb, sa, sb, h, c):
    """Least value over an interval of a function with second derivative ≥ -c, from both ends."""
    if c == math.inf:
        return -math.inf
    sa -= 0.5 * c * h
    sb += 0.5 * c * h
    low = min(max(va, vb - sb * h), max(vb, va + sa * h))
    if sa != sb:
        u = (vb - sb * h - va) / (sa - sb)
        if 0.0 < u < h:
            low = min(low, va + sa * u)
    return low


@inlined
def _no_critical(da, db, sa, sb, h, kappa):
    """Whether the distance surely has no critical point in an interval, from both ends."""
    least = 0.5 * (da + db - h)
    if least <= 0.0:
        return False
    k = (1.0 / least + kappa) * h
    return sb > k or sa < -k


@part
def _push(work, n, a, b, va, vb, sa, sb, da, db):
    w = work[n]
    w[0] = a
    w[1] = b
    w[2] = va
    w[3] = vb
    w[4] = sa
    w[5] = sb
    w[6] = da
    w[7] = db
    return n + 1


@inlined
def _search(seg, row, edges, r, ask, slope, exact, mark, zone, tol, cap, best, work):
    """Least margin of one centreline piece against one solid row."""
    kappa = 1.0 / seg[13] if seg[0] == BEND else 0.0
    marked = not is_convex(row) and (mark == 2 or (mark == 1 and seg[0] == BEND))
    length = length_of(seg)
    va, sa, da = _probe(seg, 0.0, row, edges, r, ask, slope, exact, best)
    vb, sb, db = _probe(seg, length, row, edges, r, ask, slope, exact, best)
    n = _push(work, 0, 0.0, length, va, vb, sa, sb, da, db)
    while n > 0:
        n -= 1
        w = work[n]
        a, b, va, vb, sa, sb, da, db = w[0], w[1], w[2], w[3], w[4], w[5], w[6], w[7]
        h = b - a
        low = 0.5 * (va + vb - (1.0 + abs(slope)) * h)
        if low >= best[0] - tol or h <= 1e-9:
            continue
        settled = exact and _no_critical(da, db, sa, sb, h, kappa)
        noted = marked and (a < zone[0] or b > zone[1])
        if settled and not noted:
            continue
        x, y, z, _, _, _ = place(seg, a)
        c = hollow(row, edges, x, y, z, h)
        if row[0] == PLATE:  # the others' bounds hold all over the interval from either end
            x, y, z, _, _, _ = place(seg, b)
            c = max(c, hollow(row, edges, x, y, z, h))
        low = max(low, _tangent_bound(va, vb, sa, sb, h, kappa + c))
        if settled:
            best[LOOSE] = min(best[LOOSE], low)
            continue
        if low >= best[0] - tol:
            continue
        if best[STEPS] >= cap:
            best[LEFT] = min(best[LEFT], low)
            continue
        best[STEPS] += 1.0
        m = 0.5 * (a + b)
        vm, sm, dm = _probe(seg, m, row, edges, r, ask, slope, exact, best)
        if exact and best[0] <= tol:
            return
        if va < vb:  # the nearer half goes on top of the stack
            n = _push(work, n, m, b, vm, vb, sm, sb, dm, db)
            n = _push(work, n, a, m, va, vm, sa, sm, da, dm)
        else:
            n = _push(work, n, a, m, va, vm, sa, sm, da, dm)
            n = _push(work, n, m, b, vm, vb, sm, sb, dm, db)


@kernel("void(f8[:,::1], f8[::1], f8, f8[:,::1], f8[:,::1], f8[:,::1], f8, b1, i8, f8, f8, f8[::1])")
def march(segs, asks, slope, zones, rows, edges, r, exact, mark, tol, cap, best):
    """Betters `best` by the least of distance - r - asked over a centreline against all solid rows.

    asks : asked gap at the start of every piece; `slope` : its change per mm.  exact : flat ends (asked
    must be 0 then).  mark : which undecided intervals near the ends are noted, 0 none, 1 bends against
    bends, 2 all against solids that are not convex.  zones : per piece, arc lengths below and above which
    it is near an end of its tube.
    """
    n = segs.shape[0]
    m = rows.shape[0]
    work = np.empty((128, 8))
    lows = np.empty((n, m))
    for i in range(n):
        seg = segs[i]
        length = length_of(seg)
        reach = 0.5 * length
        if seg[0] == BEND:
            reach = 2.0 * seg[13] * math.sin(0.25 * seg[14])
        most = asks[i] + max(0.0, slope * length)
        x, y, z, _, _, _ = place(seg, 0.5 * length)
        for j in range(m):
            lows[i, j] = nearest(rows[j], edges, x, y, z)[0] - reach - r - most
    while True:
        low = math.inf
        bi = 0
        bj = 0
        for i in range(n):
            for j in range(m):
                if lows[i, j] < low:
                    low = lows[i, j]
                    bi = i
                    bj = j
        if low >= best[0] - tol or (exact and best[0] <= tol):
            return
        lows[bi, bj] = math.inf
        _search(
            segs[bi], rows[bj], edges, r, asks[bi], slope, exact, mark, zones[bi], tol, cap, best, work
        )  # fmt: skip


@inlined
def _cell(seg, wall, row, edges, r, cell, best):
    """Lower bound of a cell; betters `best` by its middle."""
    u = 0.5 * (cell[0] + cell[1])
    v = 0.5 * (cell[2] + cell[3])
    du = 0.5 * (cell[1] - cell[0])
    dv = 0.5 * (cell[3] - cell[2])
    x, y, z, tx, ty, tz = place(seg, u if wall else 0.0)
    kappa = 1.0 / seg[13] if wall and seg[0] == BEND else 0.0
    if seg[0] == BEND:
        ax, ay, az = seg[10], seg[11], seg[12]
    else:
        ax, ay, az = any_square(tx, ty, tz)
    bx = ty * az - tz * ay
    by = tz * ax - tx * az
    bz = tx * ay - ty * ax
    c = math.cos(v)
    n = math.sin(v)
    k = r if wall else u
    px = x + k * (c * ax + n * bx)
    py = y + k * (c * ay + n * by)
    pz = z + k * (c * az + n * bz)
    d, qx, qy, qz = nearest(row, edges, px, py, pz)
    if d < best[0]:
        _keep(best, d, px, py, pz, qx, qy, qz)
    along = 1.0 + r * kappa
    out = r if wall else cell[1]
    w = math.sqrt((along * du) ** 2 + (out * dv) ** 2)
    if d <= 0.0:
        return -w
    gx = (px - qx) / d
    gy = (py - qy) / d
    gz = (pz - qz) / d
    rise = abs(gx * tx + gy * ty + gz * tz)
    fall = w * math.sqrt(max(0.0, 1.0 - rise * rise))
    bow = 0.0
    if wall:  # first and second derivatives of the wall's point by arc length and angle
        turn = abs(n * (gx * ax + gy * ay + gz * az) - c * (gx * bx + gy * by + gz * bz))
        fall = along * du * rise + r * dv * turn
        bow = kappa * along * du * du + 2.0 * r * kappa * du * dv + r * dv * dv
    return max(d - w, d - fall - 0.5 * (bow + w * w * hollow(row, edges, px, py, pz, w)))


@kernel("void(f8[::1], b1, f8[::1], f8[:,::1], f8, f8, f8, f8[::1])")
def _patch(seg, wall, row, edges, r, tol, cap, best):
    """Betters `best` by the distance of a tube's end disc, or of a piece's wall, to one solid row.

    Cells of (radius, angle) on the disc or (arc length, angle) on the wall; a cell of half width w holds
    nothing below d - w, nor below d - (fall along the surface) - (c w² + bow of the surface)/2.
    """
    along = 1.0 + r / seg[13] if wall and seg[0] == BEND else 1.0
    work = np.empty((256, 5))
    n = 4  # four quarters to begin with; each turn of the loop below halves one cell
    for i in range(4):
        work[i, 0] = 0.0
        work[i, 1] = length_of(seg) if wall else r
        work[i, 2] = 0.5 * math.pi * i
        work[i, 3] = 0.5 * math.pi * (i + 1)
        work[i, 4] = -math.inf
    two = np.empty((2, 5))
    while n > 0:
        n -= 1
        if work[n, 4] >= best[0] - tol or best[0] <= tol:
            continue
        if best[STEPS] >= cap:
            best[LEFT] = min(best[LEFT], work[n, 4])
            continue
        best[STEPS] += 1.0
        for k in range(5):
            two[0, k] = work[n, k]
            two[1, k] = work[n, k]
        out = r if wall else work[n, 1]
        side = 0 if (work[n, 1] - work[n, 0]) * along >= (work[n, 3] - work[n, 2]) * out else 2
        middle = 0.5 * (work[n, side] + work[n, side + 1])
        two[0, side + 1] = middle
        two[1, side] = middle
        for i in range(2):
            two[i, 4] = _cell(seg, wall, row, edges, r, two[i], best)
        first = 1 if two[0, 4] < two[1, 4] else 0  # the more hopeful half goes on top
        for i in (first, 1 - first):
            for k in range(5):
                work[n, k] = two[i, k]
            n += 1


@part
def _disc(end, row, edges, r, tol, cap, best):
    if nearest(row, edges, end[1], end[2], end[3])[0] - r < best[0] - tol:
        _patch(end, DISC, row, edges, r, tol, cap, best)


@inlined
def _swap(best):
    for i in range(1, 4):
        best[i], best[i + 3] = best[i + 3], best[i]


@kernel("void(UniTuple(f8[:,::1], 5), f8, UniTuple(f8[:,::1], 5), f8, f8[:,::1], f8, f8, f8[::1])")
def tubes(a, a_r, b, b_r, edges, tol, cap, best):
    """Betters `best` by the least distance of two flat-ended solid tubes.

    a, b : centreline pieces, their solids with the end discs of bends, the same cut down to the end
    zones, the two end discs, the pieces' zones.
    """
    a_segs, _, a_near, a_ends, a_zones = a
    b_segs, b_rows, b_near, b_ends, b_zones = b
    none = np.zeros(max(a_segs.shape[0], b_segs.shape[0]))
    march(a_segs, none, 0.0, a_zones, b_rows, edges, a_r, FLAT, 0, tol, cap, best)
    before = best[0]
    march(b_segs, none, 0.0, b_zones, a_near, edges, b_r, FLAT, 1, tol, cap, best)
    if best[0] < before:
        _swap(best)
    for i in range(2):
        for j in range(2):
            _disc(a_ends[i], b_ends[j], edges, a_r, tol, cap, best)
    if best[LOOSE] < best[0] - tol:
        for i in range(a_near.shape[0]):
            for j in range(b_near.shape[0]):
                if a_near[i, 0] == BEND and b_near[j, 0] == BEND:
                    _patch(a_near[i], WALL, b_near[j], edges, a_r, tol, cap, best)


@kernel("void(UniTuple(f8[:,::1], 5), f8, f8[:,::1], f8[:,::1], f8, f8, f8[::1])")
def shape(a, a_r, rows, edges, tol, cap, best):
    """Betters `best` by the least distance of a flat-ended solid tube to one solid row."""
    segs, _, near, ends, zones = a
    march(segs, np.zeros(segs.shape[0]), 0.0, zones, rows, edges, a_r, FLAT, 2, tol, cap, best)
    for i in range(2):
        _disc(ends[i], rows[0], edges, a_r, tol, cap, best)
    if best[LOOSE] < best[0] - tol:
        for i in range(near.shape[0]):
            _patch(near[i], WALL, rows[0], edges, a_r, tol, cap, best)


@kernel("f8(f8[:,::1], f8, f8, f8)")
def foot(segs, x, y, z):
    """Arc length of the centreline point nearest to a point."""
    least = math.inf
    at = 0.0
    start = 0.0
    none = np.empty((0, 8))
    for i in range(segs.shape[0]):
        line = segs[i].copy()
        line[15 if line[0] == BEND else 8] = 0.0
        d, qx, qy, qz = nearest(line, none, x, y, z)
        if d < least:
            least = d
            vx = qx - line[1]
            vy = qy - line[2]
            vz = qz - line[3]
            u = vx * line[4] + vy * line[5] + vz * line[6]
            if line[0] == BEND:
                v = vx * line[7] + vy * line[8] + vz * line[9]
                turn = math.atan2(v, u)
                if turn < 0.0:
                    turn += 2.0 * math.pi
                if turn > line[14] + 1e-6:  # rounding just before the start
                    turn = 0.0
                u = line[13] * turn
            at = start + u
        start += length_of(line)
    return at
