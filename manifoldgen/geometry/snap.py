"""Land a path exactly on a pose by the smallest change of its straights, bends and rolls.

A path read from a rounded file ends some 1e-4 mm off its inlet: enough to spoil every solid joined there.
Millimetres and degrees weigh the same, as they do in `limits.end_tolerance`.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from manifoldgen.errors import PathError
from manifoldgen.geometry.path import Bend, Element, Line, Path, Straight
from manifoldgen.geometry.pose import Pose
from manifoldgen.geometry.vectors import Array, angle_between, array

LANDED = 1e-9  # mm and degrees
_STEPS = 60
_DEG = 180 / math.pi
_LEAST_BEND = 1e-6  # degrees; a bend keeps turning its own way


def miss(path: Path, target: Pose) -> tuple[float, float]:
    """How far the path ends from the target: mm between the points, degrees between the directions."""
    end = path.end
    return math.dist(end.at, target.at), angle_between(end.direction, target.direction)


def snap(
    path: Path, target: Pose, least: Sequence[float] | None = None, only: Sequence[int] | None = None
) -> Path:
    """The path with the smallest change of straights, bend angles and rolls that ends on the target.

    Parameters
    ----------
    path : elements keep their order and number; radii are not touched.
    target : point and direction are met (below 1e-9 mm and 1e-9°), its normal is not.
    least : the shortest each element may become (mm; read for straights only), default 0.
    only : which numbers may change, counted through the elements (a straight has one, a bend two: its angle,
        then its roll); default all.

    Raises
    ------
    PathError
        where no such change reaches the target; says what is left over.

    Notes
    -----
    Gauss-Newton with the pseudo-inverse (each step the least change that closes; singular values below 1e-5
    of the greatest are left out: the three direction equations have rank 2). Straights that would become
    negative are held at their least length.
    """
    floor = np.array(
        [
            bound
            for k, e in enumerate(path.elements)
            for bound in (
                (least[k] if least else 0.0,) if isinstance(e, Straight) else (_LEAST_BEND, -np.inf)
            )
        ]
    )
    held = np.array([only is not None and k not in only for k in range(len(floor))], dtype=bool)
    given = held.copy()
    floor = np.where(given, _values(path.elements), floor)
    best = now = path
    values = np.maximum(_values(path.elements), floor)
    for _ in range(_STEPS):
        now = _with(path, values)
        if max(miss(now, target)) < LANDED / 10:
            return now
        if max(miss(now, target)) <= max(miss(best, target)):
            best = now
        if held.all():
            break
        jacobian, short = _linear(now, target)
        free = ~held
        moved = values.copy()
        moved[free] += np.linalg.lstsq(jacobian[:, free], short, rcond=1e-5)[0]
        held = held | (moved < floor)
        values = np.where(held, floor, moved)
        if not np.isfinite(values).all():
            break
    if max(miss(best, target)) < LANDED:
        return best
    (first_mm, first_deg), (mm, deg) = miss(path, target), miss(best, target)
    raise PathError(
        f"the path ends {first_mm:.4g} mm and {first_deg:.4g}° off its inlet, and no change of its straights, "
        f"bends and rolls lands it: {mm:.2g} mm and {deg:.2g}° are left; add a bend or move its corners"
    )


def _values(elements: Sequence[Element]) -> Array:
    return np.array(
        [v for e in elements for v in ((e.length,) if isinstance(e, Straight) else (e.angle, e.roll))]
    )


def _with(path: Path, values: Array) -> Path:
    """The path with other lengths, angles and rolls."""
    rest = iter(values.tolist())
    elements: list[Element] = []
    for e in path.elements:
        if isinstance(e, Straight):
            elements.append(Straight(next(rest)))
        else:
            elements.append(Bend(min(next(rest), 360.0), e.clr, next(rest)))
    return Path(path.start, tuple(elements))


def _linear(path: Path, target: Pose) -> tuple[Array, Array]:
    """Change of the end per mm and degree of every value (6 × n), and what is missing (6).

    Rows are mm and degrees. What lies behind a bend turns as one body: about the bend's axis through its
    centre with its angle, about the travel through its start with its roll.
    """
    end, travel = array(path.end.at), array(path.end.direction)
    columns = []
    for segment in path.segments:
        if isinstance(segment, Line):
            columns.append(np.concatenate([segment.direction, np.zeros(3)]))
            continue
        begin = segment.point(0.0)
        axis, heading = segment.axis, array(segment.direction)
        for about, through in ((axis, array(segment.centre)), (heading, begin)):
            columns.append(np.concatenate([np.cross(about, end - through) / _DEG, np.cross(about, travel)]))
    short = np.concatenate([array(target.at) - end, (array(target.direction) - travel) * _DEG])
    return np.column_stack(columns) if columns else np.zeros((6, 0)), short
