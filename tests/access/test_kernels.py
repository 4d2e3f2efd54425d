"""Room round tool parts: points against frusta, half spaces, and the swing of a handle."""

from __future__ import annotations

import math

import numpy as np
import pytest

from manifoldgen.access import _kernels, _swing
from manifoldgen.access.pack import Packing, blocks, bound, capsule, rod

FRAME = (np.zeros(3), np.array([1.0, 0, 0]), np.array([0, 1.0, 0]), np.array([0, 0, 1.0]))


def things(balls=(), solids=(), points=None, halves=()):
    """Arrays as the kernels take them."""
    points = np.zeros((1, 3)) if points is None else points
    solids = np.array(solids, dtype=float).reshape(-1, 16)
    bounds = np.array([bound(s, points) for s in solids]).reshape(-1, 4)
    balls = np.array(balls, dtype=float).reshape(-1, 4)
    halves = np.array(halves, dtype=float).reshape(-1, 6)
    return (balls, solids, bounds, points, halves, blocks(bounds)), np.zeros(
        len(balls) + len(solids) + len(halves)
    )


def taken(arms, margin, *, o=None, **stands) -> np.ndarray:
    """Places that a swing may not use."""
    arrays, ease = things(**stands)
    found = np.zeros(_swing.BINS, np.bool_)
    frame = (FRAME[0] if o is None else o, *FRAME[1:])
    _swing.swing(np.array(arms, dtype=float), *frame, margin, *arrays, ease, found)
    return found


def brute(p, length, r0, r1) -> float:
    """Distance of (rho, z) to the outline of a frustum, by 20 000 points of it; negative inside."""
    t = np.linspace(0, 1, 20001)
    line = np.vstack(
        [
            np.column_stack([r0 * t, 0 * t]),
            np.column_stack([r0 + (r1 - r0) * t, length * t]),
            np.column_stack([r1 * t, length + 0 * t]),
        ]
    )
    d = float(np.hypot(*(line - p).T).min())
    inside = 0 <= p[1] <= length and p[0] <= r0 + (r1 - r0) * p[1] / length
    return -d if inside else d


def test_point_to_frustum_against_brute_force():
    """Flat-ended frusta anywhere: the distance of a point, inside negative."""
    rng = np.random.default_rng(1)
    for _ in range(150):
        length, r0, r1 = rng.uniform(1, 40), *rng.uniform(0.1, 25, 2)
        rho, z = rng.uniform(0, 40), rng.uniform(-20, 60)
        a, axis = rng.normal(size=3) * 50, rng.normal(size=3)
        axis /= np.linalg.norm(axis)
        across = np.cross(axis, rng.normal(size=3))
        p = a + z * axis + rho * across / np.linalg.norm(across)
        found = _kernels.rod_point(rod(a, a + length * axis, r0, r1), *p)[0]

        assert found == pytest.approx(brute((rho, z), length, r0, r1), abs=2e-3)


def test_point_to_capsule_disc_and_ball():
    """Closed forms of the other primitives."""
    p = (5.0, 0.0, 9.0)

    assert _kernels.rod_point(capsule((0, 0, 0), (0, 0, 6), 2.0), *p)[0] == pytest.approx(
        math.hypot(5, 3) - 2
    )
    assert _kernels.rod_point(capsule((1, 0, 6), (1, 0, 6), 2.0), *p)[0] == pytest.approx(5 - 2)
    disc = rod((0, 0, 5), (0, 0, 5), 2.0, axis=(0, 0, 1))
    assert _kernels.rod_point(disc, *p)[0] == pytest.approx(5.0)
    assert _kernels.rod_point(capsule((0, 0, 0), (0, 0, 6), 2.0), 0, 0, 3)[0] == pytest.approx(-2.0)


def test_worst_names_the_thing_and_the_way():
    """Of a ball, a box and the plane under them the one that comes nearest is named, with the way to it."""
    pool = Packing()
    pool.hull([(x, y, z) for x in (20, 30) for y in (-5, 5) for z in (0, 10)])
    points = np.array(pool.points)
    part = rod((0, 0, 4), (0, 0, 20), 5.0)[None]
    arrays, ease = things([(0, 17, 10, 8)], pool.rows, points, [(0, 0, 0, 0, 0, 1)])
    found = _kernels.worst(part, 10.0, *arrays, ease, -1e9, 1e9)

    assert found[0] == pytest.approx(10 - 4)  # the plane 4 below; the ball 17 - 8 - 5 = 4 too, the box 15
    ease[2] = 1.0  # the plane asks 1 mm less
    violation, thing, *way = _kernels.worst(part, 10.0, *arrays, ease, -1e9, 1e9)
    assert (violation, thing, way) == (pytest.approx(6.0), 0, pytest.approx([0, 1, 0]))
    ease[0] = 20.0
    ease[2] = 20.0
    violation, thing, *way = _kernels.worst(part, 10.0, *arrays, ease, -1e9, 1e9)
    assert (violation, thing, way) == (
        pytest.approx(10 - 15, abs=1e-4),
        1,
        pytest.approx([1, 0, 0], abs=1e-6),
    )


