# mypy: ignore-errors
# ruff: noqa: ANN001, ANN202, PLR0917 - the compiled signatures say the types; plain numbers are fastest
"""A tree of boxes over triangles, and the distances asked of it, compiled.

The tree is three arrays, to be read by any kernel (`Tree` in `mesh_distance`):

    boxes    (m, 6)   low corner, high corner of everything below node i; node 0 is the root
    links    (m, 2)   an inner node's two children; of a leaf: -1 - first, end (its rows of `corners`)
    corners  (n, 9)   the triangles in tree order: three corners each

Children come after their parents; a leaf holds at most `LEAF` triangles; halving by count keeps the depth
below 64 for any number of triangles that fits in memory.
"""

from __future__ import annotations

import math

import numpy as np

from manifoldgen.compiled.mark import inlined, kernel, part
from manifoldgen.geometry._kernels import hollow, length_of, nearest, place

LEAF = 4
DEEP = 64  # no path from the root is longer
STEPS, LEFT = 7, 8  # places in `best`, as in `_search`


@inlined
def _halve(centres, order, first, end, middle, axis):
    """Reorder until the ones below `middle` lie no further along the axis than those above it."""
    low = first
    high = end - 1
    while low < high:
        pivot = centres[order[(low + high) // 2], axis]
        i = low
        j = high
        while i <= j:
            while centres[order[i], axis] < pivot:
                i += 1
            while centres[order[j], axis] > pivot:
                j -= 1
            if i <= j:
                order[i], order[j] = order[j], order[i]
                i += 1
                j -= 1
        if middle <= j:
            high = j
        elif middle >= i:
            low = i
        else:
            return


@kernel("i8(f8[:,::1], i4[::1], f8[:,::1], i4[:,::1])")
def build(corners, order, boxes, links):
    """Fills the tree over the triangles in `order`, which it reorders; how many nodes it took."""
    n = corners.shape[0]
    centres = np.empty((n, 3))
    for i in range(n):
        for k in range(3):
            centres[i, k] = corners[i, k] + corners[i, 3 + k] + corners[i, 6 + k]
    work = np.empty((DEEP, 3), np.int64)
    work[0, 0], work[0, 1], work[0, 2] = 0, 0, n
    open_ = 1
    used = 1
    while open_ > 0:
        open_ -= 1
        node, first, end = work[open_, 0], work[open_, 1], work[open_, 2]
        box = boxes[node]
        axis = 0
        widest = -1.0
        for k in range(3):
            low, high, left, right = math.inf, -math.inf, math.inf, -math.inf
            for i in range(first, end):
                t = corners[order[i]]
                low = min(low, t[k], t[3 + k], t[6 + k])
                high = max(high, t[k], t[3 + k], t[6 + k])
                left = min(left, centres[order[i], k])
                right = max(right, centres[order[i], k])
            box[k] = low
            box[3 + k] = high
            if right - left > widest:
                widest = right - left
                axis = k
        if end - first <= LEAF:
            links[node, 0] = -1 - first
            links[node, 1] = end
            continue
        middle = (first + end) // 2
        _halve(centres, order, first, end, middle, axis)
        links[node, 0] = used
        links[node, 1] = used + 1
        work[open_, 0], work[open_, 1], work[open_, 2] = used + 1, middle, end
        work[open_ + 1, 0], work[open_ + 1, 1], work[open_ + 1, 2] = used, first, middle
        open_ += 2
        used += 2
    return used


@part
def to_box(box, x, y, z):
    """Distance of a point to a box of the tree, 0 inside."""
    u = max(box[0] - x, 0.0, x - box[3])
    v = max(box[1] - y, 0.0, y - box[4])
    w = max(box[2] - z, 0.0, z - box[5])
    return math.sqrt(u * u + v * v + w * w)


@inlined
def _on_edge(t, i, j, x, y, z):
    """Nearest point of the edge from corner i to corner j."""
    ux = t[j] - t[i]
    uy = t[j + 1] - t[i + 1]
    uz = t[j + 2] - t[i + 2]
    sq = ux * ux + uy * uy + uz * uz
    k = (x - t[i]) * ux + (y - t[i + 1]) * uy + (z - t[i + 2]) * uz
    k = min(max(k / sq, 0.0), 1.0) if sq > 0.0 else 0.0
    return t[i] + k * ux, t[i + 1] + k * uy, t[i + 2] + k * uz


@part
def to_triangle(t, x, y, z):
    """Distance of a point to a triangle and the nearest point of it.

    Over the triangle's inside it is the foot on its plane, else the nearest of three edges; so a triangle
    without area is measured as its edges.
    """
    ax = t[3] - t[0]
    ay = t[4] - t[1]
    az = t[5] - t[2]
    bx = t[6] - t[0]
    by = t[7] - t[1]
    bz = t[8] - t[2]
    px = x - t[0]
    py = y - t[1]
    pz = z - t[2]
    aa = ax * ax + ay * ay + az * az
    ab = ax * bx + ay * by + az * bz
    bb = bx * bx + by * by + bz * bz
    pa = px * ax + py * ay + pz * az
    pb = px * bx + py * by + pz * bz
    det = aa * bb - ab * ab
    u = bb * pa - ab * pb
    v = aa * pb - ab * pa
    if det > 1e-14 * aa * bb and u >= 0.0 and v >= 0.0 and u + v <= det:
        u /= det
        v /= det
        qx = t[0] + u * ax + v * bx
        qy = t[1] + u * ay + v * by
        qz = t[2] + u * az + v * bz
        return math.sqrt((x - qx) ** 2 + (y - qy) ** 2 + (z - qz) ** 2), qx, qy, qz
    d, fx, fy, fz = math.inf, x, y, z
    for i in range(3):
        qx, qy, qz = _on_edge(t, 3 * i, 3 * ((i + 1) % 3), x, y, z)
        e = math.sqrt((x - qx) ** 2 + (y - qy) ** 2 + (z - qz) ** 2)
        if e < d:
            d, fx, fy, fz = e, qx, qy, qz
    return d, fx, fy, fz


@kernel("Tuple((f8, f8, f8, f8, i8))(f8[:,::1], i4[:,::1], f8[:,::1], f8, f8, f8, f8)")
def point(boxes, links, corners, x, y, z, most):
    """Distance of a point to the triangles, the nearest point, its triangle; `most` and -1 if none is nearer."""
    stack = np.empty(DEEP, np.int64)
    lows = np.empty(DEEP)
    best, bx, by, bz, at = most, x, y, z, -1
    stack[0] = 0
    lows[0] = to_box(boxes[0], x, y, z)
    n = 1
    while n > 0:
        n -= 1
        if lows[n] >= best:
            continue
        i, j = links[stack[n], 0], links[stack[n], 1]
        if i < 0:
            for k in range(-1 - i, j):
                d, qx, qy, qz = to_triangle(corners[k], x, y, z)
                if d < best:
                    best, bx, by, bz, at = d, qx, qy, qz, k
            continue
        di = to_box(boxes[i], x, y, z)
        dj = to_box(boxes[j], x, y, z)
        if di < dj:  # the nearer child goes on top
            i, j, di, dj = j, i, dj, di
        stack[n] = i
        lows[n] = di
        stack[n + 1] = j
        lows[n + 1] = dj
        n += 2
    return best, bx, by, bz, at


@inlined
def _pierced(t, x, y, z, dx, dy, dz):
    """Whether a ray from a point meets a triangle (Möller and Trumbore)."""
    ax = t[3] - t[0]
    ay = t[4] - t[1]
    az = t[5] - t[2]
    bx = t[6] - t[0]
    by = t[7] - t[1]
    bz = t[8] - t[2]
    hx = dy * bz - dz * by
    hy = dz * bx - dx * bz
    hz = dx * by - dy * bx
    det = ax * hx + ay * hy + az * hz
    if det == 0.0:
        return False
    sx = x - t[0]
    sy = y - t[1]
    sz = z - t[2]
    u = (sx * hx + sy * hy + sz * hz) / det
    if u < 0.0 or u > 1.0:
        return False
    gx = sy * az - sz * ay
    gy = sz * ax - sx * az
    gz = sx * ay - sy * ax
    v = (dx * gx + dy * gy + dz * gz) / det
    if v < 0.0 or u + v > 1.0:
        return False
    return bx * gx + by * gy + bz * gz > 0.0 if det > 0.0 else bx * gx + by * gy + bz * gz < 0.0


@kernel("b1(f8[:,::1], f8[:,::1], f8, f8, f8)")
def inside(boxes, corners, x, y, z):
    """Whether a point lies in the closed surface: an odd number of crossings, whichever way faces turn.

    Three slanting rays vote, so that one that grazes an edge is outvoted.
    """
    if to_box(boxes[0], x, y, z) > 0.0:
        return False
    votes = 0
    for ray in range(3):
        dx = 0.8017 if ray == 0 else (-0.2741 if ray == 1 else 0.3119)
        dy = 0.3333 if ray == 0 else (0.9013 if ray == 1 else -0.4177)
        dz = 0.4972 if ray == 0 else (0.3367 if ray == 1 else 0.8533)
        crossings = 0
        for k in range(corners.shape[0]):
            if _pierced(corners[k], x, y, z, dx, dy, dz):
                crossings += 1
        votes += crossings % 2
    return votes >= 2


@part
def _better(row, none, best, x, y, z):
    """Keep the pair of a mesh point and the row's nearest to it where it betters `best`."""
    d, px, py, pz = nearest(row, none, x, y, z)
    if d < best[0]:
        best[0] = d
        best[1], best[2], best[3] = px, py, pz
        best[4], best[5], best[6] = x, y, z


@inlined
def _cell(row, none, c, tol, best):
    """Lower bound of a row's distance to the triangle `c`; betters `best` by points of it.

    The distance to a convex solid is convex, so the triangle holds nothing below the tangent plane at its
    middle; `hollow` says how much a torus sector may fall below that.
    """
    x = (c[0] + c[3] + c[6]) / 3.0
    y = (c[1] + c[4] + c[7]) / 3.0
    z = (c[2] + c[5] + c[8]) / 3.0
    d, px, py, pz = nearest(row, none, x, y, z)
    if d < best[0]:
        best[0] = d
        best[1], best[2], best[3] = px, py, pz
        best[4], best[5], best[6] = x, y, z
    reach = 0.0
    fall = 0.0
    lowest = 0
    for k in range(0, 9, 3):
        u = c[k] - x
        v = c[k + 1] - y
        w = c[k + 2] - z
        reach = max(reach, math.sqrt(u * u + v * v + w * w))
        slope = (u * (x - px) + v * (y - py) + w * (z - pz)) / d if d > 0.0 else 0.0
        if slope < fall:
            fall = slope
            lowest = k
    if reach <= 1e-9:
        return math.inf  # a point: measured
    low = d - reach
    if low >= best[0] - tol:
        return low
    _better(row, none, best, c[lowest], c[lowest + 1], c[lowest + 2])
    return max(low, d + fall - 0.5 * reach * reach * hollow(row, none, x, y, z, reach))


@inlined
def _cut(c, other):
    """Halves a triangle across its longest side: one half stays, the other is written."""
    longest = -1.0
    i = 0
    for k in range(0, 9, 3):
        m = (k + 3) % 9
        side = (c[m] - c[k]) ** 2 + (c[m + 1] - c[k + 1]) ** 2 + (c[m + 2] - c[k + 2]) ** 2
        if side > longest:
            longest = side
            i = k
    j = (i + 3) % 9
    for k in range(9):
        other[k] = c[k]
    for k in range(3):
        middle = 0.5 * (c[i + k] + c[j + k])
        other[i + k] = middle
        c[j + k] = middle


@inlined
def _triangle(row, none, t, tol, cap, best, work):
    """Betters `best` by the distance of one solid row to one triangle, halved as often as needed."""
    for k in range(9):
        work[0, k] = t[k]
    work[0, 9] = -math.inf
    n = 1
    while n > 0:
        n -= 1
        c = work[n]
        if c[9] >= best[0] - tol or best[0] <= tol:
            continue
        if best[STEPS] >= cap:
            best[LEFT] = min(best[LEFT], c[9])
            continue
        best[STEPS] += 1.0
        low = _cell(row, none, c, tol, best)
        if low >= best[0] - tol:
            continue
        _cut(c, work[n + 1])
        c[9] = low
        work[n + 1, 9] = low
        n += 2


@part
def _below(row, none, box):
    """No point of a box is nearer to the row's solid than this."""
    u = 0.5 * (box[3] - box[0])
    v = 0.5 * (box[4] - box[1])
    w = 0.5 * (box[5] - box[2])
    d, _, _, _ = nearest(row, none, box[0] + u, box[1] + v, box[2] + w)
    return d - math.sqrt(u * u + v * v + w * w)


@kernel("void(f8[:,::1], f8[:,::1], f8[:,::1], i4[:,::1], f8[:,::1], f8, f8, f8[::1])")
def walls(rows, none, boxes, links, corners, tol, cap, best):
    """Betters `best` by the least distance of solid rows to the triangles.

    best : 0 least distance, 1:4 point on the rows, 4:7 point on the mesh, 7 steps, 8 lower bound of what
    was left when the steps ran out.  It stops where they touch.
    """
    stack = np.empty(DEEP, np.int64)
    lows = np.empty(DEEP)
    work = np.empty((256, 10))
    for r in range(rows.shape[0]):  # a fair pair of each row first: far rows then cost next to nothing
        x, y, z, _, _, _ = place(rows[r], 0.5 * length_of(rows[r]))
        _, x, y, z, at = point(boxes, links, corners, x, y, z, math.inf)
        if at >= 0:
            _better(rows[r], none, best, x, y, z)
    for r in range(rows.shape[0]):
        row = rows[r]
        stack[0] = 0
        lows[0] = _below(row, none, boxes[0])
        n = 1
        while n > 0 and best[0] > tol:
            n -= 1
            if lows[n] >= best[0] - tol:
                continue
            i, j = links[stack[n], 0], links[stack[n], 1]
            if i < 0:
                for k in range(-1 - i, j):
                    _triangle(row, none, corners[k], tol, cap, best, work)
                continue
            di = _below(row, none, boxes[i])
            dj = _below(row, none, boxes[j])
            if di < dj:
                i, j, di, dj = j, i, dj, di
            stack[n] = i
            lows[n] = di
            stack[n + 1] = j
            lows[n + 1] = dj
            n += 2
