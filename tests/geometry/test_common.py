"""What two outlines share: exact edges, areas by closed form and by rays."""

from __future__ import annotations

import math
import random

import pytest

from manifoldgen.errors import GeometryError
from manifoldgen.geometry import contour
from manifoldgen.geometry.common import common
from manifoldgen.geometry.contour import Contour, contains


def test_one_inside_the_other_is_given_back_as_it_is():
    """No crossing: the inner one unchanged, either way round."""
    small, large = contour.oval(30, 20), contour.circle(40)
    assert common(small, large) is small
    assert common(large, small) is small


def test_a_round_and_a_square():
    """Square 2a across in a circle of radius r, a < r < a √2: 4 (a √(r² − a²) + r² (π/4 − acos(a/r))) (closed form)."""
    a, r = 10.0, 12.0
    expected = 4 * (a * math.sqrt(r * r - a * a) + r * r * (math.pi / 4 - math.acos(a / r)))
    shared = common(contour.rectangle(2 * a, 2 * a), contour.circle(2 * r))
    assert shared.area == pytest.approx(expected, rel=1e-12)
    assert len(shared.vertices) == 8  # four straights, four arcs
    assert {round(e.radius, 9) for e in shared.edges() if hasattr(e, "radius")} == {r}


@pytest.mark.parametrize("seed", range(12))
def test_random_openings_and_bores(seed):
    """Area by rays that are halved down to the edge, edges inside both outlines, at a place that is not the origin."""
    draw = random.Random(seed)  # noqa: S311
    at = (draw.uniform(-50, 50), draw.uniform(-50, 50))
    w, h = draw.uniform(25, 50), draw.uniform(25, 50)
    one = contour.oval(w, h) if seed % 2 else contour.rectangle(w, h, draw.uniform(0, min(w, h) / 2))
    two = (
        contour.circle(draw.uniform(25, 50))
        if seed % 3
        else contour.oval(draw.uniform(25, 50), draw.uniform(25, 50))
    )
    if seed == 5:
        one, two = contour.oval(44, 38), contour.circle(38)  # arcs on arcs, tangent straights
    shared = common(one.moved(*at), two.moved(*at), at)
    rays = 360
    reached = []
    for k in range(rays):
        c, sn = math.cos(math.tau * (k + 0.5) / rays), math.sin(math.tau * (k + 0.5) / rays)
        low, high = 0.0, 60.0
        while high - low > 1e-4:
            half = (low + high) / 2
            inside = contains(one, (half * c, half * sn)) and contains(two, (half * c, half * sn))
            low, high = (half, high) if inside else (low, half)
        reached.append(low)
    assert shared.area == pytest.approx(sum(r * r for r in reached) * math.pi / rays, rel=2e-3)
    for p in contour.points(shared, 0.05):
        local = (p[0] - at[0], p[1] - at[1])
        assert contour.distance(one, local) <= 1e-6
        assert contour.distance(two, local) <= 1e-6


def test_a_middle_outside_is_refused():
    """Both outlines must hold the middle."""
    with pytest.raises(GeometryError, match="inside both"):
        common(contour.circle(10), contour.circle(10), (30, 0))
    assert Contour(((1, 0, 1.0), (-1, 0, 1.0))).area == pytest.approx(math.pi)
