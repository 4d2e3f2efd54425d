"""What the printed numbers cost: every run rebuilt from the cut list as it is printed, 0.1 mm and 0.1°."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from manifoldgen.geometry.path import Bend, Element, Path, Straight
from manifoldgen.geometry.pose import Pose
from manifoldgen.geometry.vectors import array
from manifoldgen.manifold.model import Manifold
from manifoldgen.shop.cuts import CutRow
from manifoldgen.shop.marks import RollMark
from manifoldgen.shop.reference import reference_line

STEP = 0.1  # mm and degrees, of the printed numbers


@dataclass(frozen=True)
class EndError:
    """How far a run rebuilt from its printed numbers ends from where it should: mm and degrees."""

    part: str
    mm: float
    deg: float


def end_errors(
    m: Manifold, cuts: Sequence[CutRow], marks: Sequence[RollMark], step: float = STEP
) -> tuple[EndError, ...]:
    """The end error of every run whose pieces are known, from numbers rounded to `step` mm and degrees."""
    rows: dict[str, list[CutRow]] = {}
    for row in cuts:
        rows.setdefault(row.part, []).append(row)
    legs = {p.id: p.leg for p in m.pieces}
    rolls = {mark.piece: mark.roll for mark in marks}
    made: list[EndError] = []
    for run in m.runs:
        if run.path is None or run.name not in rows:
            continue
        reference = reference_line(m, run).direction
        read = rebuilt(replace(run.path.start, normal=reference), rows[run.name], rolls, step)
        leg = sum(legs[row.piece] for row in rows[run.name])
        true = array(run.path.end.at) + leg * array(run.path.end.direction)
        off = math.dist(read.end.at, true)
        c = float(array(read.end.direction) @ array(run.path.end.direction))
        made.append(EndError(run.name, off, math.degrees(math.acos(max(-1.0, min(1.0, c))))))
    return tuple(made)


def rebuilt(start: Pose, rows: Sequence[CutRow], rolls: Mapping[str, float], step: float) -> Path:
    """The run as cut list and roll marks say it, numbers rounded to `step`.

    start : where it begins; its normal is the line that the first roll is read from.  rolls : by piece, degrees.
    """

    def near(value: float) -> float:
        return round(value / step) * step

    elements: list[Element] = []
    turn = 180.0  # the first bend turns away from its back line
    for row in rows:
        elements.append(Straight(near(row.before)))
        if row.angle:
            roll = near(rolls[row.piece]) + turn
            elements += [Bend(near(row.angle), row.clr, roll), Straight(near(row.after))]
            turn = 0.0
    return Path(start, tuple(elements))
