# mypy: ignore-errors
# ruff: noqa: ANN001, ANN202, PLR0917, C901, PLR0912 - plain numbers are fastest, and one walk is one function
"""Distance of two convex solids by their support points (the Gilbert-Johnson-Keerthi walk), compiled.

Solids are rows of `access.pack`. The walk keeps the point v of the difference A - B nearest to the origin
within a simplex of at most four support points. Every support plane bounds the distance from below; what is
returned is the greatest such bound, at most `TOL` below the distance, and still a true bound should the walk
run out of steps.

Source: E. G. Gilbert, D. W. Johnson, S. S. Keerthi, IEEE Journal of Robotics and Automation 4 (1988) 193-203.
"""

from __future__ import annotations

import math

import numpy as np

from manifoldgen.compiled.mark import inlined, kernel, part

TOL = 1e-6  # mm
STEPS = 128
_NOTHING = 1e-18  # mm²: shorter vectors are none
_FLAT = 1e-10  # a tetrahedron flatter than this holds no origin


@kernel("UniTuple(f8, 3)(f8[::1], f8[:, ::1], f8, f8, f8)")
def support(row, points, dx, dy, dz):
    """The farthest point of a solid's core (its rounding left out) along a direction of any length."""
    if row[0] == 0.0:
        first = int(row[1])
        best = -1e300
        at = first
        for i in range(first, first + int(row[2])):
            h = points[i, 0] * dx + points[i, 1] * dy + points[i, 2] * dz
            if h > best:
                best = h
                at = i
        x = points[at, 0]
        y = points[at, 1]
        z = points[at, 2]
    else:
        along = dx * row[7] + dy * row[8] + dz * row[9]
        qx = dx - along * row[7]
        qy = dy - along * row[8]
        qz = dz - along * row[9]
        q = math.sqrt(qx * qx + qy * qy + qz * qz)
        first = row[1] * dx + row[2] * dy + row[3] * dz + row[10] * q
        last = row[4] * dx + row[5] * dy + row[6] * dz + row[11] * q
        k = 1 if first >= last else 4
        # straight along the axis what is left across is rounding: any point of the end disc will do
        far = q > 1e-9 * math.sqrt(dx * dx + dy * dy + dz * dz)
        r = (row[10] if first >= last else row[11]) / q if far else 0.0
        x = row[k] + r * qx
        y = row[k + 1] + r * qy
        z = row[k + 2] + r * qz
    if row[13] * dx + row[14] * dy + row[15] * dz > 0.0:
        return x + row[13], y + row[14], z + row[15]
    return x, y, z


@part
def middle(row, points):
    """A point inside the core."""
    x = 0.0
    y = 0.0
    z = 0.0
    if row[0] == 0.0:
        first = int(row[1])
        n = int(row[2])
        for i in range(first, first + n):
            x += points[i, 0] / n
            y += points[i, 1] / n
            z += points[i, 2] / n
    else:
        x = (row[1] + row[4]) / 2
        y = (row[2] + row[5]) / 2
        z = (row[3] + row[6]) / 2
    return x + row[13] / 2, y + row[14] / 2, z + row[15] / 2


@part
def _dot(w, i, j):
    return w[i, 0] * w[j, 0] + w[i, 1] * w[j, 1] + w[i, 2] * w[j, 2]


@inlined
def _edge_or_face(w, i, j, k):
    """Weights of i, j and k in the point of the triangle nearest to the origin, and its square distance."""
    aa = _dot(w, i, i)
    bb = _dot(w, j, j)
    cc = _dot(w, k, k)
    ab = _dot(w, i, j)
    ac = _dot(w, i, k)
    bc = _dot(w, j, k)
    d1 = aa - ab
    d2 = aa - ac
    if d1 <= 0.0 and d2 <= 0.0:
        return 1.0, 0.0, 0.0, aa
    d3 = ab - bb
    d4 = ab - bc
    if d3 >= 0.0 and d4 <= d3:
        return 0.0, 1.0, 0.0, bb
    d5 = ac - bc
    d6 = ac - cc
    if d6 >= 0.0 and d5 <= d6:
        return 0.0, 0.0, 1.0, cc
    vc = d1 * d4 - d3 * d2
    vb = d5 * d2 - d1 * d6
    va = d3 * d6 - d5 * d4
    if vc <= 0.0 and d1 >= 0.0 and d3 <= 0.0:
        t = d1 / (d1 - d3) if d1 > d3 else 0.0
        s, m, n = 1.0 - t, t, 0.0
    elif vb <= 0.0 and d2 >= 0.0 and d6 <= 0.0:
        t = d2 / (d2 - d6) if d2 > d6 else 0.0
        s, m, n = 1.0 - t, 0.0, t
    elif va <= 0.0 and d4 - d3 >= 0.0 and d5 - d6 >= 0.0:
        whole = (d4 - d3) + (d5 - d6)
        t = (d4 - d3) / whole if whole > 0.0 else 0.0
        s, m, n = 0.0, 1.0 - t, t
    else:
        whole = va + vb + vc
        s, m, n = va / whole, vb / whole, vc / whole
    x = s * w[i, 0] + m * w[j, 0] + n * w[k, 0]
    y = s * w[i, 1] + m * w[j, 1] + n * w[k, 1]
    z = s * w[i, 2] + m * w[j, 2] + n * w[k, 2]
    return s, m, n, x * x + y * y + z * z


