"""Areas on the gas's way, mm²: bores, openings, valve seats."""

from __future__ import annotations

import math
from dataclasses import dataclass

from manifoldgen.manifold.model import Branch, Manifold, Opening, Section


@dataclass(frozen=True)
class Passage:
    """A place the gas goes through: its name and area, mm²."""

    name: str
    area: float

    @property
    def bore(self) -> float:
        """Diameter of the round hole of the same area, mm."""
        return 2 * math.sqrt(self.area / math.pi)


def round_area(diameter: float) -> float:
    """Area of a round hole: π/4 d², mm²."""
    return math.pi / 4 * diameter**2


def bore_area(section: Section) -> float:
    """Area inside a tube, mm²."""
    return math.pi * section.bore_radius**2


def opening_area(opening: Opening) -> float:
    """Area of a port or flange opening, mm² (exact for its straights and arcs)."""
    return opening.contour.area


def through_branch(m: Manifold, branch: Branch) -> tuple[Passage, ...]:
    """What the gas passes on its way to the valve: the branch's bore, then the flange's opening."""
    passages = [Passage(f"{branch.run.name} bore", bore_area(branch.run.section))]
    flange = m.wastegate_flange
    if flange is not None:
        passages += [Passage(f"{flange.name} opening", opening_area(o)) for o in flange.openings]
    return tuple(passages)
