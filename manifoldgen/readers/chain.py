"""Loose lines joined end to end into closed loops; duplicates dropped, open ends and branches refused by place."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

from manifoldgen.errors import ManifoldgenError
from manifoldgen.geometry.contour import Vertex
from manifoldgen.geometry.edges import ArcEdge, LineEdge, Point
from manifoldgen.readers.dxf_entities import Strand

MOST_LOOPS = 500


@dataclass(frozen=True)
class Loops:
    """Closed loops, each a ring of vertices.  doubled : edges that lay on others.  joined : greatest gap closed, mm."""

    rings: tuple[tuple[Vertex, ...], ...]
    doubled: int
    joined: float


def loops(strands: Sequence[Strand], tol: float) -> Loops:
    """Join what meets within `tol` mm.

    Raises ManifoldgenError for an end that meets nothing, or a place where more than two lines meet.
    """
    closed = [s.vertices for s in strands if s.closed]
    loose = [s for s in strands if not s.closed]
    sizes = [(s, _size(s), math.dist(*_ends(s)) <= tol) for s in loose]
    closed += [s.vertices[:-1] for s, size, shut in sizes if shut and size > 4 * tol]
    loose = [s for s, size, shut in sizes if size > tol and not (shut and size > 4 * tol)]
    doubled, loose = _once(loose, tol)
    rings, joined = _chained(loose, tol)
    if len(closed) + len(rings) > MOST_LOOPS:
        raise ManifoldgenError(
            f"it holds {len(closed) + len(rings)} closed loops, at most {MOST_LOOPS}: leave only the gasket in it"
        )
    single: list[tuple[Vertex, ...]] = []
    for ring in (*closed, *rings):
        if any(_same_ring(ring, other, tol) for other in single):
            doubled += 1
        else:
            single.append(ring)
    return Loops(tuple(single), doubled, joined)


def _ends(s: Strand) -> tuple[Point, Point]:
    return s.vertices[0][:2], s.vertices[-1][:2]


def _size(s: Strand) -> float:
    """The farthest that the strand gets from its start, by its vertices and the middles of its edges."""
    return max(math.dist(s.vertices[0][:2], p) for p in _sampled(s.vertices, closed=False))


def _sampled(ring: Sequence[Vertex], *, closed: bool) -> list[Point]:
    """Vertices and the middles of all edges."""
    following = [*ring[1:], *(ring[:1] if closed else ())]
    places: list[Point] = [(x, y) for x, y, _ in ring]
    for (x, y, b), (u, v, _) in zip(ring, following, strict=False):
        if (x, y) != (u, v):
            edge = ArcEdge.bulged((x, y), (u, v), b) if b else LineEdge((x, y), (u, v))
            places.append(edge.point(0.5))
    return places


def _once(strands: Sequence[Strand], tol: float) -> tuple[int, list[Strand]]:
    """Each strand once: those with the same ends (either way round) and the same middle are one."""
    kept: dict[tuple[int, int], list[tuple[Strand, Point]]] = defaultdict(list)
    order: list[Strand] = []
    for s in strands:
        a, b = _ends(s)
        middle = _sampled(s.vertices, closed=False)
        mean = (sum(p[0] for p in middle) / len(middle), sum(p[1] for p in middle) / len(middle))
        near = [
            t for cell in _around(((a[0] + b[0]) / 2, (a[1] + b[1]) / 2), tol) for t in kept.get(cell, ())
        ]
        if any(math.dist(mean, m) <= tol and _like(_ends(t), (a, b), tol) for t, m in near):
            continue
        kept[_cell(((a[0] + b[0]) / 2, (a[1] + b[1]) / 2), tol)].append((s, mean))
        order.append(s)
    return len(strands) - len(order), order


def _like(a: tuple[Point, Point], b: tuple[Point, Point], tol: float) -> bool:
    return any(math.dist(a[0], c) <= tol and math.dist(a[1], d) <= tol for c, d in (b, b[::-1]))


def _chained(strands: Sequence[Strand], tol: float) -> tuple[list[tuple[Vertex, ...]], float]:
    ends = [(p, k, side) for k, s in enumerate(strands) for side, p in enumerate(_ends(s))]
    grid: dict[tuple[int, int], list[tuple[Point, int, int]]] = defaultdict(list)
    for end in ends:
        grid[_cell(end[0], tol)].append(end)
    mate: dict[tuple[int, int], tuple[int, int]] = {}
    joined = 0.0
    for p, k, side in ends:
        near = [
            (math.dist(p, q), j, other)
            for cell in _around(p, tol)
            for q, j, other in grid.get(cell, ())
            if (j, other) != (k, side) and math.dist(p, q) <= tol
        ]
        if not near:
            raise ManifoldgenError(_alone(p, [q for q, j, other in ends if (j, other) != (k, side)]))
        if len(near) > 1:
            raise ManifoldgenError(
                f"{len(near) + 1} lines meet at ({p[0]:.2f}, {p[1]:.2f}): an edge has two ends there; "
                "delete the line that is no edge, or put it on a layer named NOTES"
            )
        joined = max(joined, near[0][0])
        mate[k, side] = (near[0][1], near[0][2])
    rings = []
    used: set[int] = set()
    for first in range(len(strands)):
        if first in used:
            continue
        ring: list[Vertex] = []
        k, side = first, 0
        while k not in used:
            used.add(k)
            run = strands[k] if side == 0 else strands[k].turned
            ring += run.vertices[:-1]
            k, side = mate[k, 1 - side]
        rings.append(tuple(ring))
    return rings, joined


def _alone(p: Point, others: Sequence[Point]) -> str:
    told = f"a line ends alone at ({p[0]:.2f}, {p[1]:.2f})"
    if others:
        q = min(others, key=lambda o: math.dist(p, o))
        told += f", {math.dist(p, q):.2f} mm from the next end at ({q[0]:.2f}, {q[1]:.2f})"
    return f"{told}: close the outline there, or put what is no edge on a layer named NOTES"


def _same_ring(a: Sequence[Vertex], b: Sequence[Vertex], tol: float) -> bool:
    """Whether two loops lie on each other: every place of each on the other."""
    one, two = _sampled(a, closed=True), _sampled(b, closed=True)
    if any(abs(f(p[i] for p in one) - f(p[i] for p in two)) > 2 * tol for f in (min, max) for i in (0, 1)):
        return False
    return _on(one, b, tol) and _on(two, a, tol)


def _on(places: Sequence[Point], ring: Sequence[Vertex], tol: float) -> bool:
    pairs = list(zip(ring, [*ring[1:], ring[0]], strict=True))
    edges = [ArcEdge.bulged(p[:2], q[:2], p[2]) if p[2] else LineEdge(p[:2], q[:2]) for p, q in pairs]
    return all(any(e.distance(p) <= tol for e in edges) for p in places)


def _cell(p: Point, tol: float) -> tuple[int, int]:
    return (math.floor(p[0] / (2 * tol)), math.floor(p[1] / (2 * tol)))


def _around(p: Point, tol: float) -> list[tuple[int, int]]:
    x, y = _cell(p, tol)
    return [(x + i, y + j) for i in (-1, 0, 1) for j in (-1, 0, 1)]
