"""The scene holds the manifold: balls, plates, cone and fasteners against the parts themselves."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from manifoldgen.access import _gjk
from manifoldgen.access.convex import convex_parts
from manifoldgen.access.pack import capsule, rod
from manifoldgen.access.room import room
from manifoldgen.access.scene import scene, surface, tube_balls
from manifoldgen.geometry import contour
from manifoldgen.geometry.path import Bend, Path, Straight
from manifoldgen.geometry.pose import Pose
from manifoldgen.geometry.shapes import Cylinder
from manifoldgen.pieces.split import split
from tests.access.rooms import bench, box, random_room, runner_from, stud
from tests.factory import FACE, manifold, with_branch
from tests.strategies import random_path

NONE = np.zeros((1, 3))
SCALLOP = 0.05  # mm, half of what a second opinion may find


def test_balls_hold_the_tube():
    """Every point of a tube's skin lies at most the scallop outside its balls, on tight bends too."""
    rng = np.random.default_rng(1)
    for _ in range(20):
        radius = rng.uniform(15, 38)
        path = random_path(rng, 2 * radius)
        centres = np.array([p for _, p in tube_balls(path, radius)])
        for s in rng.uniform(0, path.length, 60):
            t, p = path.tangent(s), path.point(s)
            for turn in rng.uniform(0, 2 * math.pi, 6):
                u = np.cross(t, [0.36, 0.48, 0.8])
                u /= np.linalg.norm(u)
                skin = p + radius * (math.cos(turn) * u + math.sin(turn) * np.cross(t, u))
                assert np.linalg.norm(centres - skin, axis=1).min() - radius <= SCALLOP + 1e-6


def test_stations_count_from_the_port():
    """A ball's station is its arc length along the run; words name run, piece and the place."""
    m = manifold(3)
    bent = replace(m.runners[1].path, elements=(Straight(20.0), Bend(40.0, 60.0), Straight(30.0)))
    m = split(replace(m, runners=(m.runners[0], replace(m.runners[1], path=bent), m.runners[2])))
    s = scene(m)
    for number in range(3):
        path = m.runners[number].path
        mine = [k for k, g in enumerate(s.ball_group) if s.groups[g].startswith(f"R{number + 1}-")]
        for k in mine:
            if s.ball_station[k] < path.length - 1e-6:  # beyond are the inlets
                assert s.balls[k, :3] == pytest.approx(path.point(s.ball_station[k]), abs=1e-6)
    k = int(np.argmin(abs(s.ball_station - 36) + 1e3 * (s.ball_group != s.number("R2-P2"))))
    assert s.said(int(s.ball_group[k]), 36.4) == "runner 2 (R2-P2) 36 mm from the port"


def test_everything_is_there():
    """Pieces, collector, flanges, nuts, obstacles and the engine each have a group, once."""
    m = split(with_branch(manifold(4)))
    m = replace(m, studs=(stud("S1"), stud("S2", (40, 0, FACE))))
    names = scene(m).groups

    expected = {p.id for p in m.pieces} | {f.name for f in m.flanges} | {"nut S1", "nut S2", "engine"}
    assert set(names) == expected
    assert len(names) == len(expected)


def test_runs_stand_in_before_the_split():
    """Without pieces whole runs are the groups; a run without a path is left out."""
    m = manifold(3)
    m = replace(m, runners=(replace(m.runners[0], path=None, todo="auto"), *m.runners[1:]))

    assert scene(m).groups[:3] == ("runner 2", "runner 3", "outlet")


def test_hollow_outline_in_convex_parts():
    """Random star outlines: the parts are convex, and their areas add up to the outline's."""
    rng = np.random.default_rng(2)
    for _ in range(60):
        n = rng.integers(3, 14)
        turn = np.sort(rng.uniform(0, 2 * math.pi, n))
        while np.diff([*turn, turn[0] + 2 * math.pi]).max() > math.pi * 0.95:
            turn = np.sort(rng.uniform(0, 2 * math.pi, n))
        r = rng.uniform(5, 60, n)
        ring = list(zip(r * np.cos(turn), r * np.sin(turn), strict=True))
        parts = convex_parts(ring)

        assert sum(contour.polygon(p).area for p in parts) == pytest.approx(contour.polygon(ring).area)
        for part in parts:
            corner = np.array(part)
            ahead, back = np.roll(corner, -1, axis=0) - corner, corner - np.roll(corner, 1, axis=0)
            assert (back[:, 0] * ahead[:, 1] - back[:, 1] * ahead[:, 0] >= -1e-6).all()


def ball_gap(s, at, radius) -> float:
    """Distance of a ball to the whole scene."""
    here = room(s, at, 1e4)
    return 1e3 - here.worst(capsule(at, at, radius)[None], 1e3).violation


def test_hollow_plate_leaves_its_hollow():
    """A ball in the notch of an L-shaped plate stands clear by the distance to its edges (closed form)."""
    m = bench()
    shape = contour.polygon([(0, 0), (60, 0), (60, 20), (20, 20), (20, 60), (0, 60)])
    s = scene(replace(m, head=replace(m.head, outline=shape)))
    at = (32.0, 29.0, 9.0)

    assert ball_gap(s, at, 3.0) == pytest.approx(9.0 - 3.0, abs=1e-4)  # the edge y = 20 and the engine at 9
    assert ball_gap(s, (26.0, 40.0, 9.0), 3.0) == pytest.approx(6.0 - 3.0, abs=1e-4)


