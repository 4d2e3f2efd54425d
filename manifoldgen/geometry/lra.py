"""Bend tables: length, roll, angle — a centreline as the bender reads it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from manifoldgen.geometry.path import Bend, Element, Path, Straight
from manifoldgen.geometry.pose import Pose


@dataclass(frozen=True)
class BendRow:
    """One bend: the straight before it, the roll into its plane, its angle and radius.

    length : mm.  roll : degrees from the previous bend's plane, right-handed about the travel,
    -180 < roll ≤ 180; the first counts from the start's normal.  angle : degrees.  clr : mm.
    The last row has only a length.
    """

    length: float
    roll: float = 0.0
    angle: float = 0.0
    clr: float = 0.0


def to_rows(path: Path) -> tuple[BendRow, ...]:
    """The bend table of a path: one row a bend, and the last straight."""
    rows = []
    length = 0.0
    for element in path.elements:
        if isinstance(element, Straight):
            length += element.length
        else:
            rows.append(BendRow(length, half_turns(element.roll), element.angle, element.clr))
            length = 0.0
    return (*rows, BendRow(length))


def from_rows(start: Pose, rows: Sequence[BendRow]) -> Path:
    """The path a bend table describes; straights of no length are left out."""
    elements: list[Element] = []
    for row in rows:
        if row.length:
            elements.append(Straight(row.length))
        if row.angle:
            elements.append(Bend(row.angle, row.clr, row.roll))
    return Path(start, tuple(elements))


def half_turns(angle: float) -> float:
    """The same direction of roll between -180 (left out) and 180 degrees."""
    turned = math.remainder(angle, 360.0)
    return 180.0 if turned == -180.0 else turned
