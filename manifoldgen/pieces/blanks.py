"""How long an inlet is sawn before its end is milled: tube to hold on to, the inlet, tube past the cut's far end.

    |<- extra ->|<-------- ring -------->|<- longest ->|<- spare ->|
    sawn end    joint's line             joint plane   far end     sawn end

With h = π/N, r the tube's radius, γ the half angle, ρ the inlet circle and z_c the flat cut's depth, along the inlet
from the collector joint plane (closed forms):

    scallop's bottom      ρ / sin γ - r √(cos²γ + cot²h) / sin γ
    sides and flat meet   cos(φ + α) = (z_c sin γ - ρ cos γ) / (r √(1 + cot²h cos²γ)),  α = atan(cot h cos γ)
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from manifoldgen.geometry.vectors import cos_sin
from manifoldgen.manifold.model import Collector, Manifold, Run

SQUARE = 0.05  # degrees: an end nearer to square than this is sawn square
NOISE = 6  # decimals of a mm that count before rounding up


@dataclass(frozen=True)
class Blank:
    """What the mill asks of one collector's inlets, mm.

    scallop, longest : the scallops' bottoms and the tube's farthest point, from the joint plane.  grip : straight tube
    held.  spare : tube past the cut's far end, and between cutter and vice.  collar : tube behind the vice that the
    printed nest's index collar takes (0 where no nest is printed).
    """

    scallop: float
    longest: float
    grip: float
    spare: float
    collar: float = 0.0

    def held(self, ring: float, left_on: float) -> float:
        """Tube ahead of the joint's line to hold on to, whole mm, or `left_on` where that is more.

        ring : from the joint's line to the ring plane.  left_on : what stays on there after milling, mm.
        """
        wanted = self.collar + self.grip + self.spare
        return max(_up(max(wanted - (ring + self.scallop), 0.0)), left_on)

    def from_line(self, ring: float) -> float:
        """From the joint's line, or the end of the bend before the inlet, to the sawn end past the inlet: whole mm."""
        return _up(ring + self.longest + self.spare)

    def length(self, ring: float, left_on: float) -> float:
        """All of a straight blank, mm."""
        return self.from_line(ring) + self.held(ring, left_on)

    def moved(self, by: float) -> Blank:
        """The same where the joint's line lies `by` mm ahead of the centreline's beginning."""
        return replace(self, scallop=self.scallop + by, longest=self.longest + by)


def square(c: Collector) -> bool:
    """Whether a collector's inlets end square: nothing is milled."""
    return c.kind == "bundle" and c.half_angle <= SQUARE


def blank_of(m: Manifold, c: Collector) -> Blank:
    """What the inlets of a collector ask for, `square` ones left aside."""
    grip, spare, collar = (
        float(m.tables.row("shop", "mill", k)["value"]) for k in ("grip", "spare", "collar")
    )
    return Blank(_scallop(c), _longest(c), grip, spare, collar if nested(m, c) else 0.0)


def nested(m: Manifold, c: Collector) -> bool:
    """Whether a nest is printed that holds a collector's inlets on the mill."""
    return m.workshop.printer and c.kind == "merge"


def inlet_of(m: Manifold, run: Run) -> Blank | None:
    """What the inlet of a run asks for; None where it has none, or one that ends square."""
    collector = next((c for c in m.collectors if run.number in c.order), None) if run.number else None
    return None if collector is None or square(collector) else blank_of(m, collector)


def _scallop(c: Collector) -> float:
    cg, sg = cos_sin(c.half_angle)
    r = c.section.radius
    if c.kind == "bundle":
        return (c.merge_depth - r * sg) / cg
    return (c.ring_radius - r * math.hypot(cg, _cot(c))) / sg


def _longest(c: Collector) -> float:
    """The edge rises with the flat cut, falls with a side to the scallop's bottom and rises to the star's line."""
    cg, sg = cos_sin(c.half_angle)
    r = c.section.radius

    def flat(phi: float) -> float:
        return (c.merge_depth - r * math.cos(phi) * sg) / cg

    if c.kind == "bundle":
        return flat(math.pi)
    cot = _cot(c)

    def edge(phi: float) -> float:
        side = (c.ring_radius + r * (cg * math.cos(phi) - math.sin(phi) * cot)) / sg
        return min(side, flat(phi))

    found = [edge(0.0), edge(math.pi)]
    share = (c.merge_depth * sg - c.ring_radius * cg) / (r * math.hypot(1.0, cot * cg))
    if abs(share) <= 1:
        met = math.acos(share) - math.atan2(cot * cg, 1.0)
        found += [edge(met)] if 0 < met < math.pi else []
    return max(found)


def _cot(c: Collector) -> float:
    n = len(c.order)
    return 0.0 if n == 2 else 1 / math.tan(math.pi / n)


def _up(value: float) -> float:
    return float(math.ceil(round(value, NOISE)))
