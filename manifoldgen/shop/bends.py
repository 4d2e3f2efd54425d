"""Every run as the bender reads it: length, roll, angle and CLR row by row, and the corner points of its centreline."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from manifoldgen.geometry.lra import BendRow, to_rows
from manifoldgen.geometry.path import Arc
from manifoldgen.geometry.vectors import Vec, vec
from manifoldgen.manifold.model import Manifold, Run
from manifoldgen.shop.reference import first_roll, reference_line


@dataclass(frozen=True)
class BendTable:
    """One run.

    line : what the first row's roll is read from, in words; each later one is read from the back line before it.
    rows : a row a bend, and the last straight; rolls + clockwise looking downstream.
    corners : of the centreline, bench frame, ends included; a bend of 180° or more has several.
    """

    run: str
    line: str
    rows: tuple[BendRow, ...]
    corners: tuple[Vec, ...]


def bend_table(m: Manifold, run: Run) -> BendTable:
    """The table of one run; without rows while it has no path."""
    reference = reference_line(m, run)
    rows = list(to_rows(run.path)) if run.path else []
    if run.path and run.path.bends:
        rows[0] = replace(rows[0], roll=first_roll(run, reference))
    return BendTable(run.name, reference.words, tuple(rows), corners(run))


def corners(run: Run) -> tuple[Vec, ...]:
    """The centreline's corner points in the bench frame, ends included; a bend of 180° or more has several."""
    if run.path is None:
        return ()
    found = [run.path.start.at]
    for segment in run.path.segments:
        if isinstance(segment, Arc):
            count = math.floor(segment.angle / 180.0) + 1
            turn = math.radians(segment.angle / count)
            for k in range(count):
                s = k * turn * segment.clr
                reach = segment.clr * math.tan(turn / 2)
                found.append(vec(segment.point(s) + reach * segment.tangent(s)))
    return (*found, run.path.end.at)
