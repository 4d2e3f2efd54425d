"""Templates against tubes cut by the kernel: length, area, place and hand of every curve."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path as File

import numpy as np
import pytest

import manifoldgen as mg
from manifoldgen.errors import GeometryError
from manifoldgen.geometry.path import Arc, Bend, Path, Straight
from manifoldgen.geometry.pose import Pose
from manifoldgen.geometry.vectors import array, vec
from manifoldgen.manifold import leaving
from manifoldgen.manifold.branches import off_cone
from manifoldgen.manifold.model import Branch, Run, Section
from manifoldgen.pieces import split
from manifoldgen.shop import developed
from manifoldgen.shop.inlets import corners
from manifoldgen.shop.plan import ShopPlan
from tests.factory import manifold, with_branch
from tests.strategies import random_collector

JOBS = File(__file__).resolve().parents[2] / "cq_scripts" / "jobs"
SEED = 5
LENGTH, AREA = 1e-3, 0.2  # mm, mm²: what a shop could never see


def job(name: str):
    """A demo job, split."""
    return split(mg.assemble(mg.load(JOBS / f"{name}.yaml")))


def ring(root, d, u, r, phi):
    """Points round a tube whose axis d runs through root and whose back line lies at u."""
    turn = np.radians(phi)
    return root + r * (np.outer(np.cos(turn), u) + np.outer(np.sin(turn), np.cross(d, u)))


def dense(*kinks: float):
    """Degrees round a tube, close enough for lengths to 1e-4 mm."""
    return developed.turns(100_000, *kinks)


@pytest.mark.slow
@pytest.mark.parametrize(("tilt", "od"), [(22.5, 48.3), (5.0, 42.4), (40.0, 60.3)])
def test_mitre(tilt, od):
    """A flat cut's curve is as long as the kernel's ellipse and bounds the same wall."""
    import cadquery as cq

    from tests.shop import kernel_wraps as kernel

    r = od / 2
    tube = kernel.cylinder(r, 300, (0, 0, -150), (0, 0, 1))
    block = cq.Solid.makeBox(800, 800, 400, cq.Vector(-400, -400, 0)).rotate((0, 0, 0), (0, 1, 0), -tilt)
    cut = kernel.largest(tube.cut(block))
    phi = dense()
    s = developed.mitre(phi, r, tilt)
    assert developed.length(phi, s, r) == pytest.approx(kernel.length(kernel.cut_edges(cut, r)), abs=LENGTH)
    assert developed.area(phi, s + 150, r) == pytest.approx(kernel.area(kernel.wall(cut, r)), abs=AREA)


@pytest.mark.slow
def test_saddles_on_a_straight_tube():
    """Three angles and random ones: length, area, and the curve wrapped back lies on the cut edge, not mirrored."""
    import cadquery as cq  # noqa: F401

    from tests.shop import kernel_wraps as kernel

    rng = np.random.default_rng(SEED)
    print("seed", SEED)
    cases = [(24.15, 30.15, 90.0, 0.0), (24.15, 30.15, 60.0, 4.0), (24.15, 30.15, 45.0, -5.0)]
    for _ in range(8):
        main = rng.uniform(20, 40)
        r = main * rng.uniform(0.4, 0.8)
        cases.append((r, main, rng.uniform(40, 140), rng.uniform(-1, 1) * 0.9 * (main - r)))
    for r, main, angle, offset in cases:
        a = math.radians(angle)
        d = np.array([math.cos(a), 0, math.sin(a)])
        u = np.array([math.sin(a), 0, -math.cos(a)])
        branch = kernel.cylinder(r, 300, (0, offset, 0), d)
        cut = kernel.largest(branch.cut(kernel.cylinder(main, 1200, (-600, 0, 0), (1, 0, 0))))
        edges = kernel.cut_edges(cut, r)
        phi = dense()
        s = developed.saddle(phi, r, main, angle, offset)
        assert developed.length(phi, s, r) == pytest.approx(kernel.length(edges), abs=LENGTH)
        found = 2 * math.pi * r * 300 - developed.area(phi, s, r)
        assert found == pytest.approx(kernel.area(kernel.wall(cut, r)), abs=AREA)

        some = np.linspace(0, 360, 37)
        along = developed.saddle(some, r, main, angle, offset)
        root = np.array([0, offset, 0])
        assert kernel.distance(edges, ring(root, d, u, r, some) + np.outer(along, d)) < 1e-4
        if abs(offset) > 2:
            assert kernel.distance(edges, ring(root, d, u, r, -some) + np.outer(along, d)) > 1.0


@pytest.mark.slow
def test_bisectors_of_a_collector():
    """Inlets of OD 42.2 at 10°: N 3, 4, 6 as long as the kernel's ellipses, same wall."""
    from tests.shop import kernel_wraps as kernel

    for n in (3, 4, 6):
        cut = kernel.inlet_blank(21.1, n, 10.0, 320.0)
        phi = dense(180.0)
        s = developed.bisectors(phi, 21.1, n, 10.0)
        assert developed.length(phi, s, 21.1) == pytest.approx(
            kernel.length(kernel.cut_edges(cut, 21.1)), abs=LENGTH
        )
        assert developed.area(phi, s + 320, 21.1) == pytest.approx(
            kernel.area(kernel.wall(cut, 21.1)), abs=AREA
        )


