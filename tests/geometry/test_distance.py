"""Wall-to-wall distances against the CAD kernel, dense sampling and closed forms."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.spatial import cKDTree

from manifoldgen.errors import GeometryError
from manifoldgen.geometry import distance
from manifoldgen.geometry.distance import between_tubes, point_to_shape, to_shape, within_tube
from manifoldgen.geometry.gap import Asked
from manifoldgen.geometry.path import Bend, Path, Straight
from manifoldgen.geometry.pose import Frame, Pose
from manifoldgen.geometry.shapes import Box, Capsule, Cone, Cylinder, HalfSpace, Plate, Tube
from manifoldgen.geometry.vectors import vec
from tests.geometry.test_distance_points import MOON, WAIST
from tests.kernel_tubes import kernel_distance, kernel_distance_to_plate
from tests.strategies import random_direction, random_frame, random_tube, random_tube_pair

SEED = 7
TOL = 1e-3


def straight(at, direction, length=100.0, radius=20.0):
    """A straight tube."""
    return Tube(Path(Pose.heading(at, direction), (Straight(length),)), radius)


def surface(tube, step):
    """Points of a tube's wall and end discs, at most about `step` apart, and their arc lengths."""
    points, at = [], []
    s_values = np.linspace(0, tube.path.length, int(tube.path.length / step) + 2)
    turns = np.linspace(0, 2 * math.pi, int(2 * math.pi * tube.radius / step) + 2)[:-1]
    for i, s in enumerate(s_values):
        frame = Frame.facing(tube.path.point(s), tube.path.tangent(s), (0, 1, 0)).matrix
        ends = i in (0, len(s_values) - 1)
        for r in np.linspace(0, tube.radius, int(tube.radius / step) + 2) if ends else (tube.radius,):
            ring = np.column_stack([np.cos(turns), np.sin(turns)]) * r
            points.append(tube.path.point(s) + ring @ frame[:, :2].T)
            at.append(np.full(len(turns), s))
    return np.concatenate(points), np.concatenate(at)


def on_solid(tube, point):
    """How far a point stands outside a solid tube: from its nearest of discs some 0.2 mm apart."""
    worst = math.inf
    for s in np.linspace(0, tube.path.length, 2001):
        v, n = np.subtract(point, tube.path.point(s)), tube.path.tangent(s)
        worst = min(worst, math.hypot(v @ n, max(np.linalg.norm(np.cross(v, n)) - tube.radius, 0)))
    return worst


@pytest.mark.slow
def test_the_cad_kernel_agrees():
    """30 random pairs, every third parallel: the kernel's solid distance within 0.01 mm; 100 in the sweep."""
    print("seed", SEED)
    rng = np.random.default_rng(SEED)
    apart = 0
    for k in range(30):
        a, b = random_tube_pair(rng, parallel=k % 3 == 2)
        found = between_tubes(a, b)
        if found.gap <= 0:
            continue
        apart += 1
        assert found.certified
        assert found.gap == pytest.approx(kernel_distance(a, b), abs=0.01)
    assert apart >= 20


def test_points_belong_to_the_walls():
    """The two closest points lie on their tubes, at the arc lengths told, the gap apart."""
    rng = np.random.default_rng(SEED + 1)
    for _ in range(6):
        a, b = random_tube_pair(rng, parallel=False)
        g = between_tubes(a, b)
        if g.gap <= 0:
            continue
        assert math.dist(*g.points) == pytest.approx(g.gap, abs=1e-9)
        for tube, point, s in zip((a, b), g.points, g.along, strict=True):
            assert on_solid(tube, point) < 0.2
            v = np.subtract(point, tube.path.point(s))
            assert np.linalg.norm(v) <= tube.radius + 1e-6
            assert abs(v @ tube.path.tangent(s)) < 1e-6


def test_never_above_dense_sampling():
    """No pair of sampled wall points is nearer than the certified gap, nor the gap far below them."""
    print("seed", SEED + 2)
    rng = np.random.default_rng(SEED + 2)
    for k in range(30):
        a, b = random_tube_pair(rng, parallel=k % 3 == 2)
        g = between_tubes(a, b)
        if g.gap > 0:
            sampled = cKDTree(surface(a, 3.0)[0]).query(surface(b, 3.0)[0])[0].min()
            assert g.gap <= sampled + TOL
            assert g.gap >= sampled - 6.0


