"""How much room a drawing takes: the box round its items, letters and line widths included."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

from manifoldgen.drawing.figure import Circle, EdgeLine, Figure, Item, Pen, Picture, Point, Text
from manifoldgen.drawing.lettering import DESCENT, text_width
from manifoldgen.geometry.edges import ArcEdge, Edge, LineEdge


@dataclass(frozen=True)
class Extent:
    """A box: its lower left and upper right corners, mm."""

    left: float
    low: float
    right: float
    high: float

    @property
    def width(self) -> float:
        """Along x, mm."""
        return self.right - self.left

    @property
    def height(self) -> float:
        """Along y, mm."""
        return self.high - self.low

    def meets(self, other: Extent) -> bool:
        """Whether the two boxes have a point in common."""
        across = self.left <= other.right and other.left <= self.right
        return across and self.low <= other.high and other.low <= self.high


def extent(figure: Figure) -> Extent:
    """The box round everything in a drawing; a single point at (0, 0) where it is empty."""
    boxes = [item_extent(item) for item in figure.items]
    if not boxes:
        return Extent(0.0, 0.0, 0.0, 0.0)
    return Extent(
        min(b.left for b in boxes),
        min(b.low for b in boxes),
        max(b.right for b in boxes),
        max(b.high for b in boxes),
    )


def item_extent(item: Item) -> Extent:
    """The box round one item."""
    if isinstance(item, EdgeLine):
        return _wider(_box(_reached(item)), item.pen)
    if isinstance(item, Circle):
        (x, y), r = item.centre, item.radius
        return _wider(Extent(x - r, y - r, x + r, y + r), item.pen)
    if isinstance(item, Text):
        return _box(_letters(item))
    if isinstance(item, Picture):
        x, y = item.at
        return Extent(x, y, x + item.width, y + item.height)
    (x, y), inner = item.at, extent(item.figure)
    return Extent(
        max(x, inner.left),
        max(y, inner.low),
        min(x + item.width, inner.right),
        min(y + item.height, inner.high),
    )


def edges(item: EdgeLine) -> list[Edge]:
    """The straight and round edges of an outline in order; of an open one without the last."""
    ring = item.vertices
    following = ring[1:] + (ring[:1] if item.closed else ())
    return [
        ArcEdge.bulged((x, y), (u, v), bulge) if bulge and (x, y) != (u, v) else LineEdge((x, y), (u, v))
        for (x, y, bulge), (u, v, _) in zip(ring, following, strict=False)
    ]


def _reached(item: EdgeLine) -> Iterable[Point]:
    yield from ((x, y) for x, y, _ in item.vertices)
    for edge in edges(item):
        yield from edge.extremes


def _letters(item: Text) -> Iterable[Point]:
    width = text_width(item.text, item.size, item.bold)
    first = -width * {"left": 0.0, "middle": 0.5, "right": 1.0}[item.anchor]
    c, s = math.cos(math.radians(item.angle)), math.sin(math.radians(item.angle))
    for u in (first, first + width):
        for v in (-DESCENT * item.size, item.size):
            yield (item.at[0] + c * u - s * v, item.at[1] + s * u + c * v)


def _box(points: Iterable[Point]) -> Extent:
    xs, ys = zip(*points, strict=True)
    return Extent(min(xs), min(ys), max(xs), max(ys))


def _wider(box: Extent, pen: Pen | None) -> Extent:
    half = pen.width / 2 if pen else 0.0
    return Extent(box.left - half, box.low - half, box.right + half, box.high + half)
