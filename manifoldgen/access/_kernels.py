# mypy: ignore-errors
# ruff: noqa: ANN001, ANN202, PLR0917, C901, PLR0912 - plain numbers are fastest, and one walk is one function
"""Exact room round the parts of a tool, compiled.

Things near a stud, the nearest first: balls (x, y, z, r), convex solids (rows of `access.pack`, each with a
ball round it) and half spaces (point, outward normal). Every thing has its `ease`: mm of the margin that it
does not ask for. Things are numbered balls first, then solids, then half spaces. Solids come in blocks
(x, y, z, r, first, end): a ball round all from `first` to before `end`, so that what is far costs nothing.

Parts of a tool are rods (rows).
"""

from __future__ import annotations

import math

from manifoldgen.access._gjk import signed_gap, support
from manifoldgen.compiled.mark import inlined, kernel, part


@part
def rod_point(rod, x, y, z):
    """Signed distance of a point to a rod in its own half plane, and the outward direction there (rho, z).

    Exact for flat-ended frusta, cylinders, discs, capsules and balls; negative inside.
    """
    dx = x - rod[1]
    dy = y - rod[2]
    dz = z - rod[3]
    h = dx * rod[7] + dy * rod[8] + dz * rod[9]
    qx = dx - h * rod[7]
    qy = dy - h * rod[8]
    qz = dz - h * rod[9]
    rho = math.sqrt(qx * qx + qy * qy + qz * qz)
    length = (rod[4] - rod[1]) * rod[7] + (rod[5] - rod[2]) * rod[8] + (rod[6] - rod[3]) * rod[9]
    r0 = rod[10]
    r1 = rod[11]
    slant = math.sqrt(length * length + (r1 - r0) * (r1 - r0))
    nr = length / slant if slant > 0.0 else 0.0  # outward normal of the side
    nz = -(r1 - r0) / slant if slant > 0.0 else 0.0
    beyond = (rho - r0) * nr + h * nz if length > 0.0 else 1e300
    if length > 0.0 and h >= 0.0 and h <= length and beyond <= 0.0:
        d = -h
        ar = 0.0
        az = -1.0
        if h - length > d:
            d = h - length
            az = 1.0
        if beyond > d:
            d = beyond
            ar = nr
            az = nz
        return d - rod[12], ar, az
    # nearest of the two ends and the side
    er = max(rho - r0, 0.0)
    br, bz, best = er, h, er * er + h * h
    er = max(rho - r1, 0.0)
    eh = h - length
    if er * er + eh * eh < best:
        br, bz, best = er, eh, er * er + eh * eh
    if slant > 0.0:
        t = ((rho - r0) * (r1 - r0) + h * length) / (slant * slant)
        t = min(max(t, 0.0), 1.0)
        er = rho - (r0 + t * (r1 - r0))
        eh = h - t * length
        if er * er + eh * eh < best:
            br, bz, best = er, eh, er * er + eh * eh
    d = math.sqrt(best)
    if d > 0.0:
        return d - rod[12], br / d, bz / d
    return -rod[12], 1.0, 0.0


@inlined
def _turned_out(rod, x, y, z, ar, az):
    """The direction (rho, z) of a rod's half plane through a point, in the bench frame."""
    dx = x - rod[1]
    dy = y - rod[2]
    dz = z - rod[3]
    h = dx * rod[7] + dy * rod[8] + dz * rod[9]
    qx = dx - h * rod[7]
    qy = dy - h * rod[8]
    qz = dz - h * rod[9]
    rho = math.sqrt(qx * qx + qy * qy + qz * qz)
    if rho > 1e-12:
        qx, qy, qz = qx / rho, qy / rho, qz / rho
    return ar * qx + az * rod[7], ar * qy + az * rod[8], ar * qz + az * rod[9]