@pytest.mark.slow
def test_random_inlets():
    """Thirty random collectors: the whole curve with its flat cut, length and area, against the kernel."""
    from tests.shop import kernel_wraps as kernel

    rng = np.random.default_rng(SEED)
    print("seed", SEED)
    done = 0
    while done < 30:
        c = random_collector(rng)
        if c.kind == "bundle":
            continue
        done += 1
        r, n, g = c.section.radius, len(c.order), c.half_angle
        apex = c.ring_radius / math.sin(math.radians(g))
        before = apex + 2 * r
        cut = kernel.behind(
            kernel.inlet_blank(r, n, g, before), c.merge_depth - c.ring_radius / math.tan(math.radians(g))
        )
        phi = dense(*corners(c))
        s = developed.inlet(phi, r, inlets=n, half_angle=g, ring=c.ring_radius, depth=c.merge_depth)
        edges = kernel.cut_edges(cut, r)
        assert developed.length(phi, s, r) == pytest.approx(kernel.length(edges), abs=LENGTH), (done, n, g)
        wall = kernel.area(kernel.wall(cut, r))
        assert developed.area(phi, s + 2 * r, r) == pytest.approx(wall, abs=AREA), (done, n, g)


@pytest.mark.slow
def test_branch_on_a_bend():
    """A branch of 44.4 on CLR 76.2, OD 50.8, and random ones, skew too: length, area, place and hand."""
    import cadquery as cq

    from tests.shop import kernel_wraps as kernel

    rng = np.random.default_rng(SEED)
    print("seed", SEED)
    cases = [(76.2, 25.4, 22.2, 2.0, 0.0, 0.0)]
    for _ in range(5):
        clr, main = rng.uniform(60, 110), rng.uniform(22, 35)
        r = main * rng.uniform(0.4, 0.75)
        cases.append((clr, main, r, rng.uniform(-1, 3), rng.uniform(2.5, 4), rng.uniform(0, 60)))
    for clr, main, r, out, side, aim in cases:
        arc = Arc((0, 0, 0), (1, 0, 0), (0, 1, 0), clr, 180.0)
        a = math.radians(aim)
        d, u = np.array([math.sin(a), math.cos(a), 0.0]), np.array([math.cos(a), -math.sin(a), 0.0])
        root = np.array([clr + out, 0.0, side])

        phi = developed.turns(7200)
        s = leaving.from_tube((arc,), main, ring(root, d, u, r, phi), d, 400.0)
        cut = kernel.largest(kernel.cylinder(r, 250, root, d).cut(cq.Solid.makeTorus(clr, main)))
        edges = kernel.cut_edges(cut, r)
        assert developed.length(phi, s, r) == pytest.approx(kernel.length(edges), abs=LENGTH)
        found = 2 * math.pi * r * 250 - developed.area(phi, s, r)
        assert found == pytest.approx(kernel.area(kernel.wall(cut, r)), abs=AREA)
        some = slice(None, None, 200)
        along = np.outer(s[some], d)
        assert kernel.distance(edges, ring(root, d, u, r, phi[some]) + along) < 1e-3
        if side:
            assert kernel.distance(edges, ring(root, d, u, r, -phi[some]) + along) > 1.0


