"""What is marked on a piece before it is cut and fitted: where its back line goes, and what errors cost.

The back line is the outside of a bend. A straight carries it on. The roll is read looking downstream, + clockwise;
the first of a run from its reference line (`reference`).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from manifoldgen.geometry.lra import half_turns
from manifoldgen.geometry.path import Arc, Line, Path
from manifoldgen.geometry.vectors import array
from manifoldgen.manifold.model import Manifold
from manifoldgen.shop.cuts import CutRow
from manifoldgen.shop.reference import first_roll, reference_line


@dataclass(frozen=True)
class RollMark:
    """Where the back line of a bent piece goes.

    on : what carries the line that the roll is read from: a piece, or the part the run begins on.  line : which line
    of it: its ``back line``, or the run's reference line in words.
    roll : degrees from there to this back line, + clockwise looking downstream.  roll_mm : the same around the outside.
    """

    piece: str
    joint: str
    on: str
    line: str
    roll: float
    roll_mm: float

    @property
    def start(self) -> str:
        """The line that the roll is read from: ``R1-P1's line facing TOP (+y)``."""
        return f"{self.on}'s {self.line}"

    @property
    def said(self) -> str:
        """Both ends of the roll in a sentence that cannot be read two ways."""
        mm, degrees = f"{abs(self.roll_mm):.1f}", f"{abs(self.roll):.1f}"
        if mm == "0.0":
            return f"back line in line with {self.start}"
        way = "clockwise" if self.roll > 0 else "anticlockwise"
        return f"back line {mm} mm ({degrees}°) {way} of {self.start}, looking downstream"


@dataclass(frozen=True)
class Sensitivity:
    """What an error at one bend does to the far end of its run, mm.

    roll_mm : by 1 mm of roll measured round the outside.  roll_deg : by 1 degree of roll.
    cut_deg : by 1 degree of the bend's angle.
    """

    piece: str
    roll_mm: float
    roll_deg: float
    cut_deg: float


def marks(m: Manifold, cuts: Sequence[CutRow]) -> tuple[RollMark, ...]:
    """The roll marks of every bent piece of a cut list, run by run downstream.

    The first roll of a run is read from its reference line, each later one from the back line before it.
    """
    made: list[RollMark] = []
    runs = {run.name: run for run in m.runs}
    first = {row.part: row for row in reversed(cuts)}
    before: dict[str, str] = {}
    for row in cuts:
        if not row.angle:
            continue
        run = runs[row.part]
        if row.part in before:
            on, line, roll = before[row.part], "back line", half_turns(row.roll)
        else:
            reference = reference_line(m, run)
            on = first[row.part].piece if first[row.part] is not row else _begins_on(m, row)
            line, roll = reference.words, first_roll(run, reference)
        made.append(RollMark(row.piece, row.joints[0], on, line, roll, math.radians(roll) * row.od / 2))
        before[row.part] = row.piece
    return tuple(made)


def _begins_on(m: Manifold, row: CutRow) -> str:
    """What stands before the first piece of a run."""
    joint = next((j for j in m.joints if j.id == row.joints[0]), None)
    return joint.between[0] if joint else row.part


def sensitivity(m: Manifold, cuts: Sequence[CutRow]) -> tuple[Sensitivity, ...]:
    """What 1 mm or 1° of error at each bent piece does to the far end of its run: small turns about two axes."""
    rows = {row.piece: row for row in cuts}
    made: list[Sensitivity] = []
    for run in m.runs:
        for piece in m.pieces:
            if piece.part == run.name and piece.path is not None and piece.path.bends and run.path:
                made.append(_felt(rows[piece.id], piece.path, run.path))
    return tuple(made)


def _felt(row: CutRow, path: Path, whole: Path) -> Sensitivity:
    arc = next(s for s in path.segments if isinstance(s, Arc))
    start = path.segments[0].point(0.0) if isinstance(path.segments[0], Line) else arc.point(0.0)
    away = array(whole.end.at)
    rolled = float(np.linalg.norm(np.cross(arc.direction, away - start)))
    bent = float(
        np.linalg.norm(np.cross(arc.axis, away - array(arc.centre)))
    )  # the arc grows: about its centre
    degree = math.radians(1.0)
    return Sensitivity(row.piece, rolled / (row.od / 2), rolled * degree, bent * degree)
