"""What two outlines round one middle have in common: the part of the plane inside both.

Both must be seen whole from that middle (as rounds, ovals and rectangles are from theirs). The rays through
their corners and crossings part the plane into sectors; in each, the nearer outline's own edge is taken over
unchanged, so straights stay straights and arcs keep their radius.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from manifoldgen.errors import GeometryError
from manifoldgen.geometry.contour import Contour, Vertex, contains
from manifoldgen.geometry.edges import TURN, ArcEdge, Edge, LineEdge, Point

_SAME = 1e-9  # radians: rays closer than this are one


def common(a: Contour, b: Contour, middle: Point = (0.0, 0.0)) -> Contour:
    """The outline of what lies inside both; one of the two, unchanged, where it lies inside the other.

    Raises GeometryError where the middle is not inside both, or an outline is not seen whole from it.
    """
    if not (contains(a, middle) and contains(b, middle)):
        raise GeometryError(f"the point ({middle[0]:g}, {middle[1]:g}) does not lie inside both outlines")
    mine, others = list(a.edges()), list(b.edges())
    rays = _rays(mine, others, middle)
    sectors = list(zip(rays, [*rays[1:], rays[0] + TURN], strict=True))
    chosen: list[tuple[int, Edge]] = []
    for low, high in sectors:
        half = (low + high) / 2
        one, two = _seen(mine, middle, half), _seen(others, middle, half)
        chosen.append((0, one[1]) if one[0] <= two[0] + 1e-12 else (1, two[1]))
    if {side for side, _ in chosen} == {0}:
        return a
    if {side for side, _ in chosen} == {1}:
        return b
    vertices = []
    n = len(chosen)
    for k, ((low, _), (_, edge)) in enumerate(zip(sectors, chosen, strict=True)):
        if chosen[k - 1][1] is not edge:  # the edge begins here, or is taken up again
            end = next(sectors[(k + j) % n][1] for j in range(n) if chosen[(k + j + 1) % n][1] is not edge)
            vertices.append(_vertex(edge, middle, low, end))
    return Contour(tuple(vertices))


def _rays(mine: Sequence[Edge], others: Sequence[Edge], middle: Point) -> list[float]:
    """Directions from the middle to all corners and crossings, sorted, each once, 0 … one turn."""
    places = [edge.start for edge in (*mine, *others)]
    places += [p for e in mine for f in others for p in _crossings(e, f)]
    found = sorted(math.atan2(y - middle[1], x - middle[0]) % TURN for x, y in places)
    kept = [found[0]]
    for ray in found[1:]:
        if ray - kept[-1] > _SAME and kept[0] + TURN - ray > _SAME:
            kept.append(ray)
    return kept


def _seen(edges: Sequence[Edge], middle: Point, ray: float) -> tuple[float, Edge]:
    """Distance from the middle along a ray to the outline, and the edge that is met."""
    met = [(r, e) for e in edges if (r := _along(e, middle, ray)) is not None]
    if not met:
        raise GeometryError("an outline is not seen whole from its middle")
    return min(met, key=lambda found: found[0])


def _along(edge: Edge, middle: Point, ray: float) -> float | None:
    """Distance along a ray to an edge, None where the ray misses it."""
    c, s = math.cos(ray), math.sin(ray)
    if isinstance(edge, LineEdge):
        ux, uy = edge.end[0] - edge.start[0], edge.end[1] - edge.start[1]
        wx, wy = edge.start[0] - middle[0], edge.start[1] - middle[1]
        across = c * uy - s * ux
        if abs(across) < 1e-12 * edge.length:
            return None
        r, t = (wx * uy - wy * ux) / across, (wx * s - wy * c) / across
        return r if r > 0 and -1e-9 <= t <= 1 + 1e-9 else None
    wx, wy = edge.centre[0] - middle[0], edge.centre[1] - middle[1]
    along, off = wx * c + wy * s, wy * c - wx * s
    if abs(off) > edge.radius:
        return None
    half = math.sqrt(edge.radius**2 - off**2)
    hits = [r for r in (along - half, along + half) if r > 0 and _on(edge, middle, r, c, s)]
    return min(hits) if hits else None


def _on(edge: ArcEdge, middle: Point, r: float, c: float, s: float) -> bool:
    x, y = middle[0] + r * c - edge.centre[0], middle[1] + r * s - edge.centre[1]
    return _spans(edge, math.atan2(y, x))


def _spans(edge: ArcEdge, direction: float) -> bool:
    """Whether the arc passes a direction, its ends included."""
    slack = 1e-9
    turned = (direction - edge.first) % TURN if edge.sweep > 0 else (edge.first - direction) % TURN
    return turned <= abs(edge.sweep) + slack or turned >= TURN - slack


def _vertex(edge: Edge, middle: Point, low: float, high: float) -> Vertex:
    """Where an edge is met by the first ray, with the bulge of its part up to the second."""
    start = _point(edge, middle, low)
    if isinstance(edge, LineEdge):
        return (*start, 0.0)
    end = _point(edge, middle, high)
    a = math.atan2(start[1] - edge.centre[1], start[0] - edge.centre[0])
    b = math.atan2(end[1] - edge.centre[1], end[0] - edge.centre[0])
    sweep = (b - a) % TURN if edge.sweep > 0 else -((a - b) % TURN)
    return (*start, math.tan(sweep / 4))


def _point(edge: Edge, middle: Point, ray: float) -> Point:
    r = _along(edge, middle, ray)
    if r is None:  # a ray through the edge's very end
        ends = (edge.start, edge.end)
        return min(
            ends,
            key=lambda p: abs(math.remainder(math.atan2(p[1] - middle[1], p[0] - middle[0]) - ray, TURN)),
        )
    return (middle[0] + r * math.cos(ray), middle[1] + r * math.sin(ray))


def _crossings(a: Edge, b: Edge) -> Iterator[Point]:
    """Points where two edges' whole lines or circles meet; those off the edges only add rays that do no harm."""
    if isinstance(a, ArcEdge) and isinstance(b, ArcEdge):
        yield from _circles(a, b)
    elif isinstance(a, ArcEdge):
        assert isinstance(b, LineEdge)  # noqa: S101 - the other kind
        yield from _line_circle(b, a)
    elif isinstance(b, ArcEdge):
        yield from _line_circle(a, b)
    else:
        yield from _lines(a, b)


