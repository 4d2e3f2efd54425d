"""Tubes as solids: exact volumes and faces, ends cut obliquely, impossible tubes refused."""

from __future__ import annotations

import math

import numpy as np
import pytest

from manifoldgen.errors import GeometryError, SolidError
from manifoldgen.geometry.path import Bend, Path, Straight
from manifoldgen.geometry.pose import Pose
from manifoldgen.geometry.shapes import HalfSpace
from manifoldgen.manifold.model import Section
from manifoldgen.solids import _occ
from manifoldgen.solids.acceptance import accept, merged_mesh
from manifoldgen.solids.tube import tube_solid, tube_volume
from tests.strategies import random_path, random_section

TUBE = Section(42.4, 2.0, "304")
AREA = math.pi * (21.2**2 - 19.2**2)
SEED = 3


@pytest.mark.slow
def test_random_paths_have_pappus_volume_and_one_face_each_side_per_segment():
    """Volume is area times centreline length (Pappus); every segment keeps one outer and one inner face."""
    print("seed", SEED)
    for case in range(30):
        rng = np.random.default_rng([SEED, case])
        section = random_section(rng)
        path = random_path(rng, section.od)
        solid = tube_solid(path, section)
        assert _occ.is_valid(solid), case
        area = math.pi * (section.radius**2 - section.bore_radius**2)
        assert _occ.volume(solid) == pytest.approx(area * path.length, rel=1e-9), case
        kinds = [face.geomType() for face in solid.Faces()]
        straights = sum(isinstance(e, Straight) and e.length > 0 for e in path.elements)
        assert (kinds.count("CYLINDER"), kinds.count("TORUS")) == (2 * straights, 2 * len(path.bends)), case
        assert len(kinds) == 2 * straights + 2 * len(path.bends) + 2, case


@pytest.mark.slow
def test_a_hollow_tube_is_accepted_with_genus_1():
    """A plain tube stands every test of acceptance; two openings make genus 1."""
    path = Path(Pose.heading((0, 0, 12), (0, 0, 1)), (Straight(30), Bend(80, 63.6, 20), Straight(40)))
    found = accept("runner 1", tube_solid(path, TUBE), 1, AREA * (70 + 63.6 * math.radians(80)))
    assert found.genus == 1
    assert found.self_intersecting is False


def test_filled_and_bore_differ_by_the_wall():
    """Filled less bore is the hollow tube (Pappus)."""
    path = Path(Pose.heading((0, 0, 0), (0, 1, 1)), (Bend(40, 63.6), Straight(20)))
    filled, bore = tube_solid(path, TUBE, fill="filled"), tube_solid(path, TUBE, fill="bore")
    assert _occ.volume(filled) - _occ.volume(bore) == pytest.approx(AREA * path.length)
    assert tube_volume(path, TUBE) == pytest.approx(AREA * path.length)


@pytest.mark.parametrize("clr", [15.0, 21.2])
def test_too_tight_a_bend_is_refused_with_both_values(clr):
    """The kernel calls such a bend valid; it is refused before."""
    path = Path(Pose.heading((0, 0, 0), (0, 0, 1)), (Straight(20), Bend(90, clr)))
    with pytest.raises(GeometryError, match=rf"element 2: .*CLR {clr:.1f} mm .*OD 42\.4 mm"):
        tube_solid(path, TUBE)


def test_a_wall_without_bore_and_a_path_without_length_are_refused():
    """No wall, no bore and no length are refused in words."""
    path = Path(Pose.heading((0, 0, 0), (0, 0, 1)), (Straight(20),))
    with pytest.raises(GeometryError, match=r"wall of 21\.20 mm"):
        tube_solid(path, Section(42.4, 21.2, "304"))
    with pytest.raises(GeometryError, match="no length"):
        tube_solid(Path(path.start, (Straight(0),)), TUBE)


@pytest.mark.parametrize("kink_deg", [1e-6, 10.0])
def test_a_kink_is_refused(kink_deg):
    """A start normal that is not square to the travel kinks the first bend; the kernel would not say so."""
    a = math.radians(kink_deg)
    start = Pose((0, 0, 0), (0, 0, 1), (0, math.cos(a), math.sin(a)))
    with pytest.raises(GeometryError, match="kink"):
        tube_solid(Path(start, (Bend(90, 63.6),)), TUBE)


@pytest.mark.slow
def test_a_tube_that_crosses_itself_is_not_accepted():
    """Three quarters of a turn and a long straight run through the first straight."""
    path = Path(Pose.heading((0, 0, 0), (0, 0, 1)), (Straight(90), Bend(270, 50), Straight(120)))
    with pytest.raises(SolidError, match="runner 1: it cuts itself"):
        accept("runner 1", tube_solid(path, TUBE), 1, tube_volume(path, TUBE))


@pytest.mark.slow
def test_a_tilted_port_starts_on_the_flange_face():
    """Cut by the flange face through the port centre: flat on it, volume unchanged (Pappus)."""
    tilt = math.radians(25)
    start = Pose.heading((5, 0, 12), (math.sin(tilt), 0, math.cos(tilt)))
    path = Path(start, (Straight(40), Bend(60, 63.6, 90), Straight(10)))
    face = HalfSpace((0, 0, 12), (0, 0, -1))
    solid = tube_solid(path, TUBE, start=[face])
    found = accept("runner 1", solid, 1, AREA * path.length)
    assert found.mesh.vertices[:, 2].min() == pytest.approx(12, abs=1e-6)
    flat = [f for f in solid.Faces() if f.geomType() == "PLANE" and abs(f.Center().z - 12) < 1e-6]
    assert [f.Area() for f in flat] == pytest.approx([AREA / math.cos(tilt)])


def test_an_oblique_cut_needs_its_straight():
    """The cut may not reach the bend: od / 2 · tan 25° = 9.9 mm of straight (closed form)."""
    tilt = math.radians(25)
    start = Pose.heading((0, 0, 12), (math.sin(tilt), 0, math.cos(tilt)))
    face = HalfSpace((0, 0, 12), (0, 0, -1))
    tube_solid(Path(start, (Straight(10), Bend(60, 63.6))), TUBE, start=[face])
    with pytest.raises(GeometryError, match=r"straight at the start .* 9\.0 mm long, .* needs 9\.9 mm"):
        tube_solid(Path(start, (Straight(9), Bend(60, 63.6))), TUBE, start=[face])


def test_a_square_plane_before_or_behind_an_end_moves_it():
    """Planes 5 mm beyond both ends lengthen the tube by 10 mm, 3 mm inside shorten it by 6."""
    path = Path(Pose.heading((0, 0, 0), (0, 0, 1)), (Straight(30),))
    for by in (5, -3):
        ends = {"start": [HalfSpace((0, 0, -by), (0, 0, -1))], "end": [HalfSpace((0, 0, 30 + by), (0, 0, 1))]}
        solid = tube_solid(path, TUBE, **ends)
        assert _occ.volume(solid) == pytest.approx(AREA * (30 + 2 * by)), by
        assert merged_mesh(solid).bounds[:, 2] == pytest.approx([-by, 30 + by])