def test_shapes_stand_where_they_should():
    """Boxes, cylinders, nuts and stud ends: distances of a ball in closed form."""
    m = bench(
        stud("S1"),
        obstacles=[("b", box((40, -5, 30), (60, 5, 50))), ("c", Cylinder((0, 90, 40), (0, 90, 80), 10))],
    )
    s = scene(m)

    assert ball_gap(s, (30.0, 0.0, 44.0), 2.0) == pytest.approx(8.0, abs=1e-4)
    assert ball_gap(s, (0.0, 70.0, 60.0), 2.0) == pytest.approx(8.0, abs=1e-4)
    # M8: washer ISO 7089 16 x 1.8 (most), lock nut e = 13 / cos 30, tip 22 above the face
    assert ball_gap(s, (0.0, 0.0, FACE + 25.0), 1.0) == pytest.approx(2.0, abs=1e-4)
    assert ball_gap(s, (12.0, 0.0, FACE + 5.8), 1.0) == pytest.approx(11 - 13 / math.sqrt(3), abs=1e-4)
    assert ball_gap(s, (12.0, 0.0, FACE + 1.5), 1.0) == pytest.approx(min(11 - 8, 0.5), abs=1e-4)


def test_near_sorts_and_leaves_out_nothing():
    """What is picked round a place is exactly what reaches into it, the nearest first."""
    rng = np.random.default_rng(4)
    for _ in range(5):
        s = scene(random_room(rng))
        at = rng.uniform((-50, -80, 0), (250, 80, 150))
        near = s.near(at, 90.0)
        off = np.linalg.norm(s.balls[:, :3] - at, axis=1) - s.balls[:, 3]

        assert set(near.balls) == set(np.flatnonzero(off <= 90.0))
        assert (np.diff(off[near.balls]) >= 0).all()
        for k in set(range(len(s.solids))) - set(near.solids):  # left out: truly farther
            d = _gjk.core_gap(capsule(at, at, 0.0), NONE, s.solids[k], s.points, 1e9)[0]
            assert d - s.solids[k, 12] > 90.0 - 1e-6


def test_scan_triangles_are_solids():
    """A meshed box gives the distance of the box itself to a tool part, plus the mesh's own error."""
    m = bench()
    corners = np.array([(x, y, z) for x in (40, 60) for y in (-5, 5) for z in (30, 50)], dtype=float)
    faces = [(0, 1, 3), (0, 3, 2), (4, 6, 7), (4, 7, 5), (0, 4, 5), (0, 5, 1), (2, 3, 7), (2, 7, 6), (0, 2, 6), (0, 6, 4), (1, 5, 7), (1, 7, 3)]  # fmt: skip
    s = scene(m)
    s = replace(
        s,
        groups=(*s.groups, "bay"),
        words=(*s.words, "bay"),
        owners=(*s.owners, None),
        scans=(surface(len(s.groups), corners, faces, 0.5),),
    )
    here = room(s, (0, 0, 40), 300.0, without=("head flange", "engine"))
    part = rod((10, 0, 35), (10, 0, 45), 6.0)[None]
    worst = here.worst(part, 50.0)

    assert here.said(worst.thing) == "bay"
    assert 50.0 - worst.violation == pytest.approx(40 - 16 - 0.5, abs=1e-4)
    assert worst.way == pytest.approx((1, 0, 0), abs=1e-6)


def test_ends_are_never_too_small():
    """At a tube's flat end the balls stand out, never in."""
    path = Path(Pose.heading((0, 0, FACE), (0, 0, 1)), (Straight(40.0), Bend(90, 60)))
    s = scene(bench(runs=(runner_from(1, path.start, path.elements),)))
    end = path.end
    rim = np.array(end.at) + 21.2 * np.cross(end.direction, end.normal)

    assert ball_gap(s, rim, 0.0) <= SCALLOP


def test_boxes_and_balls_of_a_scan_leave_nothing_out() -> None:
    """Triangles are looked up by balls round their neighbours and by a box; checked by looking at every one."""
    rng = np.random.default_rng(5)
    start = np.cumsum(rng.normal(0.0, 15.0, (1000, 1, 3)), axis=0)
    corners = start + rng.normal(0.0, 6.0, (1000, 3, 3))
    found = surface(0, corners.reshape(-1, 3), np.arange(3000).reshape(-1, 3))
    middles, reach = found.bounds[:, :3], found.bounds[:, 3]
    for _ in range(20):
        at, radius = start[rng.integers(1000), 0] + rng.normal(0.0, 30.0, 3), rng.uniform(5.0, 120.0)
        wanted = [k for k in range(1000) if np.linalg.norm(middles[k] - at) - reach[k] <= radius]
        assert found.near(at, radius).tolist() == wanted
        inside = ((corners >= at - radius) & (corners <= at + radius)).all(axis=2).any(axis=1)
        kept = {tuple(c) for c in found.within(at - radius, at + radius).corners[:, 0]}
        assert {tuple(c) for c in corners[inside, 0]} <= kept
        assert len(kept) < 1000