def test_rigid_motion_and_order_change_nothing():
    """A moved and turned pair, and the pair exchanged, have the same gap."""
    rng = np.random.default_rng(SEED + 3)
    for k in range(20):
        a, b = random_tube_pair(rng, parallel=k % 3 == 2)
        frame = random_frame(rng)

        def moved(tube, frame=frame):
            s = tube.path.start
            pose = Pose(vec(frame.out(s.at)), vec(frame.turn(s.direction)), vec(frame.turn(s.normal)))
            return Tube(Path(pose, tube.path.elements), tube.radius)

        gap = between_tubes(a, b).gap
        assert between_tubes(b, a).gap == pytest.approx(gap, abs=2 * TOL)
        assert between_tubes(moved(a), moved(b)).gap == pytest.approx(gap, abs=2 * TOL)


def test_straight_tubes_in_closed_form():
    """Parallel, crossed, butted and end-to-wall straights (closed forms)."""
    a = straight((0, 0, 0), (0, 0, 1))
    assert between_tubes(a, straight((60, 0, 10), (0, 0, 1))).gap == pytest.approx(20, abs=TOL)
    assert between_tubes(a, straight((-50, 55, 50), (1, 0, 0))).gap == pytest.approx(15, abs=TOL)
    assert between_tubes(a, straight((0, 0, 112), (0, 0, 1))).gap == pytest.approx(12, abs=TOL)
    assert between_tubes(a, straight((31, 0, 50), (1, 0, 0))).gap == pytest.approx(11, abs=TOL)
    # an end aside and beyond: two rims, 5 mm aside and 12 mm along, not the 30 mm centre to wall less 20
    assert between_tubes(a, straight((45, 0, 112), (0, 0, 1))).gap == pytest.approx(13, abs=TOL)
    # tilted 30° over the end: its rim dips r sin 30° below its centre
    tilted = straight((0, 0, 130), (math.sin(math.pi / 6), 0, math.cos(math.pi / 6)))
    assert between_tubes(a, tilted).gap == pytest.approx(20, abs=TOL)


def test_overlap_is_minus_the_centreline_depth():
    """Overlapping tubes: centreline distance less both radii (closed form), negative also at ends."""
    a = straight((0, 0, 0), (0, 0, 1))
    assert between_tubes(a, straight((-50, 33, 50), (1, 0, 0))).gap == pytest.approx(-7, abs=TOL)
    poked = straight((17, 0, 50), (1, 0, 0))  # its end disc 3 mm inside the wall
    assert between_tubes(a, poked).gap == pytest.approx(-23, abs=TOL)


def test_concentric_bends_are_cheap_and_exact():
    """Nested quarter bends in one plane keep CLR difference less both radii all along (closed form)."""
    inner = Tube(Path(Pose.heading((0, 0, 0), (0, 0, 1)), (Bend(90, 60),)), 20.0)
    outer = Tube(Path(Pose.heading((0, -55, 0), (0, 0, 1)), (Bend(90, 115),)), 20.0)
    g = between_tubes(inner, outer)
    assert g.certified
    assert g.gap == pytest.approx(15, abs=TOL)


def test_a_step_cap_is_told(monkeypatch):
    """Where the steps run out the gap says so, and its slack covers the truth."""
    rng = np.random.default_rng(SEED + 4)
    cut_short = 0
    for _ in range(10):
        a, b = random_tube_pair(rng, parallel=False)
        monkeypatch.setattr(distance, "CAP", 400_000.0)
        truth = between_tubes(a, b)
        monkeypatch.setattr(distance, "CAP", 2.0)
        g = between_tubes(a, b)
        if truth.gap > 0:
            cut_short += not g.certified
            assert g.gap - g.slack <= truth.gap + TOL
            assert g.certified == (g.slack == 0)
    assert cut_short >= 5


def _asked_along(asked, s):
    return np.interp(s, asked.at, asked.gap)


