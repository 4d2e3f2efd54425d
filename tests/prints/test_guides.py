"""Saw guides: their face is the cut plane, they slide on the elbow, every cut of the plan has one."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from manifoldgen.errors import GeometryError
from manifoldgen.geometry.path import Arc, Bend
from manifoldgen.geometry.pose import BENCH
from manifoldgen.geometry.shapes import HalfSpace
from manifoldgen.geometry.vectors import array
from manifoldgen.prints import bodies
from manifoldgen.prints.guides import guides
from manifoldgen.shop.elbow_cuts import ElbowCut, elbow_cuts
from manifoldgen.shop.saw_guides import grouped
from tests.prints.aids import in_place, job, overlap

FIT = 0.25  # the demo's own `print.fit` default, mm a side


def area_on(part, at, normal) -> float:
    """Area of a part's skin that lies in a plane within 1e-6 mm and looks along its normal, mm²."""
    corners = part.in_place.corners
    off = np.abs((corners - array(at)) @ array(normal)).max(axis=1)
    cross = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    along = cross @ array(normal)
    return float(along[(off < 1e-6) & (along > 0)].sum() / 2)


def made():
    """The demo's guides with the cut each is drawn on: (guide, cut, its stop blocks with their cuts)."""
    m = job()
    parts = iter(guides(m))
    found = []
    for group in grouped(elbow_cuts(m)):
        guide = next(parts)
        found.append((guide, group.cut, [(next(parts), cuts[0]) for cuts in group.narrower]))
    assert next(parts, None) is None
    return found


def arc(m, piece) -> Arc:
    """The bend of a piece."""
    path = next(p for p in m.pieces if p.id == piece).path
    return next(s for s in path.segments if isinstance(s, Arc))


def test_every_cut_through_an_arc_has_one_guide():
    """What the cutting plan cuts out of an elbow is served once, by a guide or by a guide with a stop block."""
    m = job()
    asked = sorted(
        s.piece for t in m.cutting.taken if t.item.kind != "straight" for s in t.slices if 0 < s.angle < t.item.angle - 0.05
    )  # fmt: skip

    assert asked
    assert sorted(c.piece for g in grouped(elbow_cuts(m)) for c in g.served) == asked


def test_the_face_is_the_cut_plane_and_the_stop_is_the_other_end():
    """Seen in its place in the bench frame, the guide ends in the planes where the piece of the path ends."""
    m = job()
    for guide, cut, _ in made():
        bend = arc(m, cut.piece)
        ends = [(bend.end.at, bend.end.direction), (bend.point(0.0), -array(bend.direction))]
        (face, out), (stop, back) = ends if cut.downstream else ends[::-1]
        beyond = (guide.in_place.vertices - array(face)) @ array(out)

        assert area_on(guide, face, out) > 200.0, guide.name
        assert beyond.max() < 1e-6, guide.name
        # the inside of the stop looks the way the cut goes: along the tube, into it
        assert area_on(guide, stop, -array(back)) > 0.8 * math.pi / 2 * (cut.od / 2) ** 2, guide.name


def test_a_stop_block_leaves_the_angle_of_its_cut():
    """From the block's face to the guide's face the arc is the narrower piece's own, as on the cut list."""
    blocks = 0
    for _, cut, narrower in made():
        centre, axis = array(cut.frame.at), array(cut.frame.z)
        for block, small in narrower:
            blocks += 1
            turn = math.radians(cut.angle - small.angle)
            x, y = array(cut.frame.x), array(cut.frame.y)
            radial, travel = math.cos(turn) * x + math.sin(turn) * y, math.cos(turn) * y - math.sin(turn) * x
            face = centre + cut.clr * radial

            assert area_on(block, face, travel) > 0.8 * math.pi / 2 * (cut.od / 2) ** 2, block.name
            assert np.abs((block.in_place.vertices - centre) @ axis).max() < cut.od / 2 + 0.05
            assert small.angle == pytest.approx(arc(job(), small.piece).angle, abs=1e-9)
    assert blocks > 0


