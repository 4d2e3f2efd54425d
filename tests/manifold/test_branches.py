"""Where a wastegate branch leaves its parent."""

from __future__ import annotations

import math

import numpy as np
import pytest

from manifoldgen.errors import GeometryError
from manifoldgen.geometry.path import Bend, Path, Straight
from manifoldgen.geometry.pose import Frame, Pose
from manifoldgen.manifold.branches import off_bend, off_cone
from manifoldgen.manifold.collector import make_collector
from manifoldgen.manifold.model import Section

START = Pose.heading((0.0, 0.0, 0.0), (0.0, 0.0, 1.0))
PARENT = Path(START, (Straight(30), Bend(90, 76.2), Straight(40)))  # turns towards +y
RADIUS = 30.15


def test_straight_on_leaves_where_the_bend_has_curved_away() -> None:
    """Aim 0: along z from the first tangent point; out where hypot(clr, s) = clr + r (plane geometry)."""
    leave = off_bend(PARENT, 1, RADIUS, aim=0.0, shift=0.0)

    assert np.allclose(leave.root, (0.0, 0.0, 30.0))
    assert np.allclose(leave.axis, (0.0, 0.0, 1.0))
    assert leave.wall_length == pytest.approx(math.sqrt((76.2 + RADIUS) ** 2 - 76.2**2), abs=1e-6)


def test_aim_turns_the_axis_away_from_the_bends_centre_and_shift_moves_it_out() -> None:
    """Aim 90 leaves square to the flow, away from the centre; the shift shortens the way to the wall by itself."""
    leave = off_bend(PARENT, 1, RADIUS, aim=90.0, shift=5.0)

    assert np.allclose(leave.root, (0.0, -5.0, 30.0))
    assert np.allclose(leave.axis, (0.0, -1.0, 0.0))
    assert leave.wall_length == pytest.approx(RADIUS - 5.0, abs=1e-6)


def test_a_branch_needs_a_bend_and_a_start_inside_the_tube() -> None:
    """A straight, and a shift as large as the tube's radius, are refused with their values."""
    with pytest.raises(GeometryError, match="straight"):
        off_bend(PARENT, 0, RADIUS, aim=0.0, shift=0.0)
    with pytest.raises(GeometryError, match=r"shift of 31 mm.*30\.15"):
        off_bend(PARENT, 1, RADIUS, aim=0.0, shift=31.0)


def test_off_the_cone_crosses_its_wall_at_the_share_and_angle_asked() -> None:
    """The axis meets the cone's outer wall at `at` of its length, on the ring angle given."""
    c = make_collector(
        name="A",
        kind="merge",
        frame=Frame.facing((0.0, 0.0, 0.0), (0.0, 0.0, 1.0), (0.0, 1.0, 0.0)),
        section=Section(42.4, 2.0, "304"),
        outlet=Section(60.3, 2.77, "304"),
        order=(1, 3, 4, 2),
        half_angle=12.0,
        gap=2.0,
    )
    leave = off_cone(c, at=0.5, around=0.0, aim=60.0)
    wall = np.array(leave.root) + leave.wall_length * np.array(leave.axis)
    middle = (c.rim_radius + c.outlet.radius) / 2

    assert np.allclose(wall, (0.0, middle, (c.merge_depth + c.length) / 2), atol=1e-9)
    assert math.degrees(math.acos(leave.axis[2])) == pytest.approx(60.0)
    with pytest.raises(GeometryError, match="does not leave the cone"):
        off_cone(
            make_collector(
                name="A",
                kind="bundle",
                frame=c.frame,
                section=Section(30.0, 1.5, "304"),
                outlet=Section(90.0, 2.0, "304"),
                order=(1, 2),
                half_angle=5.0,
                gap=2.0,
            ),
            at=0.5,
            around=0.0,
            aim=0.0,
        )
