"""What is asked between two solids, and what was found: the asked gap along a run, and the worst place."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise

from manifoldgen.errors import GeometryError
from manifoldgen.geometry.vectors import Vec


@dataclass(frozen=True)
class Asked:
    """The gap asked along a run: constant pieces joined by ramps.

    at : arc lengths in mm, not decreasing, from 0.0 to the path's length; a step is the same twice.
    gap : asked gap there in mm, linear between.
    """

    at: tuple[float, ...]
    gap: tuple[float, ...]

    def __post_init__(self) -> None:
        rising = all(a <= b for a, b in pairwise(self.at))
        known = all(math.isfinite(v) for v in self.at + self.gap)
        if len(self.at) != len(self.gap) or len(self.at) < 2 or self.at[0] != 0 or not (rising and known):
            raise GeometryError(
                f"asked gaps {list(self.gap)} at arc lengths {list(self.at)} do not fit together; "
                "give as many of both, the arc lengths rising from 0"
            )

    @classmethod
    def flat(cls, gap: float, length: float) -> Asked:
        """The same gap all along a path of `length` mm."""
        return cls((0.0, length), (gap, gap))


@dataclass(frozen=True)
class Gap:
    """The worst place between two solids.

    gap : wall to wall there, mm; negative where they overlap.
    asked : asked there, mm.
    points : the two closest wall points, on the first and on the second.
    along : arc length on the first tube and on the second (None for a shape), mm.
    certified : False where the step cap was hit; `margin` may then be too large by `slack` mm.
    """

    gap: float
    asked: float
    points: tuple[Vec, Vec]
    along: tuple[float, float | None]
    certified: bool
    slack: float

    @property
    def margin(self) -> float:
        """Gap less asked gap, mm; negative is a fault."""
        return self.gap - self.asked
