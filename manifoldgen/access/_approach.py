# mypy: ignore-errors
# ruff: noqa: ANN001, ANN202, PLR0917 - plain numbers are fastest, and one walk is one function
"""Every way one tool can be held on one stud: the least violation over tilts and directions, compiled.

Heights along the stud stand in `frame` (rows: origin, axis, two directions across). Parts coaxial with the
stud and parts on the tilted axis beyond the pivot are rows [z, radius, z, radius, rounding]; arms as in
`access._swing`. The violation of a pose is by how much its margin would have to shrink until every part is
clear and the handle swings as far as it needs.

Answers are arrays: violation, tilt, direction (radians), first free azimuth and swing (degrees, -1 where there
is none), the thing that is violated most by a part (-1 where it is the swing that fails), way to it (x, y, z).
"""

from __future__ import annotations

import math

import numpy as np

from manifoldgen.access._kernels import worst
from manifoldgen.access._swing import BINS, longest_free, swing
from manifoldgen.compiled.mark import kernel, part

FAR = 1e9
_ENOUGH = 0.01  # mm: how sharp the violation of a swing is known
_GIVE_UP = 400.0  # mm
_SIZE = 9


@kernel("f8[:, ::1](f8[:, ::1], f8[::1], f8[::1])")
def placed(parts, o, a):
    """Rods of coaxial parts about the axis a through o."""
    rods = np.zeros((parts.shape[0], 16))
    for i in range(parts.shape[0]):
        rods[i, 0] = 1.0
        for c in range(3):
            rods[i, 1 + c] = o[c] + parts[i, 0] * a[c]
            rods[i, 4 + c] = o[c] + parts[i, 2] * a[c]
            rods[i, 7 + c] = a[c]
        rods[i, 10] = parts[i, 1]
        rods[i, 11] = parts[i, 3]
        rods[i, 12] = parts[i, 4]
    return rods


@kernel("f8[:, ::1](f8[:, ::1], f8, f8, f8)")
def tilted(frame, pivot, tilt, psi):
    """The frame beyond the pivot: the axis leans by `tilt` towards the direction `psi`; radians."""
    made = np.empty((4, 3))
    cp = math.cos(psi)
    sp = math.sin(psi)
    ct = math.cos(tilt)
    st = math.sin(tilt)
    for c in range(3):
        out = cp * frame[2, c] + sp * frame[3, c]
        made[0, c] = frame[0, c] + pivot * frame[1, c]
        made[1, c] = ct * frame[1, c] + st * out
        made[2, c] = ct * out - st * frame[1, c]
        made[3, c] = cp * frame[3, c] - sp * frame[2, c]
    return made


@kernel("f8(f8[:, ::1], f8[:, ::1], f8, UniTuple(f8[:, ::1], 6), f8[::1], b1[::1], f8[::1])")
def free_arc(frame, arms, margin, things, ease, taken, found):
    """Longest free swing at a margin, degrees (-1: none); `found` takes its first place."""
    taken[:] = False
    swing(
        arms,
        frame[0],
        frame[2],
        frame[3],
        frame[1],
        margin,
        things[0],
        things[1],
        things[2],
        things[3],
        things[4],
        things[5],
        ease,
        taken,
    )
    arc, first = longest_free(taken)
    found[0] = first
    return arc


@part
def pose(frame, shaft, arms, pivot, tilt, psi, need, margin, start, things, ease, bound, out):
    """Violation of one pose; more than `bound` (and `out` untouched) as soon as it is known to be more.

    start : violation of what does not move with the pose.
    """
    leant = tilted(frame, pivot, tilt, psi)
    rods = placed(shaft, leant[0], leant[1])
    bad, thing, nx, ny, nz = worst(
        rods, margin, things[0], things[1], things[2], things[3], things[4], things[5], ease, start, bound
    )
    if bad > bound:
        return bad
    arc = 360.0
    found = np.zeros(1)
    if arms.shape[0] > 0:
        taken = np.zeros(BINS, np.bool_)
        arc = free_arc(leant, arms, margin - bad, things, ease, taken, found)
        if arc < need:
            if bad >= bound:
                return FAR
            low = bad
            high = min(bound, low + 4.0)
            while free_arc(leant, arms, margin - high, things, ease, taken, found) < need:
                if high >= bound or high > _GIVE_UP:
                    return FAR
                low = high
                high = min(bound, bad + 2 * (high - bad))
            while high - low > _ENOUGH:
                mid = (low + high) / 2
                if free_arc(leant, arms, margin - mid, things, ease, taken, found) < need:
                    low = mid
                else:
                    high = mid
            bad = high
            thing = -1
            arc = free_arc(leant, arms, margin - bad, things, ease, taken, found)
    out[0] = bad
    out[1] = tilt
    out[2] = psi
    out[3] = found[0]
    out[4] = arc
    out[5] = thing
    out[6] = nx
    out[7] = ny
    out[8] = nz
    return bad


@kernel(
    "f8[::1](f8[:, ::1], f8[:, ::1], f8[:, ::1], f8[:, ::1], f8, f8[::1], f8[::1], f8, f8, UniTuple(f8[:, ::1], 6), f8[::1], f8)"
)
def approach(frame, seat, shaft, arms, pivot, tilts, psis, need, margin, things, ease, bound):
    """The least violation of a tool over its tilts and directions, if it is at most `bound`; the first that is ≤ 0."""
    out = np.zeros(_SIZE)
    out[0] = FAR
    rods = placed(seat, frame[0], frame[1])
    fixed, thing, nx, ny, nz = worst(
        rods, margin, things[0], things[1], things[2], things[3], things[4], things[5], ease, 0.0, bound
    )
    if fixed > bound:
        return out
    best = bound
    for i in range(tilts.size):
        for j in range(psis.size):
            bad = pose(
                frame, shaft, arms, pivot, tilts[i], psis[j], need, margin, fixed, things, ease, best, out
            )
            if bad < best or (bad <= best and out[0] == FAR):
                best = bad
            if out[0] <= fixed:  # as good as the part on the nut allows
                break
            if tilts[i] == 0.0:
                break
        if out[0] <= fixed:
            break
    if out[0] <= fixed and fixed > 0.0:
        out[5], out[6], out[7], out[8] = thing, nx, ny, nz
    return out


@kernel(
    "f8[::1](f8[:, ::1], f8[:, ::1], f8[:, ::1], f8[:, ::1], f8, f8[::1], f8, f8, f8, f8, UniTuple(f8[:, ::1], 6), f8[::1])"
)
def refined(frame, seat, shaft, arms, pivot, at, tilt_most, step, need, margin, things, ease):
    """A pose bettered by small turns of tilt and direction, each half as wide once none of them helps."""
    rods = placed(seat, frame[0], frame[1])
    fixed = worst(
        rods, margin, things[0], things[1], things[2], things[3], things[4], things[5], ease, 0.0, FAR
    )[0]
    best = at.copy()
    trial = np.zeros(_SIZE)
    while step > 0.002:
        better = False
        for k in range(4):
            tilt = best[1] + (step / 3 if k == 0 else -step / 3 if k == 1 else 0.0)
            psi = best[2] + (step if k == 2 else -step if k == 3 else 0.0)
            tilt = min(max(tilt, 0.0), tilt_most)
            if best[0] <= fixed:
                return best
            bad = pose(
                frame, shaft, arms, pivot, tilt, psi, need, margin, fixed, things, ease, best[0], trial
            )
            if bad < best[0] - 1e-4:
                for i in range(_SIZE):
                    best[i] = trial[i]
                better = True
        if not better:
            step /= 2
    return best
