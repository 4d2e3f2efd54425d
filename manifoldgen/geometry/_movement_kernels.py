# mypy: ignore-errors
# ruff: noqa: ANN001, ANN202, PLR0917 - the compiled signatures say the types; plain numbers are fastest
"""The least distance of a centreline to a solid while everything rolls and shifts, compiled.

For a convex solid K (a row, a triangle, a box of the tree) the distance is convex: from a point y that x
reaches in some pose, at a distance d from K, every other place x' of x is at least d + n · (x' - y) from K, n
the unit vector from the nearest point of K to y.  How far n · x' can fall over the movement has a closed
form (`fall`), so each y gives a true lower bound; some rounds of better and better y close it in.  The
distance of x over the movement changes by at most 1 per mm along the centreline (each pose keeps
lengths, and so does the least of many), which is all that `march` needs.

motion : shift (3), roll in rad, a point of the axis (3), its unit direction (3).
"""

from __future__ import annotations

import math

import numpy as np

from manifoldgen.compiled.mark import inlined, kernel, part
from manifoldgen.geometry._kernels import BEND, is_convex, length_of, nearest, place
from manifoldgen.geometry._mesh_kernels import DEEP, LEFT, STEPS, to_box, to_triangle

ROLL = 9  # place in `best`
ROUNDS = 12
CLOSE = 1e-4  # mm: a bound this near to a true distance is as good as it gets


@inlined
def fall(motion, x, y, z, nx, ny, nz):
    """How far a point can go against the unit vector n, and the roll (rad) at which it does."""
    shift = motion[0] * abs(nx) + motion[1] * abs(ny) + motion[2] * abs(nz)
    roll = motion[3]
    if roll == 0.0:
        return shift, 0.0
    ax, ay, az = motion[7], motion[8], motion[9]
    wx = x - motion[4]
    wy = y - motion[5]
    wz = z - motion[6]
    on = wx * ax + wy * ay + wz * az
    wx -= on * ax
    wy -= on * ay
    wz -= on * az
    # the way by a roll of t is (cos t - 1) w + sin t (axis × w): along n it is c cos t + s sin t - c
    c = nx * wx + ny * wy + nz * wz
    s = nx * (ay * wz - az * wy) + ny * (az * wx - ax * wz) + nz * (ax * wy - ay * wx)
    t = -roll if s > 0.0 else roll
    way = c * (math.cos(t) - 1.0) + s * math.sin(t)
    low = math.atan2(-s, -c)  # where c cos t + s sin t is least of all
    if abs(low) <= roll:
        deepest = -math.sqrt(c * c + s * s) - c
        if deepest < way:
            way = deepest
            t = low
    return shift - way, t


@inlined
def most(motion, x, y, z):
    """How far a point can go at all: the corner of the shift and the chord of the roll."""
    wx = x - motion[4]
    wy = y - motion[5]
    wz = z - motion[6]
    on = wx * motion[7] + wy * motion[8] + wz * motion[9]
    out = math.sqrt(max(0.0, wx * wx + wy * wy + wz * wz - on * on))
    shift = math.sqrt(motion[0] ** 2 + motion[1] ** 2 + motion[2] ** 2)
    return shift + 2.0 * out * math.sin(0.5 * min(motion[3], math.pi))


@part
def _bound(motion, x, y, z, px, py, pz, d, qx, qy, qz):
    """Lower bound for the point x over the movement from its place p, d from q; and the roll to try next."""
    nx = (px - qx) / d
    ny = (py - qy) / d
    nz = (pz - qz) / d
    lost, roll = fall(motion, x, y, z, nx, ny, nz)
    return d + nx * (x - px) + ny * (y - py) + nz * (z - pz) - lost, roll


@part
def _towards(motion, x, y, z, roll, qx, qy, qz):
    """Where x stands once rolled and then shifted as near to q as it goes."""
    if roll != 0.0:
        ax, ay, az = motion[7], motion[8], motion[9]
        wx = x - motion[4]
        wy = y - motion[5]
        wz = z - motion[6]
        c = math.cos(roll)
        s = math.sin(roll)
        on = (wx * ax + wy * ay + wz * az) * (1.0 - c)
        x = motion[4] + c * wx + s * (ay * wz - az * wy) + on * ax
        y = motion[5] + c * wy + s * (az * wx - ax * wz) + on * ay
        z = motion[6] + c * wz + s * (ax * wy - ay * wx) + on * az
    return (
        x + min(max(qx - x, -motion[0]), motion[0]),
        y + min(max(qy - y, -motion[1]), motion[1]),
        z + min(max(qz - z, -motion[2]), motion[2]),
    )