def test_the_larger_of_two_asked_gaps_counts():
    """Sampled: no two wall points have less margin; a single asked gap is only taken off."""
    rng = np.random.default_rng(SEED + 5)
    for _ in range(8):
        a, b = random_tube_pair(rng, parallel=False)
        if between_tubes(a, b).gap <= 0:
            continue
        asked = []
        for tube in (a, b):
            ln = tube.path.length
            asked.append(Asked((0.0, 0.3 * ln, 0.6 * ln, ln), tuple(rng.uniform(0, 40, 4))))
        g = between_tubes(a, b, *asked)
        (p, s), (q, t) = surface(a, 5.0), surface(b, 5.0)
        apart = np.linalg.norm(p[:, None] - q[None], axis=2)
        larger = np.maximum(_asked_along(asked[0], s)[:, None], _asked_along(asked[1], t)[None])
        assert g.margin <= (apart - larger).min() + TOL
        assert g.asked == pytest.approx(
            max(_asked_along(asked[0], g.along[0]), _asked_along(asked[1], g.along[1])), abs=2.0
        )
        flat = between_tubes(a, b, Asked.flat(5, a.path.length), Asked.flat(9, b.path.length))
        assert flat.margin == pytest.approx(between_tubes(a, b).gap - 9, abs=TOL)


def test_asked_steps_and_ramps_in_closed_form():
    """Parallel straights 20 mm apart: the worst is where most is asked, step or ramp (closed form)."""
    a, b = straight((0, 0, 0), (0, 0, 1)), straight((60, 0, 0), (0, 0, 1))
    step = Asked((0.0, 50.0, 50.0, 100.0), (4.0, 4.0, 11.0, 11.0))
    ramp = Asked((0.0, 100.0), (3.0, 15.0))
    assert between_tubes(a, b, step).margin == pytest.approx(9, abs=TOL)
    assert between_tubes(a, b, None, ramp).margin == pytest.approx(5, abs=TOL)
    g = between_tubes(a, b, step, ramp)
    assert (g.gap, g.asked) == (pytest.approx(20, abs=TOL), pytest.approx(15, abs=TOL))
    # overlapping where nothing is asked still counts as an overlap
    crossing = straight((-50, 33, 95), (1, 0, 0))
    late = Asked((0.0, 60.0, 60.0, 100.0), (12.0, 12.0, 0.0, 0.0))
    assert between_tubes(a, crossing, late).margin == pytest.approx(-7, abs=TOL)
    wall = HalfSpace((-30, 0, 0), (1, 0, 0))
    assert to_shape(a, wall, ramp).margin == pytest.approx(10 - 15, abs=TOL)


def test_asked_gaps_must_fit_their_path():
    """Asked gaps that end elsewhere than the path, or run back, are refused in one sentence."""
    a = straight((0, 0, 0), (0, 0, 1))
    with pytest.raises(GeometryError, match="end at 90 mm but the path at 100 mm"):
        between_tubes(a, straight((60, 0, 0), (0, 0, 1)), Asked.flat(5, 90.0))
    with pytest.raises(GeometryError, match="do not fit together"):
        Asked((0.0, 50.0, 40.0), (1.0, 1.0, 1.0))
    with pytest.raises(GeometryError, match="has no distance"):
        to_shape(Tube(Path(a.path.start, ()), 20.0), HalfSpace((0, 0, 0), (0, 0, 1)))


def _shapes(rng):
    at, end = vec(rng.normal(size=3) * 60), vec(rng.normal(size=3) * 60)
    yield Box(random_frame(rng), (50.0, 30.0, 10.0))
    yield Cylinder(at, end, 25.0)
    yield Capsule(at, end, 25.0)
    yield Cone(at, end, 40.0, 10.0)
    yield Plate(Frame.facing(at, random_direction(rng), (0, 1, 0)), WAIST, 12.0)
    yield HalfSpace(vec(random_direction(rng) * 200), vec(random_direction(rng)))


