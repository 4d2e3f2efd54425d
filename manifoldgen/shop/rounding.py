"""What the printed numbers cost: every run rebuilt from the cut list as it is printed, 0.1 mm and 0.1°."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from manifoldgen.geometry.path import Bend, Element, Path, Straight
from manifoldgen.geometry.vectors import array
from manifoldgen.manifold.model import Manifold
from manifoldgen.shop.cuts import CutRow

STEP = 0.1  # mm and degrees, of the printed numbers


@dataclass(frozen=True)
class EndError:
    """How far a run rebuilt from its printed numbers ends from where it should: mm and degrees."""

    part: str
    mm: float
    deg: float


def end_errors(m: Manifold, cuts: Sequence[CutRow], step: float = STEP) -> tuple[EndError, ...]:
    """The end error of every run whose pieces are known, from numbers rounded to `step` mm and degrees."""
    rows: dict[str, list[CutRow]] = {}
    for row in cuts:
        rows.setdefault(row.part, []).append(row)
    legs = {p.id: p.leg for p in m.pieces}
    made: list[EndError] = []
    for run in m.runs:
        if run.path is None or run.name not in rows:
            continue
        read = rebuilt(run.path, rows[run.name], step)
        leg = sum(legs[row.piece] for row in rows[run.name])
        true = array(run.path.end.at) + leg * array(run.path.end.direction)
        off = math.dist(read.end.at, true)
        c = float(array(read.end.direction) @ array(run.path.end.direction))
        made.append(EndError(run.name, off, math.degrees(math.acos(max(-1.0, min(1.0, c))))))
    return tuple(made)


def rebuilt(path: Path, rows: Sequence[CutRow], step: float) -> Path:
    """The run as the cut list says it, numbers rounded to `step`; `path` gives where it starts."""

    def near(value: float) -> float:
        return round(value / step) * step

    elements: list[Element] = []
    for row in rows:
        elements.append(Straight(near(row.before)))
        if row.angle:
            elements += [Bend(near(row.angle), row.clr, near(row.roll)), Straight(near(row.after))]
    return Path(path.start, tuple(elements))
