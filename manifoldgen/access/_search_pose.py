# mypy: ignore-errors
# ruff: noqa: ANN001, ANN202, PLR0917 - plain numbers are fastest
"""Between the poses that were tried, the one that leaves most room: a climb from the most promising ones, compiled.

`at` is (point, way along the weld, bisector), `tried` is (axes, their tiers, rolls); `bench` and `rules` are
those of `_torch_gap`, here only what is near. The climb is a search: it may miss a narrow window, and what it
finds for a larger torch it need not find for a smaller one. A pose is tangents of travel and work, roll (rad), stick-out.
"""

from __future__ import annotations

import math

import numpy as np
from numba import njit

from manifoldgen.access._torch_gap import FAR, close_by, handle_gap, pose_gap

STARTS = 8  # poses a climb begins at
TRIED = 6  # axes looked at for them, of each way to lean
FINEST = 0.06  # share of the first steps at which a climb ends
ANGLE = math.radians(8.0)  # first step of travel and work; roll takes twice as much
STICK = 3.0  # mm, first step of the stick-out
AROUND = 25.0  # mm: only what is nearer is looked at while climbing, all of it at the end
HOPELESS = (
    -25.0
)  # mm of room below which a climb with its first steps is given up; in proportion for finer ones
SINGLE = 8  # steps of one number; then come those of two
WAYS = np.array(
    [sign * np.eye(4)[i] for i in range(4) for sign in (1.0, -1.0)]
    + [
        a * np.eye(4)[i] + b * np.eye(4)[j]
        for i in range(4)
        for j in range(i)
        for a in (1, -1)
        for b in (1, -1)
    ]
)


@njit(cache=True)
def starts(at, arc, tried, size, bench, rules, slacks):
    """The poses to begin at: of the axes with most room for cup, head and cap the roll with most for the handle."""
    axes, _, turns = tried
    begun = np.full((STARTS, 5), -FAR)
    pose, room = np.zeros(4), np.zeros(turns.size)
    seen = np.zeros((3, 3), np.int64)  # axes looked at by the way they lean
    for a in np.argsort(-slacks):
        worst = begun[:, 4].argmin()
        if slacks[a] <= begun[worst, 4]:
            break
        i, j = int(np.sign(axes[a, 0])) + 1, int(np.sign(axes[a, 1])) + 1
        if seen[i, j] == TRIED:
            continue
        seen[i, j] += 1
        pose[0], pose[1], pose[3] = axes[a, 0], axes[a, 1], axes[a, 2]
        for q in range(turns.size):
            pose[2] = turns[q]
            room[q] = handle_gap(at, arc, pose, size, bench, rules)
        q, worst = room.argmax(), begun[:, 4].argmin()
        value = min(room[q], slacks[a])
        if value > begun[worst, 4]:
            begun[worst, 0], begun[worst, 1], begun[worst, 2] = axes[a, 0], axes[a, 1], turns[q]
            begun[worst, 3], begun[worst, 4] = axes[a, 2], value
    return begun


@njit(cache=True)
def moved(pose, i, step, most):
    """One of a pose's numbers moved by a step, within the loosest tier."""
    if i < 2:
        return min(max(math.tan(math.atan(pose[i]) + step * ANGLE), -most[i]), most[i])
    if i == 2:
        return pose[i] + 2 * step * ANGLE
    return min(max(pose[i] + step * STICK, most[2]), most[3])


@njit(cache=True)
def climb(at, arc, pose, size, bench, rules, most):
    """Better a pose step by step until nothing blocks it or the steps are fine; the room it has."""
    present = np.ones(rules[0].size, np.bool_)
    room = pose_gap(at[0], at[1], at[2], arc, pose, size, bench, rules, present)[0]
    some = close_by(at, arc, pose, size, bench, rules, max(room, 0.0) + AROUND)
    scale, old = 1.0, np.empty(4)
    while scale > FINEST and HOPELESS * scale < room < 0.0:
        better = False
        for w in range(WAYS.shape[0]):  # single numbers first, then pairs: the best poses lie along ridges
            if better and w == SINGLE:
                break
            old[:] = pose
            for i in range(4):
                if WAYS[w, i] != 0.0:
                    pose[i] = moved(old, i, WAYS[w, i] * scale, most)
            now = pose_gap(at[0], at[1], at[2], arc, pose, size, some, rules, present)[0]
            if now > room:
                room, better = now, True
            else:
                pose[:] = old
        if not better:
            scale /= 2
    return pose_gap(at[0], at[1], at[2], arc, pose, size, bench, rules, present)[0]


@njit(cache=True)
def search(at, arc, tried, size, bench, rules, slacks, best):
    """The pose with most room, and its tier where nothing blocks it.

    slacks : of cup, head and cap, by axis.  best : a row of `first` in `_masks.torch_masks`, written.
    """
    axes, tier, _ = tried
    most = np.array([axes[:, 0].max(), axes[:, 1].max(), axes[:, 2].min(), axes[:, 2].max()])
    begun = starts(at, arc, tried, size, bench, rules, slacks)
    best[5] = -FAR
    for s in np.argsort(-begun[:, 4]):
        if begun[s, 4] <= -FAR or best[5] >= 0.0:
            break
        pose = begun[s, :4].copy()
        room = climb(at, arc, pose, size, bench, rules, most)
        if room > best[5]:
            best[1:5] = pose
            best[5] = room
    if best[5] >= 0.0:
        best[0] = tier_of(best, axes, tier)


@njit(cache=True)
def tier_of(best, axes, tier):
    """The least tier whose angles and stick-out allow a pose."""
    for t in range(tier.max() + 1):
        travel, work, stick = 0.0, 0.0, 0.0
        for a in range(axes.shape[0]):
            if tier[a] <= t:
                travel, work, stick = max(travel, axes[a, 0]), max(work, axes[a, 1]), max(stick, axes[a, 2])
        if abs(best[1]) <= travel + 1e-9 and abs(best[2]) <= work + 1e-9 and best[4] <= stick + 1e-9:
            return t
    return tier.max()
