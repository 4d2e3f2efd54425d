"""Where the inlets of a merge collector meet each other: the seams' curves in closed form.

Seam of two neighbouring inlets (tube radius r, half angle γ, ring radius ρ, N inlets, h = π/N): it lies in
their bisector plane, spanned by the collector axis and the unit vector b half way between them. A point
u·b + z·axis is on it where its distance to either tube's centreline is r. With w = ρ cos γ - z sin γ and
a = 1 - sin²γ cos²h that is a u² - 2 u w cos h cos γ + w² = r²: the greater root is the outer branch
(the outer valley), the smaller the inner one, which meets the axis at the centre point. The same holds for the bores with
their own radius: there the two branches are the edges of the window between two inlets.
"""

from __future__ import annotations

import math

from manifoldgen.manifold.model import Collector


def touch_depth(collector: Collector, radius: float | None = None) -> float:
    """Depth below the ring plane where the seam of two neighbours begins, mm.

    radius : of the tubes, mm; None is their outside.
    """
    r, g, h = _shape(collector, radius)
    a = 1 - (math.sin(g) * math.cos(h)) ** 2
    return (math.cos(g) * collector.ring_radius - r * math.sqrt(a) / math.sin(h)) / math.sin(g)


def star_depth(collector: Collector, radius: float | None = None) -> float:
    """Depth of the star, where all inner seams meet on the axis, mm: (ρ - r / cos γ) / tan γ."""
    r, g, _ = _shape(collector, radius)
    return (collector.ring_radius - r / math.cos(g)) / math.tan(g)


def seam_radius(collector: Collector, depth: float, radius: float | None = None) -> tuple[float, float]:
    """Distance of the outer and the inner branch from the axis at `depth` mm below the ring plane.

    Both are NaN above the depth where the seam begins.
    """
    r, g, h = _shape(collector, radius)
    a = 1 - (math.sin(g) * math.cos(h)) ** 2
    # the axis point's distance from a centreline
    w = math.cos(g) * collector.ring_radius - math.sin(g) * depth
    inside = a * r**2 - (w * math.sin(h)) ** 2
    if inside < 0:
        return math.nan, math.nan
    middle, root = math.cos(h) * math.cos(g) * w / a, math.sqrt(inside) / a
    return middle + root, middle - root


def _shape(collector: Collector, radius: float | None) -> tuple[float, float, float]:
    r = collector.section.radius if radius is None else radius
    return r, math.radians(collector.half_angle), math.pi / len(collector.order)
