"""Weld curves lie on both surfaces they join, and the torch looks half way between their normals."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from manifoldgen.access import curves
from manifoldgen.access.welds import welds
from manifoldgen.geometry import contour
from manifoldgen.geometry.path import Bend, Path, Straight
from manifoldgen.geometry.pose import BENCH, Pose
from manifoldgen.manifold.branches import off_cone
from manifoldgen.manifold.model import Branch, Manifold, Section
from manifoldgen.pieces import split
from tests import factory

SPACING = 10.0  # mm, the most between two places


def off_line(points, at, along) -> np.ndarray:
    """Distance of points to a line."""
    v = np.asarray(points) - np.asarray(at)
    d = np.asarray(along)
    return np.linalg.norm(v - np.outer(v @ d, d), axis=1)


def all_welds(m: Manifold) -> dict:
    """Curves of every joint."""
    return welds(split(m))


@pytest.fixture(scope="module")
def four() -> Manifold:
    """Four straight runners, a branch off the outlet's bend."""
    return split(factory.with_branch(factory.manifold(4)))


def test_every_joint_has_a_curve_with_unit_vectors_square_to_each_other(four) -> None:
    """Places are near enough, directions are unit, the weld runs square to the way the torch looks."""
    found = welds(four)

    assert set(found) == {j.id for j in four.joints}
    for sides in found.values():
        for w in sides:
            assert np.linalg.norm(w.along, axis=1) == pytest.approx(1.0)
            assert np.linalg.norm(w.bisector, axis=1) == pytest.approx(1.0)
            assert np.abs((w.along * w.bisector).sum(1)).max() < 1e-9
            if w.length:
                assert w.length / len(w.points) <= SPACING + 1e-9
            if w.closed and w.length:
                assert len(w.points) >= 36


def test_a_butt_ring_is_the_tubes_own_circle() -> None:
    """On the tube's skin in the plane of the cut, looked at straight from outside."""
    m = factory.manifold(3)
    first = factory.runner(1, [Straight(40), Bend(60, 63.6), Straight(50)])
    m = split(replace(m, runners=(first, *m.runners[1:])))
    joint = next(j for j in m.joints if j.id == "J1.2")
    (w,) = welds(m)["J1.2"]
    out = w.points - np.array(joint.at)

    assert np.linalg.norm(out, axis=1) == pytest.approx(21.2)
    assert np.abs(out @ np.array(joint.direction)).max() < 1e-9
    assert w.bisector == pytest.approx(out / 21.2)


def test_the_foot_of_a_leaning_tube_is_an_ellipse_in_the_flange_face() -> None:
    """Closed form: on the face z = 12 and one radius from the tube's axis; as far from either surface.

    The factory's runners lean 12°: half axes are r and r / cos 12°.
    """
    m = factory.manifold(3)
    run = m.runners[0]
    (w,) = all_welds(m)["J1.1"]
    d = np.array(run.start.direction)

    assert w.points[:, 2] == pytest.approx(12.0)
    assert off_line(w.points, run.start.at, d) == pytest.approx(21.2)
    reach = np.linalg.norm(w.points - np.array(run.start.at), axis=1)
    assert reach.max() == pytest.approx(21.2 / math.cos(math.radians(12)), rel=1e-3)
    ahead = w.points + 1e-4 * w.bisector
    to_tube = off_line(ahead, run.start.at, d) - 21.2
    assert to_tube == pytest.approx(ahead[:, 2] - 12.0, rel=1e-3)
    assert (to_tube > 0).all()


def test_flanges_at_the_tubes_end_are_welded_on_the_tubes_side(four) -> None:
    """The torch looks back along the tube, away from the turbo flange."""
    (w,) = welds(four)["JT.1"]

    assert (w.bisector @ np.array(four.turbo.frame.z)).max() < -0.6


@pytest.mark.parametrize(("cylinders", "half_angle"), [(2, 12.0), (3, 8.0), (4, 12.0), (6, 18.0)])
def test_seams_follow_both_inlets_from_the_first_touch_on(cylinders, half_angle) -> None:
    """Closed form: one tube radius from both axes; from there the torch leaves both surfaces alike."""
    m = split(factory.manifold(cylinders, half_angle=half_angle))
    c, found = m.collectors[0], welds(m)
    seams = [j for j in m.joints if j.kind in ("crotch", "inner seam")]
    assert len(seams) == (2 * cylinders if cylinders > 2 else 2)
    for joint in seams:
        inlets = [c.inlet(next(p.inlet for p in m.pieces if p.id == name)) for name in joint.between]
        for w in found[joint.id]:
            inside = w.side == "merge side"
            r = c.section.bore_radius if inside else c.section.radius
            for pose in inlets:
                assert off_line(w.points, pose.at, pose.direction) == pytest.approx(r, abs=0.02)
            moved = [off_line(w.points + 0.5 * w.bisector, p.at, p.direction) - r for p in inlets]
            assert moved[0] == pytest.approx(moved[1], abs=0.02)
            assert (moved[0] < 0.01).all() if inside else (moved[0] > -0.02).all()
            depth = c.frame.into(w.points)[:, 2]
            assert (depth > 0).all()
            assert (depth < c.merge_depth + 1e-6).all()


