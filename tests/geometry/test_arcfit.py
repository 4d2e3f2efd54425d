"""Arcs along curves: within the tolerance, without a kink, over the whole curve."""

from __future__ import annotations

import math

import pytest

from manifoldgen.errors import GeometryError
from manifoldgen.geometry.arcfit import biarc, ellipse, fit
from manifoldgen.geometry.contour import Contour
from manifoldgen.geometry.edges import ArcEdge, LineEdge


@pytest.mark.parametrize("ratio", [0.2, 0.5, 0.9, 1.0])
@pytest.mark.parametrize("tol", [0.05, 0.005])
def test_an_ellipse_is_followed(ratio, tol):
    """Every point of the ellipse lies within the tolerance; the area is π a b (closed form) to the tolerance."""
    a = 30.0
    curve = ellipse((5.0, -3.0), (a * math.cos(0.4), a * math.sin(0.4)), ratio)
    made = fit(curve, 0.0, math.tau, tol)
    loop = Contour(made.vertices[:-1])
    assert made.deviation <= tol
    assert loop.area == pytest.approx(math.pi * a * a * ratio, abs=loop.length * tol)
    for k in range(400):
        place = curve(math.tau * (k + 0.5) / 400)[0]
        assert min(e.distance(place) for e in loop.edges()) <= tol * 1.05


def test_arcs_meet_without_a_kink():
    """Where two arcs meet, the one leaves the way the other arrives."""
    made = fit(ellipse((0, 0), (40, 0), 0.3), 0.0, math.tau, 0.02)
    edges = [e for e in Contour(made.vertices[:-1]).edges() if isinstance(e, ArcEdge)]
    for one, two in zip(edges, [*edges[1:], edges[0]], strict=True):
        leaves = one.first + one.sweep + math.copysign(math.pi / 2, one.sweep)
        arrives = two.first + math.copysign(math.pi / 2, two.sweep)
        assert abs(math.remainder(leaves - arrives, math.tau)) < 1e-6


def test_a_straight_stays_straight_and_a_round_stays_round():
    """A biarc on a line has no bulge; on a circle both arcs have its radius."""
    assert [v[2] for v in biarc((0, 0), (1, 0), (10, 0), (2, 0))] == [0.0, 0.0]
    first, second = biarc((10, 0), (0, 1), (0, 10), (-1, 0))
    edges = [ArcEdge.bulged(first[:2], second[:2], first[2]), ArcEdge.bulged(second[:2], (0, 10), second[2])]
    assert [e.radius for e in edges] == pytest.approx([10, 10])
    assert isinstance(LineEdge((0, 0), (1, 0)).length, float)


def test_a_kink_is_refused():
    """A curve that jumps in its direction is named with the place."""

    def kinked(t):
        return ((t, abs(t)), (1.0, math.copysign(1.0, t)))

    with pytest.raises(GeometryError, match="kink"):
        fit(kinked, -1.0, 1.3, 1e-6)