def test_flat_handle_takes_the_closed_interval():
    """A ball beside a straight handle: the blocked half angle from the sine of the touching line."""
    # handle from the axis to 200, radius 5; ball at 100 in its plane, radius 10, margin 2: touches at 17 aside
    half = _swing.half_angle(100.0, 0.0, 17.0, 0.0, 0.0, 200.0, 0.0, 0.0)

    assert math.sin(half) * 100 == pytest.approx(17.0)
    # at the handle's end: law of cosines, ball at 210, end at 200
    half = _swing.half_angle(210.0, 0.0, 17.0, 0.0, 0.0, 200.0, 0.0, 0.0)
    assert 210**2 + 200**2 - 2 * 210 * 200 * math.cos(half) == pytest.approx(17.0**2)
    assert _swing.half_angle(100.0, 17.5, 17.0, 0.0, 0.0, 200.0, 0.0, 0.0) == 0.0
    assert _swing.half_angle(10.0, 0.0, 17.0, 0.0, 0.0, 200.0, 0.0, 0.0) == math.pi


def arm_points(arm, n=160) -> np.ndarray:
    """Points (rho, z) of an arm's centreline with its lift."""
    t, k = np.meshgrid(np.linspace(0, 1, n), np.linspace(0, 1, 40 if arm[5] else 1))
    return np.column_stack(
        [
            (arm[0] + t * (arm[2] - arm[0])).ravel(),
            (arm[1] + t * (arm[3] - arm[1]) + k * arm[5]).ravel(),
        ]
    )


@pytest.mark.parametrize("lean", [0.0, 0.27], ids=["flat", "leaning"])
@pytest.mark.parametrize("lift", [0.0, 18.0], ids=["still", "dropped on"])
def test_swing_agrees_with_sampling(lean, lift):
    """Random balls and boxes round a handle: every place agrees with a cloud of points along it."""
    rng = np.random.default_rng(3)
    seen = set()
    for _ in range(25):
        length, radius, margin = rng.uniform(80, 200), rng.uniform(4, 14), rng.uniform(0, 3)
        arm = [0.0, 5.0, length * math.cos(lean), 5.0 + length * math.sin(lean), radius, lift, 0.0]
        ball = (*rng.uniform(-150, 150, 2), rng.uniform(-20, 60), rng.uniform(5, 30))
        pool = Packing()
        middle, half = rng.uniform((-120, -120, -10), (120, 120, 60)), rng.uniform(3, 30, 3)
        pool.hull(middle + half * np.array([[x, y, z] for x in (-1, 1) for y in (-1, 1) for z in (-1, 1)]))
        found = taken([arm], margin, balls=[ball], solids=pool.rows, points=np.array(pool.points))
        cloud = arm_points(arm)
        for k in rng.integers(_swing.BINS, size=40):
            turn = math.radians(k * _swing.STEP)
            p = np.column_stack([cloud[:, 0] * math.cos(turn), cloud[:, 0] * math.sin(turn), cloud[:, 1]])
            to_box = np.linalg.norm(np.maximum(abs(p - middle) - half, 0), axis=1).min()
            gap = min(np.linalg.norm(p - ball[:3], axis=1).min() - ball[3], to_box) - radius - margin
            if abs(gap) > 0.15:  # else the cloud is too coarse to tell
                assert found[k] == (gap < 0)
                seen.add(bool(found[k]))
    assert seen == {False, True}


def test_open_end_is_slid_on():
    """A wall beside the nut that a flat head just clears in place, but not on its way on, takes those places."""
    pool = Packing()
    pool.hull([(x, y, z) for x in (17, 20) for y in (-30, 30) for z in (-5, 20)])  # head radius 15: 2 mm away
    stands = {"solids": pool.rows, "points": np.array(pool.points)}
    placed = taken([[0, 2, 0, 8, 15.0, 0.0, 0.0001]], 1.0, **stands)
    slid = taken([[0, 2, 0, 8, 15.0, 0.0, 13.0]], 1.0, **stands)

    assert not placed.any()
    # slid on along an azimuth, the head reaches 15 + 13 cos(azimuth) towards the wall: free where that is ≤ 16
    beyond = math.degrees(math.acos(1 / 13))
    free = ~slid
    assert _swing.longest_free(slid)[0] == pytest.approx(360 - 2 * beyond, abs=2 * _swing.STEP)
    assert free[_swing.BINS // 2]


def test_half_space_takes_its_side():
    """A plane that stands upright beside the axis takes the places where the handle would reach it."""
    found = taken([[0.0, 0, 100.0, 0, 5.0, 0.0, 0.0]], 2.0, halves=[(50.0, 0, 0, -1, 0, 0)])
    # tip at 100 cos(a) reaches 50 - 7
    arc = 360 - 2 * math.degrees(math.acos(43 / 100))

    assert _swing.longest_free(found)[0] == pytest.approx(arc, abs=2 * _swing.STEP)


def test_longest_free_goes_round():
    """The longest gap may lie over the first place; nothing free and all free are told apart."""
    marked = np.zeros(_swing.BINS, np.bool_)
    marked[40:200] = True
    marked[300] = True
    arc, first = _swing.longest_free(marked)

    assert (arc, first) == ((_swing.BINS - 301 + 40 - 1) * _swing.STEP, 301 * _swing.STEP)
    assert _swing.longest_free(np.zeros(_swing.BINS, np.bool_))[0] == 360.0
    assert _swing.longest_free(np.ones(_swing.BINS, np.bool_))[0] == -1.0