@pytest.mark.slow
@pytest.mark.parametrize("name", ["snow_groomer_three", "sand_rail_four"])
def test_inlets_lie_on_the_models_edge(name):
    """Each demo's inlet template wrapped on its piece in place runs along the piece's cut edge; turned, it does not."""
    from manifoldgen.solids.pieced import piece_solids
    from tests.shop import kernel_wraps as kernel

    m = job(name)
    found = [w for w in ShopPlan(m).wraps if w.kind == "inlet"]
    assert found
    shapes, errors = piece_solids(replace(m, pieces=tuple(p for p in m.pieces if p.inlet)), {})
    assert not errors
    for w in found:
        edges = kernel.cut_edges(shapes[w.pieces[0]], w.section.radius)
        some = np.linspace(0, len(w.phi) - 1, 40).astype(int)
        assert kernel.distance(edges, w.points()[some]) < 1e-4
        turned = replace(w, frame=replace(w.frame, x=w.frame.y, y=vec(-array(w.frame.x))))
        assert kernel.distance(edges, turned.points()[some]) > 1.0


@pytest.mark.slow
@pytest.mark.parametrize("aim", [0.0, 40.0])
def test_the_branch_lies_on_the_models_edge(aim):
    """The saddle template wrapped on the branch runs along the model's cut edge, also where it meets straights."""
    from manifoldgen.solids.parts import saddle_of
    from tests.shop import kernel_wraps as kernel

    m = split(with_branch(longer(), aim=aim))
    w = next(w for w in ShopPlan(m).wraps if w.kind == "saddle")
    saddle = saddle_of(m, m.branches[0], {})
    edges = kernel.cut_edges(saddle.branch, w.section.radius)
    some = np.linspace(0, len(w.phi) - 1, 40).astype(int)
    assert kernel.distance(edges, w.points()[some]) < 1e-3
    assert np.abs(w.cut).max() < 60 + m.branches[0].wall_length


def longer():
    """The factory's manifold with a bend that turns 40° only: a branch's mouth runs on to the straight."""
    m = manifold(3)
    path = m.outlet.path
    assert path is not None
    bent = Path(path.start, (Straight(50.0), Bend(40.0, 76.2), Straight(120.0)))
    return replace(m, outlet=replace(m.outlet, path=bent))


@pytest.mark.slow
def test_a_branch_off_the_cone_lies_on_the_models_edge():
    """The template of a branch off the cone against the kernel's branch."""
    from manifoldgen.solids.branch import off_cone as built
    from manifoldgen.solids.collector import build_collector
    from tests.shop import kernel_wraps as kernel

    m = split(cone_branch())
    c = m.collectors[0]
    hub = build_collector(c)
    saddle = built(m, m.branches[0], hub.metal, hub.gas)
    w = next(w for w in ShopPlan(m).wraps if w.kind == "saddle")
    edges = kernel.cut_edges(saddle.branch, w.section.radius)
    some = np.linspace(0, len(w.phi) - 1, 40).astype(int)
    assert kernel.distance(edges, w.points()[some]) < 1e-3


def cone_branch():
    """The factory's manifold for four with a branch off its cone."""
    m = manifold(4)
    c = m.collectors[0]
    way = off_cone(c, at=0.5, around=30.0, aim=80.0)
    start = Pose.heading(array(way.root) + way.wall_length * array(way.axis), way.axis)
    tube = Section(30.0, 1.5, "304")
    run = Run("wastegate branch", "wastegate", tube, start, Path(start, (Straight(60.0),)))
    return replace(
        m, branches=(Branch("cone", None, run, way.root, way.axis, way.wall_length, 80.0, 0.0, 25.0),)
    )


def test_marks_lie_where_they_say():
    """The crotch named at a scallop lies on that crotch's seam; a mirrored print would name the wrong neighbour."""
    for mirror in (False, True):
        m = split(turned_ring(mirror=mirror))
        c = m.collectors[0]
        joints = {j.id: array(j.at) for j in m.joints}
        for w in ShopPlan(m).wraps:
            if w.kind != "inlet":
                continue
            named = [k for k in w.marks if k.text in joints]
            assert len(named) == 2
            for mark in named:
                other = next(k for k in named if k is not mark)
                k = int(np.argmin(np.abs(w.phi - mark.at)))
                bottom = w.points()[k]
                assert touch(c, bottom) < 0.1
                near, far = (np.linalg.norm(bottom - joints[x.text]) for x in (mark, other))
                assert near + 5 < far


