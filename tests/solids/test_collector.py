"""Collectors as solids: accepted, as thick as their tubes, and equal to the sum of their pieces."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from manifoldgen.errors import SolidError
from manifoldgen.geometry.path import Path, Straight
from manifoldgen.geometry.pose import BENCH, Frame
from manifoldgen.manifold.collector import inlet_lead, inlet_start, make_collector
from manifoldgen.manifold.collector_volume import collector_volume, cone_volume, inlet_volume, lid_volume
from manifoldgen.manifold.model import Section
from manifoldgen.solids import _occ
from manifoldgen.solids.acceptance import merged_mesh
from manifoldgen.solids.collector import (
    build_collector,
    collector_pieces,
    collector_solid,
    expected_genus,
    inlet_planes,
)
from manifoldgen.solids.tube import tube_solid
from tests.solids.walls import least_wall_ratio
from tests.strategies import random_collector

pytestmark = pytest.mark.slow
SEED = 1
RUNNER, OUTLET = Section(42.4, 2.0, "304"), Section(60.3, 2.77, "304")


def four(**changed):
    """Make a four-into-one collector with some of its numbers changed."""
    given = {"name": "collector", "kind": "merge", "frame": BENCH, "section": RUNNER, "outlet": OUTLET}
    return make_collector(**(given | {"order": [1, 3, 4, 2], "half_angle": 12.0, "gap": 2.0} | changed))


@pytest.mark.parametrize("case", range(12))
def test_random_collectors_stand(case):
    """Any allowed collector is built, genus and integrated volume right, walls at least 0.98 of nominal."""
    print("seed", SEED, "case", case)
    rng = np.random.default_rng([SEED, case])
    c = random_collector(rng)
    built = build_collector(c)
    solid, found = built.metal, built.accepted
    assert found.genus == expected_genus(c) == len(c.order)
    assert found.volume == pytest.approx(collector_volume(c), rel=1e-6)
    fine = merged_mesh(solid, deflection=0.005 * min(c.section.wall, c.outlet.wall), angle=4.0)
    assert least_wall_ratio(c, fine, rng, 2000) >= 0.98


@pytest.mark.parametrize(
    "changed",
    [{"length": 150.0}, {"kind": "bundle", "half_angle": 15.0}, {"order": [1, 2], "half_angle": 25.0}],
)
def test_pieces_sum_to_the_whole(changed):
    """Mitred tubes, lid and cone fill the collector exactly; each equals its integral."""
    c = four(frame=Frame.facing((10, 20, 30), (1, 2, -3), (0, 1, 0)), clock=20.0, **changed)
    pieces = collector_pieces(c)
    volumes = {name: _occ.volume(piece) for name, piece in pieces.items()}
    assert [len(piece.Solids()) for piece in pieces.values()] == [1] * (len(c.order) + 2)
    assert sum(volumes.values()) == pytest.approx(_occ.volume(collector_solid(c)), rel=1e-7)
    assert volumes["lid"] == pytest.approx(lid_volume(c), rel=1e-5)
    assert volumes["cone"] == pytest.approx(cone_volume(c), rel=1e-9)
    for cylinder in c.order:
        assert volumes[f"inlet {cylinder}"] == pytest.approx(inlet_volume(c), rel=1e-6)


@pytest.mark.parametrize("changed", [{}, {"outlet": Section(110.0, 3.0, "304")}, {"kind": "bundle"}])
def test_openings_are_the_tubes_own_rings(changed):
    """Each end face is the ring of the tube that joins it, where that tube ends (areas in closed form)."""
    c = four(**changed)
    rings = [(inlet_start(c, k).at, inlet_start(c, k).direction, RUNNER) for k in c.order]
    rings.append(((0.0, 0.0, c.length), (0.0, 0.0, 1.0), c.outlet))
    flat = [f for f in collector_solid(c).Faces() if f.geomType() == "PLANE"]
    for at, normal, tube in rings:
        area = np.pi * (tube.radius**2 - tube.bore_radius**2)
        hits = [
            f
            for f in flat
            if np.allclose(f.Center().toTuple(), at, atol=1e-6)
            and abs(np.dot(f.normalAt().toTuple(), normal)) > 1 - 1e-9
            and f.Area() == pytest.approx(area, rel=1e-9)
        ]
        assert len(hits) == 1


def test_last_straight_and_inlet_are_one_tube():
    """A runner's last straight cut by `inlet_planes` is the straight and the inlet's piece together."""
    c = four()
    pose = c.inlet(3)
    at = np.array(pose.at) - 60 * np.array(pose.direction)
    path = Path(replace(pose, at=tuple(at.tolist())), (Straight(60),))
    tube = tube_solid(path, RUNNER, end=inlet_planes(c, 3))
    straight = np.pi * (21.2**2 - 19.2**2) * 60
    assert inlet_lead(c) == 0
    assert _occ.volume(tube) == pytest.approx(straight + inlet_volume(c), rel=1e-6)


def test_a_rim_on_the_tubes_envelope_is_never_accepted_wrongly():
    """Tangent or overlapping, the collector is refused or keeps volume and genus; isValid() would pass it."""
    c = four()
    tangent = replace(c, rim_radius=c.rim_radius - 0.6)
    try:
        found = build_collector(tangent).accepted
    except SolidError as error:
        assert error.part == "collector"  # noqa: PT017
    else:
        assert found.genus == 4
        assert found.volume == pytest.approx(collector_volume(tangent), rel=1e-5)