def test_the_bore_stands_off_the_elbow_by_the_fit_all_round():
    """Every point of the bore is the fit away from the elbow's measured outside, on the whole half round."""
    for guide, cut, _ in made():
        local = cut.frame.into(guide.in_place.vertices)
        turn = np.degrees(np.arctan2(local[:, 1], local[:, 0]))
        off = np.hypot(np.hypot(local[:, 0], local[:, 1]) - cut.clr, local[:, 2])
        inside = (turn > 0.5) & (turn < cut.angle - 1.0) & (off < cut.od / 2 + FIT + 0.15)
        gap = off[inside] - cut.od / 2
        round_ = np.degrees(
            np.arctan2(local[inside, 2], np.hypot(local[inside, 0], local[inside, 1]) - cut.clr)
        )

        assert job().workshop.fit == FIT
        assert (
            inside.sum() > 15 * cut.angle
        )  # the mesh is a third of a degree fine: no gap in what is looked at
        assert np.abs(gap - FIT).max() < 0.03, guide.name
        assert np.histogram(round_, bins=18, range=(-180.0, 0.0))[0].min() > 0, guide.name


def test_nothing_of_a_guide_or_block_is_in_the_elbow():
    """The piece of steel lies in its guide, and beside its block, without touching at nominal size."""
    m = job()
    paths = {p.id: p.path for p in m.pieces}
    for guide, cut, narrower in made():
        assert overlap(in_place(guide), bodies.tube(paths[cut.piece], cut.od / 2)) < 1e-6
        for block, _ in narrower:
            assert overlap(in_place(guide), in_place(block)) < 1e-6
            assert in_place(block).volume() > 100.0


def test_the_measured_outside_of_the_stock_makes_the_bore():
    """An elbow that measures more than its tube gets a wider guide: stock tolerances are larger than the fit."""
    m = job()
    wide = replace(
        m,
        cutting=replace(
            m.cutting,
            taken=tuple(replace(t, item=replace(t.item, od=t.item.od + 0.8)) for t in m.cutting.taken),
        ),
    )
    first = guides(wide)[0]
    cut = grouped(elbow_cuts(wide))[0].cut
    path = next(p for p in m.pieces if p.id == cut.piece).path

    assert cut.od == pytest.approx(43.2)
    assert overlap(in_place(first), bodies.tube(path, 43.2 / 2 + 0.2)) < 1e-6
    assert overlap(in_place(first), bodies.tube(path, 43.2 / 2 + 0.3)) > 10.0


def a_cut(angle: float, clr: float = 63.6, od: float = 42.4, leg: float = 0.0) -> ElbowCut:
    """A cut of that angle, at the origin."""
    plane = HalfSpace((0.0, 0.0, 0.0), (0.0, 0.0, 1.0))
    return ElbowCut(
        f"R1-{angle:g}-{leg:g}", "el90 1", od, clr, angle, leg, plane, BENCH, downstream=True, first=True
    )


@pytest.mark.parametrize(
    ("angles", "guide_angles"),
    [
        ([60.0], [60.0]),
        ([60.0, 60.0], [60.0]),  # one guide cuts the same angle again
        ([60.0, 59.0], [60.0, 59.0]),  # the block would be 0.7 mm thin at the throat
        ([60.0, 50.0], [60.0]),  # 10 degrees of block, not 50 of a second guide
        ([80.0, 20.0, 15.0], [80.0, 20.0]),  # a block of 60 degrees would be more than a guide of 20
    ],
)
def test_guides_are_shared_where_that_prints_less(angles, guide_angles):
    """Few guides, but no block too thin to print or larger than the guide it saves (worked by hand)."""
    groups = grouped([a_cut(a) for a in angles])

    assert [g.cut.angle for g in groups] == guide_angles
    assert sum(len(g.served) for g in groups) == len(angles)


def test_a_leg_before_the_arc_has_a_guide_of_its_own():
    """A piece with a leg is stopped at the leg's end: it cannot share a guide with a plain elbow."""
    assert len(grouped([a_cut(60.0), a_cut(50.0, leg=30.0)])) == 2


def test_a_bend_too_tight_for_a_guide_is_refused_in_a_sentence():
    """Where the wall does not fit into the throat it says the CLR that would do, and what to do instead."""
    m = job()
    piece = next(p for p in m.pieces if p.path and p.path.bends and p.part.startswith("runner"))
    bend = piece.path.bends[0]
    tight = replace(piece, path=replace(piece.path, elements=(Bend(bend.angle, 25.0, bend.roll),)))
    m = replace(m, pieces=tuple(tight if p.id == piece.id else p for p in m.pieces))

    with pytest.raises(GeometryError, match=r"needs a CLR of 27\.[0-9] mm or more .* has 25 mm"):
        guides(m)
