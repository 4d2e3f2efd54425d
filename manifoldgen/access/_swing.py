# mypy: ignore-errors
# ruff: noqa: ANN001, ANN202, PLR0917, C901, PLR0912 - plain numbers are fastest, and one walk is one function
"""How far a handle swings about the tool's axis before it comes too near to something, compiled.

A handle is a set of arms in one half plane through the axis:

    ARM  [from rho, z, to rho, z, radius, lift, side]

`lift` drags an arm along the axis (dropped on). `side` is 0 for a round arm; else the arm is a flat disc of
`radius` about the axis, from z to z, dragged outwards by `side` (slid on from the side).

The distance of an arm to a ball grows with the azimuth between them, so every ball takes one interval about
its own azimuth: in closed form for an arm square to the axis, else by halving. Other solids are looked at
half degree by half degree, each step as long as the gap allows. A body of any size takes more than that of an
arm as thick as a hand tool's, so nothing slips through between two places.
"""

from __future__ import annotations

import math

import numpy as np

from manifoldgen.access._gjk import signed_gap
from manifoldgen.access._kernels import apart, half_gap, rod_ball
from manifoldgen.compiled.mark import inlined, kernel, part

TURN = 2 * math.pi
BINS = 720  # places round the axis where a handle is looked at
STEP = 360.0 / BINS  # degrees from one to the next
_FAR = 1e9
_HALVINGS = 14


@inlined
def flat_half_angle(rho, dz, q, r1, r2):
    """Half the azimuth that a ball takes from an arm square to the axis, radians; q: radii and margin.

    The arm runs from r1 to r2; the ball stands rho from the axis, dz beside the arm's plane. An arm point rs is
    nearer than q where cos(azimuth) > (rho² + rs² + dz² - q²) / (2 rho rs): least at rs = √(rho² + dz² - q²).
    """
    if q <= 0.0:
        return 0.0
    c = dz * dz - q * q
    if c >= 0.0:
        return 0.0
    rs = min(max(math.sqrt(max(0.0, rho * rho + c)), r1), r2)
    if rho * rs < 1e-12:
        return math.pi if rho * rho + rs * rs + c < 0.0 else 0.0
    cosine = (rho * rho + rs * rs + c) / (2 * rho * rs)
    if cosine >= 1.0:
        return 0.0
    return math.pi if cosine <= -1.0 else math.acos(cosine)


@part
def _plane_gap(x, z, r1, z1, r2, z2, lift):
    """Distance of a point of the half plane to an arm's centreline, dragged along the axis by `lift`."""
    ax = r2 - r1
    az = z2 - z1
    best = 1e300
    for k in range(2 if lift > 0.0 else 1):
        h = z - z1 - k * lift
        size = ax * ax + az * az
        t = min(max(((x - r1) * ax + h * az) / size, 0.0), 1.0) if size > 0.0 else 0.0
        d = math.hypot(x - r1 - t * ax, h - t * az)
        best = min(best, d)
    if lift > 0.0:
        low = min(r1, r2)
        high = max(r1, r2)
        rr = min(max(x, low), high)
        base = z1 + (az * (rr - r1) / ax if abs(ax) > 1e-12 else 0.0)
        h = z - base
        over = max(-h, h - lift, 0.0) if low <= x <= high else 1e300
        if over == 0.0:
            return 0.0
        for k in range(2):  # the upright ends
            rr = r1 if k == 0 else r2
            base = z1 if k == 0 else z2
            h = z - base
            best = min(best, math.hypot(x - rr, max(-h, h - lift, 0.0)))
    return best


@part
def half_angle(rho, z, q, r1, z1, r2, z2, lift):
    """Half the azimuth that a ball takes from an arm, radians: closed form where flat, else by halving.

    The distance grows with the azimuth between them, so what is taken is one interval about the ball's own.
    """
    if z1 == z2 and lift == 0.0:
        return flat_half_angle(rho, z - z1, q, r1, r2)
    if q <= 0.0 or _plane_gap(rho, z, r1, z1, r2, z2, lift) >= q:
        return 0.0
    if _plane_gap(-rho, z, r1, z1, r2, z2, lift) < q:
        return math.pi
    low = 0.0
    high = math.pi
    for _ in range(_HALVINGS):
        mid = (low + high) / 2
        d = math.hypot(_plane_gap(rho * math.cos(mid), z, r1, z1, r2, z2, lift), rho * math.sin(mid))
        if d < q:
            low = mid
        else:
            high = mid
    return high


@inlined
def _block(taken, middle, half):
    """Mark the places within `half` of an azimuth, radians."""
    first = math.ceil((middle - half) / TURN * BINS - 1e-9)
    last = math.floor((middle + half) / TURN * BINS + 1e-9)
    if last - first >= BINS - 1:
        first, last = 0, BINS - 1
    for i in range(first, last + 1):
        taken[i % BINS] = True


@kernel("void(f8[::1], f8[::1], f8, f8[::1], f8[::1], f8[::1], f8[::1])")
def arm_rod(arm, o, angle, u, v, a, row):
    """An arm at an azimuth as a row; o, u, v, a are the turning frame's origin and axes."""
    c = math.cos(angle)
    s = math.sin(angle)
    row[0] = 1.0
    for i in range(3):
        out = c * u[i] + s * v[i]
        if arm[6] > 0.0:
            row[1 + i] = o[i] + arm[1] * a[i]
            row[4 + i] = o[i] + arm[3] * a[i]
            row[7 + i] = a[i]
            row[13 + i] = arm[6] * out
        else:
            row[1 + i] = o[i] + arm[0] * out + arm[1] * a[i]
            row[4 + i] = o[i] + arm[2] * out + arm[3] * a[i]
            row[7 + i] = a[i]
            row[13 + i] = arm[5] * a[i]
    row[10] = row[11] = arm[4] if arm[6] > 0.0 else 0.0
    row[12] = 0.0 if arm[6] > 0.0 else arm[4]


