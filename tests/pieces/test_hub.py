"""The collector's seams: on both tubes, between the right depths."""

from __future__ import annotations

import math

import numpy as np
import pytest

from manifoldgen.manifold import seams
from manifoldgen.pieces import hub, split
from tests import factory

CASES = pytest.mark.parametrize(("cylinders", "half_angle"), [(3, 7.5), (4, 12.0), (5, 18.0), (6, 10.0)])


def off_axis(point, pose) -> float:
    """Distance of a point from an inlet's centreline."""
    d = np.array(pose.direction)
    v = np.array(point) - np.array(pose.at)
    return float(np.linalg.norm(v - (v @ d) * d))


@CASES
def test_seams_lie_on_the_skin_of_both_neighbours(cylinders, half_angle) -> None:
    """Closed form: a point of a seam is one tube radius from both centrelines, crotch outside, inner inside."""
    m = split(factory.manifold(cylinders, half_angle=half_angle))
    c = m.collectors[0]
    at = {j.id: j.at for j in m.joints}
    for k, letter in enumerate(hub.letters(c)):
        for name in (f"JC.{letter}", f"JC.{letter}i"):
            for pose in (c.inlets[k], c.inlets[(k + 1) % cylinders]):
                assert off_axis(at[name], pose) == pytest.approx(c.section.radius, abs=1e-9)
        outer, inner = (math.hypot(*c.frame.into(at[n])[:2]) for n in (f"JC.{letter}", f"JC.{letter}i"))
        assert outer > inner


@CASES
def test_touch_and_star_are_the_ends_of_the_inner_seam(cylinders, half_angle) -> None:
    """Closed form: at the first touch both branches are one point, at the star the inner one is on the axis."""
    c = factory.manifold(cylinders, half_angle=half_angle).collectors[0]
    touch, star = seams.touch_depth(c), seams.star_depth(c)

    outer, inner = seams.seam_radius(c, touch + 1e-9)
    assert outer == pytest.approx(inner, abs=1e-3)
    assert math.isnan(seams.seam_radius(c, touch - 1e-3)[0])
    h = math.radians(c.ring_angles[0]) + math.pi / cylinders
    for depth, reached in ((touch - 0.01, False), (touch + 0.01, True)):  # scanned along the bisector
        line = [
            c.frame.out((-u * math.sin(h), u * math.cos(h), depth)) for u in np.linspace(0, 2 * outer, 4001)
        ]
        assert (min(off_axis(p, c.inlets[0]) for p in line) < c.section.radius) == reached
    assert seams.seam_radius(c, star)[1] == pytest.approx(0.0, abs=1e-9)
    assert 0 < touch < star < c.merge_depth
