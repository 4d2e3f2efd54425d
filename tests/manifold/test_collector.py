"""The collector's numbers against coordinates, brute force and figures worked by hand."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from manifoldgen.errors import GeometryError
from manifoldgen.geometry.pose import BENCH, Frame
from manifoldgen.manifold import collector as numbers
from manifoldgen.manifold.collector_volume import collector_volume, cone_volume, inlet_volume, lid_volume
from manifoldgen.manifold.model import Section
from tests.strategies import random_collector

RUNNER = Section(48.3, 2.0, "304")
OUTLET = Section(60.3, 2.77, "304")
PLAIN = {
    "name": "collector",
    "kind": "merge",
    "frame": BENCH,
    "section": RUNNER,
    "outlet": OUTLET,
    "order": [1, 3, 4, 2],
    "half_angle": 10.0,
    "gap": 1.3,
}


def made(**changed):
    """Make the plain collector with some of its numbers changed."""
    return numbers.make_collector(**(PLAIN | changed))


@pytest.mark.parametrize(
    ("n", "od", "ring", "join"),
    [(3, 48.3, 29.07, 37.3), (4, 48.3, 35.60, 74.3), (6, 42.4, 44.35, 141.0)],
)
def test_ring_and_join_depth_by_hand(n, od, ring, join):
    """Inlet circle and join depth are the formulas' (worked by hand for half angle 10°, gap 1.3, wall 2)."""
    found = numbers.ring_radius(n, od, 10.0, 1.3)
    assert found == pytest.approx(ring, abs=0.01)
    assert numbers.join_depth(found, Section(od, 2.0, "304"), 10.0) == pytest.approx(join, abs=0.06)


def test_poses_lie_on_the_ring_and_aim_inwards():
    """Ring angle 0 is the frame's y, +90° its −x; inlets tilt inwards by the half angle (closed form)."""
    frame = Frame.facing((10, -20, 30), (1, 2, -3), (0, 1, 0), 15)
    c = made(frame=frame, clock=0.0)
    ring = c.ring_radius
    expected = [(0, ring, 0), (-ring, 0, 0), (0, -ring, 0), (ring, 0, 0)]
    assert np.allclose([frame.into(p.at) for p in c.inlets], expected, atol=1e-12)
    d = frame.matrix.T @ np.array(c.inlet(3).direction)  # second of the order, on −x: travels to +x
    assert np.allclose(d, (math.sin(math.radians(10)), 0, math.cos(math.radians(10))), atol=1e-12)
    mirrored = made(frame=frame, clock=0.0, mirror=True)
    assert np.allclose(frame.into(mirrored.inlet(3).at), (ring, 0, 0), atol=1e-12)
    assert np.allclose([frame.out(at) for at, _ in numbers.local_inlets(c)], [p.at for p in c.inlets])


def test_lumens_reach_the_axis_at_the_join_depth():
    """The innermost line of a lumen meets the collector axis at z_j (intersection of two lines)."""
    c = made(clock=37.0)
    pose = c.inlets[0]
    at, d = np.array(pose.at), np.array(pose.direction)
    inward = np.cross(d, np.cross(-at, d))
    start = at + c.section.bore_radius * inward / np.linalg.norm(inward)
    s = -(start @ at) / (d @ at)  # back to the axis: no part left along the ring radius
    assert np.allclose(start + s * d, (0, 0, c.join_depth), atol=1e-9)


@pytest.mark.parametrize(("n", "half_angle"), [(2, 25.0), (3, 10.0), (5, 20.0), (8, 5.0), (4, 0.0)])
def test_true_gap_by_brute_force(n, half_angle):
    """The closed form equals the least distance between two densely sampled ellipses."""
    c = made(order=range(1, n + 1), half_angle=half_angle, kind="bundle")
    t = np.linspace(0, 2 * math.pi, 1441)
    ellipse = np.stack(
        [c.ring_radius + 24.15 / math.cos(math.radians(half_angle)) * np.cos(t), 24.15 * np.sin(t)]
    )
    a = 2 * math.pi / n
    other = np.array([[math.cos(a), -math.sin(a)], [math.sin(a), math.cos(a)]]) @ ellipse
    gaps = np.linalg.norm(ellipse.T[:, None, :] - other.T[None, :, :], axis=2)
    assert c.true_gap == pytest.approx(gaps.min(), abs=2e-3)
    assert c.true_gap >= 1.3 - 1e-9


