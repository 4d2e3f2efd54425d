"""What is marked on a piece before it is cut and fitted: roll from the back line, LRA and XYZ, what errors cost.

The back line is the outside of a bend. A straight carries it on. The roll is read looking downstream (with
the gas), + clockwise; the first mark stands on the flange.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from manifoldgen.geometry.lra import BendRow, half_turns, to_rows
from manifoldgen.geometry.path import Arc, Line, Path
from manifoldgen.geometry.vectors import Vec, array, vec
from manifoldgen.manifold.model import Manifold, Run
from manifoldgen.shop.cuts import CutRow


@dataclass(frozen=True)
class RollMark:
    """Where the back line of a bent piece goes.

    start : what the roll is measured from: ``+y mark`` on the port or the back line of an earlier piece.
    roll : degrees from there to this back line, + clockwise looking downstream.  roll_mm : round the outside.
    """

    piece: str
    joint: str
    start: str
    roll: float
    roll_mm: float


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


def marks(cuts: Sequence[CutRow]) -> tuple[RollMark, ...]:
    """The roll marks of every bent piece of a cut list, run by run downstream."""
    made: list[RollMark] = []
    before: dict[str, str] = {}
    for row in cuts:
        if not row.angle:
            continue
        earlier = before.get(row.part)
        roll = half_turns(row.roll if earlier else row.roll + 180.0)  # roll 0 turns the gas towards the mark
        start = f"back line of {earlier}" if earlier else "+y mark"
        made.append(RollMark(row.piece, row.joints[0], start, roll, math.radians(roll) * row.od / 2))
        before[row.part] = row.piece
    return tuple(made)


def lra(run: Run) -> tuple[BendRow, ...]:
    """Length, roll, angle and CLR of a run as the bender reads it; () while it has no path."""
    return to_rows(run.path) if run.path else ()


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
