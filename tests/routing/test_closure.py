"""Closures: they land, keep to the stock, bend no more than a known run, and say what misses."""

import math
from dataclasses import astuple

import numpy as np
import pytest

from manifoldgen.errors import PathError
from manifoldgen.geometry.lra import to_rows
from manifoldgen.geometry.path import Path, Straight
from manifoldgen.geometry.pose import Pose
from manifoldgen.geometry.snap import miss
from manifoldgen.routing.closure import closures
from tests.benchmarks.sweep_close import case, solve

SEED = 3
AHEAD = Pose.heading((0, 0, 0), (1, 0, 0))


@pytest.mark.slow
def test_poses_a_known_run_reaches_are_closed() -> None:
    """Known runs of one to three bends: closed below 1e-9, with at most 5 % more bend than the known one."""
    rng = np.random.default_rng(SEED)
    for k in range(30):
        c = case(rng)
        outcome = solve(c)
        told = f"seed {SEED}, case {k}: {outcome}"
        assert outcome.found, told
        assert outcome.miss < 1e-9, told
        assert outcome.excess <= 0.05, told
        assert outcome.sound, told


def test_meeting_axes_need_one_bend() -> None:
    """Axes that meet at 90°: the one elbow, its corner where they meet (plane geometry)."""
    runs = closures(AHEAD, Pose.heading((100, 80, 0), (0, 1, 0)), [(60, 90)])
    assert [astuple(r) for r in to_rows(runs[0])] == [
        pytest.approx((40, 0, 90, 60)),
        pytest.approx((20, 0, 0, 0)),
    ]


def test_inlet_straight_ahead_needs_no_bend() -> None:
    """An inlet on the axis is reached by a straight alone."""
    assert closures(AHEAD, Pose.heading((90, 0, 0), (1, 0, 0)), [(60, 90)])[0].elements == (Straight(90.0),)


def test_parallel_offset_bends_no_more_than_the_plain_s() -> None:
    """Offset 100 over 300 on CLR 60: twice the angle of the closed form for the plane S is enough.

    2 R sin a + L cos a = 300 and 2 R (1 - cos a) + L sin a = 100 with no straights at the ends.
    """
    runs = closures(AHEAD, Pose.heading((300, 100, 0), (1, 0, 0)), [(60, 90)])
    angles = np.radians(np.linspace(1, 89, 88001))
    middle = (100 - 120 * (1 - np.cos(angles))) / np.sin(angles)
    a = math.degrees(angles[np.argmin(np.abs(120 * np.sin(angles) + middle * np.cos(angles) - 300))])
    assert runs[0].bend_deg == pytest.approx(2 * a, abs=0.05)


def test_closures_keep_to_what_was_asked_and_differ() -> None:
    """Least straights, largest bends, the order, and no two alike; the same list every time."""
    target = Pose.heading((220, 60, -90), (0, -0.6, -0.8))
    runs = closures(AHEAD, target, [(57.15, 90), (76.2, 45)], 30.0, lead=20.0)
    assert len(runs) > 5
    bends = [round(r.bend_deg, 1) for r in runs]
    assert bends == sorted(bends)
    for run in runs:
        first, last = run.elements[0], run.elements[-1]
        assert max(miss(run, target)) < 1e-9
        assert isinstance(first, Straight)
        assert first.length >= 20
        assert isinstance(last, Straight)
        assert last.length >= 30
        assert all(b.angle <= {57.15: 90, 76.2: 45}[b.clr] + 1e-6 for b in run.bends)
    marks = [np.array([r.point(r.length * f) for f in (0.25, 0.5, 0.75)]) for r in runs]
    nearest = min(float(np.linalg.norm(a - b, axis=1).max()) for k, a in enumerate(marks) for b in marks[:k])
    assert nearest > 15
    assert [r.elements for r in closures(AHEAD, target, [(57.15, 90), (76.2, 45)], 30.0, lead=20.0)] == [
        r.elements for r in runs
    ]
    assert len(closures(AHEAD, target, [(57.15, 90)], limit=3)) == 3


def test_start_normal_carries_the_roll() -> None:
    """The first roll counts from the start's normal: the same run, whatever normal it starts with."""
    turned = Pose(AHEAD.at, AHEAD.direction, (0.0, 0.0, 1.0))
    target = Pose.heading((200, 80, 0), (0, 1, 0))
    a, b = closures(AHEAD, target, [(60, 90)])[0], closures(turned, target, [(60, 90)])[0]
    assert b.bends[0].roll - a.bends[0].roll == pytest.approx(-90)
    assert max(miss(Path(turned, b.elements), target)) < 1e-9


def test_what_misses_is_told_in_mm() -> None:
    """Offset 40 over 50 with bends of 30° on CLR 60: two arcs of an S need 39.4 mm more (closed form).

    120 (1 - cos a) = 40 gives a = 48.19°, 120 sin a = 89.44 of 50; or 60° and a straight on CLR 23.3.
    """
    with pytest.raises(PathError, match=r"39\.4 mm more room along the inlet's axis.*a CLR of 23\.3 mm"):
        closures(AHEAD, Pose.heading((50, 40, 0), (1, 0, 0)), [(60, 30)])


def test_too_little_turn_and_no_stock_are_told() -> None:
    """A turn of 180° that four bends of 20° cannot make; no radius at all."""
    with pytest.raises(PathError, match=r"must turn 180\.0°.*turn 80\.0°"):
        closures(AHEAD, Pose.heading((50, 40, 0), (-1, 0, 0)), [(60, 20)])
    with pytest.raises(PathError, match="no bend radius"):
        closures(AHEAD, Pose.heading((50, 40, 0), (-1, 0, 0)), [])