@part
def _box_kept(motion, box, x, y, z):
    """Lower bound of the distance to a box of the tree over the movement."""
    d = to_box(box, x, y, z)
    if d <= 0.0:
        return 0.0
    qx = min(max(x, box[0]), box[3])
    qy = min(max(y, box[1]), box[4])
    qz = min(max(z, box[2]), box[5])
    low, _ = _bound(motion, x, y, z, x, y, z, d, qx, qy, qz)
    return max(0.0, low)


@inlined
def _triangle_kept(motion, t, x, y, z, limit):
    """Lower bound of the distance to a triangle over the movement, its nearest point then, and the roll."""
    low, turn, px, py, pz = 0.0, 0.0, x, y, z
    qx, qy, qz = x, y, z
    for _ in range(ROUNDS):
        d, qx, qy, qz = to_triangle(t, px, py, pz)
        if d <= 0.0:
            return 0.0, qx, qy, qz, turn
        bound, roll = _bound(motion, x, y, z, px, py, pz, d, qx, qy, qz)
        low = max(low, bound)
        if low >= limit or low >= d - CLOSE:
            break
        turn = roll
        px, py, pz = _towards(motion, x, y, z, turn, qx, qy, qz)
    return low, qx, qy, qz, turn


@inlined
def _row_kept(motion, row, edges, x, y, z, limit):
    """The same to a solid row."""
    low, turn, px, py, pz = 0.0, 0.0, x, y, z
    qx, qy, qz = x, y, z
    if not is_convex(row):
        d, qx, qy, qz = nearest(row, edges, x, y, z)
        return max(0.0, d - most(motion, x, y, z)), qx, qy, qz, turn
    for _ in range(ROUNDS):
        d, qx, qy, qz = nearest(row, edges, px, py, pz)
        if d <= 0.0:
            return 0.0, qx, qy, qz, turn
        bound, roll = _bound(motion, x, y, z, px, py, pz, d, qx, qy, qz)
        low = max(low, bound)
        if low >= limit or low >= d - CLOSE:
            break
        turn = roll
        px, py, pz = _towards(motion, x, y, z, turn, qx, qy, qz)
    return low, qx, qy, qz, turn


@inlined
def _from_mesh(motion, boxes, links, corners, x, y, z, limit):
    """Lower bound of a point's distance to the triangles over the movement, and the point and roll that made it."""
    best, bx, by, bz, roll = limit, x, y, z, 0.0
    stack = np.empty(DEEP, np.int64)
    lows = np.empty(DEEP)
    stack[0] = 0
    lows[0] = _box_kept(motion, boxes[0], x, y, z)
    n = 1
    while n > 0:
        n -= 1
        if lows[n] >= best:
            continue
        i, j = links[stack[n], 0], links[stack[n], 1]
        if i < 0:
            for k in range(-1 - i, j):
                d, qx, qy, qz, turn = _triangle_kept(motion, corners[k], x, y, z, best)
                if d < best:
                    best, bx, by, bz, roll = d, qx, qy, qz, turn
            continue
        di = _box_kept(motion, boxes[i], x, y, z)
        dj = _box_kept(motion, boxes[j], x, y, z)
        if di < dj:  # the nearer child goes on top
            i, j, di, dj = j, i, dj, di
        stack[n] = i
        lows[n] = di
        stack[n + 1] = j
        lows[n + 1] = dj
        n += 2
    return best, bx, by, bz, roll


SOLID = "f8[:,::1], f8[:,::1], f8[:,::1], i4[:,::1], f8[:,::1]"  # rows, edges, boxes, links, corners


