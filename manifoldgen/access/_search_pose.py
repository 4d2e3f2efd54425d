# mypy: ignore-errors
# ruff: noqa: ANN001, ANN202, PLR0917 - plain numbers are fastest
"""Between the poses that were tried, one that nothing blocks: climbs from the most promising ones, compiled.

A pose is an axis (tangents of travel and work), a roll (rad) and a stick-out. The axis is what is moved; for every
axis the best roll is looked for all round, as its windows between two tubes are narrow. Short climbs from many
starts come first, then the best few go on to fine steps.

`at` is (point, way along the weld, bisector), `tried` is (axes, their tiers, rolls); `bench` and `rules` are
those of `_torch_gap`, here only what is near, the nearest first. The search may miss a narrow window, and what it
finds for a larger torch it need not find for a smaller one.
"""

from __future__ import annotations

import math

import numpy as np

from manifoldgen.access._torch_gap import FAR, body_room, frame_of, handle_of, handle_room, on, profile_of
from manifoldgen.compiled.mark import inlined, part

STARTS = 24  # poses a climb begins at
KEPT = 8  # climbs that go on to fine steps
TRIED = 20  # axes looked at for the starts, of each way to lean
AROUND = 8  # rolls tried all round while climbing
COARSE = 0.25  # share of the first steps at which a short climb ends
FINEST = 0.06  # the same for the climbs that go on
ANGLE = math.radians(8.0)  # first step of travel and work
STICK = 3.0  # mm, first step of the stick-out
HALVED = 4  # times a step of the roll is halved
HOPELESS = (
    -15.0
)  # mm of room below which a climb with its first steps is given up, in proportion for finer ones
BETTER = 1e-6  # mm of room that count as more
SINGLE = 6  # ways that change one number; then come those that change two: the best poses lie along ridges
WAYS = np.array(
    [[s if k == i else 0.0 for k in range(3)] for i in range(3) for s in (1.0, -1.0)]
    + [
        [s if k == i else t if k == j else 0.0 for k in range(3)]
        for i in range(3)
        for j in range(i)
        for s in (1.0, -1.0)
        for t in (1.0, -1.0)
    ]
)


@part
def _falling(values):
    """Places of numbers, the largest first."""
    turned_round = np.empty(values.size)
    for k in range(values.size):
        turned_round[k] = -values[k]
    return np.argsort(turned_round)


@inlined
def nearest_first(tip, found, balls):
    """Numbers of balls sorted by how near they come to the tip: whatever blocks is met early."""
    off = np.empty(found.size)
    for j in range(found.size):
        b = balls[found[j]]
        off[j] = math.sqrt((b[0] - tip[0]) ** 2 + (b[1] - tip[1]) ** 2 + (b[2] - tip[2]) ** 2) - b[3]
    order = np.argsort(off)
    for j in range(found.size):
        order[j] = found[order[j]]
    return order


@part
def turned(at, arc, pose, size, bench, rules, floor, rolls):
    """The room of a pose's axis with the best roll that is found, which is written where it beats `floor`.

    rolls : how many are tried all round, the one that is there first.
    """
    frame = frame_of(at[1], at[2], pose[0], pose[1])
    tip = on(at[0], at[2], arc)
    heights, radii = profile_of(size, pose[3])
    most = body_room(tip, frame[0], heights, radii, bench, rules, floor)
    if most <= floor:
        return most
    grip = on(tip, frame[0], heights[1] + size[4] / 2)
    best, turn, start = floor, pose[2], pose[2]
    for q in range(rolls):
        tried = start + 2 * math.pi * q / rolls
        room = handle_room(grip, handle_of(frame, size, tried), size, bench, rules, best, most)
        if room > best:
            best, turn = room, tried
        if best >= most:
            break
    step = math.pi / rolls
    for _ in range(HALVED):
        middle = turn
        for sign in (1.0, -1.0):
            tried = middle + sign * step
            room = handle_room(grip, handle_of(frame, size, tried), size, bench, rules, best, most)
            if room > best:
                best, turn = room, tried
        if best >= most:
            break
        step /= 2
    pose[2] = turn
    return best


@part
def _sign(x):
    """-1, 0 or 1."""
    return 1 if x > 0.0 else (-1 if x < 0.0 else 0)


