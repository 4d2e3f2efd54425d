"""Pieces as triangles: closed, on the true surface, as heavy as closed forms and the kernel say; nothing raised."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from manifoldgen.geometry.path import Bend, Straight
from manifoldgen.geometry.path import Path as Centreline
from manifoldgen.geometry.pose import BENCH, Pose
from manifoldgen.geometry.shapes import Box, Capsule, Cone, Cylinder, HalfSpace
from manifoldgen.manifold.model import Section
from manifoldgen.mesh.decimate import decimated
from manifoldgen.mesh.parts import draw, part_names
from manifoldgen.mesh.primitives import hexagon, shape
from manifoldgen.mesh.tubes import rod, tube
from manifoldgen.pieces import split
from tests import factory, layouts

JOBS = Path(__file__).parents[2] / "cq_scripts" / "jobs"
TUBE = Section(42.4, 2.0, "304")
START = Pose((0.0, 0.0, 0.0), (0.0, 0.0, 1.0), (1.0, 0.0, 0.0))


def test_a_tube_weighs_area_times_length():
    """A bent tube's volume is its section times its centreline (Pappus): rings keep the circle's area."""
    path = Centreline(START, (Straight(40), Bend(90, 63.6), Bend(45, 63.6, 120), Straight(25)))
    made = tube("t", path, TUBE)
    area = math.pi * (21.2**2 - 19.2**2)

    assert made.closed
    assert made.volume == pytest.approx(area * path.length, rel=0.002)
    assert rod("r", path, 21.2).volume == pytest.approx(math.pi * 21.2**2 * path.length, rel=0.002)


def test_a_tube_lies_on_its_torus():
    """Every corner of a bend's skin is one radius from the centreline's circle, within 0.15 mm (closed form)."""
    made = tube("t", Centreline(START, (Bend(180, 63.6),)), TUBE)
    x, y, z = made.vertices.T
    off = np.hypot(np.hypot(x - 63.6, z) - 63.6, y)  # the bend turns about (63.6, ·, 0)

    assert np.minimum(abs(off - 21.2), abs(off - 19.2)).max() < 0.15


def test_an_oblique_end_is_cut_where_the_plane_says():
    """A tube cut at 45° through its axis keeps its volume, and no corner is left before the plane (closed form)."""
    plane = HalfSpace((0.0, 0.0, 0.0), (0.0, -math.sqrt(0.5), -math.sqrt(0.5)))
    made = tube("t", Centreline(START, (Straight(100),)), TUBE, start=(plane,))

    assert made.closed
    assert made.volume == pytest.approx(math.pi * (21.2**2 - 19.2**2) * 100, rel=0.002)
    assert (made.vertices @ np.array(plane.normal)).max() < 1e-6


@pytest.mark.parametrize(
    ("body", "volume"),
    [
        (Box(BENCH, (10.0, 20.0, 30.0)), 8 * 6000.0),
        (Cylinder((0, 0, 0), (0, 30, 40), 10.0), math.pi * 100 * 50),
        (Cone((0, 0, 0), (0, 0, 30), 10.0, 5.0), math.pi * 30 / 3 * (100 + 50 + 25)),
        (Capsule((1, 2, 3), (1, 2, 43), 10.0), math.pi * 100 * 40 + 4 / 3 * math.pi * 1000),
        (Capsule((1, 2, 3), (1, 2, 3), 10.0), 4 / 3 * math.pi * 1000),
    ],
)
def test_plain_shapes_are_closed_and_as_large_as_they_are(body, volume):
    """Obstacles, tools and torches: the volume is the closed form's, within what a stand-in may miss."""
    made = shape("s", body)

    assert made.closed
    assert made.volume == pytest.approx(volume, rel=0.02)


def test_a_nut_has_its_width_across_flats():
    """A 13 mm nut is 13 mm between two flats: area 13² · √3 / 2 (closed form)."""
    assert hexagon("n", (0, 0, 0), (0, 0, 1), 13.0).volume == pytest.approx(
        13**2 * math.sqrt(3) / 2, rel=1e-9
    )


def test_a_scan_is_made_coarser_and_says_by_how_much():
    """A sphere of 20 000 triangles comes down under the number asked, and stays within the distance it tells."""
    ball = _ball(100)
    points, faces, moved = decimated(ball[0], ball[1], 3000)

    assert len(ball[1]) > 15000
    assert 500 < len(faces) <= 3000
    assert abs(np.linalg.norm(points, axis=1) - 50.0).max() <= moved < 10.0
    assert decimated(*ball, 10**6)[2] == 0.0


def _ball(rings: int) -> tuple[np.ndarray, np.ndarray]:
    turn = np.linspace(0, 2 * math.pi, 2 * rings, endpoint=False)
    tilt = np.linspace(0, math.pi, rings)
    points = np.array(
        [(math.sin(t) * math.cos(a), math.sin(t) * math.sin(a), math.cos(t)) for t in tilt for a in turn]
    )
    n, made = len(turn), []
    for i in range(rings - 1):
        for k in range(n):
            a, b = i * n + k, i * n + (k + 1) % n
            made += [(a, b, b + n), (a, b + n, a + n)]
    return 50.0 * points, np.array(made)


def test_every_piece_of_a_job_is_drawn_and_closed():
    """All pieces and flanges are there, each a closed mesh: a gap would show in the section."""
    m = split(factory.with_branch(factory.manifold()))
    made = draw(m)

    assert made.missing == ()
    assert {d.piece for d in made.drawn} == {*(p.id for p in m.pieces), *(f.name for f in m.flanges)}
    assert {d.part for d in made.drawn} == set(part_names(m))
    assert [d.piece for d in made.drawn if not d.mesh.closed] == []


def test_what_is_open_is_said_and_the_rest_drawn():
    """A run without a path takes nothing else with it."""
    m = factory.manifold()
    m = split(replace(m, runners=(replace(m.runners[0], path=None), *m.runners[1:])))
    made = draw(m)

    assert made.missing == (f"{m.runners[0].name}: its path is not known yet",)
    assert {d.part for d in made.drawn} == set(part_names(m)) - {m.runners[0].name}


def compare(m) -> None:
    """Hold every piece and flange against the kernel's: 0.15 mm between the surfaces, 0.5 % of volume."""
    from manifoldgen import solids
    from tests.mesh.surfaces import brep, farthest

    built, made = solids.build(m), draw(m)
    assert made.missing == ()
    for d in made.drawn:
        exact = built.pieces.get(d.piece) or built.parts[d.piece]
        apart, heavier = farthest(brep(d.piece, exact), d.mesh), d.mesh.volume / exact.Volume() - 1
        assert d.mesh.closed, d.piece
        assert apart <= 0.15, f"{d.piece}: {apart:.3f} mm"
        assert abs(heavier) <= 0.005, f"{d.piece}: {100 * heavier:.2f} %"


@pytest.mark.slow
@pytest.mark.parametrize("job", ["sand_rail_four", "snow_groomer_three"])
def test_meshes_lie_on_the_kernels_surfaces(job):
    """The page shows what is built: merge collector, branch off a bend, V-band, rectangular opening."""
    import manifoldgen as mg

    compare(mg.design(JOBS / f"{job}.yaml").manifold)


@pytest.mark.slow
@pytest.mark.parametrize("seed", [1])
def test_meshes_lie_on_the_kernels_surfaces_of_random_jobs(seed):
    """Sockets, formed ends, leaning ports and bundles too; the sweep over many more stands in benchmarks."""
    compare(split(layouts.random_manifold(np.random.default_rng(seed))))