def test_auto_length_is_whole_and_no_steeper_than_the_inlets():
    """Auto: z_c one wall behind z_j, length to the whole mm, cone as steep as the inlets or just less."""
    c = made(half_angle=12.0)
    assert c.merge_depth == pytest.approx(c.join_depth + 2.0)
    assert c.length == round(c.length)
    assert 11.0 < c.cone_half_angle <= 12.0
    assert 3.5 < made(kind="bundle", half_angle=0.0).cone_half_angle <= 4.0
    assert 19.0 < made(half_angle=24.0).cone_half_angle <= 20.0


def test_cone_angle_asked_for_is_kept():
    """A cone angle is met up to the rounding of the length; a length beside it that does not give it is refused."""
    assert 7.8 < made(cone_half_angle=8.0).cone_half_angle <= 8.0
    with pytest.raises(GeometryError, match=r"leaves a cone of .*° asked for"):
        made(cone_half_angle=8.0, length=160.0)


def test_too_short_a_length_names_the_least():
    """The sentence gives a length that works, and half a mm less does not."""
    with pytest.raises(GeometryError, match=r"length 80\.0 mm is too short.*at least (\d+\.\d) mm") as caught:
        made(length=80.0)
    least = float(str(caught.value).split("at least ")[1].split(" mm")[0])
    c = made(length=least)
    assert c.merge_depth == c.join_depth
    assert c.cone_half_angle == pytest.approx(20.0, abs=0.2)
    with pytest.raises(GeometryError, match="too short"):
        made(length=least - 0.5)


@pytest.mark.parametrize(
    ("changed", "words"),
    [
        ({"half_angle": 4.0}, "half_angle 4° is outside 5° to 25°"),
        ({"kind": "bundle", "half_angle": 26.0}, "half_angle 26° is outside 0° to 25°"),
        ({"gap": 0.0}, "gap 0 mm"),
        ({"order": [1]}, "1 inlets"),
        ({"order": [1, 2, 2]}, "names a cylinder twice"),
        ({"cone_half_angle": 21.0}, "cone_half_angle 21°"),
        ({"section": Section(40.0, 20.0, "304")}, "no bore"),
    ],
)
def test_impossible_numbers_are_refused(changed, words):
    """What makes no collector is refused in one sentence with the value."""
    with pytest.raises(GeometryError, match=words):
        made(**changed)


def test_random_collectors_keep_their_rules():
    """Rim 0.5 mm outside the tubes, cone at most 20°, end discs before the flat cut (points of the disc)."""
    for case in range(200):
        c = random_collector(np.random.default_rng([5, case]))
        g = math.radians(c.half_angle)
        reach = c.ring_radius - c.merge_depth * math.tan(g) + c.section.radius / math.cos(g)
        assert c.rim_radius >= reach + 0.5, case
        assert abs(c.cone_half_angle) <= 20 + 1e-9, case
        assert c.length >= c.merge_depth + 10 - 1e-9, case
        pose = numbers.inlet_start(c, c.order[0])
        u = np.array(pose.normal)
        v = np.cross(pose.direction, u)
        t = np.linspace(0, 2 * math.pi, 361)[:, None]
        disc = np.array(pose.at) + c.section.radius * (np.cos(t) * u + np.sin(t) * v)
        assert c.frame.into(disc)[:, 2].max() < c.merge_depth - 0.9, case


def test_volume_of_a_straight_bundle():
    """Parallel tubes: lead, plate and cone are cylinders and frustums (closed form)."""
    c = made(kind="bundle", half_angle=0.0, outlet=Section(60.3, 2.0, "304"), cone_half_angle=15.0)
    r, b, t = 24.15, 22.15, 2.0
    assert inlet_volume(c) == pytest.approx(math.pi * (r * r - b * b) * 1.0)
    slope = (c.rim_radius - 30.15) / c.length
    at_lid = c.rim_radius - t * slope
    assert lid_volume(c) == pytest.approx(
        frustum(c.rim_radius, at_lid, t) - 4 * math.pi * b * b * t, rel=1e-7
    )
    radial = t * math.sqrt(1 + slope * slope)
    land = (radial - t) / slope
    hollow = frustum(at_lid - radial, 28.15, c.length - t - land) + math.pi * 28.15**2 * land
    assert cone_volume(c) == pytest.approx(frustum(at_lid, 30.15, c.length - t) - hollow)
    assert collector_volume(c) == pytest.approx(4 * inlet_volume(c) + lid_volume(c) + cone_volume(c))
    assert collector_volume(replace(c, length=c.length + 1)) > collector_volume(c)


def frustum(a: float, b: float, height: float) -> float:
    """Volume of a cone frustum."""
    return math.pi * height * (a * a + a * b + b * b) / 3