def turned_ring(*, mirror: bool):
    """Four straight runners into one collector, met either way round."""
    m = manifold(4)
    c = m.collectors[0]
    if not mirror:
        return m
    made = replace(c, mirror=True, order=(c.order[0], *reversed(c.order[1:])))
    return replace(m, collectors=(replace(made, inlets=tuple(c.inlet(n) for n in made.order)),))


@pytest.mark.parametrize("mirror", [False, True])
def test_the_sides_name_the_neighbours(mirror):
    """The line at 90° faces the inlet it names, the one at 270° the other."""
    m = split(turned_ring(mirror=mirror))
    c = m.collectors[0]
    inlets = [w for w in ShopPlan(m).wraps if w.kind == "inlet"]
    assert len(inlets) == 4
    for w in inlets:
        me = array(c.inlet(int(w.name.split()[-1])).at)
        for at, sign in ((90.0, 1.0), (270.0, -1.0)):
            (mark,) = (k for k in w.marks if k.at == at)
            other = array(c.inlet(int(mark.text.split()[-1])).at)
            assert sign * (other - me) @ array(w.frame.y) > 0.5 * c.ring_radius


def touch(c, point):
    """How far a point is from being on two neighbouring tubes at once, mm."""
    off = []
    for p in c.inlets:
        v = point - array(p.at)
        v = v - (v @ array(p.direction)) * array(p.direction)
        off.append(abs(np.linalg.norm(v) - c.section.radius))
    return sorted(off)[1]


def test_the_bend_before_is_marked_on_its_back():
    """The mark of the bend before, wrapped back, points away from that bend's centre."""
    m = job("snow_groomer_three")
    for w in ShopPlan(m).wraps:
        mark = next(k for k in w.marks if k.text == "bend before: its back")
        run = next(r for r in m.runners if f"R{r.number}-" in w.pieces[0])
        arc = run.path.segments[-2]
        turn = math.radians(mark.at)
        line = math.cos(turn) * array(w.frame.x) + math.sin(turn) * array(w.frame.y)
        assert line @ array(arc.end.normal) == pytest.approx(-1.0, abs=1e-9)


@pytest.mark.slow
@pytest.mark.parametrize("fit", ["butt", "socket"])
def test_a_tube_that_leans_on_the_flange(fit):
    """The template of a tilted port lies on the model's tube; its lowest point is the blank's end."""
    from manifoldgen.solids.pieced import piece_solids
    from tests.shop import kernel_wraps as kernel

    m = manifold(3, half_angle=12.0)
    m = split(replace(m, head=replace(m.head, fit=fit)))
    heads = [w for w in ShopPlan(m).wraps if w.kind == "mitre"]
    assert len(heads) == 3
    shapes, errors = piece_solids(replace(m, pieces=tuple(p for p in m.pieces if p.inlet)), {})
    assert not errors
    for w in heads:
        edges = kernel.cut_edges(shapes[w.pieces[0]], w.section.radius)
        assert kernel.distance(edges, w.points()[::40]) < 1e-4
        assert w.nearest == pytest.approx(0.0, abs=1e-9)
        # closed form: the long and the short side differ by od tan(tilt)
        assert w.farthest == pytest.approx(w.od * math.tan(math.radians(12.0)), abs=1e-9)
    both = {k.pieces[0]: k for k in ShopPlan(m).wraps if k.kind == "inlet"}
    for w in heads:  # one blank, one square end
        assert w.frame.at == pytest.approx(both[w.pieces[0]].frame.at)


def test_a_saddle_that_misses_is_refused():
    """A branch as wide as its main tube, or past its side, is refused with both figures."""
    with pytest.raises(GeometryError, match=r"reaches 32\.0 mm .* 30\.0 mm"):
        developed.saddle([0.0], 22.0, 30.0, 90.0, 10.0)
    m = split(with_branch(longer(), shift=9.0, tube=Section(50.0, 1.5, "304")))
    with pytest.raises(GeometryError, match="does not leave the outlet at"):
        _ = ShopPlan(m).wraps


def test_the_saddle_touches_at_one_edge():
    """Cut straight through the wall, the branch nowhere reaches into its parent: the cut is the outer of both edges."""
    w = next(w for w in ShopPlan(split(with_branch(longer()))).wraps if w.kind == "saddle")
    assert (w.cut >= w.outside - 1e-9).all()
    assert (w.cut >= w.inside - 1e-9).all()
    assert np.minimum(w.cut - w.outside, w.cut - w.inside).max() < 1e-9
