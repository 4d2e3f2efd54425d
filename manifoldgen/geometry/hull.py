"""The rubber band round a set of circles: which circles it lies on, and where it leaves each of them.

Walks the outward normal once round: on circle i the next circle j takes over at the normal u where
``c_j · u + r_j`` overtakes ``c_i · u + r_i``, i.e. at ``arg(d) - acos((r_i - r_j) / |d|)``, d = c_j - c_i.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from manifoldgen.geometry.edges import TURN, Point

Circle = tuple[Point, float]

_SAME = 1e-9  # mm and radians: closer than this is the same circle, the same direction


def rounded_hull(circles: Sequence[Circle]) -> list[tuple[float, float, float]]:
    """Vertices (x, y, bulge), counter-clockwise, of the convex hull of circles ((x, y), r); r may be 0."""
    left = _outer(circles)
    if len(left) == 1:
        (x, y), r = left[0]
        return [(x + r, y, 1.0), (x - r, y, 1.0)]
    turns = _overtakings(left)
    vertices: list[tuple[float, float, float]] = []
    for (begin, i), (finish, _) in zip(turns, turns[1:] + turns[:1], strict=True):
        vertices += _arc(left[i], begin, (finish - begin) % TURN)
    return vertices


def _outer(circles: Sequence[Circle]) -> list[Circle]:
    """The circles that lie in no other one, big ones first."""
    kept: list[Circle] = []
    for c, r in sorted(circles, key=lambda circle: -circle[1]):
        if all(math.dist(c, k) + r > big + _SAME for k, big in kept):
            kept.append((c, r))
    return kept


def _overtakings(circles: list[Circle]) -> list[tuple[float, int]]:
    """(normal direction, circle that takes over there), once round."""
    at = 0.0
    on = max(range(len(circles)), key=lambda i: (circles[i][0][0] + circles[i][1], circles[i][0][1]))
    found: list[tuple[float, int]] = []
    while True:
        at, on = _next(circles, on, at)
        if found and on == found[0][1] and abs(math.remainder(at - found[0][0], TURN)) < _SAME:
            return found
        found.append((at, on))


def _next(circles: list[Circle], on: int, at: float) -> tuple[float, int]:
    (cx, cy), r = circles[on]
    best = (math.inf, 0.0, on)
    for j, ((x, y), other) in enumerate(circles):
        if j == on:
            continue
        apart = math.hypot(x - cx, y - cy)
        turn = (math.atan2(y - cy, x - cx) - math.acos((r - other) / apart) - at) % TURN
        if turn > TURN - _SAME:
            turn = 0.0
        # of several met at once, the farthest: the ones between lie on the straight
        if turn < best[0] - _SAME or (turn < best[0] + _SAME and apart > best[1]):
            best = (turn, apart, j)
    return at + best[0], best[2]


def _arc(circle: Circle, begin: float, sweep: float) -> list[tuple[float, float, float]]:
    (x, y), r = circle
    if r == 0 or sweep < _SAME or sweep > TURN - _SAME:
        return [(x + r * math.cos(begin), y + r * math.sin(begin), 0.0)]
    parts = 2 if sweep > math.pi else 1
    bulge = math.tan(sweep / parts / 4)
    ring = [begin + sweep * k / parts for k in range(parts + 1)]
    return [
        (x + r * math.cos(a), y + r * math.sin(a), bulge if k < parts else 0.0) for k, a in enumerate(ring)
    ]