@part
def _best_of(begun):
    """Which start has the most room; the first of equals."""
    best = 0
    for k in range(1, begun.shape[0]):
        if begun[k, 4] > begun[best, 4]:
            best = k
    return best


@inlined
def starts(at, arc, tried, size, bench, rules, slacks):
    """The poses to begin at: of the axes with most room for cup, head and cap those with most for the handle."""
    axes, _, turns = tried
    begun = np.full((STARTS, 5), -FAR)
    pose = np.zeros(4)
    seen = np.zeros((3, 3), np.int64)  # axes looked at by the way they lean
    for a in _falling(slacks):
        worst = 0
        for k in range(1, STARTS):
            if begun[k, 4] < begun[worst, 4]:
                worst = k
        if slacks[a] <= begun[worst, 4]:
            break
        i, j = _sign(axes[a, 0]) + 1, _sign(axes[a, 1]) + 1
        if seen[i, j] == TRIED:
            continue
        seen[i, j] += 1
        pose[0], pose[1], pose[2], pose[3] = axes[a, 0], axes[a, 1], 0.0, axes[a, 2]
        room = turned(at, arc, pose, size, bench, rules, begun[worst, 4], turns.size)
        if room > begun[worst, 4]:
            for k in range(4):
                begun[worst, k] = pose[k]
            begun[worst, 4] = room
    return begun


@inlined
def moved(pose, way, scale, most, new):
    """A pose with its axis moved, within the loosest tier: on its edge too, where the last windows are."""
    for i in range(2):
        new[i] = pose[i]
        if way[i] != 0.0:
            leaned = math.tan(math.atan(pose[i]) + way[i] * scale * ANGLE)
            new[i] = min(max(leaned, -most[i]), most[i])
    new[2] = pose[2]
    new[3] = min(max(pose[3] + way[2] * scale * STICK, most[2]), most[3])


@inlined
def climb(at, arc, begun, scale, finest, rolls, size, bench, rules, most):
    """Better a start (pose and its room) until nothing blocks it or the steps are fine."""
    new = np.empty(4)
    pose = begun[:4]
    while scale > finest and HOPELESS * scale < begun[4] < 0.0:
        better = False
        for w in range(WAYS.shape[0]):
            if begun[4] >= 0.0 or (better and w == SINGLE):
                break
            moved(pose, WAYS[w], scale, most, new)
            room = turned(at, arc, new, size, bench, rules, begun[4] + BETTER, rolls)
            if room > begun[4] + BETTER:
                for k in range(4):
                    pose[k] = new[k]
                begun[4], better = room, True
        if not better:
            scale /= 2


@inlined
def search(at, arc, tried, size, bench, rules, slacks, best):
    """The pose with most room, and its tier where nothing blocks it.

    slacks : of cup, head and cap, by axis.  best : a row of `first` in `_masks.torch_masks`, written.
    """
    axes, tier, _ = tried
    most = np.empty(4)
    most[0], most[1], most[2], most[3] = axes[0, 0], axes[0, 1], axes[0, 2], axes[0, 2]
    for a in range(axes.shape[0]):
        most[0], most[1] = max(most[0], axes[a, 0]), max(most[1], axes[a, 1])
        most[2], most[3] = min(most[2], axes[a, 2]), max(most[3], axes[a, 2])
    begun = starts(at, arc, tried, size, bench, rules, slacks)
    # the number of rolls stands there so that it is a variable: `turned` would be compiled once more for a constant
    for scale, finest, count, rolls in ((1.0, COARSE, STARTS, AROUND), (COARSE, FINEST, KEPT, AROUND)):
        rooms = np.empty(STARTS)
        for k in range(STARTS):
            rooms[k] = begun[k, 4]
        for s in _falling(rooms)[:count]:
            if begun[s, 4] > -FAR and begun[_best_of(begun), 4] < 0.0:
                climb(at, arc, begun[s], scale, finest, rolls, size, bench, rules, most)
    s = _best_of(begun)
    for k in range(5):
        best[1 + k] = begun[s, k]
    if best[5] >= 0.0:
        best[0] = tier_of(best, axes, tier)


@inlined
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
