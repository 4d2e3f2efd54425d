"""Where the lines along a branch leave the outside of what it stands on: a bent tube or a cone.

Every line gives a polynomial in s: a quadratic on straights and cones, a quartic on bends (a torus),

    (|X|² + R² - ρ²)² = 4 R² (x² + y²)          X = a point of the line from the bend's centre, z its axis

whose roots are the eigenvalues of companion matrices. The outermost real root within the part counts.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike

from manifoldgen.geometry.path import Arc, Line, Segment
from manifoldgen.geometry.vectors import Array, array
from manifoldgen.manifold.collector_profile import outer_profile
from manifoldgen.manifold.model import Collector

_REAL = 1e-5  # imaginary part over radius up to which a root is taken as real: a double root splits that far
_EDGE = 1e-9  # mm and rad: how far past a segment's end a root may lie
_POLISH = 3  # Newton steps after the eigenvalues


def from_tube(
    segments: tuple[Segment, ...], radius: float, origins: Array, axis: Array, reach: float
) -> Array:
    """Distance along each line to where it leaves a tube of outside `radius` for the last time, mm.

    Parameters
    ----------
    segments : the parent's centreline in place.
    origins : (n, 3) points of the lines, inside the tube.  axis : their unit direction.
    reach : how far along the lines is looked, mm: behind it the parent may come round again.

    Returns NaN for a line that does not leave the tube within reach.
    """
    best = np.full(len(origins), -math.inf)
    for segment in segments:
        find = _line_roots if isinstance(segment, Line) else _arc_roots
        roots = find(segment, radius, origins, axis)  # type: ignore[arg-type]
        roots = np.where((roots > 0) & (roots <= reach), roots, -math.inf)
        best = np.maximum(best, roots.max(axis=1))
    return np.where(np.isfinite(best), best, math.nan)


def from_cone(c: Collector, origins: Array, axis: Array, under: float = 0.0) -> Array:
    """Distance along each line to where it leaves a collector's cone for the last time, mm.

    under : mm of radius below the cone's outside.  NaN where a line never leaves it.
    """
    slope = cone_slope(c)
    q, d = c.frame.into(origins), c.frame.matrix.T @ axis
    wide = cone_radius(c, q[:, 2]) - under  # the cone's radius at the line's origin
    a2 = d[0] ** 2 + d[1] ** 2 - (slope * d[2]) ** 2
    a1 = q[:, 0] * d[0] + q[:, 1] * d[1] + wide * slope * d[2]
    a0 = q[:, 0] ** 2 + q[:, 1] ** 2 - wide**2
    roots = _quadratic(a2, a1, a0)
    radius = wide[:, None] - slope * d[2] * roots
    roots = np.where((roots > 0) & (radius > 0), roots, -math.inf)
    best: Array = roots.max(axis=1)
    return np.where(np.isfinite(best), best, math.nan)


def cone_slope(c: Collector) -> float:
    """How fast a collector's cone narrows outside, mm of radius a mm of depth."""
    (rim, start), (end, depth) = outer_profile(c)[:2]
    return (rim - end) / (depth - start)


def cone_radius(c: Collector, depth: ArrayLike) -> Array:
    """Outside radius of a collector's cone, run on both ways, at depths from the ring plane, mm."""
    return array(c.rim_radius - (array(depth) - c.merge_depth) * cone_slope(c))


def _line_roots(g: Line, radius: float, origins: Array, axis: Array) -> Array:
    t = array(g.direction)
    v = origins - array(g.at)
    along, step = v @ t, float(axis @ t)
    w, u = v - np.outer(along, t), axis - step * t
    roots = _quadratic(float(u @ u), w @ u, np.einsum("ij,ij->i", w, w) - radius**2)
    foot = along[:, None] + step * roots
    inside = (foot >= -_EDGE) & (foot <= g.length + _EDGE)
    return np.where(inside, roots, math.nan)


def _arc_roots(g: Arc, radius: float, origins: Array, axis: Array) -> Array:
    basis = np.column_stack([g.radial, g.direction, g.axis])
    q, d = (origins - array(g.centre)) @ basis / radius, basis.T @ axis  # lengths in tube radii
    clr = g.clr / radius
    a1, a0 = 2 * q @ d, np.einsum("ij,ij->i", q, q) + clr**2 - 1
    b2 = d[0] ** 2 + d[1] ** 2
    b1 = 2 * (q[:, 0] * d[0] + q[:, 1] * d[1])
    b0 = q[:, 0] ** 2 + q[:, 1] ** 2
    k = 4 * clr**2
    coefficients = np.stack(
        [2 * a1, a1**2 + 2 * a0 - k * b2, 2 * a1 * a0 - k * b1, a0**2 - k * b0], axis=1
    )  # below a leading 1
    roots = _quartic(coefficients)
    point = q[:, None, :] + roots[..., None] * d
    turn = np.arctan2(point[..., 1], point[..., 0])
    turn = np.where(turn < -_EDGE, turn + 2 * math.pi, turn)
    return np.where(turn <= math.radians(g.angle) + _EDGE, roots * radius, math.nan)


def _quadratic(a2: float, half_a1: Array, a0: Array) -> Array:
    """Real roots of a2 s² + 2 half_a1 s + a0, (n, 2); NaN where there are none."""
    if abs(a2) < 1e-14:
        with np.errstate(divide="ignore", invalid="ignore"):
            one = np.where(half_a1 != 0, -a0 / (2 * half_a1), math.nan)
        return np.stack([one, one], axis=1)
    inside = half_a1**2 - a2 * a0
    root = np.sqrt(np.maximum(inside, 0.0))
    found = np.stack([(-half_a1 - root) / a2, (-half_a1 + root) / a2], axis=1)
    return np.where(inside[:, None] >= 0, found, math.nan)


def _quartic(coefficients: Array) -> Array:
    """Real roots of s⁴ + c3 s³ + c2 s² + c1 s + c0, (n, 4); NaN where one is not real."""
    n = len(coefficients)
    companion = np.zeros((n, 4, 4))
    companion[:, 1, 0] = companion[:, 2, 1] = companion[:, 3, 2] = 1.0
    companion[:, :, 3] = -coefficients[:, ::-1]
    found = np.linalg.eigvals(companion)
    real = np.abs(found.imag) <= _REAL
    s = np.where(real, found.real, 0.0)
    c3, c2, c1, c0 = coefficients.T[:, :, None]
    for _ in range(_POLISH):
        value = (((s + c3) * s + c2) * s + c1) * s + c0
        slope = ((4 * s + 3 * c3) * s + 2 * c2) * s + c1
        step = np.where(np.abs(slope) > 1e-9, value / np.where(slope == 0, 1.0, slope), 0.0)
        s = s - np.where(np.abs(step) < 1e-3, step, 0.0)
    return np.where(real, s, math.nan)
