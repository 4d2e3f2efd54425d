"""Cone and lid laid flat and the hole's table, against the model's solids."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from manifoldgen.geometry.path import Arc
from manifoldgen.geometry.vectors import array
from manifoldgen.manifold.collector import make_collector
from manifoldgen.manifold.mouth import Parent, parent_of
from manifoldgen.pieces import split
from manifoldgen.shop.cone import cones
from manifoldgen.shop.hole import holes
from tests.factory import OUTLET, TUBE, manifold, with_branch
from tests.shop.test_wraps import cone_branch, longer


def with_collector(n: int, **changed):
    """The factory's manifold with another collector in its place (the runners do not matter here)."""
    m = manifold(n)
    c = m.collectors[0]
    given = {
        "name": "A",
        "kind": "merge",
        "frame": c.frame,
        "section": TUBE,
        "outlet": OUTLET,
        "half_angle": 12.0,
    }
    made = make_collector(**(given | {"order": list(c.order), "gap": 2.0} | changed))
    return split(replace(m, collectors=(made,)))


CASES = [
    (3, {}),
    (4, {"half_angle": 20.0}),
    (5, {"kind": "bundle", "half_angle": 15.0}),
    (4, {"length": 220.0}),
]


@pytest.mark.slow
@pytest.mark.parametrize(("n", "changed"), CASES)
def test_the_cone_rolls_up_to_the_models(n, changed):
    """The flat sector's edges, slant and area are the round ends, side and face of the model's cone."""
    from manifoldgen.solids.collector import collector_pieces
    from tests.shop import kernel_wraps as kernel

    m = with_collector(n, **changed)
    (cone,) = cones(m)
    solid = collector_pieces(m.collectors[0])["cone"]
    sides = sorted((f for f in solid.Faces() if f.geomType() == "CONE"), key=lambda f: -f.Area())
    outside = cone.sector(0.0)
    assert kernel.area([sides[0]]) == pytest.approx(outside.area, abs=0.2)
    rims = sorted(kernel.length([e]) for e in sides[0].Edges() if e.geomType() == "CIRCLE")
    assert rims == pytest.approx(sorted(outside.edges), abs=1e-3)
    (seam,) = {round(kernel.length([e]), 6) for e in sides[0].Edges() if e.geomType() == "LINE"}
    assert seam == pytest.approx(outside.slant, abs=1e-3)
    # the middle of the sheet carries its metal: blank times wall is the cone's volume, less its dressed ends
    assert cone.sector().area * cone.wall == pytest.approx(solid.Volume(), rel=0.01)
    # and it lies half way
    assert 2 * cone.sector().outer == pytest.approx(outside.outer + cone.sector(cone.wall).outer)


def test_the_hole_in_the_cone_keeps_its_lengths():
    """Laying the cone flat stretches nothing: the hole's edge is as long on the blank as on the cone, and turns its way."""
    m = split(cone_branch())
    (cone,) = cones(m)
    assert cone.hole is not None
    beta = math.radians(cone.half_angle)
    far = np.hypot(*cone.hole.T)
    radius, turn = far * math.sin(beta), np.arctan2(cone.hole[:, 0], -cone.hole[:, 1]) / math.sin(beta)
    depth = -far * math.cos(beta)
    back = np.stack([radius * np.cos(turn), radius * np.sin(turn), depth], axis=1)  # rolled up again
    flat = np.linalg.norm(np.diff(cone.hole, axis=0), axis=1).sum()
    assert np.linalg.norm(np.diff(back, axis=0), axis=1).sum() == pytest.approx(flat, rel=1e-4)
    b = m.branches[0]
    off = back - back.mean(axis=0)
    # a tube's bore: no farther across than its bore on a slant of at most 1 / sin(70°)
    assert 2 * b.run.section.bore_radius < 2 * np.linalg.norm(off, axis=1).max() < 1.1 * b.run.section.od
    sector = cone.sector()
    assert sector.inner < far.min()
    assert far.max() < sector.outer


def placed(parent: Parent, spot):
    """A spot of the table found as the shop finds it: along the bend, then round the tube; bench frame."""
    arc, r = parent.bend, parent.run.section.radius
    along = min(max(spot.angle, 0.0), arc.angle)
    a, w = math.radians(along), spot.round / r
    radial = math.cos(a) * array(arc.radial) + math.sin(a) * array(arc.direction)
    travel = math.cos(a) * array(arc.direction) - math.sin(a) * array(arc.radial)
    past = spot.back - math.radians(along) * (arc.clr + r)
    return array(arc.centre) + arc.clr * radial + past * travel + r * (
        math.cos(w) * radial - math.sin(w) * arc.axis
    )  # fmt: skip


@pytest.mark.slow
@pytest.mark.parametrize("aim", [0.0, 35.0])
def test_the_holes_table_lies_on_the_models_edges(aim):
    """Every row, laid out with tape and protractor, lies on the foot and on the hole of the model."""
    from manifoldgen.solids.parts import saddle_of
    from tests.shop import kernel_wraps as kernel

    m = split(with_branch(longer(), aim=aim))
    (table,) = holes(m)
    parent = parent_of(m, m.branches[0])
    saddle = saddle_of(m, m.branches[0], {})
    foot = kernel.cut_edges(saddle.branch, m.branches[0].run.section.radius)
    assert kernel.distance(foot, [placed(parent, r.foot) for r in table.rows]) < 1e-3
    edges = [e for e in saddle.parent.Edges() if e.geomType() not in ("LINE", "CIRCLE")]
    assert kernel.distance(edges, [placed(parent, r.hole) for r in table.rows]) < 1e-3
    if aim == 0.0:  # there the mouth runs on to the straight
        assert any(r.foot.angle > table.angle for r in table.rows)
    assert max(r.hole.round for r in table.rows) < max(r.foot.round for r in table.rows)


def test_a_hole_by_hand():
    """Branch 44.4 on CLR 76.2, OD 50.8, 2 mm out, square to the bend's start: closed form of a torus.

    A line of the branch x, z from the torus' middle leaves it at ρ = CLR + √(r² - z²) from the torus' axis: at
    arccos(x / ρ) along the bend and arctan(z / (ρ - CLR)) round the tube.
    """
    from manifoldgen.manifold import leaving

    arc = Arc((0, 0, 0), (1, 0, 0), (0, 1, 0), 76.2, 180.0)
    phi = np.radians([0.0, 90.0, 180.0])
    ring = np.array([78.2, 0, 0]) + 22.2 * np.stack([np.cos(phi), 0 * phi, -np.sin(phi)], axis=1)
    s = leaving.from_tube((arc,), 25.4, ring, np.array([0.0, 1.0, 0.0]), 400.0)
    points = ring + np.outer(s, [0.0, 1.0, 0.0])
    m = manifold(3)
    parent = Parent(replace(m.outlet, section=replace(m.outlet.section, od=50.8)), m.outlet.path, arc)
    from manifoldgen.shop.hole import spots

    found = spots(parent, points)
    hand = []
    for x, z in ((78.2 + 22.2, 0.0), (78.2, 22.2), (78.2 - 22.2, 0.0)):
        out = math.sqrt(25.4**2 - z**2)
        hand.append((math.degrees(math.acos(x / (76.2 + out))), 25.4 * math.atan2(z, out)))
    assert [f.angle for f in found] == pytest.approx([angle for angle, _ in hand], abs=1e-6)
    # + is right-handed about the flow: y × x = -z, where the point at 90° lies
    assert [f.round for f in found] == pytest.approx([round_ for _, round_ in hand], abs=1e-6)
