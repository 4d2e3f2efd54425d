"""A place and a heading: where a path stands, which way it travels, which way roll 0 bends it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from manifoldgen.geometry.vectors import Array, Vec, array, first_square_to, rotated, unit, vec
from manifoldgen.public import public

X: Vec = (1.0, 0.0, 0.0)
Y: Vec = (0.0, 1.0, 0.0)
Z: Vec = (0.0, 0.0, 1.0)


@public
@dataclass(frozen=True)
class Pose:
    """A point with a unit travel direction and a unit normal square to it.

    at : mm, bench frame.
    direction : the way the gas travels.
    normal : the way a bend of roll 0 turns the travel.

    >>> import manifoldgen as mg
    >>> mg.Pose.heading(at=(0, 0, 12), direction=(0, 0, 2)).direction
    (0.0, 0.0, 1.0)
    """

    at: Vec
    direction: Vec
    normal: Vec

    @classmethod
    def heading(cls, at: ArrayLike, direction: ArrayLike) -> Pose:
        """A pose whose normal is where a bend of roll 0 turns to: towards +y, or +x if +y is along the travel."""
        d = unit(direction)
        return cls(vec(array(at)), vec(d), vec(first_square_to((Y, X), d)))

    def reversed(self) -> Pose:
        """The same place looked at the other way."""
        return Pose(self.at, vec(-array(self.direction)), self.normal)


@dataclass(frozen=True)
class Frame:
    """A right-handed set of axes: z is the gas direction (or the normal), x = y × z.

    at : origin, mm.  x, y, z : unit vectors in the bench frame.
    """

    at: Vec
    x: Vec
    y: Vec
    z: Vec

    @classmethod
    def facing(cls, at: ArrayLike, z: ArrayLike, up: ArrayLike, clock: float = 0.0) -> Frame:
        """Axes of a flange: y = `up` projected on the face (or +x), turned by `clock`.

        clock : degrees, right-handed about z.
        """
        n = unit(z)
        y = first_square_to((up, X, Y), n)
        if clock:
            y = unit(rotated(y, n, clock))
        return cls(vec(array(at)), vec(np.cross(y, n)), vec(y), vec(n))

    @property
    def matrix(self) -> Array:
        """3×3, columns x, y, z."""
        return np.column_stack([self.x, self.y, self.z])

    def out(self, local: ArrayLike) -> Array:
        """Local coordinates (…, 3) to the bench frame, mm."""
        placed: Array = array(local) @ self.matrix.T + array(self.at)
        return placed

    def into(self, point: ArrayLike) -> Array:
        """Bench coordinates (…, 3) to local ones, mm."""
        local: Array = (array(point) - array(self.at)) @ self.matrix
        return local

    def turn(self, local: ArrayLike) -> Array:
        """A local direction in the bench frame."""
        turned: Array = self.matrix @ array(local)
        return turned


BENCH = Frame((0.0, 0.0, 0.0), X, Y, Z)