@inlined
def _side(w, i, j, k, m):
    """How far the origin lies beyond the face i j k, seen from m, as a share of the volume; ≤ 0 inside."""
    ax = w[j, 0] - w[i, 0]
    ay = w[j, 1] - w[i, 1]
    az = w[j, 2] - w[i, 2]
    bx = w[k, 0] - w[i, 0]
    by = w[k, 1] - w[i, 1]
    bz = w[k, 2] - w[i, 2]
    nx = ay * bz - az * by
    ny = az * bx - ax * bz
    nz = ax * by - ay * bx
    mine = (w[m, 0] - w[i, 0]) * nx + (w[m, 1] - w[i, 1]) * ny + (w[m, 2] - w[i, 2]) * nz
    origin = -(w[i, 0] * nx + w[i, 1] * ny + w[i, 2] * nz)
    size = math.sqrt(nx * nx + ny * ny + nz * nz)
    reach = math.sqrt((w[m, 0] - w[i, 0]) ** 2 + (w[m, 1] - w[i, 1]) ** 2 + (w[m, 2] - w[i, 2]) ** 2)
    if abs(mine) <= _FLAT * size * reach:
        return 1.0  # flat: its faces decide
    return -origin / mine


@part
def nearest(w, n, v):
    """Shrink a simplex of n points to what holds its point nearest to the origin; that point goes to v.

    Returns how many points are left; 4 where the origin is inside.
    """
    if n == 1:
        v[0], v[1], v[2] = w[0, 0], w[0, 1], w[0, 2]
        return 1
    if n == 2:
        aa = w[0, 0] * w[0, 0] + w[0, 1] * w[0, 1] + w[0, 2] * w[0, 2]
        ab = w[0, 0] * w[1, 0] + w[0, 1] * w[1, 1] + w[0, 2] * w[1, 2]
        bb = w[1, 0] * w[1, 0] + w[1, 1] * w[1, 1] + w[1, 2] * w[1, 2]
        whole = aa - 2 * ab + bb
        t = (aa - ab) / whole if whole > 0.0 else 0.0
        bi, bj, bk, bs, bm, bn = 0, 1, 1, 1.0 - t, t, 0.0
        if t <= 0.0:
            bs, bm = 1.0, 0.0
        elif t >= 1.0:
            bs, bm = 0.0, 1.0
    else:
        best = 1e300
        bi, bj, bk, bs, bm, bn = 0, 1, 2, 1.0, 0.0, 0.0
        outside = False
        for face in range(4 if n == 4 else 1):  # the first face is the triangle of three points
            i = 0 if face != 3 else 1
            j = 1 if face < 2 else 2
            k = 2 if face == 0 else 3
            if n == 3 or _side(w, i, j, k, 6 - i - j - k) >= 0.0:
                outside = True
                s, q, p, d = _edge_or_face(w, i, j, k)
                if d < best:
                    best = d
                    bi, bj, bk, bs, bm, bn = i, j, k, s, q, p
        if not outside:
            v[0], v[1], v[2] = 0.0, 0.0, 0.0
            return 4
    for c in range(3):
        v[c] = bs * w[bi, c] + bm * w[bj, c] + bn * w[bk, c]
    left = 0
    kept = np.empty((3, 3))
    for k in range(3):
        share = bs if k == 0 else (bm if k == 1 else bn)
        at = bi if k == 0 else (bj if k == 1 else bk)
        if share > 0.0:
            for c in range(3):
                kept[left, c] = w[at, c]
            left += 1
    for i in range(left):
        for c in range(3):
            w[i, c] = kept[i, c]
    return left


