# mypy: ignore-errors
# ruff: noqa: ANN001, ANN202, PLR0917, C901, PLR0912, PLR0915, SIM110 - plain numbers and loops are fastest
"""Which pieces stand in a torch's way, as sets of bits: for every place of a weld the least sets, compiled.

A pose is blocked by the set of groups that it comes too close to. Of all poses only the least sets matter
(no set that holds another one): whatever is present, a place is free where one of its least sets has nobody
present. A set is a row of 64-bit words, as many as the groups need. A pose that runs into what it welds is
no pose at all. `bench` and `rules` are those of `_torch_gap`.
"""

from __future__ import annotations

import math

import numpy as np

from manifoldgen.access._search_pose import nearest_first, search
from manifoldgen.access._torch_gap import (
    BENCH,
    FAR,
    RULES,
    across_of,
    axial,
    body_to_point,
    body_to_solid,
    frame_of,
    gap,
    handle_of,
    in_bores,
    near,
    on,
    profile_of,
    rod_in_bores,
    rod_row,
    to_segment,
    widest,
)
from manifoldgen.compiled.mark import inlined, kernel, part

CAPACITY = 96  # least sets kept for one place; past it new ones are dropped, which never frees a place


@part
def copied(a, b):
    """Write one set into another."""
    for w in range(a.size):
        b[w] = a[w]


@part
def nobody(mask):
    """Whether a set is empty."""
    for w in range(mask.size):
        if mask[w]:
            return False
    return True


@part
def holds_one(sets, count, mask):
    """Whether one of the sets lies within `mask`."""
    for i in range(count):
        inside = True
        for w in range(mask.size):
            if sets[i, w] & ~mask[w]:
                inside = False
                break
        if inside:
            return True
    return False


@part
def add_set(sets, count, mask):
    """Keep `mask` among the least sets; the new count."""
    if holds_one(sets, count, mask):
        return count
    kept = 0
    for i in range(count):
        inside = True
        for w in range(mask.size):
            if mask[w] & ~sets[i, w]:
                inside = False
                break
        if not inside:
            copied(sets[i], sets[kept])
            kept += 1
    if kept < sets.shape[0]:
        copied(mask, sets[kept])
        kept += 1
    return kept


@part
def put(mask, group):
    """Put one group into a set."""
    mask[group >> 6] |= np.uint64(1) << np.uint64(group & 63)


@inlined
def body(tip, axis, heights, radii, hot, solid, bench, rules, rho, high, part, mask):
    """What cup, head and cap run into goes to `mask`; least of distance less clearance, and whether into the weld.

    rho, high : axis coordinates of the hot balls, written.
    """
    balls, group, solids, bounds, sgroup, corners = bench
    ask, host = rules[0], rules[1]
    for p in range(3):
        long = heights[p + 1] - heights[p]
        if not rod_in_bores(on(tip, axis, heights[p]), axis, long, radii[p, 0], radii[p, 1], rules):
            return -FAR, True
    slack, fat, into = FAR, widest(radii), False
    for j in range(hot.size):
        i = hot[j]
        rho[j], high[j] = axial(balls[i], tip, axis)
        thick = balls[i, 3] + ask[group[i]]
        if rho[j] > fat + thick or high[j] < heights[0] - thick or high[j] > heights[3] + thick:
            continue
        d = body_to_point(rho[j], high[j], heights, radii) - thick
        if d < 0.0:
            into = into or host[group[i]]
            put(mask, group[i])
        slack = min(slack, d)
    for j in range(solid.size):
        i = solid[j]
        off, h = axial(bounds[i], tip, axis)
        asked = ask[sgroup[i]]
        thick = bounds[i, 3] + asked
        if off > fat + thick or h < heights[0] - thick or h > heights[3] + thick:
            continue
        d = body_to_solid(part, tip, axis, heights, radii, solids[i], corners, asked) - asked
        if d < 0.0:
            into = into or host[sgroup[i]]
            put(mask, sgroup[i])
        slack = min(slack, d)
    return slack, into


