# mypy: ignore-errors
# ruff: noqa: ANN001, ANN202, PLR0917 - plain numbers are fastest
"""A closed surface as arrays: walks about its corners, and an edge of it split, turned or taken out, compiled.

Compiled for the types they are first called with. A surface is eight arrays:

    points     (v, 3)   mm
    size       (v,)     wanted edge length there, mm
    kind       (v,)     0 inside a smooth face, 1 on a crease, 2 where creases meet or end
    triangles  (t, 3)   corners; -1 in the first place: gone
    beside     (t, 3)   the triangle across edge k, which runs from corner k to the next
    crease     (t, 3)   whether that edge is a crease, which stays
    patch      (t,)     the smooth face it belongs to
    spoke      (v,)     a triangle at that corner; -1: gone
"""

from __future__ import annotations

import math

from numba import njit

MOST = 512  # triangles about a corner: the kernel lays fans over flat faces
SMOOTH = False  # an edge that is no crease


@njit(cache=True)
def place(triangles, t, v):
    """Which corner of triangle t the corner v is, and so which edge starts there."""
    if triangles[t, 0] == v:
        return 0
    return 1 if triangles[t, 1] == v else 2


@njit(cache=True)
def ring(triangles, beside, start, v, out):
    """The triangles about a corner in order; how many, -1 where they are too many."""
    n = 0
    t = start
    while True:
        if n == MOST:
            return -1
        out[n] = t
        n += 1
        t = beside[t, (place(triangles, t, v) + 2) % 3]
        if t == start:
            return n


@njit(cache=True)
def joined(triangles, about, n, v, w):
    """Whether an edge leads from v, whose ring is given, to w."""
    for i in range(n):
        t = about[i]
        if triangles[t, (place(triangles, t, v) + 1) % 3] == w:
            return True
    return False


@njit(cache=True)
def normal(points, a, b, c, out):
    """Twice the area of a triangle as a vector; returns its length."""
    ux, uy, uz = points[b, 0] - points[a, 0], points[b, 1] - points[a, 1], points[b, 2] - points[a, 2]
    vx, vy, vz = points[c, 0] - points[a, 0], points[c, 1] - points[a, 1], points[c, 2] - points[a, 2]
    out[0] = uy * vz - uz * vy
    out[1] = uz * vx - ux * vz
    out[2] = ux * vy - uy * vx
    return math.sqrt(out[0] ** 2 + out[1] ** 2 + out[2] ** 2)


@njit(cache=True)
def span(points, a, b):
    """Distance of two corners."""
    return math.sqrt(
        (points[a, 0] - points[b, 0]) ** 2
        + (points[a, 1] - points[b, 1]) ** 2
        + (points[a, 2] - points[b, 2]) ** 2
    )


@njit(cache=True)
def quality(points, a, b, c, work):
    """4 sqrt(3) area / sum of squared edges: 1 for an even triangle, 0 for a needle."""
    twice = normal(points, a, b, c, work)
    squares = span(points, a, b) ** 2 + span(points, b, c) ** 2 + span(points, c, a) ** 2
    return 2.0 * math.sqrt(3.0) * twice / squares if squares > 0.0 else 0.0


@njit(cache=True)
def facing(points, triangles, patch, about, n, which, out, work):
    """The mean normal of those triangles of a ring that lie on one smooth face, added to `out`."""
    for i in range(n):
        t = about[i]
        if patch[t] == which:
            normal(points, triangles[t, 0], triangles[t, 1], triangles[t, 2], work)
            for k in range(3):
                out[k] += work[k]


@njit(cache=True)
def relinked(triangles, beside, outer, start, new):
    """Across its edge that starts at `start`, the outer triangle now has `new`."""
    beside[outer, place(triangles, outer, start)] = new


@njit(cache=True)
def put(triangles, beside, crease, t, a, b, c, ab, bc, ca, fab, fbc, fca):
    """Write one triangle with what lies across its edges and which of them are creases."""
    triangles[t, 0], triangles[t, 1], triangles[t, 2] = a, b, c
    beside[t, 0], beside[t, 1], beside[t, 2] = ab, bc, ca
    crease[t, 0], crease[t, 1], crease[t, 2] = fab, fbc, fca


