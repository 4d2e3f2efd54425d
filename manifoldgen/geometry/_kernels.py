# mypy: ignore-errors
# ruff: noqa: ANN001, ANN202, PLR0917 - the compiled signatures say the types; plain numbers are fastest
"""Exact nearest points of solid primitives and of plane outlines, compiled.

Every solid is one row of 16 numbers, the first its kind:

    ROD     start, axis, length, radius                flat ends; length 0 is a disc, radius 0 a line
    BEND    centre, radial, direction, axis, clr, angle (rad), radius      flat-ended torus sector
    BOX     centre, three axes, three half sizes
    CAPSULE start, axis, length, radius
    CONE    start, axis, length, first radius, last radius
    HALF    a point of the plane, outward normal
    PLATE   origin, three axes, thickness, 1 where the outline is convex; its outline stands in `edges`

and every outline edge a row of 8: start, end, bulge, centre, radius.
"""

from __future__ import annotations

import math

from manifoldgen.compiled.mark import inlined, kernel, part

ROD, BEND, BOX, CAPSULE, CONE, HALF, PLATE = 0.0, 1.0, 2.0, 3.0, 4.0, 5.0, 6.0


@part
def length_of(seg):
    """Centreline length of a rod or a bend, mm."""
    return seg[13] * seg[14] if seg[0] == BEND else seg[7]


@part
def place(seg, s):
    """Point and unit travel of a rod's or bend's centreline at arc length `s`."""
    if seg[0] != BEND:
        return seg[1] + s * seg[4], seg[2] + s * seg[5], seg[3] + s * seg[6], seg[4], seg[5], seg[6]
    c = math.cos(s / seg[13])
    n = math.sin(s / seg[13])
    u = c * seg[13]
    v = n * seg[13]
    return (
        seg[1] + u * seg[4] + v * seg[7],
        seg[2] + u * seg[5] + v * seg[8],
        seg[3] + u * seg[6] + v * seg[9],
        c * seg[7] - n * seg[4],
        c * seg[8] - n * seg[5],
        c * seg[9] - n * seg[6],
    )


@part
def any_square(tx, ty, tz):
    """A unit vector square to the unit vector given."""
    if abs(tx) <= abs(ty) and abs(tx) <= abs(tz):
        k = math.sqrt(ty * ty + tz * tz)
        return 0.0, tz / k, -ty / k
    if abs(ty) <= abs(tz):
        k = math.sqrt(tx * tx + tz * tz)
        return tz / k, 0.0, -tx / k
    k = math.sqrt(tx * tx + ty * ty)
    return ty / k, -tx / k, 0.0


@part
def _rod(px, py, pz, tx, ty, tz, length, radius, x, y, z):
    """Nearest point of a flat-ended solid cylinder."""
    vx = x - px
    vy = y - py
    vz = z - pz
    t = vx * tx + vy * ty + vz * tz
    wx = vx - t * tx
    wy = vy - t * ty
    wz = vz - t * tz
    out = math.sqrt(wx * wx + wy * wy + wz * wz)
    on = min(max(t, 0.0), length)
    k = radius / out if out > radius else 1.0
    over = out - radius if out > radius else 0.0
    d = math.sqrt((t - on) ** 2 + over * over)
    return d, px + on * tx + k * wx, py + on * ty + k * wy, pz + on * tz + k * wz


@inlined
def _bend(row, x, y, z):
    """Nearest point of a flat-ended solid torus sector.

    Inside the sector's angle the nearest point lies on the same angle; outside it lies on the end disc
    on the same side (the two discs mirror each other in the plane that halves the sector).
    """
    vx = x - row[1]
    vy = y - row[2]
    vz = z - row[3]
    u = vx * row[4] + vy * row[5] + vz * row[6]
    v = vx * row[7] + vy * row[8] + vz * row[9]
    a = math.atan2(v, u)
    if a < 0.0:
        a += 2.0 * math.pi
    if a > row[14]:
        s = length_of(row) if a - row[14] < 2.0 * math.pi - a else 0.0
        px, py, pz, tx, ty, tz = place(row, s)
        return _rod(px, py, pz, tx, ty, tz, 0.0, row[15], x, y, z)
    rho = math.sqrt(u * u + v * v)
    c = u / rho if rho > 0.0 else 1.0
    n = v / rho if rho > 0.0 else 0.0
    fx = row[1] + row[13] * (c * row[4] + n * row[7])
    fy = row[2] + row[13] * (c * row[5] + n * row[8])
    fz = row[3] + row[13] * (c * row[6] + n * row[9])
    dc = math.sqrt((x - fx) ** 2 + (y - fy) ** 2 + (z - fz) ** 2)
    if dc <= row[15]:
        return 0.0, x, y, z
    k = row[15] / dc
    return dc - row[15], fx + k * (x - fx), fy + k * (y - fy), fz + k * (z - fz)


