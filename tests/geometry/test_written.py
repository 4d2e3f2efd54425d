"""Paths as written: the plane a bend takes, and outlets read backwards from the turbo."""

from __future__ import annotations

import math

import numpy as np
import pytest

from manifoldgen.errors import PathError
from manifoldgen.geometry.path import Straight
from manifoldgen.geometry.pose import Pose
from manifoldgen.geometry.vectors import array, unit
from manifoldgen.geometry.written import WrittenBend, backward, forward

START = Pose.heading((0.0, 0.0, 12.0), (0.0, 0.0, 1.0))


def test_toward_turns_the_travel_that_way() -> None:
    """A 90 bend towards +x ends travelling along +x, one CLR out and one CLR up (plane geometry)."""
    end = forward(START, [Straight(40), WrittenBend(90, 60, toward=(1.0, 0.0, 0.0))]).end

    assert np.allclose(end.at, (60.0, 0.0, 112.0), atol=1e-12)
    assert np.allclose(end.direction, (1.0, 0.0, 0.0), atol=1e-12)


def test_first_roll_counts_from_plus_y_and_is_right_handed() -> None:
    """Roll 0 turns to +y; roll 90 about +z takes +y to -x."""
    plain = forward(START, [WrittenBend(90, 60)]).end.direction
    rolled = forward(START, [WrittenBend(90, 60, roll=90.0)]).end.direction

    assert np.allclose(plain, (0.0, 1.0, 0.0), atol=1e-12)
    assert np.allclose(rolled, (-1.0, 0.0, 0.0), atol=1e-12)


def test_toward_along_the_travel_is_refused() -> None:
    """A vector along the travel picks no plane."""
    with pytest.raises(PathError, match="picks no bend plane"):
        forward(START, [WrittenBend(30, 60, toward=(0.0, 0.0, 2.0))])


def test_backward_lands_on_the_face_and_holds_toward_after_the_bend() -> None:
    """Read backwards, the path ends on the face, and each bend's plane holds its vector after the bend."""
    rng = np.random.default_rng(5)
    for _ in range(30):
        end, out = rng.normal(size=3) * 100, unit(rng.normal(size=3))
        t1, t2 = unit(rng.normal(size=3)), unit(rng.normal(size=3))
        steps = [
            Straight(25),
            WrittenBend(50, 76.2, toward=tuple(t1)),
            Straight(10),
            WrittenBend(30, 57.15, toward=tuple(t2)),
            Straight(20),
        ]
        path = backward(tuple(end), tuple(out), steps)

        assert np.allclose(path.end.at, end, atol=1e-9)
        assert np.allclose(path.end.direction, out, atol=1e-12)
        for index, toward in ((1, t1), (3, t2)):
            after = path.segments[index].end
            binormal = np.cross(after.direction, after.normal)
            assert abs(float(binormal @ toward)) < 1e-9
            assert float(array(after.normal) @ toward) > 0


def test_backward_takes_roll_after_the_first_bend() -> None:
    """A later bend may give roll: the angle between the two bend planes is that roll (closed form)."""
    steps = [
        WrittenBend(40, 60, toward=(0.0, 1.0, 0.0)),
        Straight(15),
        WrittenBend(35, 60, roll=70.0),
        Straight(20),
    ]
    path = backward((0.0, 0.0, 0.0), (0.0, -0.6, -0.8), steps)
    first, second = path.segments[0], path.segments[2]
    axis1, axis2 = first.axis, second.axis  # type: ignore[union-attr]
    travel = array(path.segments[1].direction)  # type: ignore[union-attr]

    assert math.degrees(
        math.atan2(float(np.cross(axis1, axis2) @ travel), float(axis1 @ axis2))
    ) == pytest.approx(70)
    assert np.allclose(path.end.direction, (0.0, -0.6, -0.8), atol=1e-12)


def test_backward_needs_toward_first() -> None:
    """Only `toward` fixes the first plane of a path whose start is unknown."""
    with pytest.raises(PathError, match="needs 'toward'"):
        backward((0.0, 0.0, 0.0), (0.0, 0.0, 1.0), [WrittenBend(40, 60, roll=10.0)])
