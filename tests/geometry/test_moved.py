"""The least gap while the engine moves on its mounts, against closed forms and sampled poses."""

from __future__ import annotations

import math

import numpy as np
import pytest

from manifoldgen.geometry.distance import to_shape
from manifoldgen.geometry.mesh_distance import to_mesh, tree
from manifoldgen.geometry.moved import over_movement
from manifoldgen.geometry.movement import Movement
from manifoldgen.geometry.path import Path, Straight
from manifoldgen.geometry.pose import BENCH, Frame, Pose
from manifoldgen.geometry.shapes import Box, Tube
from manifoldgen.geometry.vectors import vec
from tests.geometry.test_mesh_distance import meshed
from tests.strategies import random_direction, random_frame, random_tube

SEED = 21
NEAR = 2e-3  # mm: what the search may be off


def wall(gap, radius=20.0, size=400.0):
    """A thick wall whose face stands `gap` mm beside a tube along z through the origin, on the +x side."""
    return Box(Frame((radius + gap + size, 0.0, 0.0), BENCH.x, BENCH.y, BENCH.z), (size, size, size))


def solids(box):
    """The box as a shape and as a mesh."""
    return box, tree(*meshed(box.frame, box.half, 2), closed=True)


TUBE = Tube(Path(Pose.heading((0, 0, -50), (0, 0, 1)), (Straight(100),)), 20.0)


@pytest.mark.parametrize("kind", [0, 1])
def test_a_shift_along_the_gap(kind) -> None:
    """Closed form: a gap of 30 mm to a wall less the shift towards it; the shift along it costs nothing."""
    solid = solids(wall(30))[kind]
    found = over_movement(TUBE, solid, Movement((4.0, 7.0, 9.0)))

    assert found.rest == pytest.approx(30, abs=NEAR)
    assert found.gap.gap == pytest.approx(26, abs=NEAR)
    assert found.there == pytest.approx(26, abs=NEAR)
    assert (found.shift[0], found.roll_deg) == (4.0, 0.0)
    along = over_movement(TUBE, solid, Movement((0.0, 7.0, 9.0)))
    assert along.gap.gap == pytest.approx(30, abs=NEAR)


@pytest.mark.parametrize("kind", [0, 1])
@pytest.mark.parametrize("roll", [3.0, 40.0, 170.0])
def test_a_roll_about_an_axis(kind, roll) -> None:
    """Closed form: the tube's centre circles (0, -100): x grows to 100 sin(roll), at most to 100."""
    solid = solids(wall(130))[kind]
    reach = 100 * math.sin(math.radians(min(roll, 90)))
    found = over_movement(TUBE, solid, Movement(roll_deg=roll, at=(0.0, -100.0, 5.0), axis=(0.0, 0.0, 2.0)))

    assert found.gap.gap == pytest.approx(130 - reach, abs=NEAR)
    assert found.there == pytest.approx(130 - reach, abs=NEAR)
    assert found.roll_deg == pytest.approx(-min(roll, 90), abs=0.1)


def test_flat_ends_are_held_by_the_furthest_point() -> None:
    """A wall 30 mm before the end disc: 4 mm of shift, and the rim's chord about the tube's own axis (closed form)."""
    end = Box(Frame((0.0, 0.0, 50.0 + 30 + 200), BENCH.x, BENCH.y, BENCH.z), (200.0, 200.0, 200.0))

    assert over_movement(TUBE, end, Movement((0.0, 0.0, 4.0))).gap.gap == pytest.approx(26, abs=NEAR)
    spun = over_movement(TUBE, end, Movement(roll_deg=10.0, axis=(0.0, 0.0, 1.0))).gap.gap
    assert spun == pytest.approx(30 - 40 * math.sin(math.radians(5)), abs=NEAR)


def test_shift_and_roll_add_up() -> None:
    """Closed form: roll first, then the shift, both towards the wall."""
    moves = Movement((4.0, 1.0, 2.0), 3.0, (0.0, 100.0, 0.0), (0.0, 0.0, 1.0))
    found = over_movement(TUBE, wall(30), moves)

    assert found.gap.gap == pytest.approx(30 - 4 - 100 * math.sin(math.radians(3)), abs=NEAR)
    assert found.roll_deg == pytest.approx(3)


def test_never_above_any_pose() -> None:
    """30 random tubes, boxes and movements, as shape and mesh: no sampled pose comes nearer than told."""
    print("seed", SEED)
    rng = np.random.default_rng(SEED)
    loose = []
    for _ in range(30):
        box = Box(random_frame(rng), vec(rng.uniform(20, 150, 3)))
        tube = random_tube(rng, 300)
        moves = Movement(
            vec(rng.uniform(0, 5, 3)),
            rng.uniform(0, 4),
            vec(rng.uniform(-300, 300, 3)),
            vec(random_direction(rng)),
        )
        told = [over_movement(tube, solid, moves) for solid in solids(box)]
        if told[0].rest <= 0:
            continue
        least = math.inf
        for k in range(60):
            s = rng.choice([-1, 1], 3) if k % 2 else rng.uniform(-1, 1, 3)
            roll = moves.roll_deg * (rng.choice([-1, 1]) if k % 3 else rng.uniform(-1, 1))
            least = min(least, to_shape(moves.tube(tube, s * moves.shift, roll), box).gap)
        for found in told:
            assert found.gap.gap <= least + NEAR
            assert found.gap.gap <= found.there + NEAR
            assert np.all(np.abs(found.shift) <= np.array(moves.shift) + 1e-9)
            assert abs(found.roll_deg) <= moves.roll_deg + 1e-9
        loose.append(told[0].there - told[0].gap.gap)
    assert len(loose) >= 15
    assert np.median(loose) < 2.0  # round ends make up the rest


def test_no_movement_is_the_gap_at_rest() -> None:
    """And a tube that lies inside a closed mesh stays an overlap however it moves."""
    still = over_movement(TUBE, wall(30), Movement())
    assert (still.gap, still.there) == (to_shape(TUBE, wall(30), None), still.rest)
    mesh = solids(Box(BENCH, (90.0, 90.0, 90.0)))[1]
    assert over_movement(TUBE, mesh, Movement((5.0, 5.0, 5.0))).gap.gap == to_mesh(TUBE, mesh).gap == -20


def test_points_move_as_the_movement_says() -> None:
    """`most` is reached at a corner (closed form), and no pose takes a point further."""
    moves = Movement((3.0, 4.0, 12.0), 60.0, (0.0, 0.0, 0.0), (0.0, 0.0, 1.0))
    assert moves.most((10.0, 0.0, 7.0)) == pytest.approx(13 + 10)  # the chord of 60° is the radius
    rng = np.random.default_rng(SEED + 1)
    for _ in range(100):
        point = rng.uniform(-50, 50, 3)
        there = moves.point(point, rng.uniform(-1, 1, 3) * moves.shift, float(rng.uniform(-60, 60)))
        assert math.dist(point, there) <= moves.most(point) + 1e-9
