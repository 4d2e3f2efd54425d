"""A stretch of a path as a path of its own: the centreline of one piece."""

from __future__ import annotations

import math
from itertools import accumulate

from manifoldgen.geometry.path import Arc, Bend, Element, Path, Segment, Straight
from manifoldgen.geometry.pose import Pose
from manifoldgen.geometry.vectors import array, vec

SLIVER = 1e-6  # mm: nothing shorter is a piece


def ends(path: Path) -> tuple[float, ...]:
    """Arc lengths where the elements begin and end: one more than there are elements, mm."""
    return (0.0, *accumulate(segment.length for segment in path.segments))


def part_of(path: Path, start: float, end: float) -> Path:
    """The stretch of `path` from arc length `start` to `end`, mm.

    A bend that begins with the stretch keeps its roll from the bend before; one that is cut into starts
    in its own plane (roll 0).
    """
    pose: Pose | None = None
    elements: list[Element] = []
    begun = path.start
    for element, segment, s in zip(path.elements, path.segments, ends(path), strict=False):
        a, b = max(start - s, 0.0), min(end - s, segment.length)
        if b - a > SLIVER:
            cut_into = a > SLIVER
            if pose is None:
                pose = _inside(segment, a) if cut_into else begun
            if isinstance(element, Straight):
                elements.append(Straight(b - a))
            else:
                angle = element.angle if b - a == segment.length else math.degrees((b - a) / element.clr)
                elements.append(Bend(angle, element.clr, 0.0 if cut_into else element.roll))
        begun = segment.end
    return Path(pose or _pose_at(path, start), tuple(elements))


def _pose_at(path: Path, s: float) -> Pose:
    """The pose at arc length `s`, for a stretch of no length."""
    if not path.elements or s <= 0:
        return path.start
    if s >= path.length - SLIVER:
        return path.end
    marks = ends(path)
    i = next(i for i in range(len(path.elements)) if s <= marks[i + 1])
    return _inside(path.segments[i], s - marks[i])


def _inside(segment: Segment, s: float) -> Pose:
    """The pose inside a segment; a bend's normal points at its centre."""
    if isinstance(segment, Arc):
        point = segment.point(s)
        normal = (array(segment.centre) - point) / segment.clr
        return Pose(vec(point), vec(segment.tangent(s)), vec(normal))
    return Pose(vec(segment.point(s)), segment.direction, segment.normal)
