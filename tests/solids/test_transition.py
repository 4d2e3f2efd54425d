"""Formed transition tubes: exact at both ends, nowhere thin, refused where the straight is too short."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from manifoldgen.errors import GeometryError
from manifoldgen.geometry.path import Bend, Path, Straight
from manifoldgen.geometry.pose import Pose
from manifoldgen.geometry.vectors import unit
from manifoldgen.solids import _occ
from manifoldgen.solids.acceptance import accept
from manifoldgen.solids.transition import LEAST_WALL, transition
from manifoldgen.solids.tube import tube_solid
from tests.factory import TUBE, round_opening
from tests.solids.test_flange import OVAL, ROUNDED, SQUARE, plate

pytestmark = pytest.mark.slow


LEAN = (0.1, 0.2, 1.0)


@pytest.mark.parametrize(
    ("opening", "lean"), [(round_opening(44.0), LEAN), (OVAL, (0, 0, 1)), (SQUARE, LEAN), (ROUNDED, LEAN)]
)
def test_port_to_round(opening, lean) -> None:
    """Foot and end have the exact areas, the wall keeps 0.9 of nominal, the round tube goes on without a step."""
    flange = replace(plate(opening), transition="tube", transition_length=40.0)
    path = Path(Pose.heading((0.0, 0.0, 12.0), unit(lean)), (Straight(60.0), Bend(40.0, 63.6)))
    made, rest = transition("runner 1", flange, opening, path)
    assert made.least_wall >= LEAST_WALL * TUBE.wall
    assert rest.length == pytest.approx(path.length - 40.0)
    accept("transition", made.solid, 1, made.volume, self_intersection=False)
    flats = sorted(
        f.Area() for f in made.lumen.Faces() if f.geomType() == "PLANE" and abs(f.Center().z - 12) < 1e-6
    )
    assert flats[-1] == pytest.approx(opening.contour.area, rel=1e-9)
    ring = math.pi * (TUBE.radius**2 - TUBE.bore_radius**2)
    assert min(abs(f.Area() - ring) for f in made.solid.Faces() if f.geomType() == "PLANE") < 1e-6
    joined = [made.solid, tube_solid(rest, TUBE)]
    accept(
        "runner 1", _occ.fuse(joined, glue="full"), 1, sum(map(_occ.volume, joined)), self_intersection=False
    )


def test_a_short_straight_says_by_how_much() -> None:
    """25 mm of straight for 40 mm of formed tube: 15 mm are missing."""
    flange = replace(plate(OVAL), transition="tube", transition_length=40.0)
    path = Path(Pose.heading((0.0, 0.0, 12.0), (0.0, 0.0, 1.0)), (Straight(25.0), Bend(40.0, 63.6)))
    with pytest.raises(GeometryError, match=r"runner 1: .*lengthen it by 15\.0 mm"):
        transition("runner 1", flange, OVAL, path)
