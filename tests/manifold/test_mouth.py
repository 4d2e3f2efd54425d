"""A branch's mouth against closed forms, against points sampled on its skin, and against what the kernel builds."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from manifoldgen.checks import wastegate_area
from manifoldgen.errors import GeometryError
from manifoldgen.geometry.path import Arc, Bend, Path, Straight
from manifoldgen.geometry.pose import Pose
from manifoldgen.geometry.vectors import array
from manifoldgen.manifold.branches import off_cone
from manifoldgen.manifold.model import Branch, Manifold, Run, Section
from manifoldgen.manifold.mouth import branch_frame, left, lines, mouth_of, normals, parent_of
from manifoldgen.manifold.mouth_fit import sound_mouth, troubles
from tests.factory import manifold, with_branch

SEED = 20260
FINE = 0.03  # mm between points that are tried


def off_a_bend(
    *,
    od: float,
    tube: float,
    aim: float,
    shift: float,
    clr: float = 76.2,
    angle: float = 90.0,
    long: float = 60.0,
) -> Manifold:
    """A branch of OD `tube` off the outlet's bend."""
    m = manifold(3)
    path = Path(m.outlet.path.start, (Straight(60.0), Bend(angle, clr), Straight(120.0)))
    m = replace(m, outlet=replace(m.outlet, path=path, section=Section(od, 2.0, "304")))
    m = with_branch(m, aim=aim, shift=shift, tube=Section(tube, 1.5, "304"))
    b = m.branches[0]
    run = replace(b.run, path=Path(b.run.start, (Straight(long),)))
    return replace(m, branches=(replace(b, run=run),))


def off_the_cone(*, tube: float, aim: float, at: float = 0.5, around: float = 70.0) -> Manifold:
    """A branch of OD `tube` off the cone of a collector of four."""
    m = manifold(4)
    way = off_cone(m.collectors[0], at=at, around=around, aim=aim)
    start = Pose.heading(array(way.root) + way.wall_length * array(way.axis), way.axis)
    run = Run(
        "wastegate branch", "wastegate", Section(tube, 1.5, "304"), start, Path(start, (Straight(90.0),))
    )
    return replace(
        m, branches=(Branch("cone", None, run, way.root, way.axis, way.wall_length, aim, 0.0, 20.0),)
    )


def test_a_branch_on_an_elbow() -> None:
    """CLR 76.2, OD 50.8, branch 44.4, 2 mm out: the foot runs from 8.81° to 56.55° (published case).

    By hand for the two lines in the bend's plane: acos((76.2 + 2 ± 22.2) / (76.2 + 25.4)).
    """
    m = off_a_bend(od=50.8, tube=44.4, aim=0.0, shift=2.0)
    first, last = mouth_of(m, m.branches[0]).turn

    assert last == pytest.approx(math.degrees(math.acos(56.0 / 101.6)), abs=1e-6)
    assert (first, last) == pytest.approx((8.81, 56.55), abs=0.01)


def test_a_square_branch_takes_as_much_on_both_sides() -> None:
    """Closed form: aim 90 is symmetric, ± asin(r / (CLR + R)) in the bend's plane."""
    m = off_a_bend(od=60.0, tube=40.0, aim=90.0, shift=0.0)
    first, last = mouth_of(m, m.branches[0]).turn

    assert last == pytest.approx(math.degrees(math.asin(20 / 106.2)), abs=1e-6)
    assert first == pytest.approx(-last)


def test_the_mouth_on_a_cone_in_closed_form() -> None:
    """In the plane of the axis the two outer lines meet the cone's side: plane trigonometry.

    The side runs r(z) = R - k (z - at) through the point the axis crosses; a line beside the axis by b square to
    it, travelling (cos aim, sin aim), crosses it b / (sin aim + k cos aim) further along the cone's axis.
    """
    aim = 50.0
    m = off_the_cone(tube=25.4, aim=aim)
    c = m.collectors[0]
    k = (c.rim_radius - c.outlet.radius) / (c.length - c.merge_depth)
    found = mouth_of(m, m.branches[0])
    middle = (c.merge_depth + c.length) / 2
    beside = 12.7 / (math.sin(math.radians(aim)) + k * math.cos(math.radians(aim)))

    assert (found.first, found.last) == pytest.approx((middle - beside, middle + beside), abs=1e-6)


def skin(b: Branch, count: int, reach: float) -> tuple[np.ndarray, np.ndarray]:
    """Points of a branch's skin, line by line, (count, n, 3), and how far each lies along its line."""
    axis = array(b.axis)
    side = np.cross(axis, (0.3, -0.8, 0.52))
    side /= np.linalg.norm(side)
    turn = np.linspace(0.0, 2 * math.pi, count, endpoint=False)[:, None]
    ring = b.run.section.radius * (np.cos(turn) * side + np.sin(turn) * np.cross(axis, side))
    s = np.arange(0.0, reach, FINE)
    return array(b.root) + ring[:, None] + s[None, :, None] * axis, s