@kernel("UniTuple(f8, 4)(f8[::1], f8[:, ::1], f8[::1], f8[:, ::1], f8)")
def core_gap(a, pa, b, pb, enough):
    """Distance of two cores and the unit direction from a to b; 0 and no direction where they overlap.

    enough : the walk stops as soon as the distance is known to be this much.
    """
    w = np.empty((4, 3))
    v = np.empty(3)
    ax, ay, az = middle(a, pa)
    bx, by, bz = middle(b, pb)
    v[0], v[1], v[2] = ax - bx, ay - by, az - bz
    if v[0] * v[0] + v[1] * v[1] + v[2] * v[2] < _NOTHING:
        return 0.0, 0.0, 0.0, 0.0
    n = 0
    low = 0.0
    nx = 0.0
    ny = 0.0
    nz = 0.0
    last = 1e300
    for _ in range(STEPS):
        size = math.sqrt(v[0] * v[0] + v[1] * v[1] + v[2] * v[2])
        sx, sy, sz = support(a, pa, -v[0], -v[1], -v[2])
        tx, ty, tz = support(b, pb, v[0], v[1], v[2])
        wx = sx - tx
        wy = sy - ty
        wz = sz - tz
        plane = (v[0] * wx + v[1] * wy + v[2] * wz) / size
        if plane > low:
            low = plane
            nx = -v[0] / size
            ny = -v[1] / size
            nz = -v[2] / size
            if low >= enough:
                return low, nx, ny, nz
        if n > 0 and size - low <= TOL:
            return low, nx, ny, nz
        w[n, 0] = wx
        w[n, 1] = wy
        w[n, 2] = wz
        n = nearest(w, n + 1, v)
        now = v[0] * v[0] + v[1] * v[1] + v[2] * v[2]
        if n == 4 or now < _NOTHING:
            return 0.0, 0.0, 0.0, 0.0
        if now >= last:  # rounding ends the walk; the bound still holds
            return low, nx, ny, nz
        last = now
    return low, nx, ny, nz


@kernel("f8(f8[::1], f8[:, ::1], f8[::1], f8[:, ::1], f8, f8, f8)")
def reach(a, pa, b, pb, ux, uy, uz):
    """How far b's core has to be moved along the unit vector u to leave a's core."""
    sx, sy, sz = support(a, pa, ux, uy, uz)
    tx, ty, tz = support(b, pb, -ux, -uy, -uz)
    return (sx - tx) * ux + (sy - ty) * uy + (sz - tz) * uz


@part
def signed_gap(a, pa, b, pb, enough):
    """Distance of a tool's rod a to a solid b, and the unit direction from a to b.

    Negative where they overlap: then moving b along the direction by as much sets it free. Cores that stand
    apart give the exact depth; else it is the least of the moves away from the rod's axis, along it, and from
    middle to middle: never less than the true depth.
    """
    grown = a[12] + b[12]
    d, nx, ny, nz = core_gap(a, pa, b, pb, enough + grown)
    if d > 0.0:
        return d - grown, nx, ny, nz
    best = 1e300
    thin = a.copy()
    thin[10] = 0.0
    thin[11] = 0.0
    d, ux, uy, uz = core_gap(thin, pa, b, pb, 1e300)
    ax, ay, az = middle(a, pa)
    bx, by, bz = middle(b, pb)
    cx = bx - ax
    cy = by - ay
    cz = bz - az
    along = cx * a[7] + cy * a[8] + cz * a[9]
    for k in range(5):
        if k == 1:
            ux, uy, uz = cx - along * a[7], cy - along * a[8], cz - along * a[9]
        elif k == 2:
            ux, uy, uz = cx, cy, cz
        elif k == 3:
            ux, uy, uz = a[7], a[8], a[9]
        elif k == 4:
            ux, uy, uz = -a[7], -a[8], -a[9]
        size = math.sqrt(ux * ux + uy * uy + uz * uz)
        if size < 1e-9:
            if k != 1:
                continue
            # middle over middle: any way across the axis
            ux, uy, uz = (0.0, a[9], -a[8]) if abs(a[7]) < 0.7 else (-a[9], 0.0, a[7])
            size = math.sqrt(ux * ux + uy * uy + uz * uz)
        ux /= size
        uy /= size
        uz /= size
        h = reach(a, pa, b, pb, ux, uy, uz)
        if h < best:
            best = h
            nx, ny, nz = ux, uy, uz
    return -best - grown, nx, ny, nz
