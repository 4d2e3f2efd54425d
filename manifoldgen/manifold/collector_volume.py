"""The collector's metal, and the gas inside it, without a single boolean: areas and lengths integrated by numpy.

Used to accept the solid, so it shares nothing with the way the solid is made. Every inlet tube is many lines
along its axis, each from the end disc to the first plane that cuts it; the transition plate is a disc less the
inlets' ellipses; the cone is a solid of revolution.
"""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np

from manifoldgen.geometry.vectors import Array, array, cos_sin
from manifoldgen.manifold.collector import inlet_lead
from manifoldgen.manifold.collector_profile import bore_profile, outer_profile
from manifoldgen.manifold.model import Collector

_ROUND = 4096  # points round a half circle
_DEEP = 24  # Gauss points across a wall or a depth


def inlet_volume(c: Collector) -> float:
    """Metal of one inlet: its tube from the end disc to bisector planes and flat cut, mm³."""
    lines, lead = _lines(c), inlet_lead(c)
    return _rings(lambda q: lines(q) + lead, c.section.bore_radius, c.section.radius)


def inlet_bore(c: Collector) -> float:
    """Gas inside one inlet from the ring plane to bisector planes and flat cut, mm³; all of them share nothing."""
    return 0.0 if c.kind == "bundle" else _rings(_lines(c), 0.0, c.section.bore_radius)


def _lines(c: Collector) -> Callable[[Array], Array]:
    """Lengths along the inlet's axis from its ring-plane disc to the first plane that cuts it, by radius and θ."""
    cg, sg = cos_sin(c.half_angle)
    half = math.pi / len(c.order)
    theta = (np.arange(_ROUND) + 0.5) * math.pi / _ROUND  # the other half mirrors this one

    def lengths(radii: Array) -> Array:
        q = radii[:, None]
        # local axes: u outwards along the radius, v round the ring; a line at (q cos θ, q sin θ) of the tube
        u0, v0 = c.ring_radius + q * np.cos(theta) * cg, q * np.sin(theta)
        ends = (c.merge_depth - q * np.cos(theta) * sg) / cg
        if sg > 0:  # the bisector plane: u sin(π/N) = v cos(π/N)
            ends = np.minimum(ends, (u0 * math.sin(half) - v0 * math.cos(half)) / (sg * math.sin(half)))
        return array(ends)

    return lengths


def _rings(lengths: Callable[[Array], Array], low: float, high: float) -> float:
    """Volume of a bundle of lines between two radii."""
    nodes, weights = np.polynomial.legendre.leggauss(_DEEP)
    radii = low + (high - low) * (nodes + 1) / 2
    rings = 2 * math.pi * lengths(radii).mean(axis=1) * radii
    return float(rings @ weights) * (high - low) / 2


def lid_volume(c: Collector) -> float:
    """Metal of the lid: the cone's first wall of depth less the lumens that run through it, mm³."""
    nodes, weights = np.polynomial.legendre.leggauss(_DEEP)
    depth = c.merge_depth + c.section.wall * (nodes + 1) / 2
    outer = np.interp(depth, *_by_depth(outer_profile(c)))
    return float((math.pi * outer**2 - _lumen_area(c, depth)) @ weights) * c.section.wall / 2


def cone_volume(c: Collector) -> float:
    """Metal of the cone behind the lid: the turned outer profile less the turned bore, mm³."""
    lid = c.merge_depth + c.section.wall
    return _turned(outer_profile(c), lid, c.length) - _turned(bore_profile(c), lid, c.length)


def lid_bore(c: Collector) -> float:
    """Gas inside the lid: the lumens that run through it, mm³."""
    nodes, weights = np.polynomial.legendre.leggauss(_DEEP)
    depth = c.merge_depth + c.section.wall * (nodes + 1) / 2
    return float(_lumen_area(c, depth) @ weights) * c.section.wall / 2


def cone_bore(c: Collector) -> float:
    """Gas inside the cone behind the lid, mm³."""
    return _turned(bore_profile(c), c.merge_depth + c.section.wall, c.length)


def collector_volume(c: Collector) -> float:
    """Metal of the whole collector, mm³; relative error below 1e-6."""
    return len(c.order) * inlet_volume(c) + lid_volume(c) + cone_volume(c)


def _lumen_area(c: Collector, depth: Array) -> Array:
    """Area of all lumens together in planes at given depths: N times one ellipse within its own wedge."""
    cg, sg = cos_sin(c.half_angle)
    half = math.pi / len(c.order)
    a, b = c.section.bore_radius / cg, c.section.bore_radius
    centre = c.ring_radius - depth[:, None] * sg / cg
    # slices across the radius at u = centre + a·sin t: as wide as the ellipse or the wedge, whichever is less
    t = ((np.arange(_ROUND) + 0.5) / _ROUND - 0.5) * math.pi
    u = centre + a * np.sin(t)
    wedge = np.maximum(u, 0.0) * math.tan(half) if len(c.order) > 2 else np.where(u > 0, np.inf, 0.0)
    slices = np.minimum(b * np.cos(t), wedge) * a * np.cos(t)
    area: Array = len(c.order) * 2 * math.pi * slices.mean(axis=1)
    return area


def _by_depth(profile: list[tuple[float, float]]) -> tuple[Array, Array]:
    radius, z = np.array(profile).T
    return z, radius


def _turned(profile: list[tuple[float, float]], low: float, high: float) -> float:
    """Volume of a turned profile of straight pieces between two depths."""
    z, radius = _by_depth(profile)
    cuts = np.unique(np.concatenate([[low, high], z[(z > low) & (z < high)]]))
    r = np.interp(cuts, z, radius)
    return float(math.pi / 3 * np.sum(np.diff(cuts) * (r[:-1] ** 2 + r[:-1] * r[1:] + r[1:] ** 2)))
