"""How an engine moves on its mounts, and how far its points go."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from manifoldgen.geometry.path import Path
from manifoldgen.geometry.pose import Pose
from manifoldgen.geometry.shapes import Tube
from manifoldgen.geometry.vectors import Array, Vec, array, rotated, unit, vec


@dataclass(frozen=True)
class Movement:
    """Every pose that a roll of up to ±`roll_deg` and then a shift of up to ±`shift` can make.

    shift : mm along x, y, z, each on its own.
    roll_deg : degrees, at most 90.  at, axis : the line it rolls about; axis is made a unit vector.
    """

    shift: Vec = (0.0, 0.0, 0.0)
    roll_deg: float = 0.0
    at: Vec = (0.0, 0.0, 0.0)
    axis: Vec = (1.0, 0.0, 0.0)

    @property
    def row(self) -> Array:
        """What the kernels read: shift, roll in rad, point, unit axis."""
        return np.array([*self.shift, math.radians(self.roll_deg), *self.at, *unit(self.axis)])

    @property
    def none(self) -> bool:
        """Whether nothing moves."""
        return not any(self.shift) and not self.roll_deg

    def most(self, point: ArrayLike) -> float:
        """How far a point goes at most, mm: the corner of the shift and the chord of the roll."""
        w = array(point) - array(self.at)
        out = float(np.linalg.norm(np.cross(unit(self.axis), w)))
        return math.hypot(*self.shift) + 2.0 * out * math.sin(min(math.radians(self.roll_deg), math.pi) / 2.0)

    def point(self, point: ArrayLike, shift: ArrayLike, roll_deg: float) -> Vec:
        """Where a point stands once rolled and shifted."""
        turned = rotated(array(point) - array(self.at), unit(self.axis), roll_deg)
        return vec(array(self.at) + turned + array(shift))

    def tube(self, tube: Tube, shift: ArrayLike, roll_deg: float) -> Tube:
        """A tube once rolled and shifted."""
        start = tube.path.start
        direction, normal = (
            rotated(array(v), unit(self.axis), roll_deg) for v in (start.direction, start.normal)
        )
        pose = Pose(self.point(start.at, shift, roll_deg), vec(direction), vec(normal))
        return Tube(Path(pose, tube.path.elements), tube.radius)
