"""A plane outline cut into convex parts: ears off, then parts joined again while they stay convex."""

from __future__ import annotations

from collections.abc import Sequence

Point = tuple[float, float]

_FLAT = 1e-9  # mm²: a corner that turns less than this is straight


def convex_parts(ring: Sequence[Point]) -> list[list[Point]]:
    """Convex parts of a simple polygon given counter-clockwise; the polygon itself where it is convex."""
    points = [(float(x), float(y)) for x, y in ring]
    if _convex(points):
        return [points]
    parts: list[list[int]] = [list(t) for t in _ears(points)]
    joined = True
    while joined:
        joined = _join_once(parts, points)
    return [[points[i] for i in part] for part in parts]


def _turn(a: Point, b: Point, c: Point) -> float:
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])


def _convex(points: Sequence[Point]) -> bool:
    n = len(points)
    return all(_turn(points[i - 1], points[i], points[(i + 1) % n]) >= -_FLAT for i in range(n))


def _ears(points: Sequence[Point]) -> list[tuple[int, int, int]]:
    """Triangles of a simple polygon, by cutting off one ear after another."""
    left = list(range(len(points)))
    found: list[tuple[int, int, int]] = []
    while len(left) > 3:
        ear = next((k for k in range(len(left)) if _is_ear(left, k, points)), None)
        if ear is None:  # only straight corners are left: any of them may go
            ear = min(range(len(left)), key=lambda k: abs(_turn(*(points[i] for i in _three(left, k)))))
        else:
            found.append(_three(left, ear))
        del left[ear]
    return [*found, (left[0], left[1], left[2])]


def _three(left: Sequence[int], k: int) -> tuple[int, int, int]:
    return left[k - 1], left[k], left[(k + 1) % len(left)]


def _is_ear(left: Sequence[int], k: int, points: Sequence[Point]) -> bool:
    i, j, m = _three(left, k)
    a, b, c = points[i], points[j], points[m]
    if _turn(a, b, c) <= _FLAT:
        return False
    others = (points[p] for p in left if p not in {i, j, m})
    return not any(_turn(a, b, p) >= 0 and _turn(b, c, p) >= 0 and _turn(c, a, p) >= 0 for p in others)


def _join_once(parts: list[list[int]], points: Sequence[Point]) -> bool:
    for x in range(len(parts)):
        for y in range(x + 1, len(parts)):
            whole = _joined(parts[x], parts[y])
            if whole is not None and _convex([points[i] for i in whole]):
                parts[x] = whole
                del parts[y]
                return True
    return False


def _joined(a: list[int], b: list[int]) -> list[int] | None:
    """Two counter-clockwise rings joined over an edge they share; None where they share none."""
    for k, start in enumerate(a):
        end = a[(k + 1) % len(a)]
        if start in b and b[b.index(start) - 1] == end:
            at = b.index(start)
            return a[: k + 1] + (b[at + 1 :] + b[:at])[:-1] + a[k + 1 :]
    return None