def test_shapes_against_sampling():
    """Tubes against each kind of shape: never above, nor more than the sampling's reach below, samples."""
    print("seed", SEED + 6)
    rng = np.random.default_rng(SEED + 6)
    apart = 0
    for _ in range(6):
        tube = random_tube(rng, 250.0)
        points = surface(tube, 6.0)[0]
        for shape in _shapes(rng):
            g = to_shape(tube, shape)
            assert g.certified
            if g.gap <= 0:
                assert g.gap >= -tube.radius - TOL
                continue
            apart += 1
            sampled = min(point_to_shape(p, shape) for p in points)
            assert sampled - 6.0 <= g.gap <= sampled + TOL
            assert point_to_shape(g.points[0], shape) == pytest.approx(g.gap, abs=1e-9)
            assert point_to_shape(g.points[1], shape) < 1e-9
            assert on_solid(tube, g.points[0]) < 0.2
    assert apart > 15


@pytest.mark.slow
def test_hollow_plates_agree_with_the_cad_kernel():
    """12 tubes near plates whose outline is hollow: the kernel's solid distance within 0.01 mm."""
    print("seed", SEED + 8)
    rng = np.random.default_rng(SEED + 8)
    apart = 0
    for k in range(12):
        tube = random_tube(rng, 80.0)
        frame = Frame.facing(rng.normal(size=3) * 80, random_direction(rng), (0, 1, 0))
        plate = Plate(frame, (WAIST, MOON)[k % 2], 12.0)
        g = to_shape(tube, plate)
        assert g.certified
        if g.gap > 0:
            apart += 1
            assert g.gap == pytest.approx(kernel_distance_to_plate(tube, plate), abs=0.01)
    assert apart >= 6


def test_shapes_in_closed_form():
    """A straight tube beside, over and tilted to shapes; overlap down to minus its radius (closed forms)."""
    a = straight((0, 0, 0), (0, 0, 1))
    bench = Frame((0, 0, 0), (1, 0, 0), (0, 1, 0), (0, 0, 1))
    beside = Frame((75, 0, 50), (1, 0, 0), (0, 1, 0), (0, 0, 1))
    assert to_shape(a, Box(beside, (40, 40, 20))).gap == pytest.approx(15, abs=TOL)
    assert to_shape(a, HalfSpace((0, 0, -8), (0, 0, 1))).gap == pytest.approx(8, abs=TOL)
    tilted = straight((0, 0, 30), (math.sin(math.pi / 6), 0, math.cos(math.pi / 6)))
    assert to_shape(tilted, HalfSpace((0, 0, 0), (0, 0, 1))).gap == pytest.approx(20, abs=TOL)
    over = Plate(Frame((0, 0, 104), bench.x, bench.y, bench.z), WAIST, 10.0)
    assert to_shape(a, over).gap == pytest.approx(4, abs=TOL)
    sphere = Capsule((0, 50, 50), (0, 50, 50), 13.0)
    assert to_shape(a, sphere).gap == pytest.approx(17, abs=TOL)
    assert to_shape(a, Capsule((0, 25, 50), (0, 25, 50), 13.0)).gap == pytest.approx(-8, abs=TOL)
    assert to_shape(a, Box(bench, (5, 5, 5))).gap == pytest.approx(-20, abs=TOL)


def test_a_run_against_itself():
    """A U-bend: places 170° of bend apart stand 2 CLR sin 85° apart (closed form); less bend never meets."""
    start = Pose.heading((0, 0, 0), (0, 0, 1))
    bend = Tube(Path(start, (Straight(80), Bend(180, 60), Straight(80))), 20.0)
    g = within_tube(bend, asked=5.0)
    assert g.gap == pytest.approx(120 * math.sin(math.radians(85)) - 40, abs=TOL)
    assert g.asked == 5.0
    assert within_tube(Tube(Path(start, (Straight(80), Bend(140, 60), Straight(80))), 20.0)) is None
    # three quarter turns on CLR 60 come back 60 mm below the first bend's start, through the run's axis
    loop = Path(start, (Straight(70), Bend(90, 60), Bend(90, 60), Bend(90, 60), Straight(80)))
    crossing = within_tube(Tube(loop, 20.0))
    assert crossing.gap == pytest.approx(-40, abs=TOL)