def test_the_lids_weld_is_the_outline_of_all_lobes(four) -> None:
    """At the flat cut, on the skin of one inlet and outside no other's: the union's edge."""
    c = four.collectors[0]
    (w,) = welds(four)["JC.L"]

    assert c.frame.into(w.points)[:, 2] == pytest.approx(c.merge_depth)
    off = np.array([off_line(w.points, p.at, p.direction) for p in c.inlets])
    assert off.min(axis=0) == pytest.approx(21.2)
    assert set(w.hosts) == {"C-P1", *(p.id for p in four.pieces if p.inlet)}


def test_the_saddle_lies_on_the_branch_and_on_the_bend(four) -> None:
    """Closed form: one branch radius from its axis, one parent radius from the bend's circle."""
    branch = four.branches[0]
    arc = four.outlet.path.segments[1]
    (w,) = welds(four)["JW.1"]

    assert off_line(w.points, branch.root, branch.axis) == pytest.approx(19.0)
    normal = np.cross(arc.radial, arc.direction)
    v = w.points - np.array(arc.centre)
    high = v @ normal
    flat = np.linalg.norm(v - np.outer(high, normal), axis=1)
    in_arc = (v @ np.array(arc.direction)) > 0
    to_circle = np.hypot(flat - arc.clr, high)
    assert in_arc.sum() > 10
    assert to_circle[in_arc] == pytest.approx(30.15, abs=1e-4)


def test_a_saddle_on_the_cone_lies_on_the_cone() -> None:
    """Closed form: the cone's radius at each place's depth, given by its half angle and the outlet."""
    m = factory.manifold(4)
    c = m.collectors[0]
    way = off_cone(c, at=0.5, around=30.0, aim=80.0)
    b = factory.with_branch(m, tube=Section(30.0, 1.5, "304"), seat=20.0).branches[0]
    start = Pose.heading(np.array(way.root) + way.wall_length * np.array(way.axis), way.axis)
    run = replace(b.run, start=start, path=Path(start, (Straight(60.0),)))
    b = Branch("cone", None, run, way.root, way.axis, way.wall_length, 80.0, 0.0, 20.0)
    (w,) = welds(split(replace(m, branches=(b,))))["JW.1"]
    x, y, depth = c.frame.into(w.points).T
    slope = math.tan(math.radians(c.cone_half_angle))

    assert off_line(w.points, b.root, b.axis) == pytest.approx(15.0)
    assert np.hypot(x, y) == pytest.approx(c.outlet.radius + (c.length - depth) * slope)
    assert set(w.hosts) == {"C-P2", "W-P1"}


def test_a_formed_tube_is_welded_round_the_ports_own_outline() -> None:
    """An oval of 40 × 30 with a 2 mm wall: every place 2 mm outside the port, spaced alike."""
    shape = contour.oval(40.0, 30.0)
    w = curves.outline(shape, 2.0, BENCH, (5.0, 7.0, 12.0), 36)
    local = w.points - (5.0, 7.0, 12.0)

    gap = [min(e.distance((x, y)) for e in shape.edges()) for x, y, _ in local]
    assert gap == pytest.approx([2.0] * 36, abs=1e-6)
    assert np.abs(local[:, 2]).max() < 1e-9
    steps = np.linalg.norm(np.roll(local, -1, 0) - local, axis=1)
    assert steps.max() < 1.4 * steps.min()
    assert w.bisector[:, 2] == pytest.approx(math.sqrt(0.5))


def test_a_bundles_tubes_are_welded_to_the_plates_upstream_face() -> None:
    """In the ring plane, an ellipse round the leaning inlet, looked at from upstream."""
    m = split(factory.manifold(3, kind="bundle", merge_depth=0.0, join_depth=0.0))
    (w,) = welds(m)["J1.2"]
    c = m.collectors[0]

    assert np.abs(c.frame.into(w.points)[:, 2]).max() < 1e-9
    assert off_line(w.points, c.inlets[0].at, c.inlets[0].direction) == pytest.approx(21.2)
    assert (w.bisector @ np.array(c.frame.z)).max() < -0.5


class _Ring:
    """As much of a reach as the stretches need."""

    def __init__(self, *, closed: bool) -> None:
        weld = type("Weld", (), {"closed": closed, "length": 40.0})()
        self.sides = [type("Side", (), {"weld": weld})()]


def test_blocked_stretches_say_where_on_the_clock():
    """Eight places of 45° (closed form): two stretches on a ring, one of them round its end; the same on a seam."""
    from manifoldgen.access.welding import blocked_stretches

    free = np.array([False, True, True, False, True, True, True, False])

    assert blocked_stretches(_Ring(closed=True), free) == ((112.5, 157.5), (292.5, 382.5))
    assert blocked_stretches(_Ring(closed=False), free) == ((0.0, 5.0), (15.0, 20.0), (35.0, 40.0))
    assert blocked_stretches(_Ring(closed=True), np.zeros(8, bool)) == ((0.0, 360.0),)
    assert blocked_stretches(_Ring(closed=True), np.ones(8, bool)) == ()