def _lines(a: LineEdge, b: LineEdge) -> Iterator[Point]:
    ux, uy = a.end[0] - a.start[0], a.end[1] - a.start[1]
    vx, vy = b.end[0] - b.start[0], b.end[1] - b.start[1]
    across = ux * vy - uy * vx
    if abs(across) > 1e-12 * a.length * b.length:
        t = ((b.start[0] - a.start[0]) * vy - (b.start[1] - a.start[1]) * vx) / across
        if -1e-9 <= t <= 1 + 1e-9:
            yield a.point(t)


def _line_circle(line: LineEdge, arc: ArcEdge) -> Iterator[Point]:
    ux, uy = (line.end[0] - line.start[0]) / line.length, (line.end[1] - line.start[1]) / line.length
    cx, cy = arc.centre[0] - line.start[0], arc.centre[1] - line.start[1]
    along, off = cx * ux + cy * uy, cy * ux - cx * uy
    if abs(off) <= arc.radius:
        half = math.sqrt(arc.radius**2 - off**2)
        for t in (along - half, along + half):
            yield (line.start[0] + t * ux, line.start[1] + t * uy)


def _circles(a: ArcEdge, b: ArcEdge) -> Iterator[Point]:
    dx, dy = b.centre[0] - a.centre[0], b.centre[1] - a.centre[1]
    apart = math.hypot(dx, dy)
    if apart > 0 and abs(a.radius - b.radius) <= apart <= a.radius + b.radius:
        opening = math.acos(
            max(-1.0, min(1.0, (apart**2 + a.radius**2 - b.radius**2) / (2 * apart * a.radius)))
        )
        for turn in (opening, -opening):
            yield a.towards(math.atan2(dy, dx) + turn)
