"""From where a tube is looked at: a parallel view, and the side from which it covers least of itself."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from manifoldgen.geometry.path import Path
from manifoldgen.geometry.vectors import Array, Vec, array, unit, vec

_CELL = 4.0  # mm of the grid on which a silhouette's area is counted
_NEARLY = 0.8  # of the largest silhouette
_ENOUGH = 3.0  # a picture need not be larger than 1 : 3
_STEP = 4.0  # mm between the discs it is made of


@dataclass(frozen=True)
class View:
    """A parallel view: unit vectors to the right, upwards on the paper, and towards the eye (bench frame)."""

    right: Vec
    up: Vec
    eye: Vec

    @classmethod
    def from_side(cls, azimuth: float, elevation: float) -> View:
        """From `azimuth` degrees round z (0: from +x) and `elevation` degrees over the bench."""
        a, e = math.radians(azimuth), math.radians(elevation)
        right = vec((-math.sin(a), math.cos(a), 0.0))
        eye = vec((math.cos(e) * math.cos(a), math.cos(e) * math.sin(a), math.sin(e)))
        return cls(right, vec(np.cross(eye, right)), eye)

    def flat(self, points: Array) -> Array:
        """Places on the paper, (n, 2), mm at full size."""
        return array(np.atleast_2d(points) @ np.column_stack([self.right, self.up]))

    def depth(self, points: Array) -> Array:
        """How near the eye, larger is nearer, (n,)."""
        return array(np.atleast_2d(points) @ array(self.eye))


SIDES = (
    *(View.from_side(a, e) for e in (0.0, 30.0, 60.0) for a in range(-90, 270, 30)),
    View.from_side(-90.0, 89.999),  # straight down, x to the right
)


def clearest(
    path: Path, radius: float, frame: tuple[float, float] | None = None, sides: Iterable[View] = SIDES
) -> View:
    """The side from which most of a tube is seen: the one with the largest silhouette (the first of equals).

    frame : width and height that the picture is fitted into, mm.  Where the picture would be small, a side with nearly
    the largest silhouette is taken from which it becomes larger.
    """
    points = along(path, _STEP)
    seen = [(view, round(silhouette(view, points, radius), -2)) for view in sides]
    most = max(area for _, area in seen)
    if frame is None:
        return next(view for view, area in seen if area == most)
    clear = [
        (max(round(shrunk(view.flat(points), radius, frame), 2), _ENOUGH), -area, k)
        for k, (view, area) in enumerate(seen)
        if area >= _NEARLY * most
    ]
    return seen[min(clear)[2]][0]


def shrunk(flat: Array, radius: float, frame: tuple[float, float]) -> float:
    """How many times a drawing is made smaller to fit a frame.  flat : its points, with `radius` round each."""
    size = np.ptp(flat, axis=0) + 2 * radius
    return float(max(size[0] / frame[0], size[1] / frame[1]))


def silhouette(view: View, points: Array, radius: float) -> float:
    """Area that discs of `radius` round these points cover on the paper, mm², counted on a grid."""
    flat = view.flat(points)
    low = flat.min(axis=0) - radius - _CELL
    size = np.ceil((flat.max(axis=0) + radius + _CELL - low) / _CELL).astype(int)
    reach = math.ceil(radius / _CELL) + 1
    grid = np.zeros(size + 2 * reach, dtype=bool)
    offsets = np.arange(-reach, reach + 1)
    for u, v in (flat - low) / _CELL:
        i, j = int(u), int(v)
        disc = (offsets[:, None] + i + 0.5 - u) ** 2 + (offsets[None, :] + j + 0.5 - v) ** 2
        window = grid[i : i + len(offsets), j : j + len(offsets)]
        window |= disc <= (radius / _CELL) ** 2
    return float(grid.sum()) * _CELL**2


def along(path: Path, step: float) -> Array:
    """Points of a centreline, at most `step` mm apart, ends included, (n, 3)."""
    count = max(2, math.ceil(path.length / step) + 1)
    return array([path.point(s) for s in np.linspace(0.0, path.length, count)])


def tilted(view: View, degrees: float) -> View:
    """The same view from a little higher up."""
    c, s = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
    eye = unit(c * array(view.eye) + s * array(view.up))
    return View(view.right, vec(np.cross(eye, array(view.right))), vec(eye))