@part
def _on_segment(ax, ay, bx, by, x, y):
    """Distance to a plane line segment and the nearest point of it."""
    dx = bx - ax
    dy = by - ay
    sq = dx * dx + dy * dy
    k = min(max(((x - ax) * dx + (y - ay) * dy) / sq, 0.0), 1.0) if sq > 0.0 else 0.0
    qx = ax + k * dx
    qy = ay + k * dy
    return math.sqrt((x - qx) ** 2 + (y - qy) ** 2), qx, qy


@inlined
def _cone(row, x, y, z):
    """Nearest point of a solid frustum: its half section is a trapezoid in (along, out)."""
    vx = x - row[1]
    vy = y - row[2]
    vz = z - row[3]
    t = vx * row[4] + vy * row[5] + vz * row[6]
    wx = vx - t * row[4]
    wy = vy - t * row[5]
    wz = vz - t * row[6]
    out = math.sqrt(wx * wx + wy * wy + wz * wz)
    ln = row[7]
    if 0.0 <= t <= ln and out * ln <= row[8] * (ln - t) + row[9] * t:
        return 0.0, x, y, z
    d, on, far = _on_segment(0.0, row[8], ln, row[9], t, out)
    d1, on1, far1 = _on_segment(0.0, 0.0, 0.0, row[8], t, out)
    if d1 < d:
        d, on, far = d1, on1, far1
    d1, on1, far1 = _on_segment(ln, 0.0, ln, row[9], t, out)
    if d1 < d:
        d, on, far = d1, on1, far1
    if out == 0.0:  # on the axis every radial direction is as near: take any one square to it
        wx, wy, wz = any_square(row[4], row[5], row[6])
        out = 1.0
    k = far / out
    return d, row[1] + on * row[4] + k * wx, row[2] + on * row[5] + k * wy, row[3] + on * row[6] + k * wz


@part
def _beyond_chord(e, x, y):
    """Whether a plane point lies on the arc's side of an edge's chord.

    A point on the chord's line counts as shifted a hair towards +x, then +y: the same rule as the
    crossing count in `outline`, so the two always agree.
    """
    dx = e[2] - e[0]
    dy = e[3] - e[1]
    side = dx * (y - e[1]) - dy * (x - e[0])
    if side == 0.0:
        side = -dy if dy != 0.0 else dx
    return side * e[4] < 0.0


@part
def _on_edge(e, x, y):
    """Distance of a plane point to an outline's edge and the nearest point of it."""
    if e[4] == 0.0:
        return _on_segment(e[0], e[1], e[2], e[3], x, y)
    fx = x - e[5]
    fy = y - e[6]
    out = math.sqrt(fx * fx + fy * fy)
    if out == 0.0:  # at the centre all of the arc is as near: take its middle
        side = 1.0 if e[4] > 0.0 else -1.0
        fx = side * (e[3] - e[1])
        fy = side * (e[0] - e[2])
        out = math.sqrt(fx * fx + fy * fy)
    ax = e[5] + fx * e[7] / out
    ay = e[6] + fy * e[7] / out
    if not _beyond_chord(e, ax, ay):
        near = (x - e[0]) ** 2 + (y - e[1]) ** 2 <= (x - e[2]) ** 2 + (y - e[3]) ** 2
        ax = e[0] if near else e[2]
        ay = e[1] if near else e[3]
    return math.sqrt((x - ax) ** 2 + (y - ay) ** 2), ax, ay


@part
def outline(edges, x, y):
    """Signed distance of a plane point to an outline (negative inside) and the nearest point of it."""
    best, qx, qy = 1e300, x, y
    inside = False
    for k in range(edges.shape[0]):
        e = edges[k]
        if (e[1] > y) != (e[3] > y) and x < e[0] + (y - e[1]) / (e[3] - e[1]) * (e[2] - e[0]):
            inside = not inside
        if e[4] != 0.0 and (x - e[5]) ** 2 + (y - e[6]) ** 2 <= e[7] * e[7] and _beyond_chord(e, x, y):
            inside = not inside
        d, ax, ay = _on_edge(e, x, y)
        if d < best:
            best, qx, qy = d, ax, ay
    return (-best if inside else best), qx, qy


@inlined
def _beyond_line(e, qx, qy, nx, ny):
    """Whether an edge reaches past the line through q square to the unit vector n."""
    high = max((e[0] - qx) * nx + (e[1] - qy) * ny, (e[2] - qx) * nx + (e[3] - qy) * ny)
    if e[4] != 0.0 and _beyond_chord(e, e[5] + e[7] * nx, e[6] + e[7] * ny):
        high = max(high, (e[5] - qx) * nx + (e[6] - qy) * ny + e[7])
    return high > 1e-9


