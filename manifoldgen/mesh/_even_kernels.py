# mypy: ignore-errors
# ruff: noqa: ANN001, ANN202, PLR0917, C901, PLR0911, PLR0912 - plain numbers are fastest, and one pass is one function
"""What `even` does over and over: all long edges split, short ones taken out, edges turned, corners moved; compiled.

The arrays are those of `_even_surface`. The surface that corners are drawn back to, and its creases, are two trees of
`geometry._mesh_kernels`, each with the edge length wanted at its triangles.
"""

from __future__ import annotations

import math

import numpy as np
from numba import njit

from manifoldgen.geometry._mesh_kernels import point
from manifoldgen.mesh._even_surface import (
    MOST,
    facing,
    joined,
    place,
    quality,
    ring,
    sides_of,
    span,
    split,
    take_out,
    turn,
)

LONG, SHORT = 4.0 / 3.0, 4.0 / 5.0  # of the wanted edge length: split over, taken out under
FAR = 1e30
FACING = 0.2  # least cosine between a triangle and the face it is part of
GOOD = 0.3  # quality that taking out an edge must leave, or nine tenths of the worst that was
KEPT = 0.4  # quality that moving a corner must leave, or the worst that was
NEEDLE = 0.1  # quality under which a triangle is one, and its edges may stay as long as they were
CRUMB = 0.02  # mm: an edge shorter than this goes even where creases meet
FLAT = 1e-3  # quality under which a triangle's way is unknown


@njit(cache=True)
def fits(points, a, b, c, towards, least, work):
    """Whether a triangle is good enough and looks the way its face does."""
    if quality(points, a, b, c, work) < least:
        return False
    length = math.sqrt(work[0] ** 2 + work[1] ** 2 + work[2] ** 2)
    way = math.sqrt(towards[0] ** 2 + towards[1] ** 2 + towards[2] ** 2)
    along = work[0] * towards[0] + work[1] * towards[1] + work[2] * towards[2]
    return along > FACING * length * way


@njit(cache=True)
def drawn(points, size, kind, v, x, y, z, surface, sizes, lines, line_sizes):
    """Move a corner to the nearest place of the surface, or of the creases, and read its size there."""
    if kind[v] == 0:
        _, px, py, pz, at = point(surface[0], surface[1], surface[2], x, y, z, FAR)
        size[v] = sizes[at]
    else:
        _, px, py, pz, at = point(lines[0], lines[1], lines[2], x, y, z, FAR)
        size[v] = line_sizes[at]
    points[v, 0], points[v, 1], points[v, 2] = px, py, pz


@njit(cache=True)
def split_long(
    points, size, kind, triangles, beside, crease, patch, spoke, used, surface, sizes, lines, line_sizes
):
    """Halve the longest edge of every triangle that has one too long; how many were."""
    done = 0
    v, r = used[0], used[1]
    for t in range(used[1]):
        if triangles[t, 0] < 0:
            continue
        k, most = 0, -1.0
        for i in range(3):
            length = span(points, triangles[t, i], triangles[t, (i + 1) % 3])
            if length > most:
                k, most = i, length
        a, b = triangles[t, k], triangles[t, (k + 1) % 3]
        if most <= LONG * min(size[a], size[b]):
            continue
        if v + 1 > len(points) or r + 2 > len(triangles):
            break
        split(points, size, kind, triangles, beside, crease, patch, spoke, t, k, v, r)
        x, y, z = points[v]
        drawn(points, size, kind, v, x, y, z, surface, sizes, lines, line_sizes)
        v += 1
        r += 2
        done += 1
    used[0], used[1] = v, r
    return done


@njit(cache=True)
def flip_better(points, triangles, beside, crease, patch, spoke, used):
    """Turn the edge of two triangles where the worse of them becomes better; how many were."""
    done = 0
    work, towards, about = np.empty(3), np.empty(3), np.empty(MOST, np.int64)
    for t in range(used[1]):
        if triangles[t, 0] < 0:
            continue
        for k in range(3):
            if crease[t, k]:
                continue
            a, b, c = triangles[t, k], triangles[t, (k + 1) % 3], triangles[t, (k + 2) % 3]
            u = beside[t, k]
            if u < t:  # seen from there
                continue
            j = place(triangles, u, b)
            d = triangles[u, (j + 2) % 3]
            before = min(quality(points, a, b, c, work), quality(points, b, a, d, work))
            after = min(quality(points, a, d, c, work), quality(points, d, b, c, work))
            if c == d or after <= before * 1.0001 + 1e-9:
                continue
            n = ring(triangles, beside, t, c, about)
            if n < 3 or n > MOST - 2 or joined(triangles, about, n, c, d):
                continue
            towards[:] = 0.0
            for v in (a, b):
                n = ring(triangles, beside, t, v, about)
                facing(points, triangles, patch, about, n, patch[t], towards, work)
            if n < 4 or ring(triangles, beside, t, a, about) < 4:
                continue
            if not (fits(points, a, d, c, towards, 0.0, work) and fits(points, d, b, c, towards, 0.0, work)):
                continue
            turn(triangles, beside, crease, spoke, t, k)
            done += 1
            break
    return done


