"""Smooth curves as arcs that meet without a kink, within a tolerance: for ellipses and splines.

Between two points of the curve two arcs are laid that leave and arrive along it (a biarc); where the curve
strays further than the tolerance, the stretch is halved.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise

from manifoldgen.errors import GeometryError
from manifoldgen.geometry.edges import ArcEdge, Edge, LineEdge, Point

Vertex = tuple[float, float, float]
# of a parameter: the point, and the (not yet unit) direction of travel
Curve = Callable[[float], tuple[Point, Point]]

_SAMPLES = 16  # places along every stretch where the distance is measured
_DEEPEST = 14  # halvings
_STRAIGHT = 1e-7  # a bulge under this is a straight


@dataclass(frozen=True)
class Fitted:
    """Vertices (x, y, bulge) along the curve, its end included with bulge 0, and the greatest distance, mm."""

    vertices: tuple[Vertex, ...]
    deviation: float


def fit(curve: Curve, first: float, last: float, tol: float, parts: int = 4) -> Fitted:
    """Arcs along `curve` from parameter `first` to `last`, nowhere further than `tol` mm from it.

    parts : stretches to begin with; a closed curve needs 2 or more.
    Raises GeometryError where the curve has a kink or a jump that no arc follows.
    """
    vertices: list[Vertex] = []
    worst = 0.0
    marks = [first + (last - first) * k / parts for k in range(parts + 1)]
    for a, b in pairwise(marks):
        made, off = _stretch(curve, a, b, tol, 0)
        vertices += made
        worst = max(worst, off)
    end = curve(last)[0]
    return Fitted((*vertices, (*end, 0.0)), worst)


def ellipse(centre: Point, major: Point, ratio: float) -> Curve:
    """An ellipse by its centre, the way to the end of its long half axis, and short to long; parameter radians."""
    (cx, cy), (ux, uy) = centre, major
    vx, vy = -uy * ratio, ux * ratio

    def at(t: float) -> tuple[Point, Point]:
        c, s = math.cos(t), math.sin(t)
        return (cx + c * ux + s * vx, cy + c * uy + s * vy), (c * vx - s * ux, c * vy - s * uy)

    return at


def biarc(p: Point, towards: Point, q: Point, arriving: Point) -> tuple[Vertex, Vertex]:
    """Two arcs from p to q that leave along `towards` and arrive along `arriving`, as two vertices.

    The joint is chosen so that both arcs' tangents to it are equally long (closed form).
    """
    t0, t1 = _unit(towards), _unit(arriving)
    v = (q[0] - p[0], q[1] - p[1])
    along = _dot(v, (t0[0] + t1[0], t0[1] + t1[1]))
    square, turned = _dot(v, v), 2 * (1 - _dot(t0, t1))
    root = math.sqrt(along * along + turned * square)
    if square == 0 or along + root <= 0:
        raise GeometryError(f"no two arcs lead from ({p[0]:g}, {p[1]:g}) back past ({q[0]:g}, {q[1]:g})")
    d = square / (along + root)
    joint = (
        (p[0] + d * t0[0] + q[0] - d * t1[0]) / 2,
        (p[1] + d * t0[1] + q[1] - d * t1[1]) / 2,
    )
    first = _turn(t0, (joint[0] - p[0], joint[1] - p[1]))
    second = _turn((q[0] - joint[0], q[1] - joint[1]), t1)
    return (*p, _bulge(first)), (*joint, _bulge(second))


def _stretch(curve: Curve, a: float, b: float, tol: float, depth: int) -> tuple[list[Vertex], float]:
    (p, tp), (q, tq) = curve(a), curve(b)
    off = math.inf
    pair: tuple[Vertex, ...] = ()
    if math.hypot(*tp) > 0 and math.hypot(*tq) > 0:
        try:
            pair = biarc(p, tp, q, tq)
        except GeometryError:
            pair = ()
    if pair:
        edges = _edges((*pair, (*q, 0.0)))
        places = (curve(a + (b - a) * k / _SAMPLES)[0] for k in range(1, _SAMPLES))
        off = max(min(edge.distance(x) for edge in edges) for x in places)
        if off <= tol:
            return list(pair), off
    if depth >= _DEEPEST:
        raise GeometryError(f"the curve has a kink near ({p[0]:.2f}, {p[1]:.2f}) that no arc follows")
    middle = (a + b) / 2
    left, off_left = _stretch(curve, a, middle, tol, depth + 1)
    right, off_right = _stretch(curve, middle, b, tol, depth + 1)
    return left + right, max(off_left, off_right)


def _edges(vertices: tuple[Vertex, ...]) -> list[Edge]:
    return [
        ArcEdge.bulged((x, y), (u, v), bulge) if bulge else LineEdge((x, y), (u, v))
        for (x, y, bulge), (u, v, _) in pairwise(vertices)
    ]


def _bulge(turn: float) -> float:
    """Bulge of an arc whose chord leaves its tangent by `turn` radians."""
    value = math.tan(turn / 2)
    return value if abs(value) > _STRAIGHT else 0.0


def _turn(a: Point, b: Point) -> float:
    """Angle from a to b, radians, positive to the left."""
    return math.atan2(a[0] * b[1] - a[1] * b[0], _dot(a, b))


def _dot(a: Point, b: Point) -> float:
    return a[0] * b[0] + a[1] * b[1]


def _unit(v: Point) -> Point:
    size = math.hypot(*v)
    return (v[0] / size, v[1] / size)
