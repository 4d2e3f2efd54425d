"""The marks on a plate: port numbers, TOP, and ticks at the four quarters of every gas passage.

The ticks are where the first bend's roll is read from: the one towards the flange's own +y is the long one.
Everything stands on metal that stays: clear of cuts, holes, the edge and the tube's own ring.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence

from manifoldgen.drawing.figure import FINE, Figure, line
from manifoldgen.drawing.strokes import stroke_width, strokes
from manifoldgen.geometry import contour
from manifoldgen.geometry.contour import Contour
from manifoldgen.geometry.edges import LineEdge, Point
from manifoldgen.shop.cut_plates import CutPlate, PlateOpening

SIZES = (6.0, 5.0, 4.0, 3.0)  # mm, capitals: the largest that finds room
CLEAR = 1.0  # mm between a mark and anything cut
TICK, LONG_TICK = 2.5, 5.0  # mm
TOP = "TOP"

Places = Callable[[float], Iterator[Point]]  # where a text of this size might stand, the best first

LAYER = "ETCH"
_AROUND = 36  # directions that are tried round a passage
_STEP = 4.0  # mm, grid on which TOP looks for room


def etched(plate: CutPlate) -> Figure:
    """All marks, on layer ETCH; what finds no room is left out."""
    return _marks(plate)[0]


def unmarked(plate: CutPlate) -> tuple[str, ...]:
    """Marks that find no room on the plate."""
    return _marks(plate)[1]


def _marks(plate: CutPlate) -> tuple[Figure, tuple[str, ...]]:
    solid = _Metal(plate)
    figure = Figure()
    missing = []
    for passage in plate.passages if plate.clocked else ():
        figure += _ticks(passage, solid)
    wanted = [(p.id, _round(plate, p)) for p in plate.passages if p.id]
    if plate.up is not None:
        wanted.append((TOP, _upwards(plate, plate.up)))
    for text, places in wanted:
        made = _placed(text, solid, places)
        figure += made
        missing += [] if made.items else [text]
    return figure, tuple(missing)


class _Metal:
    """The metal that stays, less what was already marked on it."""

    def __init__(self, plate: CutPlate) -> None:
        self.edge = plate.outline
        self.cuts = [p.foot for p in plate.passages] + [p.cut for p in plate.passages]
        self.cuts += [contour.circle(h.diameter).moved(*h.at) for h in plate.holes]
        self.marks: list[LineEdge | Contour] = []

    def takes(self, points: Sequence[Point]) -> bool:
        """Whether all points lie on bare metal with room round them."""
        return all(self._free(p) for p in points)

    def _free(self, p: Point) -> bool:
        if contour.distance(self.edge, p) > -CLEAR:
            return False
        if any(_reach(c, p) < CLEAR and contour.distance(c, p) < CLEAR for c in self.cuts):
            return False
        marks = (m.distance(p) if isinstance(m, LineEdge) else contour.distance(m, p) for m in self.marks)
        return all(off >= CLEAR for off in marks)


def _reach(c: Contour, p: Point) -> float:
    """A distance that the outline's is never below: to its box."""
    x0, y0, x1, y1 = c.bounds
    return math.hypot(max(x0 - p[0], 0.0, p[0] - x1), max(y0 - p[1], 0.0, p[1] - y1))


def _ticks(passage: PlateOpening, solid: _Metal) -> Figure:
    figure = Figure()
    for k in range(4):
        c, s = ((0, 1), (-1, 0), (0, -1), (1, 0))[k]  # +y first
        start = _leaves(passage.foot, passage.at, (c, s)) + CLEAR + 0.01
        long = LONG_TICK if k == 0 else TICK
        ends = [(passage.at[0] + r * c, passage.at[1] + r * s) for r in (start, start + long)]
        edge = LineEdge(ends[0], ends[1])
        if solid.takes([edge.point(t / 4) for t in range(5)]):
            solid.marks.append(edge)
            figure += Figure((line(ends[0], ends[1], FINE, LAYER),))
    return figure


def _leaves(c: Contour, at: Point, towards: Point) -> float:
    """How far the outline reaches from a point inside it in one direction, mm."""
    low, high = 0.0, max(math.dist(at, p) for p in contour.points(c, 1.0)) + 1.0
    while high - low > 1e-4:
        middle = (low + high) / 2
        inside = contour.contains(c, (at[0] + middle * towards[0], at[1] + middle * towards[1]))
        low, high = (middle, high) if inside else (low, middle)
    return high


def _round(plate: CutPlate, passage: PlateOpening) -> Places:
    """Places round a passage: from the upper right on, or from the middle of a plate of many passages."""
    x0, y0, x1, y1 = plate.outline.bounds
    inwards = math.atan2((y0 + y1) / 2 - passage.at[1], (x0 + x1) / 2 - passage.at[0])
    first = math.radians(45) if plate.clocked else inwards

    def places(size: float) -> Iterator[Point]:
        half = math.hypot(stroke_width(passage.id, size), size) / 2
        for k in range(_AROUND):
            turn = first + math.tau * ((k + 1) // 2) / _AROUND * (1 if k % 2 else -1)
            towards = (math.cos(turn), math.sin(turn))
            off = _leaves(passage.foot, passage.at, towards) + half + CLEAR + 0.5
            yield (passage.at[0] + off * towards[0], passage.at[1] + off * towards[1])

    return places


def _upwards(plate: CutPlate, up: Point) -> Places:
    """Places on the plate, the uppermost first, and of those the middle one."""
    x0, y0, x1, y1 = plate.outline.bounds
    columns, rows = int((x1 - x0) / _STEP), int((y1 - y0) / _STEP)
    middle = ((x0 + x1) / 2, (y0 + y1) / 2)
    grid = [(x0 + i * _STEP, y0 + j * _STEP) for i in range(1, columns + 1) for j in range(1, rows + 1)]

    def cost(p: Point) -> float:  # a step higher counts as much as four to the side
        dx, dy = p[0] - middle[0], p[1] - middle[1]
        return abs(up[0] * dy - up[1] * dx) / 4 - (up[0] * dx + up[1] * dy)

    best = sorted(grid, key=cost)

    def places(size: float) -> Iterator[Point]:
        yield from (p for p in best if contour.distance(plate.outline, p) < -size / 2 - CLEAR)

    return places


def _placed(text: str, solid: _Metal, places: Places) -> Figure:
    """The text in the largest size, at the first place where it finds room; nothing where there is none."""
    for size in SIZES:
        wide, high = stroke_width(text, size) / 2, size / 2
        for x, y in places(size):
            if solid.takes(list(_frame(x, y, wide, high))):
                corners = (
                    (x - wide, y - high),
                    (x + wide, y - high),
                    (x + wide, y + high),
                    (x - wide, y + high),
                )
                solid.marks.append(Contour(tuple((u, v, 0.0) for u, v in corners)))
                return strokes(text, (x, y), size, middle=True, layer=LAYER)
    return Figure()


def _frame(x: float, y: float, wide: float, high: float) -> Iterator[Point]:
    """The middle of a box and points round its edge, no further apart than 2 mm."""
    yield (x, y)
    across, up = max(1, math.ceil(wide)), max(1, math.ceil(high))
    for k in range(across + 1):
        u = x - wide + 2 * wide * k / across
        yield from ((u, y - high), (u, y + high))
    for k in range(up + 1):
        v = y - high + 2 * high * k / up
        yield from ((x - wide, v), (x + wide, v))
