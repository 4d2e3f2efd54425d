"""Letters made of single lines and arcs, for a laser or a scriber to mark: no fonts, no outlines.

Every sign stands in a field 4 wide and 6 high, baseline at 0. A stroke is a run of places, each a pair of
numbers; ``(`` before a place makes the way to it a half round that turns left, ``)`` one that turns right.
"""

from __future__ import annotations

from functools import cache

from manifoldgen.drawing.figure import FINE, EdgeLine, Figure, Pen, Point
from manifoldgen.geometry.contour import Vertex

_HIGH, _STEP = 6.0, 5.5  # field units: height of a capital, from sign to sign
_HALF = {"(": 1.0, ")": -1.0}

_SIGNS = {
    "0": "4,4 (0,4 0,2 (4,2 4,4",
    "1": "0.8,4.5 2,6 2,0 | 0.8,0 3.2,0",
    "2": "0,4 )4,4 0,0 4,0",
    "3": "0,6 4,6 2,4 )2,0 0,0",
    "4": "3,0 3,6 0,2 4,2",
    "5": "4,6 0,6 0,4 2,4 )2,0 0,0",
    "6": "3,6 0,2 (4,2 (0,2",
    "7": "0,6 4,6 1.5,0",
    "8": "2,3 (2,6 (2,3 )2,0 )2,3",
    "9": "1,0 4,4 (0,4 (4,4",
    "A": "0,0 2,6 4,0 | 0.8,2.4 3.2,2.4",
    "B": "0,0 0,6 2.5,6 )2.5,3 0,3 | 2.5,3 )2.5,0 0,0",
    "C": "4,4 (0,4 0,2 (4,2",
    "D": "0,0 0,6 1,6 )1,0 0,0",
    "E": "4,0 0,0 0,6 4,6 | 0,3 3,3",
    "F": "0,0 0,6 4,6 | 0,3 3,3",
    "G": "4,4 (0,4 0,2 (4,2 4,3 2.5,3",
    "H": "0,0 0,6 | 4,0 4,6 | 0,3 4,3",
    "I": "2,0 2,6 | 1,0 3,0 | 1,6 3,6",
    "J": "4,6 4,2 )0,2",
    "K": "0,0 0,6 | 4,6 0,2.5 | 1.4,3.6 4,0",
    "L": "0,6 0,0 4,0",
    "M": "0,0 0,6 2,3 4,6 4,0",
    "N": "0,0 0,6 4,0 4,6",
    "O": "4,4 (0,4 0,2 (4,2 4,4",
    "P": "0,0 0,6 2.5,6 )2.5,3 0,3",
    "Q": "4,4 (0,4 0,2 (4,2 4,4 | 2.5,1.5 4,0",
    "R": "0,0 0,6 2.5,6 )2.5,3 0,3 | 2,3 4,0",
    "S": "4,6 1.5,6 (1.5,3 2.5,3 )2.5,0 0,0",
    "T": "2,0 2,6 | 0,6 4,6",
    "U": "0,6 0,2 (4,2 4,6",
    "V": "0,6 2,0 4,6",
    "W": "0,6 1,0 2,4 3,0 4,6",
    "X": "0,0 4,6 | 0,6 4,0",
    "Y": "0,6 2,3 4,6 | 2,3 2,0",
    "Z": "0,6 4,6 0,0 4,0",
    "-": "0.5,3 3.5,3",
    "+": "0.5,3 3.5,3 | 2,1.5 2,4.5",
    ".": "1.8,0 2.2,0",
    "/": "0,0 4,6",
}


def strokes(
    text: str, at: Point, size: float, *, middle: bool = False, pen: Pen = FINE, layer: str = "ETCH"
) -> Figure:
    """One line of signs as single lines and arcs; a sign that has none stays blank.

    at : the lower left corner, or with `middle` the middle of the line.  size : height of the capitals, mm.
    """
    scale = size / _HIGH
    x, y = at
    if middle:
        x, y = x - stroke_width(text, size) / 2, y - size / 2
    items = []
    for k, sign in enumerate(text.upper()):
        left = x + k * _STEP * scale
        items += [
            EdgeLine(
                ((left + scale * u, y + scale * v, bulge), (left + scale * p, y + scale * q, 0.0)),
                closed=False,
                pen=pen,
                layer=layer,
            )
            for (u, v, bulge), (p, q, _) in _edges(sign)
        ]
    return Figure(tuple(items))


def stroke_width(text: str, size: float) -> float:
    """Width of a line of signs, mm."""
    return max(len(text) * _STEP - (_STEP - 4.0), 0.0) * size / _HIGH


@cache
def _edges(sign: str) -> tuple[tuple[Vertex, Vertex], ...]:
    """The lines and arcs of a sign, each from a vertex with its bulge to the next."""
    made = []
    for stroke in _SIGNS.get(sign, "").split("|"):
        last: Vertex | None = None
        for word in stroke.split():
            bulge = _HALF.get(word[0], 0.0)
            u, v = word.lstrip("()").split(",")
            place = (float(u), float(v), 0.0)
            if last is not None:
                made.append(((last[0], last[1], bulge), place))
            last = place
    return tuple(made)