@njit(cache=True)
def sides_of(triangles, beside, t, k):
    """Edge k of triangle t from a to b, the corners c and d beside it, the triangle u across it, its edge's place j in u."""
    a, b, c = triangles[t, k], triangles[t, (k + 1) % 3], triangles[t, (k + 2) % 3]
    u = beside[t, k]
    j = place(triangles, u, b)
    return a, b, c, triangles[u, (j + 2) % 3], u, j


@njit(cache=True)
def split(points, size, kind, triangles, beside, crease, patch, spoke, t, k, m, r):
    """Put the corner m on edge k of triangle t; the new triangles are r and r + 1."""
    a, b, c, d, u, j = sides_of(triangles, beside, t, k)
    bc, ca = beside[t, (k + 1) % 3], beside[t, (k + 2) % 3]
    ad, db = beside[u, (j + 1) % 3], beside[u, (j + 2) % 3]
    f, fbc, fca = crease[t, k], crease[t, (k + 1) % 3], crease[t, (k + 2) % 3]
    fad, fdb = crease[u, (j + 1) % 3], crease[u, (j + 2) % 3]
    s = r + 1
    relinked(triangles, beside, bc, c, r)
    relinked(triangles, beside, db, b, s)
    put(triangles, beside, crease, t, a, m, c, u, r, ca, f, SMOOTH, fca)
    put(triangles, beside, crease, r, m, b, c, s, bc, t, f, fbc, SMOOTH)
    put(triangles, beside, crease, u, m, a, d, t, ad, s, f, fad, SMOOTH)
    put(triangles, beside, crease, s, b, m, d, r, u, db, f, SMOOTH, fdb)
    patch[r], patch[s] = patch[t], patch[u]
    spoke[m], spoke[a], spoke[b], spoke[c], spoke[d] = t, t, r, t, u
    kind[m] = 1 if f else 0
    size[m] = 0.5 * (size[a] + size[b])
    for i in range(3):
        points[m, i] = 0.5 * (points[a, i] + points[b, i])


@njit(cache=True)
def turn(triangles, beside, crease, spoke, t, k):
    """Turn edge k of triangle t: it then joins the two corners across it."""
    a, b, c, d, u, j = sides_of(triangles, beside, t, k)
    bc, ca = beside[t, (k + 1) % 3], beside[t, (k + 2) % 3]
    ad, db = beside[u, (j + 1) % 3], beside[u, (j + 2) % 3]
    fbc, fca = crease[t, (k + 1) % 3], crease[t, (k + 2) % 3]
    fad, fdb = crease[u, (j + 1) % 3], crease[u, (j + 2) % 3]
    relinked(triangles, beside, ad, d, t)
    relinked(triangles, beside, bc, c, u)
    put(triangles, beside, crease, t, a, d, c, ad, u, ca, fad, SMOOTH, fca)
    put(triangles, beside, crease, u, d, b, c, db, bc, t, fdb, fbc, SMOOTH)
    spoke[a], spoke[b], spoke[c], spoke[d] = t, u, t, u


@njit(cache=True)
def take_out(kind, triangles, beside, crease, spoke, t, k, about, n):
    """Draw the end of edge k of triangle t into its start; `about` are the n triangles about that end."""
    a, b, c, d, u, j = sides_of(triangles, beside, t, k)
    bc, ca = beside[t, (k + 1) % 3], beside[t, (k + 2) % 3]
    ad, db = beside[u, (j + 1) % 3], beside[u, (j + 2) % 3]
    either = crease[t, (k + 1) % 3] or crease[t, (k + 2) % 3]
    other = crease[u, (j + 1) % 3] or crease[u, (j + 2) % 3]
    at_bc, at_ca = place(triangles, bc, c), place(triangles, ca, a)
    at_ad, at_db = place(triangles, ad, d), place(triangles, db, b)
    for i in range(n):
        triangles[about[i], place(triangles, about[i], b)] = a
    beside[bc, at_bc], beside[ca, at_ca] = ca, bc
    beside[ad, at_ad], beside[db, at_db] = db, ad
    crease[bc, at_bc] = crease[ca, at_ca] = either
    crease[ad, at_ad] = crease[db, at_db] = other
    two = kind[a] > 0 and kind[b] > 0 and not crease[t, k]  # two creases become one there
    kind[a] = 2 if two else max(kind[a], kind[b])
    triangles[t, 0] = triangles[u, 0] = -1
    spoke[a], spoke[c], spoke[d], spoke[b] = bc, bc, db, -1
