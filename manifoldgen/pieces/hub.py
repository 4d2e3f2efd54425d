"""The collector's own welds: crotches, inner seams, star, lid and cone.

Seam of two neighbouring inlets (tube radius r, half angle γ, ring radius ρ, N inlets, h = π/N): it lies in
their bisector plane, spanned by the collector axis and the unit vector b half way between them. A point
u·b + z·axis is on it where its distance to either tube's centreline is r. With w = ρ cos γ - z sin γ and
a = 1 - sin²γ cos²h that is a u² - 2 u w cos h cos γ + w² = r²: the greater root is the outer branch
(crotch), the smaller the inner one, which meets the axis at the star.
"""

from __future__ import annotations

import math

import numpy as np

from manifoldgen.geometry.vectors import Array, array, cos_sin, unit, vec
from manifoldgen.manifold.model import Collector, Joint


def prefix(collectors: int, name: str) -> str:
    """``C``, or ``CA``, ``CB`` … where there are several collectors."""
    return "C" if collectors == 1 else f"C{name}"


def letters(collector: Collector) -> tuple[str, ...]:
    """A, B, D, … for the neighbours (order[k], order[k + 1]) round the ring; C, L, S are cone, lid and star."""
    return tuple("ABDEFGHIJKMNOPQRTUVWXYZ"[: len(collector.order)])


def leg_length(collector: Collector) -> float:
    """Centreline of an inlet from the ring plane to its flat cut, mm (0 for a bundle)."""
    if collector.kind == "bundle":
        return 0.0
    return collector.merge_depth / math.cos(math.radians(collector.half_angle))


def touch_depth(collector: Collector) -> float:
    """Depth below the ring plane where the seam of two neighbours begins, mm."""
    r, g, h = _shape(collector)
    a = 1 - (math.sin(g) * math.cos(h)) ** 2
    return (math.cos(g) * collector.ring_radius - r * math.sqrt(a) / math.sin(h)) / math.sin(g)


def star_depth(collector: Collector) -> float:
    """Depth of the star, where all inner seams meet on the axis, mm: (ρ - r / cos γ) / tan γ."""
    r, g, _ = _shape(collector)
    return (collector.ring_radius - r / math.cos(g)) / math.tan(g)


def seam_radius(collector: Collector, depth: float) -> tuple[float, float]:
    """Distance of the outer and the inner branch from the axis at `depth` mm below the ring plane.

    Both are NaN above the depth where the seam begins.
    """
    r, g, h = _shape(collector)
    a = 1 - (math.sin(g) * math.cos(h)) ** 2
    w = (
        math.cos(g) * collector.ring_radius - math.sin(g) * depth
    )  # the axis point's distance from a centreline
    inside = a * r**2 - (w * math.sin(h)) ** 2
    if inside < 0:
        return math.nan, math.nan
    middle, root = math.cos(h) * math.cos(g) * w / a, math.sqrt(inside) / a
    return middle + root, middle - root


def joints(collector: Collector, code: str, tubes: dict[int, str]) -> list[Joint]:
    """The collector's joints; `tubes` gives the piece that holds each cylinder's inlet.

    A seam's `at` is the middle (by depth) of its branch, `direction` runs along it with the flow.
    """
    made: list[Joint] = []
    r = collector.section.radius
    depth = collector.merge_depth
    if collector.kind == "merge":
        touch, star = touch_depth(collector), star_depth(collector)
        n = len(collector.order)
        for k, letter in enumerate(letters(collector)):
            pair = (tubes[collector.order[k]], tubes[collector.order[(k + 1) % n]])
            middle = (
                collector.ring_angles[k] + collector.ring_angles[1] / 2 - collector.ring_angles[0] / 2
            ) % 360
            at, along = _mid_seam(collector, middle, (touch, depth), 0)
            made.append(Joint(f"J{code}.{letter}", "crotch", vec(at), vec(along), r, pair))
            if n > 2:  # two inlets first touch on the axis: there is no inner branch
                at, along = _mid_seam(collector, middle, (touch, star), 1)
                made.append(Joint(f"J{code}.{letter}i", "inner seam", vec(at), vec(along), r, pair))
        if n > 2:
            star_at = vec(collector.frame.out((0.0, 0.0, star)))
            first = (tubes[collector.order[0]], tubes[collector.order[-1]])
            made.append(Joint(f"J{code}.S", "star", star_at, collector.frame.z, r, first))
        lid = (tubes[collector.order[0]], f"{code}-P1")
        flat = vec(collector.frame.out((0.0, 0.0, depth)))
        made.append(Joint(f"J{code}.L", "lid", flat, collector.frame.z, collector.ring_radius, lid))
    flat = vec(collector.frame.out((0.0, 0.0, depth)))
    between = (f"{code}-P1", f"{code}-P2")
    made.append(Joint(f"J{code}.C", "cone", flat, collector.frame.z, collector.rim_radius, between))
    return made


def _mid_seam(
    collector: Collector, angle: float, span: tuple[float, float], branch: int
) -> tuple[Array, Array]:
    """Middle of a seam branch and its direction there, in the bench frame."""
    c, s = cos_sin(angle)
    outward = np.array([-s, c, 0.0])
    middle, step = sum(span) / 2, 1e-3 * (span[1] - span[0])

    def point(depth: float) -> Array:
        return array(outward * seam_radius(collector, depth)[branch] + (0.0, 0.0, depth))

    along = unit(point(middle + step) - point(middle - step))
    return collector.frame.out(point(middle)), collector.frame.turn(along)


def _shape(collector: Collector) -> tuple[float, float, float]:
    return collector.section.radius, math.radians(collector.half_angle), math.pi / len(collector.order)
