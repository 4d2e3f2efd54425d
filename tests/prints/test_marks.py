"""Engraved marks: every sign there is, right way round, as deep as said."""

from __future__ import annotations

import math

import numpy as np
import pytest

from manifoldgen.errors import SolidError
from manifoldgen.geometry.path import Bend, Path, Straight
from manifoldgen.geometry.pose import BENCH, Pose
from manifoldgen.prints import bodies, marks

SIGNS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789-./+ " + marks.ARROW + marks.ARROW_BACK


def test_every_sign_has_its_own_strokes():
    """No sign is empty but the blank, none looks like another, none is wider than its place."""
    drawn = {sign: marks.lettering(sign) for sign in SIGNS}

    assert [s for s, flat in drawn.items() if flat.is_empty()] == [" "]
    shapes = {s: marks.lettering(s) for s in SIGNS if s != " "}
    for a, one in shapes.items():
        x0, y0, x1, y1 = one.bounds()
        assert x1 - x0 <= 5.1
        assert y1 - y0 <= 7.1
        for b, other in shapes.items():
            assert a == b or (one - other).area() + (other - one).area() > 1.0, (a, b)
    with pytest.raises(SolidError, match="cannot be engraved"):
        marks.lettering("Ø")


def test_flat_marks_read_from_outside():
    """An L cut into a plate has its upright left and its foot below, 0.8 mm deep."""
    plate = bodies.box((-10, -10, -3), (10, 10, 0))
    cut = bodies.minus(plate, marks.flat("L", BENCH, height=12.0))

    def depth(x: float, y: float) -> float:
        hits = cut.ray_cast((x, y, 5.0), (x, y, -5.0))
        return min(h.distance for h in hits) * 10.0 - 5.0

    assert depth(-4.0, 4.0) == pytest.approx(marks.DEPTH)  # upright
    assert depth(3.0, -6.0) == pytest.approx(marks.DEPTH)  # foot
    assert depth(3.0, 4.0) == pytest.approx(0.0)
    assert plate.volume() - cut.volume() == pytest.approx(marks.lettering("L", 12.0).area() * 0.8, rel=1e-6)


@pytest.mark.parametrize("along", [True, False])
def test_marks_round_a_tube_read_from_outside(along: bool):
    """The same L on a tube's back, read along or round it, seen by rays from outside; on a bend as on a straight."""
    path = Path(Pose.heading((0, 0, 0), (0, 0, 1)), (Straight(30), Bend(40, 80)))
    r = 20.0
    out = np.array([1.0, 0.0, 0.0])  # square to the bend's plane: there the skin is as long as the centreline
    for s in (15.0, 50.0):
        t = path.tangent(s)
        cut = bodies.minus(
            bodies.tube(path, r), marks.wrapped("L", path, s, out, r, along=along, height=12.0)
        )
        reading, up = (t, np.cross(out, t)) if along else (np.cross(t, out), t)
        for x, y, deep in ((-4.0, 0.0, True), (4.0, 4.0, False), (2.0, -6.0, True), (-4.0, -5.0, True)):
            at = path.point(s) + x * reading + y * up
            hit = min(h.distance for h in cut.ray_cast(tuple(at + 40.0 * out), tuple(at))) * 40.0
            skin = 40.0 - math.sqrt(r**2 - (y if along else x) ** 2)
            assert hit - skin == pytest.approx(0.8 if deep else 0.0, abs=0.15), (s, x, y)