@inlined
def _round_rod(arm, o, a, row):
    """What an arm covers in a whole turn, at most."""
    low = min(arm[1], arm[3])
    high = max(arm[1], arm[3]) + arm[5]
    r = max(arm[0], arm[2]) + (arm[4] + arm[6] if arm[6] > 0.0 else 0.0)
    row[:] = 0.0
    row[0] = 1.0
    for i in range(3):
        row[1 + i] = o[i] + low * a[i]
        row[4 + i] = o[i] + high * a[i]
        row[7 + i] = a[i]
    row[10] = row[11] = r
    row[12] = 0.0 if arm[6] > 0.0 else arm[4]


@part
def _round(arm, o, u, v, a, asked, solid, points, long, first, end, taken):
    """One arm once round the axis against one solid, or only from one place to before another.

    A place where the gap is off the asked one by e lets the arm turn by e / reach without crossing it.
    """
    row = np.empty(16)
    i = first
    while i < end:
        b = i % BINS
        if taken[b]:
            i += 1
            continue
        arm_rod(arm, o, b * TURN / BINS, u, v, a, row)
        d = signed_gap(row, points, solid, points, _FAR)[0]
        step = 1
        if d >= asked:
            step = max(1, math.ceil((d - asked) / long / TURN * BINS))
        else:
            taken[b] = True
        i += step


@inlined
def _places(arm, o, u, v, a, ball, asked):
    """First place, and the one after the last, where an arm can come near what lies in a ball."""
    if arm[6] > 0.0:
        return 0, BINS
    dx = ball[0] - o[0]
    dy = ball[1] - o[1]
    dz = ball[2] - o[2]
    x = dx * u[0] + dy * u[1] + dz * u[2]
    y = dx * v[0] + dy * v[1] + dz * v[2]
    z = dx * a[0] + dy * a[1] + dz * a[2]
    h = half_angle(math.hypot(x, y), z, ball[3] + asked + arm[4], arm[0], arm[1], arm[2], arm[3], arm[5])
    middle = math.atan2(y, x)
    first = math.floor((middle - h) / TURN * BINS)
    end = math.ceil((middle + h) / TURN * BINS) + 1
    if h <= 0.0:
        return 0, 0
    return (0, BINS) if end - first >= BINS else (first, end)


@part
def swing(arms, o, u, v, a, margin, balls, solids, bounds, points, halves, blocks, ease, taken):
    """Mark the azimuths (whole degrees from u towards v) at which an arm comes nearer than the margin."""
    n = balls.shape[0]
    k = solids.shape[0]
    row = np.empty(16)
    ball = np.zeros(16)
    ball[0] = 1.0
    ball[9] = 1.0
    for p in range(arms.shape[0]):
        arm = arms[p]
        _round_rod(arm, o, a, row)
        whole = row.copy()
        mx, my, mz, mr = rod_ball(whole)
        long = max(arm[0], arm[2]) + arm[4] + arm[6]
        for i in range(n):
            asked = margin - ease[i]
            dx = balls[i, 0] - o[0]
            dy = balls[i, 1] - o[1]
            dz = balls[i, 2] - o[2]
            z = dx * a[0] + dy * a[1] + dz * a[2]
            q = balls[i, 3] + asked + (arm[4] if arm[6] == 0.0 else 0.0)
            if z - q > max(arm[1], arm[3]) + arm[5] or z + q < min(arm[1], arm[3]):
                continue
            x = dx * u[0] + dy * u[1] + dz * u[2]
            y = dx * v[0] + dy * v[1] + dz * v[2]
            rho = math.sqrt(x * x + y * y)
            if rho > long + q:
                continue
            if arm[6] == 0.0:
                h = half_angle(rho, z, q, arm[0], arm[1], arm[2], arm[3], arm[5])
                if h > 0.0:
                    _block(taken, math.atan2(y, x), h)
            else:
                for c in range(3):
                    ball[1 + c] = balls[i, c]
                    ball[4 + c] = balls[i, c]
                ball[12] = balls[i, 3]
                _round(arm, o, u, v, a, asked, ball, points, long, 0, BINS, taken)
        for b in range(blocks.shape[0]):
            if apart(blocks[b], mx, my, mz, margin + mr):
                continue
            for i in range(int(blocks[b, 4]), int(blocks[b, 5])):
                asked = margin - ease[n + i]
                if apart(bounds[i], mx, my, mz, asked + mr):
                    continue
                first, end = _places(arm, o, u, v, a, bounds[i], asked)
                if first >= end or (
                    end - first == BINS and signed_gap(whole, points, solids[i], points, asked)[0] >= asked
                ):
                    continue
                _round(arm, o, u, v, a, asked, solids[i], points, long, first, end, taken)
        for i in range(halves.shape[0]):
            asked = margin - ease[n + k + i]
            if half_gap(whole, points, halves[i]) >= asked:
                continue
            for b in range(BINS):
                arm_rod(arm, o, b * TURN / BINS, u, v, a, row)
                if half_gap(row, points, halves[i]) < asked:
                    taken[b] = True


@inlined
def longest_free(taken):
    """Degrees between the ends of the longest run of free places, and its first one; -1 where none is."""
    best = 0
    begin = 0
    run = 0
    for i in range(2 * BINS):
        if taken[i % BINS]:
            run = 0
            continue
        run += 1
        if run > best:
            best = run
            begin = i - run + 1
        if run >= BINS:
            return 360.0, 0.0
    if best == 0:
        return -1.0, 0.0
    return (best - 1) * STEP, begin % BINS * STEP
