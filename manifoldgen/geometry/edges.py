"""The straight and round edges of a plane outline: their extent, nearest points and distance to each other.

All answers are closed forms; lengths mm, angles in radians (they never leave the geometry).
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

Point = tuple[float, float]

TURN = 2 * math.pi


@dataclass(frozen=True)
class LineEdge:
    """A straight edge from `start` to `end`."""

    start: Point
    end: Point

    @property
    def length(self) -> float:
        """Its length, mm."""
        return math.dist(self.start, self.end)

    @property
    def extremes(self) -> Iterator[Point]:
        """Points whose bounding box is the edge's."""
        yield self.start
        yield self.end

    def point(self, t: float) -> Point:
        """Point at t = 0 … 1 along it."""
        return (
            self.start[0] + t * (self.end[0] - self.start[0]),
            self.start[1] + t * (self.end[1] - self.start[1]),
        )

    def distance(self, p: Point) -> float:
        """Distance of a point to the edge, mm."""
        ux, uy = self.end[0] - self.start[0], self.end[1] - self.start[1]
        square = ux * ux + uy * uy
        if square == 0:
            return math.dist(self.start, p)
        t = ((p[0] - self.start[0]) * ux + (p[1] - self.start[1]) * uy) / square
        return math.dist(self.point(min(max(t, 0.0), 1.0)), p)


@dataclass(frozen=True)
class ArcEdge:
    """A round edge from `start` to `end` about `centre`.

    radius : mm.  first : direction centre → start, radians.  sweep : radians, positive counter-clockwise.
    """

    start: Point
    end: Point
    centre: Point
    radius: float
    first: float
    sweep: float

    @classmethod
    def bulged(cls, start: Point, end: Point, bulge: float) -> ArcEdge:
        """The arc between two points with this bulge (tangent of a quarter of its angle)."""
        dx, dy = end[0] - start[0], end[1] - start[1]
        lift = (1 / bulge - bulge) / 4  # centre's distance from the chord, in chords, to the left
        centre = ((start[0] + end[0]) / 2 - lift * dy, (start[1] + end[1]) / 2 + lift * dx)
        radius = math.hypot(dx, dy) * (abs(bulge) + 1 / abs(bulge)) / 4
        first = math.atan2(start[1] - centre[1], start[0] - centre[0])
        return cls(start, end, centre, radius, first, 4 * math.atan(bulge))

    @property
    def length(self) -> float:
        """Its length, mm."""
        return self.radius * abs(self.sweep)

    @property
    def extremes(self) -> Iterator[Point]:
        """Points whose bounding box is the edge's."""
        yield self.start
        yield self.end
        for k, (x, y) in enumerate(((1, 0), (0, 1), (-1, 0), (0, -1))):
            if self.spans(k * math.pi / 2):
                yield (self.centre[0] + self.radius * x, self.centre[1] + self.radius * y)

    def spans(self, direction: float) -> bool:
        """Whether the arc passes the direction (radians, seen from its centre)."""
        turned = (direction - self.first) % TURN if self.sweep > 0 else (self.first - direction) % TURN
        return turned <= abs(self.sweep) or turned >= TURN - 1e-12

    def point(self, t: float) -> Point:
        """Point at t = 0 … 1 along it."""
        return self.towards(self.first + t * self.sweep)

    def towards(self, direction: float) -> Point:
        """Point of the full circle in a direction (radians) from the centre."""
        return (
            self.centre[0] + self.radius * math.cos(direction),
            self.centre[1] + self.radius * math.sin(direction),
        )

    def distance(self, p: Point) -> float:
        """Distance of a point to the edge, mm."""
        dx, dy = p[0] - self.centre[0], p[1] - self.centre[1]
        if self.spans(math.atan2(dy, dx)):
            return abs(math.hypot(dx, dy) - self.radius)
        return min(math.dist(p, self.start), math.dist(p, self.end))


Edge = LineEdge | ArcEdge


def edge_gap(a: Edge, b: Edge) -> float:
    """Least distance between two edges, mm; 0 where they cross or touch."""
    ends = (a.distance(b.start), a.distance(b.end), b.distance(a.start), b.distance(a.end))
    if isinstance(a, LineEdge) and isinstance(b, LineEdge):
        return 0.0 if _lines_cross(a, b) else min(ends)
    if isinstance(a, ArcEdge) and isinstance(b, ArcEdge):
        return min((*ends, *_between_arcs(a, b)))
    line, arc = (a, b) if isinstance(a, LineEdge) else (b, a)
    assert isinstance(line, LineEdge)  # noqa: S101 - the two cases of equal kinds are done
    assert isinstance(arc, ArcEdge)  # noqa: S101
    return min((*ends, *_line_to_arc(line, arc)))


def _lines_cross(a: LineEdge, b: LineEdge) -> bool:
    def side(e: LineEdge, p: Point) -> float:
        return (e.end[0] - e.start[0]) * (p[1] - e.start[1]) - (e.end[1] - e.start[1]) * (p[0] - e.start[0])

    return side(a, b.start) * side(a, b.end) < 0 and side(b, a.start) * side(b, a.end) < 0


def _line_to_arc(line: LineEdge, arc: ArcEdge) -> Iterator[float]:
    length = line.length
    if length == 0:
        return
    ux, uy = (line.end[0] - line.start[0]) / length, (line.end[1] - line.start[1]) / length
    cx, cy = arc.centre[0] - line.start[0], arc.centre[1] - line.start[1]
    along, off = cx * ux + cy * uy, cy * ux - cx * uy  # off > 0: the centre lies left of the line
    if 0 <= along <= length:
        for sign in (1, -1):
            if arc.spans(math.atan2(-sign * ux, sign * uy)):  # the normal from the centre, right then left
                yield abs(off - sign * arc.radius)
    if abs(off) < arc.radius:
        half = math.sqrt(arc.radius**2 - off**2)
        for t in (along - half, along + half):
            p = (line.start[0] + t * ux, line.start[1] + t * uy)
            if 0 <= t <= length and arc.spans(math.atan2(p[1] - arc.centre[1], p[0] - arc.centre[0])):
                yield 0.0


def _between_arcs(a: ArcEdge, b: ArcEdge) -> Iterator[float]:
    dx, dy = b.centre[0] - a.centre[0], b.centre[1] - a.centre[1]
    apart = math.hypot(dx, dy)
    if apart == 0:  # about one centre: the ends tell everything
        return
    towards = math.atan2(dy, dx)
    for u in (0.0, math.pi):
        for v in (0.0, math.pi):
            if a.spans(towards + u) and b.spans(towards + v):
                yield math.dist(a.towards(towards + u), b.towards(towards + v))
    if abs(a.radius - b.radius) < apart < a.radius + b.radius:
        opening = math.acos((apart**2 + a.radius**2 - b.radius**2) / (2 * apart * a.radius))
        for turn in (towards + opening, towards - opening):
            p = a.towards(turn)
            if a.spans(turn) and b.spans(math.atan2(p[1] - b.centre[1], p[0] - b.centre[0])):
                yield 0.0