def to_centreline(path: Path, points: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Distance of points to a path that is walked in steps of 0.05 mm, and how far along the nearest step is."""
    from scipy.spatial import cKDTree

    s = np.linspace(0.0, path.length, math.ceil(path.length / 0.05))
    off, k = cKDTree(np.array([path.point(float(at)) for at in s])).query(points)
    return off, s[k]


def random_branches() -> list[Manifold]:
    """Branches off bends (also short ones, where the mouth runs on to the straight) and off cones."""
    rng = np.random.default_rng(SEED)
    made = []
    for _ in range(10):
        od = float(rng.uniform(45, 70))
        clr, angle = od * float(rng.uniform(1.1, 2.0)), float(rng.uniform(25, 90))
        tube, aim, shift = (
            od * float(rng.uniform(0.3, 0.85)),
            float(rng.uniform(0, 80)),
            float(rng.uniform(-2, 2)),
        )
        made.append(off_a_bend(od=od, tube=tube, aim=aim, shift=shift, clr=clr, angle=angle))
    for _ in range(6):
        tube, aim = float(rng.uniform(12, 30)), float(rng.uniform(50, 90))
        made.append(off_the_cone(tube=tube, aim=aim, around=float(rng.uniform(0, 360))))
    return made


@pytest.mark.parametrize("case", range(16))
def test_every_line_leaves_where_its_points_do(case: int) -> None:
    """Points 0.03 mm apart on the branch's skin: the last one inside the parent lies where the line leaves it."""
    m = random_branches()[case]
    b = m.branches[0]
    points, s = skin(b, 96, b.wall_length + 4 * b.run.section.radius)
    parent = parent_of(m, b)
    if parent is not None:
        off, along = to_centreline(parent.path, points.reshape(-1, 3))
        inside = (off <= parent.run.section.radius).reshape(points.shape[:2])
        along = along.reshape(points.shape[:2])
    else:
        c = m.collectors[0]
        local = (points - array(c.frame.at)) @ np.column_stack([c.frame.x, c.frame.y, c.frame.z])
        share = (local[..., 2] - c.merge_depth) / (c.length - c.merge_depth)
        inside = np.hypot(local[..., 0], local[..., 1]) <= c.rim_radius + share * (
            c.outlet.radius - c.rim_radius
        )
        along = local[..., 2]
    assert inside[:, 0].all()
    assert not inside[:, -1].any()
    out = inside.shape[1] - np.argmax(inside[:, ::-1], axis=1)  # the first point outside for good
    found = mouth_of(m, b)
    exact = left(m, b, points[:, 0])

    taken = along[inside] if parent is not None else along[np.arange(len(out)), out]
    assert np.abs(exact - s[out]).max() < 2 * FINE
    assert (found.nearest, found.reach) == pytest.approx((s[out].min(), s[out].max()), abs=0.1)
    assert (found.first, found.last) == pytest.approx((taken.min(), taken.max()), abs=0.2)


def test_normals_stand_on_the_parents_skin() -> None:
    """A little out along the normal is as much farther from the parent's centreline, or from the cone's side."""
    for m in random_branches():
        b = m.branches[0]
        origins = lines(branch_frame(m, b), array(np.arange(0.0, 360.0, 30.0)), b.run.section.radius)
        points = origins + left(m, b, origins)[:, None] * array(b.axis)
        out = normals(m, b, points)
        parent = parent_of(m, b)
        assert np.linalg.norm(out, axis=1) == pytest.approx(1.0)
        if parent is not None:
            off, _ = to_centreline(parent.path, points + out)
            assert off == pytest.approx(parent.run.section.radius + 1.0, abs=1e-3)
            continue
        c = m.collectors[0]
        beta = math.atan((c.rim_radius - c.outlet.radius) / (c.length - c.merge_depth))
        assert out @ array(c.frame.z) == pytest.approx(math.sin(beta))


@pytest.mark.parametrize(("tube", "named"), [(54.26, False), (54.28, True)])
def test_one_limit_off_a_bend(tube: float, named: bool) -> None:
    """0.9 of 60.3 mm is 54.27: check and solids say the same (common practice, no source)."""
    m = off_a_bend(od=60.3, tube=tube, aim=0.0, shift=0.0, long=120.0)
    found = troubles(m, m.branches[0], mouth_of(m, m.branches[0]))

    assert [t.limit for t in found] == [pytest.approx(54.27)] * named
    assert bool(wastegate_area.check(m)) == named
    if named:
        with pytest.raises(
            GeometryError, match=r"60\.3 mm: at most 54\.3 mm; take a branch tube at least 0\.0 mm"
        ):
            sound_mouth(m, m.branches[0])
    else:
        sound_mouth(m, m.branches[0])


@pytest.mark.parametrize("named", [False, True])
def test_one_limit_off_the_cone(named: bool) -> None:
    """0.9 of the cone's OD half way up it, where a square branch sits."""
    m = off_the_cone(tube=20.0, aim=90.0)
    c = m.collectors[0]
    wide = c.rim_radius + c.outlet.radius
    m = off_the_cone(tube=0.9 * wide + (0.02 if named else -0.02), aim=90.0)
    found = troubles(m, m.branches[0], mouth_of(m, m.branches[0]))

    assert any("clearly smaller" in t.reason for t in found) == named
    assert any("clearly smaller" in f.message for f in wastegate_area.check(m)) == named


def test_a_shop_may_ask_for_more() -> None:
    """The limit is a row of the catalogue: a shop's own row is asked instead."""
    m = off_a_bend(od=60.3, tube=48.3, aim=0.0, shift=0.0, long=120.0)
    assert wastegate_area.check(m) == ()
    own = m.tables.with_overrides({"limits": {"branch": {"clearly_smaller": {"value": 0.8}}}})

    assert any("at most 48.2 mm" in f.message for f in wastegate_area.check(replace(m, tables=own)))


def test_what_it_leaves_must_be_there() -> None:
    """A straight is no bend to leave, and a run that is not there is named."""
    m = off_a_bend(od=60.3, tube=38.0, aim=0.0, shift=0.0)
    b = m.branches[0]
    with pytest.raises(GeometryError, match="wastegate branch: element 1 of the outlet is no bend"):
        mouth_of(m, replace(b, element=0))
    with pytest.raises(GeometryError, match="no run called runner 9"):
        mouth_of(m, replace(b, takeoff="runner 9"))


@pytest.mark.slow
@pytest.mark.parametrize(
    ("tube", "aim", "shift"),
    [
        (54.26, 0.0, 0.0),
        (54.26, 0.0, 2.7),
        (54.26, 0.0, -2.7),
        (54.26, 35.0, 0.0),
        (54.26, 60.0, 1.0),
        (38.0, 0.0, 10.84),
        (38.0, 0.0, -10.84),
        (20.0, 30.0, 19.8),
    ],
)
def test_the_solid_builds_what_the_check_lets_through(tube: float, aim: float, shift: float) -> None:
    """At every limit, just inside: the kernel makes a saddle, a hole, and one sound solid of both."""
    from manifoldgen.solids.acceptance import accept
    from manifoldgen.solids.parts import saddle_of

    m = off_a_bend(od=60.3, tube=tube, aim=aim, shift=shift, long=140.0)
    b = m.branches[0]
    assert troubles(m, b, mouth_of(m, b)) == ()
    made = saddle_of(m, b, {})  # hole and saddle together are the whole, or it raises

    accept("both", made.both, 2, None, self_intersection=False)
    accept("lumen", made.lumen, 0, None, self_intersection=False)


@pytest.mark.slow
@pytest.mark.parametrize("more", [0.001, -0.001])
def test_the_solid_builds_a_mouth_at_the_ends_of_its_parent(more: float) -> None:
    """3 mm of tube before and behind the mouth and of straight behind the wall are enough, less is refused."""
    from manifoldgen.solids.acceptance import accept
    from manifoldgen.solids.parts import saddle_of

    m = off_a_bend(od=60.3, tube=38.0, aim=0.0, shift=0.0, angle=50.0)
    b, parent = m.branches[0], m.outlet
    there = mouth_of(m, b)
    before, behind = 3.0 + more, there.last - 60.0 - 76.2 * math.radians(50.0) + 3.0 + more
    start = Pose.heading(parent.path.point(60.0 - before), parent.start.direction)
    start = replace(start, normal=parent.start.normal)
    path = Path(start, (Straight(before), Bend(50.0, 76.2), Straight(behind)))
    short = Path(b.run.start, (Straight(there.reach - b.wall_length + 3.0 + more),))
    b = replace(b, run=replace(b.run, path=short))
    m = replace(m, outlet=replace(parent, path=path, start=start), branches=(b,))
    found = troubles(m, b, mouth_of(m, b))

    assert len(found) == (3 if more < 0 else 0)
    if more > 0:
        accept("both", saddle_of(m, b, {}).both, 2, None, self_intersection=False)


@pytest.mark.slow
@pytest.mark.parametrize(("share", "aim"), [(0.2, 90.0), (0.45, 90.0), (0.45, 60.0)])
def test_the_solid_builds_a_wide_branch_off_the_cone(share: float, aim: float) -> None:
    """Half way up the cone, as large as it has room for."""
    from manifoldgen.solids.acceptance import accept
    from manifoldgen.solids.collector import build_collector
    from manifoldgen.solids.parts import saddle_of

    c = off_the_cone(tube=20.0, aim=90.0).collectors[0]
    m = off_the_cone(tube=share * (c.rim_radius + c.outlet.radius), aim=aim)
    b = m.branches[0]
    assert troubles(m, b, mouth_of(m, b)) == ()
    made = saddle_of(m, b, {c.name: build_collector(c)})

    accept("both", made.both, 5, None, self_intersection=False)


def test_the_parents_bend_is_a_bend() -> None:
    """What the branch stands on is the arc of the path itself."""
    m = off_a_bend(od=60.3, tube=38.0, aim=0.0, shift=0.0)
    parent = parent_of(m, m.branches[0])

    assert isinstance(parent.bend, Arc)
    assert parent.bend is m.outlet.path.segments[1]
