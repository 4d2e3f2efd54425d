"""What a weld takes: rod and torch gas, estimated from its length; every factor is a rate with its row.

    butt      A = 0.7 w h + g t     w, h : bead width and height in walls, g : the most gap, t : wall
    fillet    A = a² / 2            a : leg in walls
    deposit   grams = A L ρ
    rod       metres = A L / (π d² / 4) / share used
    arc       minutes = L / travel
    torch     litres = flow · (arc minutes + starts · post flow)

Common practice, no source; a figure to buy by, not to weld by.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from manifoldgen.manifold.model import Manifold
from manifoldgen.shop.rates import rate

FACTORS = ("bead_width", "bead_height", "fillet_leg", "rod_used", "travel", "torch_flow", "post_flow")


@dataclass(frozen=True)
class Consumed:
    """Of one weld: grams in the seam, metres of rod to have, minutes of arc, litres of torch gas."""

    grams: float
    rod_m: float
    arc_min: float
    torch_l: float


def butt_area(wall: float, gap: float, width: float, height: float) -> float:
    """Section of a butt weld's filler, mm²; width and height in walls, gap in mm."""
    return 0.7 * width * wall * height * wall + gap * wall


def fillet_area(wall: float, leg: float) -> float:
    """Section of a fillet, mm²; leg in walls."""
    return (leg * wall) ** 2 / 2


def deposit(area: float, length: float, density: float) -> float:
    """Grams in a seam of `length` mm and `area` mm²; density kg/m³."""
    return area * length * density * 1e-6


def rod_length(area: float, length: float, diameter: float, used: float = 1.0) -> float:
    """Metres of rod of `diameter` mm for a seam; `used` is the share of it that does not end as a stub."""
    return area * length / (math.pi * diameter**2 / 4) / used / 1000


def consumed(m: Manifold, *, length: float, area: float, rod: float, density: float, starts: int) -> Consumed:
    """All of one weld of `length` mm with `starts` arc starts."""
    minutes = length / rate(m, "travel")
    gas = rate(m, "torch_flow") * (minutes + starts * rate(m, "post_flow") / 60)
    metres = rod_length(area, length, rod, rate(m, "rod_used"))
    return Consumed(deposit(area, length, density), metres, minutes, gas)