@inlined
def _outline_hollow(edges, x, y, reach):
    """`hollow` for a plate, whose inside only the height bounds: 0 there.

    Only edges nearer than the outline plus twice the reach can matter.  Where they all lie behind the
    line through the nearest point q, square to the way n to it, the tangent is a lower bound: 0.  Where
    they only keep clear of the ball of radius R that touches q from outside (R is taken from the hollow
    arcs among them), the distance within reach is no less than R - |p - q - R n|: 1 over R less distance.
    """
    far, qx, qy = outline(edges, x, y)
    if far <= 0.0:
        return 0.0
    nx = (x - qx) / far
    ny = (y - qy) / far
    limit = far + 2.0 * reach
    ball = math.inf
    for k in range(edges.shape[0]):
        e = edges[k]
        if _on_edge(e, x, y)[0] <= limit and _beyond_line(e, qx, qy, nx, ny):
            if e[4] >= 0.0:
                return math.inf
            ball = min(ball, e[7])
    if ball == math.inf:
        return 0.0
    if ball <= far:
        return math.inf
    for k in range(edges.shape[0]):
        e = edges[k]
        clear = _on_edge(e, qx + ball * nx, qy + ball * ny)[0] >= ball - 1e-9
        if not clear and _on_edge(e, x, y)[0] <= limit:
            return math.inf
    return 1.0 / (ball - far)


@inlined
def _in_axes(row, edges, x, y, z):
    """Nearest point of a box or a plate, found in its own axes."""
    vx = x - row[1]
    vy = y - row[2]
    vz = z - row[3]
    u = vx * row[4] + vy * row[5] + vz * row[6]
    v = vx * row[7] + vy * row[8] + vz * row[9]
    w = vx * row[10] + vy * row[11] + vz * row[12]
    if row[0] == BOX:
        qu = min(max(u, -row[13]), row[13])
        qv = min(max(v, -row[14]), row[14])
        qw = min(max(w, -row[15]), row[15])
    else:
        d, qu, qv = outline(edges, u, v)
        if d <= 0.0:
            qu, qv = u, v
        qw = min(max(w, 0.0), row[13])
    d = math.sqrt((u - qu) ** 2 + (v - qv) ** 2 + (w - qw) ** 2)
    return (
        d,
        row[1] + qu * row[4] + qv * row[7] + qw * row[10],
        row[2] + qu * row[5] + qv * row[8] + qw * row[11],
        row[3] + qu * row[6] + qv * row[9] + qw * row[12],
    )


@inlined
def _capsule(row, x, y, z):
    """Nearest point of a round-ended solid cylinder."""
    d, qx, qy, qz = _rod(row[1], row[2], row[3], row[4], row[5], row[6], row[7], 0.0, x, y, z)
    if d <= row[8]:
        return 0.0, x, y, z
    k = row[8] / d
    return d - row[8], qx + k * (x - qx), qy + k * (y - qy), qz + k * (z - qz)


@kernel("UniTuple(f8, 4)(f8[::1], f8[:,::1], f8, f8, f8)")
def nearest(row, edges, x, y, z):
    """Distance of a point to a solid row (0 inside) and the nearest point of the solid."""
    kind = row[0]
    if kind == ROD:
        return _rod(row[1], row[2], row[3], row[4], row[5], row[6], row[7], row[8], x, y, z)
    if kind == BEND:
        return _bend(row, x, y, z)
    if kind == CAPSULE:
        return _capsule(row, x, y, z)
    if kind == CONE:
        return _cone(row, x, y, z)
    if kind == HALF:
        h = (x - row[1]) * row[4] + (y - row[2]) * row[5] + (z - row[3]) * row[6]
        h = max(h, 0.0)
        return h, x - h * row[4], y - h * row[5], z - h * row[6]
    return _in_axes(row, edges, x, y, z)


@part
def is_convex(row):
    """Whether a row is known to be a convex solid."""
    return row[0] != BEND and (row[0] != PLATE or row[14] == 1.0)


@part
def hollow(row, edges, x, y, z, reach):
    """Bound c ≥ 0: within `reach` the distance is no less than its tangent here less c (way)²/2.

    inf where unknown.  The distance to a convex solid is convex: 0.  To a torus sector it bends down by
    at most 1 over the distance to the turn's axis, away from the half plane where the nearer end disc
    changes.
    """
    if is_convex(row):
        return 0.0
    vx = x - row[1]
    vy = y - row[2]
    vz = z - row[3]
    u = vx * row[4] + vy * row[5] + vz * row[6]
    v = vx * row[7] + vy * row[8] + vz * row[9]
    if row[0] == PLATE:
        return _outline_hollow(edges, u, v, reach)
    rho = math.sqrt(u * u + v * v) - reach
    if rho <= 0.0:
        return math.inf
    off = abs(math.atan2(v, u) - 0.5 * row[14])  # angle from the sector's middle
    off = min(off, 2.0 * math.pi - off)
    return 1.0 / rho if off + reach / rho < math.pi else math.inf
