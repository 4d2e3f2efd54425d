"""Solids of triangles: volumes against closed forms, and skins that stay closed when points are welded."""

from __future__ import annotations

import math

import numpy as np
import pytest

from manifoldgen.errors import SolidError
from manifoldgen.geometry.path import Bend, Path, Straight
from manifoldgen.geometry.pose import Pose
from manifoldgen.mesh.triangles import Mesh
from manifoldgen.prints import bodies

PATH = Path(
    Pose.heading((0, 0, 0), (0, 0, 1)), (Straight(20), Bend(70, 63.6), Straight(10), Bend(45, 63.6, 90))
)


def test_tubes_have_the_volume_of_their_centreline():
    """Area times centreline (Pappus), also run on straight; a step in radius adds nothing and loses nothing."""
    area = math.pi * 21.2**2

    assert bodies.tube(PATH, 21.2).volume() == pytest.approx(area * PATH.length, rel=1e-3)
    assert bodies.tube(PATH, 21.2, before=7, after=9).volume() == pytest.approx(
        area * (PATH.length + 16), rel=1e-3
    )
    stepped = bodies.swept(PATH, [(0, 21.2), (15, 21.2), (15, 10), (20, 10)])
    assert stepped.volume() == pytest.approx(area * 15 + math.pi * 100 * 5, rel=1e-3)


def test_rounds_keep_within_a_hundredth():
    """Every corner of a tube lies within 0.02 mm of its true skin."""
    points = bodies.corners(bodies.cylinder((1, 2, 3), (0, 0, 1), 21.2, 30))
    off = np.hypot(points[:, 0] - 1, points[:, 1] - 2)

    assert np.abs(off[off > 1] - 21.2).max() < 0.02
    assert bodies.cone((0, 0, 0), (0, 1, 0), 10, 4, 9).volume() == pytest.approx(
        math.pi * 9 / 3 * (100 + 40 + 16), rel=1e-3
    )


def test_halves_make_the_whole():
    """A plane's two halves have the whole's volume, and lie on their own sides."""
    ball = bodies.sphere((0, 0, 0), 20)
    low, high = bodies.upto(ball, (0, 0, 5), (0, 0, 1)), bodies.upto(ball, (0, 0, 5), (0, 0, -1))

    assert low.volume() + high.volume() == pytest.approx(ball.volume())
    assert low.bounding_box()[5] == pytest.approx(5)
    assert high.bounding_box()[2] == pytest.approx(5)


def test_skins_that_nearly_touch_stay_closed():
    """Two edges closer than the writers weld are drawn apart, not torn open."""
    a, b = bodies.box((0, 0, 0), (10, 10, 10)), bodies.box((10.0004, 10.0004, 0), (20, 20, 10))
    bridge = bodies.box((0, 0, -5), (20, 20, 0))
    mesh = bodies.mesh_of(bodies.union([a, b, bridge]), "pinch")

    assert mesh.closed
    assert mesh.volume == pytest.approx(2000 + 2000, rel=1e-3)


def test_what_is_no_solid_is_refused():
    """An open skin, two bodies and nothing at all are each named in a sentence."""
    cube = bodies.mesh_of(bodies.box((0, 0, 0), (1, 1, 1)), "cube")
    with pytest.raises(SolidError, match="lid off: is not a closed solid"):
        bodies.solid_of(Mesh("lid off", cube.vertices, cube.triangles[:-2]))
    two = bodies.union([bodies.box((0, 0, 0), (2, 2, 2)), bodies.box((5, 5, 5), (8, 8, 8))])
    with pytest.raises(SolidError, match=r"pair: came out as 2 bodies instead of one \(27.0, 8.0 mm³\)"):
        bodies.lone(two, "pair")
    with pytest.raises(SolidError, match="nothing"):
        bodies.lone(bodies.union([]), "nothing")