@inlined
def arms(tip, frame, middle, size, hot, bench, rules, rho, high, turns, rolled, dead, space):
    """What the handle runs into among the balls, roll by roll: sets, whether into the weld, least slack."""
    balls, group, ask, host = bench[0], bench[1], rules[0], rules[1]
    s, c = math.sin(size[9]), math.cos(size[9])
    start, flat = np.zeros(3), np.zeros(3)
    start[2], flat[0], flat[2] = middle, s, c
    ways = np.empty((turns.size, 3))
    for q in range(turns.size):
        ways[q, 0], ways[q, 1], ways[q, 2] = s * math.cos(turns[q]), s * math.sin(turns[q]), c
    p = np.zeros(3)
    for j in range(hot.size):
        i = hot[j]
        thick = balls[i, 3] + ask[group[i]] + size[7]
        p[0], p[1], p[2] = rho[j], 0.0, high[j]
        if to_segment(p, start, flat, size[8]) >= thick:  # the nearest roll of all
            continue
        wx, wy, wz = balls[i, 0] - tip[0], balls[i, 1] - tip[1], balls[i, 2] - tip[2]
        p[0] = wx * frame[1, 0] + wy * frame[1, 1] + wz * frame[1, 2]
        p[1] = wx * frame[2, 0] + wy * frame[2, 1] + wz * frame[2, 2]
        for q in range(turns.size):
            d = to_segment(p, start, ways[q], size[8]) - thick
            space[q] = min(space[q], d)
            if d < 0.0:
                put(rolled[q], group[i])
                dead[q] = dead[q] or host[group[i]]


@inlined
def arm_solids(grip, way, size, solid, bench, rules, part, mask):
    """What one handle runs into among the solids goes to `mask`; least slack, and whether into the weld."""
    _, _, solids, bounds, sgroup, corners = bench
    ask, host = rules[0], rules[1]
    slack, into = FAR, False
    for j in range(solid.size):
        i = solid[j]
        asked = ask[sgroup[i]]
        if to_segment(bounds[i], grip, way, size[8]) >= bounds[i, 3] + asked + size[7]:
            continue
        rod_row(part, grip, way, size[8], 0.0, 0.0, size[7])
        d = gap(part, solids[i], corners, asked) - asked
        if d < 0.0:
            into = into or host[sgroup[i]]
            put(mask, sgroup[i])
        slack = min(slack, d)
    return slack, into


@part
def rows(table, numbers):
    """Some rows of a table."""
    out = np.empty((numbers.size, table.shape[1]))
    for j in range(numbers.size):
        for c in range(table.shape[1]):
            out[j, c] = table[numbers[j], c]
    return out


@part
def groups(group, numbers):
    """The groups of some things."""
    out = np.empty(numbers.size, np.int64)
    for j in range(numbers.size):
        out[j] = group[numbers[j]]
    return out


@kernel(
    f"void(f8[:, ::1], f8[:, ::1], f8[:, ::1], f8, f8[:, ::1], i8[::1], f8[::1], f8[::1], f8, {BENCH}, {RULES}, b1,"
    " u8[:, :, :, ::1], i8[:, ::1], f8[:, ::1])"
)
def torch_masks(
    points, along, bisector, arc, axes, tier, turns, size, reach, bench, rules, climb, sets, count, first
):
    """The least sets of groups that block a torch, by place and tier.

    axes, tier : (a, 3) tangents of travel and work with the stick-out; (a,) rising.  turns : rolls, radians.
    size : `Torch.sizes`.  reach : mm that hold every pose.
    climb : whether to look between the poses for a place that they leave blocked.
    sets : (places, tiers, CAPACITY, words), count : (places, tiers): written.
    first : (places, 6) tier, tangents of travel and work, roll (rad), stick-out and slack of the first pose that
    nothing blocks, tier -1 where there is none: then what is left of the row is the best that was seen.
    """
    words, tiers, rolls = sets.shape[3], sets.shape[1], turns.size
    mask0, mask = np.zeros(words, np.uint64), np.zeros(words, np.uint64)
    rolled = np.zeros((rolls, words), np.uint64)
    dead, space, part = np.zeros(rolls, np.bool_), np.zeros(rolls), np.zeros(16)
    slacks = np.empty(axes.shape[0])
    for k in range(points.shape[0]):
        tip = on(points[k], bisector[k], arc)
        hot = near(tip, reach, bench[0], bench[1], rules[0])
        solid = near(tip, reach, bench[3], bench[4], rules[0])
        rho, high = np.empty(hot.size), np.empty(hot.size)
        first[k, 0] = -1.0
        n, now = 0, 0
        for a in range(axes.shape[0]):
            while now < tier[a]:  # a tier is over: what it found stands
                for i in range(n):
                    copied(sets[k, now, i], sets[k, now + 1, i])
                count[k, now] = n
                now += 1
            if first[k, 0] >= 0:
                continue
            frame = frame_of(along[k], bisector[k], axes[a, 0], axes[a, 1])
            heights, radii = profile_of(size, axes[a, 2])
            mask0[:] = 0
            slacks[a], into = body(
                tip, frame[0], heights, radii, hot, solid, bench, rules, rho, high, part, mask0
            )
            if into or holds_one(sets[k, now], n, mask0):
                continue
            middle = heights[1] + size[4] / 2
            grip = on(tip, frame[0], middle)
            rolled[:] = 0
            dead[:] = False
            space[:] = slacks[a]
            arms(tip, frame, middle, size, hot, bench, rules, rho, high, turns, rolled, dead, space)
            for q in range(rolls):
                way = handle_of(frame, size, turns[q])
                for w in range(words):
                    mask[w] = mask0[w] | rolled[q, w]
                if dead[q] or holds_one(sets[k, now], n, mask):
                    continue
                if not rod_in_bores(grip, way, size[8], size[7], size[7], rules):
                    continue
                slack, into = arm_solids(grip, way, size, solid, bench, rules, part, mask)
                if into:
                    continue
                n = add_set(sets[k, now], n, mask)
                if nobody(mask):
                    first[k, 0], first[k, 1], first[k, 2] = tier[a], axes[a, 0], axes[a, 1]
                    first[k, 3], first[k, 4] = turns[q], axes[a, 2]
                    first[k, 5] = min(slack, space[q])
                    break
        while now < tiers:
            count[k, now] = n
            if now + 1 < tiers:
                for i in range(n):
                    copied(sets[k, now, i], sets[k, now + 1, i])
            now += 1
        if climb and first[k, 0] < 0 and rules[2].shape[0] == 0:
            hot = nearest_first(tip, hot, bench[0])
            some = (
                rows(bench[0], hot), groups(bench[1], hot),
                rows(bench[2], solid), rows(bench[3], solid), groups(bench[4], solid), bench[5],
            )  # fmt: skip
            at = (points[k], along[k], bisector[k])
            search(at, arc, (axes, tier, turns), size, some, rules, slacks, first[k])
            for t in range(tiers):
                if 0 <= first[k, 0] <= t:
                    sets[k, t, 0] = 0
                    count[k, t] = 1