@njit(cache=True)
def collapse_short(points, size, kind, triangles, beside, crease, patch, spoke, used, share):
    """Take out edges shorter than `share` of the wanted length where nothing gets worse for it; how many were."""
    done = 0
    near, far = np.empty(MOST, np.int64), np.empty(MOST, np.int64)
    for t in range(used[1]):
        for k in range(3):
            if triangles[t, 0] < 0:
                break
            a, b = triangles[t, k], triangles[t, (k + 1) % 3]
            length = span(points, a, b)
            if length >= share * min(size[a], size[b]):
                continue
            s, e = t, k
            for _ in range(2):  # the end into the start, or the start into the end
                n = may_go(
                    points, size, kind, triangles, beside, crease, patch, s, e, length < CRUMB, near, far
                )
                if n > 0:
                    take_out(kind, triangles, beside, crease, spoke, s, e, near, n)
                    done += 1
                    break
                s, e = beside[t, k], place(triangles, beside[t, k], b)
    return done


@njit(cache=True)
def may_go(points, size, kind, triangles, beside, crease, patch, t, k, crumb, near, far):
    """Whether the end of edge k of triangle t may be drawn into its start: how many triangles are about it, or 0.

    crumb : the edge is so short that creases may join for it.  near, far : filled with the triangles about end and start.
    """
    a, b, c, d, u, j = sides_of(triangles, beside, t, k)
    fbc, fca = crease[t, (k + 1) % 3], crease[t, (k + 2) % 3]
    fad, fdb = crease[u, (j + 1) % 3], crease[u, (j + 2) % 3]
    if (fbc and fca) or (fad and fdb) or c == d:
        return 0
    if kind[b] > 0 and not crumb and (kind[b] == 2 or not crease[t, k] or fbc or fdb):
        return 0
    if kind[b] > 0 and crumb and not crease[t, k] and kind[a] == 0:
        return 0
    # each of the two across the edge loses a triangle, and no other corner may be joined to both ends
    if min(ring(triangles, beside, t, c, near), ring(triangles, beside, u, d, near)) < 4:
        return 0
    n, w = ring(triangles, beside, t, b, near), ring(triangles, beside, t, a, far)
    if n < 3 or w < 3:
        return 0
    shared = 0
    for i in range(n):
        v = triangles[near[i], (place(triangles, near[i], b) + 1) % 3]
        if v != a and joined(triangles, far, w, a, v):
            shared += 1
    if shared != 2:
        return 0
    work, towards = np.empty(3), np.empty(3)
    worst, longest = 1.0, 0.0
    for i in range(n):
        p, q, r = triangles[near[i]]
        worst = min(worst, quality(points, p, q, r, work))
        longest = max(longest, span(points, p, q), span(points, q, r), span(points, r, p))
    longest = max(longest, LONG * size[a]) if worst < NEEDLE else LONG * size[a]
    least, last = min(0.9 * worst, GOOD), -1
    for i in range(n):
        s = near[i]
        if s in (t, u):
            continue
        e = place(triangles, s, b)
        p, q = triangles[s, (e + 1) % 3], triangles[s, (e + 2) % 3]
        if max(span(points, a, p), span(points, a, q)) > longest:
            return 0
        if patch[s] != last:
            last = patch[s]
            towards[:] = 0.0
            facing(points, triangles, patch, near, n, last, towards, work)
            facing(points, triangles, patch, far, w, last, towards, work)
        flat = crumb and quality(points, a, p, q, work) < FLAT
        if not flat and not fits(points, a, p, q, towards, least, work):
            return 0
    return n


@njit(cache=True)
def smooth(
    points, size, kind, triangles, beside, crease, patch, spoke, used, surface, sizes, lines, line_sizes
):
    """Move every corner towards the middle of its neighbours and back to the surface, where no triangle suffers."""
    about, work, was, ways = np.empty(MOST, np.int64), np.empty(3), np.empty(3), np.empty((MOST, 3))
    moved = 0
    for v in range(used[0]):
        if spoke[v] < 0 or kind[v] == 2:
            continue
        n = ring(triangles, beside, spoke[v], v, about)
        if n < 3:
            continue
        x, y, z, weight, worst = 0.0, 0.0, 0.0, 0.0, 1.0
        for i in range(n):
            t = about[i]
            e = place(triangles, t, v)
            worst = min(worst, quality(points, triangles[t, 0], triangles[t, 1], triangles[t, 2], work))
            if kind[v] == 0 or crease[t, e]:
                w = triangles[t, (e + 1) % 3]
                x += points[w, 0]
                y += points[w, 1]
                z += points[w, 2]
                weight += 1.0
        if weight == 0.0 or (kind[v] == 1 and weight != 2.0):
            continue
        was[:] = points[v]
        before = size[v]
        for i in range(n):
            if i > 0 and patch[about[i]] == patch[about[i - 1]]:
                ways[i] = ways[i - 1]
                continue
            ways[i] = 0.0
            facing(points, triangles, patch, about, n, patch[about[i]], ways[i], work)
        drawn(points, size, kind, v, x / weight, y / weight, z / weight, surface, sizes, lines, line_sizes)
        least = min(worst, KEPT)
        good = True
        for i in range(n):
            t = about[i]
            a, b, c = triangles[t, 0], triangles[t, 1], triangles[t, 2]
            new = quality(points, a, b, c, work)
            if new < least or not fits(points, a, b, c, ways[i], 0.0, work):
                good = False
                break
        if good:
            moved += 1
        else:
            points[v] = was
            size[v] = before
    return moved
