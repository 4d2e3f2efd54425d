"""The cone of a collector as two turned outlines, (radius, z) from the collector joint plane: outside and bore.

The outlet's wall is kept along the whole cone, measured square to it: radially that is
t·sqrt(1 + tan²β). At the outlet the cone must end with the outlet's own ring, so one of the two outlines
ends with a short cylinder of t·tan(β/2): the bore where the cone narrows, the outside where it widens.
Below 3° that piece would be a sliver and what it saves 0.2 % of the wall; it is left out.
"""

from __future__ import annotations

import math

from manifoldgen.manifold.model import Collector

_SLIGHT = 3.0  # degrees

Profile = list[tuple[float, float]]


def outer_profile(c: Collector) -> Profile:
    """Outside of lid and cone, from the merge depth to the outlet tube."""
    rim, end = (c.rim_radius, c.merge_depth), (c.outlet.radius, c.length)
    land = _land(c) if c.cone_half_angle < 0 else 0.0
    return [rim, (c.outlet.radius, c.length - land), end] if land else [rim, end]


def bore_profile(c: Collector) -> Profile:
    """Bore of the cone, from the lid's downstream face to the outlet's bore."""
    lid = c.merge_depth + c.section.wall
    slope = _slope(c)
    radial = c.outlet.wall * (math.sqrt(1 + slope * slope) if _land(c) else 1.0)
    top = (c.rim_radius - (lid - c.merge_depth) * slope - radial, lid)
    end = (c.outlet.bore_radius, c.length)
    land = _land(c) if c.cone_half_angle > 0 else 0.0
    return [top, (c.outlet.bore_radius, c.length - land), end] if land else [top, end]


def _land(c: Collector) -> float:
    """Length of the short cylinder at the outlet, mm."""
    if abs(c.cone_half_angle) < _SLIGHT:
        return 0.0
    if c.cone_half_angle > 0:
        return c.outlet.wall * math.tan(math.radians(c.cone_half_angle) / 2)
    land = 0.0
    for _ in range(30):  # a widening cone gives the land away from its own length, and steepens by it
        steep = math.atan((c.outlet.radius - c.rim_radius) / (c.length - land - c.merge_depth))
        land = c.outlet.wall * math.tan(steep / 2)
    return land


def _slope(c: Collector) -> float:
    """Tangent of the outside's half angle, positive where it narrows."""
    land = _land(c) if c.cone_half_angle < 0 else 0.0
    return (c.rim_radius - c.outlet.radius) / (c.length - land - c.merge_depth)
