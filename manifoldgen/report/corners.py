"""A centreline as its corner points and radii: enough for anyone to rebuild the tube."""

from __future__ import annotations

import math

from manifoldgen.geometry.path import Arc, Path
from manifoldgen.geometry.vectors import Vec, array, vec

_HALF_TURN = 180.0


def corners(path: Path) -> tuple[tuple[Vec, ...], tuple[float, ...]]:
    """Corner points from start to end (mm, ends included) and one CLR (mm) for each inner corner.

    The tangents of a bend meet at its corner, clr · tan(angle / 2) from either end. A bend of 180° or more
    has no such point and is written as equal parts below 180°.
    """
    points = [path.start.at]
    clrs = []
    for segment in path.segments:
        if not isinstance(segment, Arc):
            continue
        parts = int(segment.angle // _HALF_TURN) + 1
        length = segment.length / parts
        reach = segment.clr * math.tan(math.radians(segment.angle / parts) / 2)
        for part in range(parts):
            begin = part * length
            points.append(vec(array(segment.point(begin)) + reach * array(segment.tangent(begin))))
            clrs.append(segment.clr)
    return (*points, path.end.at), tuple(clrs)