@inlined
def least(motion, rows, edges, boxes, links, corners, x, y, z, limit):
    """Lower bound of a point's distance to rows and triangles over the movement, at most `limit`.

    And the solid's point and the roll that made it.
    """
    best, bx, by, bz, roll = limit, x, y, z, 0.0
    for i in range(rows.shape[0]):
        d, qx, qy, qz, turn = _row_kept(motion, rows[i], edges, x, y, z, best)
        if d < best:
            best, bx, by, bz, roll = d, qx, qy, qz, turn
    if boxes.shape[0] == 0:
        return best, bx, by, bz, roll
    d, qx, qy, qz, turn = _from_mesh(motion, boxes, links, corners, x, y, z, best)
    return (d, qx, qy, qz, turn) if d < best else (best, bx, by, bz, roll)


@part
def _probe(seg, s, r, ask, slope, motion, rows, edges, boxes, links, corners, near, best):
    """Margin at arc length `s`, cut off where it is more than `near` above the best; betters `best`."""
    x, y, z, _, _, _ = place(seg, s)
    asked = r + ask + slope * s
    limit = max(best[0] + asked, 0.0) + near
    d, qx, qy, qz, turn = least(motion, rows, edges, boxes, links, corners, x, y, z, limit)
    if d < limit and d - asked < best[0]:
        best[0] = d - asked
        best[1], best[2], best[3] = x, y, z
        best[4], best[5], best[6] = qx, qy, qz
        best[ROLL] = turn
    return d - asked


@inlined
def _piece(seg, r, ask, slope, motion, rows, edges, boxes, links, corners, tol, cap, best, work):
    """Betters `best` by the least margin of one piece of centreline."""
    rate = 1.0 + abs(slope)
    length = length_of(seg)
    near = 2.0 * rate * length + tol  # an end further off than this settles any interval it bounds
    work[0, 0], work[0, 1] = 0.0, length
    for k in range(2):
        s = k * length
        work[0, 2 + k] = _probe(seg, s, r, ask, slope, motion, rows, edges, boxes, links, corners, near, best)
    n = 1
    while n > 0:
        n -= 1
        a, b, va, vb = work[n, 0], work[n, 1], work[n, 2], work[n, 3]
        low = 0.5 * (va + vb - rate * (b - a))
        if low >= best[0] - tol or b - a <= 1e-9:
            continue
        if best[STEPS] >= cap:
            best[LEFT] = min(best[LEFT], low)
            continue
        best[STEPS] += 1.0
        m = 0.5 * (a + b)
        near = 2.0 * rate * (b - a) + tol
        vm = _probe(seg, m, r, ask, slope, motion, rows, edges, boxes, links, corners, near, best)
        work[n, 0], work[n, 1], work[n, 2], work[n, 3] = m, b, vm, vb
        work[n + 1, 0], work[n + 1, 1], work[n + 1, 2], work[n + 1, 3] = a, m, va, vm
        if va > vb:  # the nearer half goes on top of the stack
            for k in range(4):
                work[n, k], work[n + 1, k] = work[n + 1, k], work[n, k]
        n += 2


@kernel(f"void(f8[:,::1], f8[::1], f8, f8, f8[::1], {SOLID}, f8, f8, f8[::1])")
def march(segs, asks, slope, r, motion, rows, edges, boxes, links, corners, tol, cap, best):
    """Betters `best` by the least of (distance over the movement) - r - asked along a centreline.

    asks : asked gap at the start of every piece; `slope` : its change per mm.  best : as in `_search`,
    its first point on the centreline, at rest; 9 the roll that made it, rad.  Round ends; it never goes below -r - asked.
    """
    pieces = segs.shape[0]
    lows = np.empty(pieces)
    work = np.empty((DEEP, 4))
    for i in range(pieces):
        seg = segs[i]
        length = length_of(seg)
        reach = 2.0 * seg[13] * math.sin(0.25 * seg[14]) if seg[0] == BEND else 0.5 * length
        rise = abs(0.5 * slope * length)
        lows[i] = (
            _probe(
                seg,
                0.5 * length,
                r,
                asks[i],
                slope,
                motion,
                rows,
                edges,
                boxes,
                links,
                corners,
                math.inf,
                best,
            )
            - reach
            - rise
        )
    for _ in range(pieces):
        i = int(np.argmin(lows))
        if lows[i] >= best[0] - tol:
            return
        lows[i] = math.inf
        _piece(segs[i], r, asks[i], slope, motion, rows, edges, boxes, links, corners, tol, cap, best, work)
