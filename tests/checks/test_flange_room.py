"""Flanges and valve against obstacles and each other: a box moved by a hundredth either side of the limit."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from manifoldgen.access.hulls import gap
from manifoldgen.checks import flange_room, run_all
from manifoldgen.geometry.movement import Movement
from manifoldgen.geometry.pose import BENCH, Frame, X, Y, Z
from manifoldgen.geometry.shapes import Box, Cylinder
from manifoldgen.manifold.model import Obstacle
from tests.factory import manifold

NEAR = 0.02


def rail(x: float, clearance: float = 10.0, name: str = "frame rail") -> Obstacle:
    """A rail across y whose left face stands at x, at the height of the head flange."""
    return Obstacle(name, Box(Frame((x + 20.0, 0.0, 6.0), X, Y, Z), (20.0, 300.0, 5.0)), clearance)


def edge() -> float:
    """The largest x of the head flange's outline."""
    from manifoldgen.geometry import contour

    return max(x for x, _ in contour.points(manifold().head.outline, 1e-3))


@pytest.mark.parametrize("side", [-1, 1], ids=["outside", "inside"])
def test_a_rail_beside_the_head_flange_needs_its_clearance(side) -> None:
    """Closed form: rail face less flange edge is the gap; 10 mm are asked."""
    m = manifold()
    found = flange_room.check(replace(m, obstacles=(rail(edge() + 10.0 + side * NEAR),)))

    assert [f.name for f in found] == ["obstacle-gap"] * (side < 0)
    for f in found:
        assert f.value == pytest.approx(10.0 - NEAR, abs=0.03)
        assert f.parts == ("head flange", "frame rail")


def test_a_flange_edge_inside_a_rail_is_told_with_its_depth() -> None:
    """The rail's face 3 mm inside the edge: overlap by 3 mm, and the whole list of checks says it too."""
    m = replace(manifold(), obstacles=(rail(edge() - 3.0),))
    (found,) = flange_room.check(m)
    assert found.value == pytest.approx(-3.0, abs=0.03)
    assert "overlaps" in found.message
    assert any(f.parts == ("head flange", "frame rail") for f in run_all(m))


@pytest.mark.parametrize("side", [-1, 1], ids=["outside", "inside"])
def test_flanges_may_touch_but_not_overlap(side) -> None:
    """The turbo flange turned parallel beside the head flange, edges a hair apart or a hair into each other."""
    m = manifold()
    wide = max(abs(float(x)) for x in np.array(flange_corners(m))[:, 0])
    at = replace(BENCH, at=(edge() + wide + side * NEAR, 0.0, 0.0))
    turbo = replace(m.turbo, frame=at, outline=m.turbo.outline)
    found = flange_room.check(replace(m, turbo=turbo, obstacles=()))
    assert [(f.name, f.parts) for f in found] == [("other-gap", ("head flange", "turbo flange"))] * (side < 0)


def flange_corners(m):
    """The turbo flange's outline, in its own plane."""
    from manifoldgen.geometry import contour

    return contour.points(m.turbo.outline, 1e-3)


def test_a_valve_in_a_rail_is_a_finding_its_own_flange_is_not() -> None:
    """The valve touches the flange it is bolted to; a rail through it is named."""
    m = manifold()
    valve = Obstacle("valve", Cylinder((0, 0, 400), (0, 0, 500), 40.0), 5.0, joined=(m.turbo.name + " 2",))
    at = Box(Frame((60.0, 0.0, 450.0), X, Y, Z), (30.0, 30.0, 5.0))
    found = flange_room.check(replace(m, obstacles=(valve, Obstacle("rail", at, 5.0))))
    assert [f.parts for f in found] == [("valve", "rail")]


def test_movement_takes_the_gap() -> None:
    """Closed form: 30 mm apart at rest, the engine shifts 4 mm along that way: 26 mm are left."""
    a = [Box(Frame((0, 0, 0), X, Y, Z), (10.0, 10.0, 10.0))]
    b = [Box(Frame((50.0, 0, 0), X, Y, Z), (10.0, 100.0, 100.0))]
    assert gap(a, b, 0.0).gap == pytest.approx(30.0, abs=1e-6)
    assert gap(a, b, 0.0, Movement(shift=(4.0, 1.0, 1.0))).gap == pytest.approx(26.0, abs=1e-6)
