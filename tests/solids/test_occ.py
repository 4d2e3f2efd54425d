"""The door to the kernel: placing, cutting, and booleans that leave their arguments alone."""

from __future__ import annotations

import math

import numpy as np
import pytest

from manifoldgen.geometry.pose import Frame
from manifoldgen.solids import _occ


def test_a_fuzzy_boolean_leaves_its_arguments_alone():
    """Joining across a gap of 0.005 mm, seams apart, raises tolerances in the result only."""
    a = _occ.cylinder((0, 0, 0), (0, 0, 1), 10, 20)
    b = _occ.cylinder((0, 0, 20.005), (0, 0, 1), 10, 20, (1, 2, 0))
    joined = _occ.fuse([a, b], fuzzy=1e-2)
    assert len(joined.Solids()) == 1
    assert tolerance(joined) > 1e-3
    assert tolerance(a) == tolerance(b) == pytest.approx(1e-7)


def test_moved_places_like_the_frame():
    """A placed cylinder stands where the frame's own arithmetic puts it."""
    frame = Frame.facing((1, 2, 3), (1, 2, -3), (0, 1, 0), 20)
    placed = _occ.moved(_occ.cylinder((4, 5, 6), (0, 0, 1), 1, 2), frame)
    assert np.allclose(placed.Center().toTuple(), frame.out((4, 5, 7)), atol=1e-9)


def test_half_space_fills_what_is_behind():
    """Cutting and keeping with the same plane share a cylinder out (closed form)."""
    rod = _occ.cylinder((0, 0, 0), (0, 0, 1), 3, 10)
    below = _occ.half_space((0, 0, 4), (0, 0, 2))
    assert _occ.volume(_occ.common(rod, [below])) == pytest.approx(math.pi * 9 * 4)
    assert _occ.volume(_occ.cut(rod, [below])) == pytest.approx(math.pi * 9 * 6)


def test_primitives_have_their_closed_form_volumes():
    """Cone, equal-radius cone, bend, box, turned outline, annulus prism (closed forms; Pappus)."""
    assert _occ.volume(_occ.cone((0, 0, 0), (0, 1, 0), 3, 1, 6)) == pytest.approx(math.pi * 2 * (9 + 3 + 1))
    assert _occ.volume(_occ.cone((0, 0, 0), (0, 1, 0), 3, 3, 6)) == pytest.approx(math.pi * 54)
    bend = _occ.torus_sector((0, 0, 0), (0, 0, 1), (1, 0, 0), clr=50, radius=10, angle=90)
    assert _occ.volume(bend) == pytest.approx(math.pi * 100 * 50 * math.pi / 2)
    assert _occ.volume(_occ.box((0, 0, 0), (1, 2, 3))) == pytest.approx(6)
    turned = _occ.revolved([(0, 0), (2, 0), (2, 5), (0, 5)], (1, 1, 0))
    assert _occ.volume(turned) == pytest.approx(math.pi * 20)
    ring = _occ.prism(_occ.annulus((0, 0, 0), (0, 0, 1), 5, 4), (0, 0, 2))
    assert _occ.volume(ring) == pytest.approx(math.pi * 18)


def tolerance(shape) -> float:
    """Largest tolerance of a shape's parts, mm."""
    from OCP.ShapeAnalysis import ShapeAnalysis_ShapeTolerance

    return ShapeAnalysis_ShapeTolerance().Tolerance(shape.wrapped, 1)
