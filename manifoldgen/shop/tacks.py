"""Where a joint is tacked: a weld round the tube at four places or more, opposite ones after each other; a seam every few mm."""

from __future__ import annotations

import math
from dataclasses import dataclass

from manifoldgen.manifold.model import Manifold
from manifoldgen.shop.rates import rate
from manifoldgen.shop.weldorder import opposite_first

LEAST_RING = 4  # at 90°; common practice, no source


@dataclass(frozen=True)
class Tacks:
    """Tacks of one joint in their order.

    at : degrees round the tube from the back line (clockwise looking downstream), or mm along a seam from its
    start.  unit : ``deg`` or ``mm``.
    """

    at: tuple[float, ...]
    unit: str

    @property
    def words(self) -> str:
        """``4: 0, 180, 90, 270°``, or ``3: every 28 mm, ends first``."""
        if self.unit == "deg":
            return f"{len(self.at)}: " + ", ".join(f"{a:.0f}" for a in self.at) + "°"
        if not self.at:
            return "held by the outer valleys"
        if len(self.at) == 2:
            return "2: both ends"
        return f"{len(self.at)}: ends first, then every {_step(self.at):.0f} mm"

    @property
    def short(self) -> str:
        """``4 at 90°``, or ``3 at 28 mm``."""
        if not self.at:
            return "by outer valleys"
        if self.unit == "deg":
            return f"{len(self.at)} at {360 / len(self.at):.0f}°"
        return f"{len(self.at)} at {_step(self.at):.0f} mm"


HELD = Tacks((), "mm")


def tacks(m: Manifold, *, length: float, closed: bool) -> Tacks:
    """Tacks of a weld of `length` mm; `closed`: it runs round."""
    if closed:
        count = max(LEAST_RING, 2 * math.ceil(length / rate(m, "tack_step_ring") / 2 - 1e-9))
        return Tacks(tuple(360.0 * i / count for i in opposite_first(count)), "deg")
    gaps = max(1, math.ceil(length / rate(m, "tack_step_seam") - 1e-9))
    order = (0, gaps, *range(1, gaps))
    return Tacks(tuple(length * i / gaps for i in order), "mm")


def _step(at: tuple[float, ...]) -> float:
    return at[1] / (len(at) - 1)
