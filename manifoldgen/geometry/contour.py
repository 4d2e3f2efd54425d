"""Closed plane outlines of straight and round edges: openings, flange outlines, their areas and distances.

A contour is a ring of vertices (x, y, bulge); the bulge belongs to the edge that leaves the vertex and is
the tangent of a quarter of its arc's angle, positive anticlockwise (the open DXF convention).
Contours run anticlockwise.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from manifoldgen.errors import GeometryError
from manifoldgen.geometry.edges import ArcEdge, Edge, LineEdge, Point, edge_gap
from manifoldgen.geometry.hull import Circle, rounded_hull
from manifoldgen.geometry.vectors import Array

Vertex = tuple[float, float, float]

QUARTER = math.tan(math.pi / 8)  # bulge of a quarter round
_SAME = 1e-9  # mm: vertices closer than this are one


@dataclass(frozen=True)
class Contour:
    """A closed outline, counter-clockwise.  vertices : (x, y, bulge) each, mm."""

    vertices: tuple[Vertex, ...]

    def edges(self) -> Iterator[Edge]:
        """Its edges in order, straight or round, each from its vertex to the next."""
        ring = self.vertices
        for (x, y, bulge), (u, v, _) in zip(ring, ring[1:] + ring[:1], strict=True):
            yield ArcEdge.bulged((x, y), (u, v), bulge) if bulge else LineEdge((x, y), (u, v))

    @property
    def area(self) -> float:
        """Enclosed area, mm² (exact: polygon of the chords plus the circular segments)."""
        total = 0.0
        for edge in self.edges():
            total += (edge.start[0] * edge.end[1] - edge.end[0] * edge.start[1]) / 2
            if isinstance(edge, ArcEdge):
                total += edge.radius**2 * (edge.sweep - math.sin(edge.sweep)) / 2
        return total

    @property
    def length(self) -> float:
        """Length of the outline, mm."""
        return math.fsum(edge.length for edge in self.edges())

    @property
    def bounds(self) -> tuple[float, float, float, float]:
        """Least x, least y, greatest x, greatest y, mm."""
        reached = [p for edge in self.edges() for p in edge.extremes]
        xs, ys = [p[0] for p in reached], [p[1] for p in reached]
        return min(xs), min(ys), max(xs), max(ys)

    def moved(self, dx: float, dy: float) -> Contour:
        """The same outline shifted by (dx, dy) mm."""
        return Contour(tuple((x + dx, y + dy, bulge) for x, y, bulge in self.vertices))


def circle(diameter: float) -> Contour:
    """A round of this diameter about (0, 0)."""
    _positive("round", diameter=diameter)
    return Contour(tuple(rounded_hull([((0.0, 0.0), diameter / 2)])))


def oval(width: float, height: float) -> Contour:
    """Two half rounds joined by straights, `width` along x, `height` along y, about (0, 0)."""
    _positive("oval", width=width, height=height)
    r, dx, dy = min(width, height) / 2, max(width - height, 0.0) / 2, max(height - width, 0.0) / 2
    return hull([((dx, dy), r), ((-dx, -dy), r)])


def rectangle(width: float, height: float, corner: float = 0.0) -> Contour:
    """A rectangle about (0, 0), its corners rounded by radius `corner` (0: sharp)."""
    _positive("rectangle", width=width, height=height)
    if not 0 <= corner <= min(width, height) / 2 + _SAME:
        raise GeometryError(
            f"a corner radius of {corner:g} mm does not fit a rectangle of {width:g} × {height:g} mm; "
            f"take 0 to {min(width, height) / 2:g}"
        )
    dx, dy = max(width / 2 - corner, 0.0), max(height / 2 - corner, 0.0)
    return hull([((sx * dx, sy * dy), corner) for sx in (1, -1) for sy in (1, -1)])


def polygon(points: Sequence[Sequence[float]]) -> Contour:
    """A closed outline of straights through the points, in either sense; the first may be repeated last.

    Raises GeometryError for fewer than three corners or an outline that crosses or touches itself.
    """
    ring: list[Point] = []
    for p in points:
        corner = (float(p[0]), float(p[1]))
        if not ring or math.dist(corner, ring[-1]) > _SAME:
            ring.append(corner)
    if len(ring) > 1 and math.dist(ring[0], ring[-1]) <= _SAME:
        ring.pop()
    if len(ring) < 3:
        raise GeometryError(f"an outline needs at least 3 different corners, not {len(ring)}")
    _refuse_crossing(ring)
    outline = Contour(tuple((x, y, 0.0) for x, y in ring))
    if outline.area < 0:
        outline = Contour(tuple((x, y, 0.0) for x, y in reversed(ring)))
    return outline


def hull(circles: Sequence[Circle]) -> Contour:
    """The rounded convex hull of circles ((x, y), r): exact straights and arcs; r may be 0."""
    if not circles or any(not (math.isfinite(r) and r >= 0) for _, r in circles):
        raise GeometryError("a rounded outline needs circles, each with a radius of 0 mm or more")
    outline = Contour(tuple(rounded_hull(circles)))
    if not outline.area > 0:
        raise GeometryError("the circles of a rounded outline lie on one line and enclose nothing")
    return outline


def contains(contour: Contour, point: Sequence[float]) -> bool:
    """Whether the point lies inside: winding of the chords, corrected by the circular segments."""
    x, y = float(point[0]), float(point[1])
    winding = 0
    for edge in contour.edges():
        (ax, ay), (bx, by) = edge.start, edge.end
        side = (bx - ax) * (y - ay) - (by - ay) * (x - ax)  # positive: the point is left of the chord
        if ay <= y < by and side > 0:
            winding += 1
        elif by <= y < ay and side < 0:
            winding -= 1
        if isinstance(edge, ArcEdge) and math.dist((x, y), edge.centre) < edge.radius:
            # on the chord itself the point takes the side that the count above gave it
            right = side < 0 or (side == 0 and (by > ay or (by == ay and bx < ax)))
            if right == (edge.sweep > 0):
                winding += 1 if edge.sweep > 0 else -1
    return winding > 0


def distance(contour: Contour, point: Sequence[float]) -> float:
    """Distance of a point to the outline, mm; negative inside."""
    p = (float(point[0]), float(point[1]))
    off = min(edge.distance(p) for edge in contour.edges())
    return -off if contains(contour, p) else off


def gap(a: Contour, b: Contour) -> float:
    """Least distance between two outlines, mm; 0 where they cross. Also for one inside the other."""
    mine, others = list(a.edges()), list(b.edges())
    middle_a, reach_a = _balls(mine)
    middle_b, reach_b = _balls(others)
    apart = np.linalg.norm(middle_a[:, None] - middle_b[None], axis=2)
    least = (apart - reach_a[:, None] - reach_b[None]).ravel()  # no pair can be nearer than this
    best = math.inf
    for k in np.argsort(least, kind="stable"):
        if least[k] >= best:
            break
        i, j = divmod(int(k), len(others))
        best = min(best, edge_gap(mine[i], others[j]))
    return best


def points(contour: Contour, tol: float = 0.01) -> list[Point]:
    """A closed polyline (the first point not repeated) that keeps within `tol` mm of the outline.

    Its points lie on the outline.
    """
    if not tol > 0:
        raise GeometryError(f"an outline cannot be drawn to a tolerance of {tol:g} mm")
    drawn: list[Point] = []
    for edge in contour.edges():
        parts = 1
        if isinstance(edge, ArcEdge):
            step = 2 * math.acos(max(1 - tol / edge.radius, 0.0))
            parts = max(1, math.ceil(abs(edge.sweep) / step - _SAME))
        drawn += [edge.point(k / parts) if k else edge.start for k in range(parts)]
    return drawn


def _balls(edges: Sequence[Edge]) -> tuple[Array, Array]:
    """Middle and reach of every edge: each edge lies within its ball."""
    middle = np.array([e.point(0.5) for e in edges])
    reach = np.array([e.length / 2 for e in edges])
    return middle, reach


def _refuse_crossing(ring: list[Point]) -> None:
    edges = [LineEdge(a, b) for a, b in zip(ring, ring[1:] + ring[:1], strict=True)]
    n = len(edges)
    middle, reach = _balls(edges)
    for i in range(n - 1):
        apart = np.linalg.norm(middle[i + 1 :] - middle[i], axis=1) - reach[i + 1 :] - reach[i]
        for j in np.flatnonzero(apart <= _SAME) + i + 1:
            if j == i + 1 or (i == 0 and j == n - 1):  # neighbours share a corner; may not fold back
                first, second = (i, int(j)) if j == i + 1 else (int(j), i)
                bad = _folds(edges[first], edges[second])
            else:
                bad = edge_gap(edges[i], edges[j]) <= _SAME
            if bad:
                (x, y), (u, v) = ring[i], ring[j]
                raise GeometryError(
                    f"the outline crosses itself: the edge from ({x:g}, {y:g}) meets the edge from "
                    f"({u:g}, {v:g}); put the corners in order"
                )


def _folds(a: LineEdge, b: LineEdge) -> bool:
    return min(a.distance(b.end), b.distance(a.start)) <= _SAME


def _positive(what: str, **sizes: float) -> None:
    for name, value in sizes.items():
        if not (math.isfinite(value) and value > 0):
            raise GeometryError(f"{what}: {name} must be more than 0 mm, not {value:g}")