@part
def half_gap(row, points, half):
    """Distance of a solid to a half space; negative where it dips in."""
    x, y, z = support(row, points, -half[3], -half[4], -half[5])
    return (x - half[0]) * half[3] + (y - half[1]) * half[4] + (z - half[2]) * half[5] - row[12]


@part
def rod_ball(rod):
    """Middle and reach of a ball that holds a rod, its rounding and sweep."""
    length = math.sqrt((rod[4] - rod[1]) ** 2 + (rod[5] - rod[2]) ** 2 + (rod[6] - rod[3]) ** 2) / 2
    drag = math.sqrt(rod[13] ** 2 + rod[14] ** 2 + rod[15] ** 2) / 2
    r = max(rod[10], rod[11])
    return (
        (rod[1] + rod[4] + rod[13]) / 2,
        (rod[2] + rod[5] + rod[14]) / 2,
        (rod[3] + rod[6] + rod[15]) / 2,
        math.sqrt(length * length + r * r) + drag + rod[12],
    )


@part
def apart(ball, x, y, z, reach):
    """Whether a ball (x, y, z, r, …) lies at least `reach` from a point."""
    size = reach + ball[3]
    dx = ball[0] - x
    dy = ball[1] - y
    dz = ball[2] - z
    return size <= 0.0 or dx * dx + dy * dy + dz * dz >= size * size


@kernel(
    "Tuple((f8, i8, f8, f8, f8))(f8[:, ::1], f8, f8[:, ::1], f8[:, ::1], f8[:, ::1], f8[:, ::1], f8[:, ::1], f8[:, ::1], f8[::1], f8, f8)"
)
def worst(rods, margin, balls, solids, bounds, points, halves, blocks, ease, start, bound):
    """The greatest violation (margin less ease less distance) of rods, which thing it is, and the way to it.

    start : a violation that is known already (smaller ones are not looked for).
    bound : the search ends as soon as the violation is over it.
    """
    most = start
    thing = -1
    nx = 0.0
    ny = 0.0
    nz = 0.0
    n = balls.shape[0]
    k = solids.shape[0]
    for p in range(rods.shape[0]):
        rod = rods[p]
        mx, my, mz, mr = rod_ball(rod)
        for i in range(n):
            asked = margin - ease[i] + balls[i, 3] - most
            dx = balls[i, 0] - mx
            dy = balls[i, 1] - my
            dz = balls[i, 2] - mz
            if asked + mr <= 0.0 or dx * dx + dy * dy + dz * dz >= (asked + mr) * (asked + mr):
                continue
            d, ar, az = rod_point(rod, balls[i, 0], balls[i, 1], balls[i, 2])
            if d < asked:
                most = margin - ease[i] + balls[i, 3] - d
                thing = i
                nx, ny, nz = _turned_out(rod, balls[i, 0], balls[i, 1], balls[i, 2], ar, az)
                if most > bound:
                    return most, thing, nx, ny, nz
        for i in range(halves.shape[0]):
            asked = margin - ease[n + k + i] - most
            d = half_gap(rod, points, halves[i])
            if d < asked:
                most = margin - ease[n + k + i] - d
                thing = n + k + i
                nx, ny, nz = -halves[i, 3], -halves[i, 4], -halves[i, 5]
                if most > bound:
                    return most, thing, nx, ny, nz
        for b in range(blocks.shape[0]):
            if apart(blocks[b], mx, my, mz, margin - most + mr):
                continue
            for i in range(int(blocks[b, 4]), int(blocks[b, 5])):
                asked = margin - ease[n + i] - most
                if apart(bounds[i], mx, my, mz, asked + mr):
                    continue
                d, ux, uy, uz = signed_gap(rod, points, solids[i], points, asked)
                if d < asked:
                    most = margin - ease[n + i] - d
                    thing = n + i
                    nx, ny, nz = ux, uy, uz
                    if most > bound:
                        return most, thing, nx, ny, nz
    return most, thing, nx, ny, nz
