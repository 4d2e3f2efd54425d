"""Free places on a flange: what its outline, holes, openings and tubes leave over."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
from manifold3d import CrossSection, JoinType, OpType
from numpy.typing import NDArray

from manifoldgen.geometry.contour import Contour
from manifoldgen.geometry.vectors import Array
from manifoldgen.manifold.model import Flange
from manifoldgen.prints import bodies


def free(flange: Flange, edge: Contour, room: float) -> CrossSection:
    """The part of the flange's plane that keeps `room` mm from its edge, holes, openings and tube."""
    taken = [CrossSection.circle(h.diameter / 2 + room, 48).translate(h.at) for h in flange.holes]
    for o in flange.openings:
        taken.append(CrossSection.circle(flange.tube.radius + room, 96).translate(o.at))
        taken.append(bodies.outline(o.contour).translate(o.at).offset(room, JoinType.Round, 2.0, 64))
    inside = bodies.outline(edge).offset(-room, JoinType.Round, 2.0, 64)
    return CrossSection.batch_boolean([inside, *taken], OpType.Subtract)


def _edges(region: CrossSection) -> tuple[Array, Array]:
    rings = [np.asarray(ring, dtype=np.float64) for ring in region.to_polygons()]
    if not rings:
        return np.empty((0, 2)), np.empty((0, 2))
    return np.concatenate(rings), np.concatenate([np.roll(ring, -1, axis=0) for ring in rings])


def inside(region: CrossSection, points: Array) -> NDArray[np.bool_]:
    """Whether points (n, 2) lie in the region (rays to the right, even and odd)."""
    a, b = _edges(region)
    x, y = points[:, 0, None], points[:, 1, None]
    spans = (a[:, 1] <= y) != (b[:, 1] <= y)
    rise = np.where(b[:, 1] == a[:, 1], 1.0, b[:, 1] - a[:, 1])
    right = a[:, 0] + (y - a[:, 1]) / rise * (b[:, 0] - a[:, 0]) > x
    found: NDArray[np.bool_] = np.count_nonzero(spans & right, axis=1) % 2 == 1
    return found


def column(region: CrossSection, x: float) -> tuple[tuple[float, float], ...]:
    """The stretches (from, to) of the line at `x` that lie in the region, in order."""
    a, b = _edges(region)
    spans = (a[:, 0] <= x) != (b[:, 0] <= x)
    p, q = a[spans], b[spans]
    y = np.sort(p[:, 1] + (x - p[:, 0]) / (q[:, 0] - p[:, 0]) * (q[:, 1] - p[:, 1])).tolist()
    return tuple(pairwise(y))[::2]