@inlined
def straight(start, way, length, radius, end_radius, hot, solid, bench, rules, part, mask):
    """What a rod with a ball at its end runs into goes to `mask`; False where that is what is welded."""
    balls, group, solids, bounds, sgroup, corners = bench
    ask, host = rules[0], rules[1]
    end = on(start, way, length)
    if not rod_in_bores(start, way, length, radius, radius, rules):
        return False
    if rules[2].shape[0] and end_radius > 0 and not in_bores(end, end_radius, rules):
        return False
    for i in hot:
        thick = balls[i, 3] + ask[group[i]]
        hit = to_segment(balls[i], start, way, length) < thick + radius
        if hit or (end_radius > 0 and to_segment(balls[i], end, way, 0.0) < thick + end_radius):
            if host[group[i]]:
                return False
            put(mask, group[i])
    for i in solid:
        asked = ask[sgroup[i]]
        hit = False
        if to_segment(bounds[i], start, way, length) < bounds[i, 3] + asked + radius:
            rod_row(part, start, way, length, 0.0, 0.0, radius)
            hit = gap(part, solids[i], corners, asked) < asked
        if (
            not hit
            and end_radius > 0
            and to_segment(bounds[i], end, way, 0.0) < bounds[i, 3] + asked + end_radius
        ):
            rod_row(part, end, way, 0.0, 0.0, 0.0, end_radius)
            hit = gap(part, solids[i], corners, asked) < asked
        if hit:
            if host[sgroup[i]]:
                return False
            put(mask, sgroup[i])
    return True


@kernel(
    f"void(f8[:, ::1], f8[:, ::1], f8[:, ::1], f8, f8[:, ::1], f8, f8, f8, f8, {BENCH}, {RULES}, u8[:, :, ::1], i8[::1])"
)
def rod_masks(
    points, along, bisector, lift, ways, radius, off, length, end_radius, bench, rules, sets, count
):
    """The least sets that block a straight thing from the weld outwards: a filler rod with its hand, or sight.

    ways : (w, 3) directions in (along, across, bisector).  It begins `off` mm along its way from the point
    `lift` mm above the weld and ends in a ball of `end_radius` (0: none).
    sets : (places, CAPACITY, words), count : (places,): written.
    """
    mask, part = np.zeros(sets.shape[2], np.uint64), np.zeros(16)
    reach = off + length + max(end_radius, radius)
    for k in range(points.shape[0]):
        across = across_of(along[k], bisector[k])
        at = on(points[k], bisector[k], lift)
        hot = near(at, reach, bench[0], bench[1], rules[0])
        solid = near(at, reach, bench[3], bench[4], rules[0])
        n = 0
        for w in range(ways.shape[0]):
            way = np.empty(3)
            for c in range(3):
                way[c] = ways[w, 0] * along[k, c] + ways[w, 1] * across[c] + ways[w, 2] * bisector[k, c]
            mask[:] = 0
            if straight(
                on(at, way, off), way, length, radius, end_radius, hot, solid, bench, rules, part, mask
            ):
                n = add_set(sets[k], n, mask)
                if nobody(mask):
                    break
        count[k] = n
