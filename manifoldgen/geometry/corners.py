"""Centrelines by their corners: the points where the axes of neighbouring straights meet, and the CLR there.

A bend of angle a on radius R takes R·tan(a/2) off the two legs of its corner (plane geometry).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

import numpy as np
from numpy.typing import ArrayLike

from manifoldgen.errors import PathError
from manifoldgen.geometry.path import Arc, Bend, Element, Path, Straight
from manifoldgen.geometry.pose import Pose
from manifoldgen.geometry.vectors import Array, Vec, angle_between, array, cos_sin, unit, vec
from manifoldgen.wording import place, some

ON_AXIS = 0.05  # mm: a first corner within this of the start's axis is taken to lie on it
_NOTHING = 1e-9  # mm and degrees: shorter straights and smaller bends are left out


def from_corners(
    start: Pose, corners: Sequence[ArrayLike], end_point: ArrayLike, clr: float | Sequence[float]
) -> Path:
    """The path from `start` round the corners to `end_point`.

    Parameters
    ----------
    start : its direction is kept exactly; the first corner lies on its axis (within 0.05 mm).
    corners : the points between, mm, each (x, y, z).
    end_point : where the last straight ends, mm.
    clr : one centreline radius for all corners, or one each, mm.

    Raises
    ------
    PathError
        for a corner off the start's axis, one that turns straight back, or a straight that comes out
        shorter than 0; names the corner and the mm that are missing.
    """
    radii = [float(clr)] * len(corners) if isinstance(clr, int | float) else [float(r) for r in clr]
    if len(radii) != len(corners):
        raise PathError(f"{len(corners)} corners need as many CLRs, not {len(radii)}")
    knots = [array(start.at), *(array(c) for c in corners), array(end_point)]
    knots[1] = _on_axis(start, knots[1], "corner 1" if corners else "the end point")
    legs, headings = _legs(start, knots)
    angles = [_turn(headings[k], headings[k + 1], k + 1) for k in range(len(corners))]
    takes = [0.0, *(r * math.tan(math.radians(a) / 2) for r, a in zip(radii, angles, strict=True)), 0.0]
    straights = [leg - takes[k] - takes[k + 1] for k, leg in enumerate(legs)]
    _refuse_short(straights, legs)
    return Path(start, tuple(_elements(start, headings, straights, angles, radii)))


def to_corners(path: Path) -> tuple[list[Vec], list[float]]:
    """Corners of a path from its start to its end, both included, and the CLR of every corner between.

    A bend of 180 degrees or more has no corner: it is given as equal parts below 180.
    """
    points, radii = [path.start.at], []
    for segment in path.segments:
        if not isinstance(segment, Arc):
            continue
        parts = int(segment.angle // 180) + 1
        take = segment.clr * math.tan(math.radians(segment.angle / parts) / 2)
        for k in range(parts):
            s = segment.length * k / parts
            points.append(vec(segment.point(s) + take * segment.tangent(s)))
            radii.append(segment.clr)
    return [*points, path.end.at], radii


def roll_to(travel: ArrayLike, normal: ArrayLike, wanted: ArrayLike) -> float:
    """Degrees from `normal` to `wanted`, right-handed about the unit vector `travel`: -180 < roll ≤ 180."""
    n, w = array(normal), array(wanted)
    roll = math.degrees(math.atan2(float(np.cross(n, w) @ array(travel)), float(n @ w)))
    return 180.0 if roll == -180.0 else roll


def _on_axis(start: Pose, corner: Array, name: str) -> Array:
    along = float((corner - array(start.at)) @ array(start.direction))
    nearest: Array = array(start.at) + max(along, 0.0) * array(start.direction)
    off = float(np.linalg.norm(corner - nearest))
    if off > ON_AXIS:
        raise PathError(
            f"{name} lies {some(off)} mm off the axis it starts on; the nearest point there is ({place(nearest)})"
        )
    return nearest


def _legs(start: Pose, knots: Sequence[Array]) -> tuple[list[float], list[Array]]:
    """Length of every leg and its heading; a leg of no length keeps the heading before it."""
    legs, headings = [], []
    for k, (a, b) in enumerate(pairwise(knots)):
        legs.append(float(np.linalg.norm(b - a)))
        if k == 0:
            headings.append(array(start.direction))
        elif legs[-1] > _NOTHING:
            headings.append(unit(b - a))
        else:
            headings.append(headings[-1])
    return legs, headings


def _turn(before: Array, after: Array, corner: int) -> float:
    angle = angle_between(before, after)
    if angle > 180 - 1e-6:
        raise PathError(f"corner {corner} turns straight back on itself; put a second corner beside it")
    return angle


def _refuse_short(straights: Sequence[float], legs: Sequence[float]) -> None:
    last = len(straights) - 1
    short = []
    for k, length in enumerate(straights):
        if length < -_NOTHING:
            left = "the start" if k == 0 else f"corner {k}"
            right = "the end" if k == last else f"corner {k + 1}"
            short.append(
                f"between {left} and {right} the straight is {-length:.1f} mm short "
                f"(they are {legs[k]:.1f} mm apart, the bends take {legs[k] - length:.1f})"
            )
    if short:
        raise PathError("; ".join(short) + "; move the corners apart or take a smaller CLR")


def _elements(
    start: Pose,
    headings: Sequence[Array],
    straights: Sequence[float],
    angles: Sequence[float],
    radii: Sequence[float],
) -> list[Element]:
    made: list[Element] = []
    normal = array(start.normal)
    run = 0.0
    for k, length in enumerate(straights):
        run += max(length, 0.0)
        angle = angles[k] if k < len(angles) else 0.0
        if k < len(angles) and angle <= _NOTHING:
            continue  # a corner that does not turn: its two legs are one straight
        if run > _NOTHING:
            made.append(Straight(run))
        run = 0.0
        if k < len(angles):
            travel = headings[k]
            wanted = unit(headings[k + 1] - float(headings[k + 1] @ travel) * travel)
            made.append(Bend(angle, radii[k], roll_to(travel, normal, wanted)))
            c, s = cos_sin(angle)
            normal = c * wanted - s * travel
    return made
