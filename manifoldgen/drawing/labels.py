"""Labels round a picture: each at a free place near what it names, with a thin line to it.

A joint's label is a balloon (round ends), a piece's a box, a place's plain words.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Literal

import numpy as np

from manifoldgen.drawing.extent import Extent
from manifoldgen.drawing.figure import FINE, PLAIN, Circle, EdgeLine, Figure, Item, Point, Text, box, line
from manifoldgen.drawing.lettering import text_width
from manifoldgen.geometry.vectors import Array, array

Shape = Literal["balloon", "box", "words"]

SIZE = 2.3  # mm, capitals
_PAD = 1.0
_BESIDE = 3.0  # mm: words this near to what they name need no line to it
_STRUCK = 2000.0  # what a line through a label costs; on other labels 1e4, a place of the drawing 40
_TURNS = 24  # directions that are tried
_FAR = tuple(np.arange(3.0, 42.0, 3.0))  # mm beyond what is named


@dataclass(frozen=True)
class Label:
    """What stands there, what it names (mm on paper), and how far that reaches round its place."""

    text: str
    at: Point
    shape: Shape
    reach: float = 0.0

    @property
    def size(self) -> tuple[float, float]:
        """Width and height, mm."""
        high = SIZE + 2 * _PAD
        wide = text_width(self.text, SIZE, bold=True) + 2 * _PAD
        return (wide + (0.6 * high if self.shape == "balloon" else 0.0), high)


def placed(
    labels: Sequence[Label], covered: Array, radius: float, room: Extent, taken: Sequence[Extent] = ()
) -> Figure:
    """All labels at their best free places.

    Parameters
    ----------
    covered : points that the drawing covers (n, 2), discs of `radius` round them.  room : labels stay inside.
    taken : boxes that are kept free.
    """
    found = _Sheet(covered, radius, room, list(taken))
    items: list[Item] = []
    leaders: list[Item] = []
    for label in sorted(labels, key=lambda a: (a.shape != "words", -_crowd(a, labels))):
        at = found.best(label)
        found.boxes.append(_box(label, at))
        found.lines.append((label.at, at))
        if label.shape != "words" or math.dist(label.at, _edge(label, at)) > label.reach + _BESIDE:
            leaders += [line(label.at, _edge(label, at), FINE), Circle(label.at, 0.45, None, fill=0.0)]
        items += _drawn(label, at)
    return Figure((*leaders, *items))


def _crowd(label: Label, labels: Sequence[Label]) -> float:
    """How many others are near: the crowded ones choose first."""
    return math.fsum(1.0 / (5.0 + math.dist(label.at, other.at)) for other in labels)


@dataclass
class _Sheet:
    """What the drawing and the labels so far take."""

    covered: Array
    radius: float
    room: Extent
    boxes: list[Extent] = field(default_factory=list)
    lines: list[tuple[Point, Point]] = field(default_factory=list)

    def best(self, label: Label) -> Point:
        """Where a label stands best: near, on free paper, its line crossing nothing."""
        wide, high = label.size
        best: tuple[float, Point] = (math.inf, label.at)
        for far in _FAR:
            for k in range(_TURNS):
                turn = 2 * math.pi * k / _TURNS
                c, s = math.cos(turn), math.sin(turn)
                out = (
                    label.reach
                    + (far - 2.2 if label.shape == "words" else far)
                    + abs(c) * wide / 2
                    + abs(s) * high / 2
                )
                at = (label.at[0] + out * c, label.at[1] + out * s)
                cost = far + self.cost(label, at)
                if cost < best[0] - 1e-9:
                    best = (cost, at)
            if best[0] < far + 3.0:  # nothing further out can be better
                break
        return best[1]

    def cost(self, label: Label, at: Point) -> float:
        """How bad a place is: off the paper, on other labels, on the drawing, its line through something."""
        mine, lead = _box(label, at), (label.at, at)
        r = self.room
        cost = 1e6 * max(r.left - mine.left, mine.right - r.right, r.low - mine.low, mine.high - r.high, 0.0)
        around = Extent(mine.left - 0.8, mine.low - 0.8, mine.right + 0.8, mine.high + 0.8)
        cost += 1e4 * sum(around.meets(b) for b in self.boxes)
        x, y = self.covered[:, 0], self.covered[:, 1]
        dx = np.maximum(np.maximum(mine.left - x, x - mine.right), 0.0)
        dy = np.maximum(np.maximum(mine.low - y, y - mine.high), 0.0)
        cost += 40.0 * float((np.hypot(dx, dy) < self.radius + 0.5).sum())
        cost += 300.0 * sum(_cross(lead, other) for other in self.lines)
        cost += _STRUCK * sum(_through(lead, b) for b in self.boxes)
        cost += _STRUCK * sum(_through(other, mine) for other in self.lines)
        return cost + 8.0 * self._over(label, at)

    def _over(self, label: Label, at: Point) -> int:
        """Places of the line that lie on the drawing, but for what it names."""
        t = np.linspace(0.0, 1.0, 9)[:, None]
        steps = array(label.at) + t * (array(at) - array(label.at))
        steps = steps[np.hypot(*(steps - array(label.at)).T) > label.reach + 1.0]
        gaps = np.hypot(
            steps[:, None, 0] - self.covered[None, :, 0], steps[:, None, 1] - self.covered[None, :, 1]
        )
        return int((gaps.min(axis=1, initial=math.inf) < self.radius).sum())


def _box(label: Label, at: Point) -> Extent:
    wide, high = label.size
    return Extent(at[0] - wide / 2, at[1] - high / 2, at[0] + wide / 2, at[1] + high / 2)


def _edge(label: Label, at: Point) -> Point:
    """Where the line from what is named meets the label's box."""
    dx, dy = label.at[0] - at[0], label.at[1] - at[1]
    wide, high = label.size
    share = min(wide / 2 / abs(dx) if dx else math.inf, high / 2 / abs(dy) if dy else math.inf, 1.0)
    return (at[0] + share * dx, at[1] + share * dy)


def _cross(a: tuple[Point, Point], b: tuple[Point, Point]) -> bool:
    def side(p: Point, q: Point, r: Point) -> float:
        return (q[0] - p[0]) * (r[1] - p[1]) - (q[1] - p[1]) * (r[0] - p[0])

    one = side(*a, b[0]) * side(*a, b[1])
    two = side(*b, a[0]) * side(*b, a[1])
    return one < 0 and two < 0


def _through(a: tuple[Point, Point], b: Extent) -> bool:
    """Whether a line runs through a box (looked at in steps)."""
    (x0, y0), (x1, y1) = a
    for k in range(1, 40):
        x, y = x0 + (x1 - x0) * k / 40, y0 + (y1 - y0) * k / 40
        if b.left <= x <= b.right and b.low <= y <= b.high:
            return True
    return False


def _drawn(label: Label, at: Point) -> list[Item]:
    wide, high = label.size
    x, y = at[0] - wide / 2, at[1] - high / 2
    words = Text((at[0], at[1] - SIZE / 2), label.text, SIZE, "middle", bold=label.shape != "words")
    if label.shape == "words":
        return [words]
    if label.shape == "box":
        return [box(x, y, wide, high, pen=PLAIN, fill=1.0), words]
    r = high / 2
    ends = ((x + r, y, 0.0), (x + wide - r, y, 1.0), (x + wide - r, y + high, 0.0), (x + r, y + high, 1.0))
    return [EdgeLine(ends, pen=PLAIN, fill=1.0), words]
