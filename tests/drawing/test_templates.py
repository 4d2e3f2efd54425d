"""Templates on paper: full size, the right way round, cut line closed, every id printed, the mill sheet beside them."""

from __future__ import annotations

import itertools
import math
from dataclasses import replace
from pathlib import Path as File

import numpy as np
import pytest

import manifoldgen as mg
from manifoldgen.drawing.extent import edges
from manifoldgen.drawing.figure import Circle, EdgeLine, Figure, Text, Window
from manifoldgen.drawing.mill_sheet import mill_drafts
from manifoldgen.drawing.sheet_patterns import cone_figure
from manifoldgen.drawing.templates import templates, templates_figure
from manifoldgen.drawing.wrap_figure import laid, wrap_figure
from manifoldgen.geometry.contour import Contour
from manifoldgen.pieces import split
from manifoldgen.shop.cone import cones
from manifoldgen.shop.plan import ShopPlan
from tests.factory import manifold, with_branch
from tests.shop.test_wraps import longer

JOBS = File(__file__).resolve().parents[2] / "cq_scripts" / "jobs"


def job(name: str = "snow_groomer_three"):
    """A demo job, split."""
    return split(mg.assemble(mg.load(JOBS / f"{name}.yaml")))


def items(figure: Figure):
    """All items, those seen through a window too."""
    for item in figure.items:
        if isinstance(item, Window):
            yield from items(item.figure)
        else:
            yield item


def text_of(figure: Figure) -> str:
    """Everything written on it."""
    return "\n".join(i.text for i in items(figure) if isinstance(i, Text))


def cut_outs(figure: Figure) -> list[EdgeLine]:
    """The closed lines that are cut out."""
    return [i for i in items(figure) if isinstance(i, EdgeLine) and i.layer == "CUT_OUTER" and i.closed]


def cases():
    """A demo's inlets, a branch, tubes that lean on the flange."""
    return [*ShopPlan(job()).wraps, *ShopPlan(split(with_branch(longer()))).wraps]


def test_the_paper_is_the_developed_tube():
    """Width once round the middle of the paper; the curve in place to 0.03 mm, right-handed; edge on the datum."""
    found = cases()
    assert {w.kind for w in found} == {"inlet", "saddle", "mitre"}
    for w in found:
        (ring,) = cut_outs(wrap_figure(w))
        x, y = np.array(ring.vertices)[:, :2].T
        assert x.min() == 0.0
        assert x.max() == pytest.approx(math.pi * (w.od + w.paper))  # closed form
        curve = slice(0, len(x) - 2)
        assert np.all(np.diff(x[curve]) > 0)
        phi = 360.0 * x[curve] / x.max()
        assert np.abs(np.interp(w.phi, phi, y[curve]) - w.cut).max() < 0.03  # 0.005 square to a steep line
        sheet = laid(w)
        assert y[-1] == y[-2] == sheet.edge
        kept = sheet.edge - w.cut
        assert (kept >= 0).all() if w.waste == "upstream" else (kept <= 0).all()


def test_marks_read_to_the_right():
    """The line named 90 stands a quarter round to the right of the back line, the bend's mark at its angle."""
    for w in cases():
        made = wrap_figure(w)
        lines = [
            i for i in made.items if isinstance(i, EdgeLine) and i.layer == "ETCH" and len(i.vertices) == 2
        ]
        at = {round(i.vertices[0][0], 3) for i in lines if i.vertices[0][0] == i.vertices[1][0]}
        for mark in w.marks:
            assert round(w.girth * (mark.at % 360) / 360, 3) in at, mark


def test_words_name_what_the_bench_needs():
    """Piece, joints, tube, datum with both distances, waste side, print side, how many off."""
    for w in cases():
        said = text_of(wrap_figure(w)).replace("\n", " ")
        for word in (
            *w.pieces,
            *w.joints,
            w.datum.words,
            f"{w.nearest:.1f} mm",
            f"{w.farthest:.1f} mm",
            "1 off",
            w.waste,
        ):
            assert word in said, (w.name, word)
        assert "printed side out" in said


@pytest.mark.parametrize("name", ["snow_groomer_three", "sand_rail_four"])
def test_template_and_saw_speak_of_the_same_line(name):
    """An inlet's paper goes on the line that the runner's sheet and the mill measure from, not on the sawn end."""
    m = job(name)
    blanks = {piece: row for piece, row in ShopPlan(m).sawn.items() if row.line is not None}
    inlets = [w for w in ShopPlan(m).wraps if w.kind == "inlet" and w.pieces[0] in blanks]

    assert len(inlets) >= 3
    for w in inlets:
        assert f"{blanks[w.pieces[0]].line:.1f} mm from the sawn end" in w.datum.words


def test_a_far_datum_is_reached_with_a_rule():
    """A cut far from the square end gets a short paper whose edge lies a whole number of cm from it."""
    w = ShopPlan(job()).wraps[0]
    far = replace(w, outside=w.outside + 300.0, cut=w.cut + 300.0, inside=w.inside + 300.0)
    sheet = laid(far)
    assert sheet.shift == pytest.approx(290.0)
    assert sheet.edge == sheet.shift
    assert "290 mm from the line J1.5, scribed" in text_of(wrap_figure(far))


def test_the_cones_blank_has_the_sectors_area():
    """The drawn outline, arcs as bulges, encloses the sector's area and has its edges' lengths."""
    for m in (job(), split(manifold(4, half_angle=20.0))):
        (cone,) = cones(m)
        (ring,) = cut_outs(cone_figure(cone))
        sector = cone.sector()
        assert abs(Contour(ring.vertices).area) == pytest.approx(sector.area, rel=1e-9)
        lengths = sorted(e.length for e in edges(ring))
        assert lengths == pytest.approx(sorted([sector.slant, sector.slant, *sector.edges]))


def test_every_template_is_on_paper():
    """Each piece with a cut, the cone and the lid have a sheet; full size, on the shop's paper; small ones share."""
    for size, width in (("A4", 210.0), ("Letter", 215.9)):
        m = job()
        m = replace(m, workshop=replace(m.workshop, paper=size))
        document = templates(ShopPlan(m))
        said = "\n".join(text_of(p.figure) for p in document.pages)
        for word in ("R1-P5", "R2-P5", "R3-P5", "C-P1", "C-P2", "JC.A", "JC.B", "JC.D", "JC.L", "JC.C"):
            assert word in said
        assert {min(p.width, p.height) for p in document.pages} == {width}
        assert len(document.pages) == 4  # three inlets on two sheets
    girths = [
        max(x for x, _, _ in o.vertices) - min(x for x, _, _ in o.vertices)
        for p in document.pages
        for o in cut_outs(p.figure)
        if len(o.vertices) > 8
    ]
    assert sum(abs(g - math.pi * 38.1) < 1e-9 for g in girths) == 3  # not scaled


def test_nothing_to_wrap_still_makes_a_document():
    """A job whose runners have no path yet gives a sheet that says so, not an empty file."""
    m = replace(split(manifold(3)), pieces=(), branches=(), collectors=())
    assert "needs a template" in text_of(templates(ShopPlan(m)).pages[0].figure)


def test_all_beside_each_other():
    """The plotter's drawing: closed cut lines on their layer, none over another, no hatching."""
    figure = templates_figure(ShopPlan(split(with_branch(longer()))))
    rings = cut_outs(figure)
    assert len(rings) == 3 + 3 + 1 + 1  # mitres, inlets, saddle, cone
    spans = sorted((min(x for x, _, _ in o.vertices), max(x for x, _, _ in o.vertices)) for o in rings)
    assert all(a[1] < b[0] for a, b in itertools.pairwise(spans))
    assert {i.layer for i in figure.items} == {"CUT_OUTER", "ETCH", "NOTES"}
    assert not any(isinstance(i, Circle) for i in figure.items)


@pytest.mark.parametrize("n", [2, 3, 5])
def test_the_mill_sheet_has_its_numbers(n):
    """Tilt, roll, turn and every inlet's column; the collector's sheet has all its joints in order."""
    m = split(manifold(n))
    mill, hub = mill_drafts(ShopPlan(m))
    said = text_of(mill.figure)
    g, h = math.radians(12.0), math.pi / n
    assert f"{math.degrees(math.asin(math.sin(g) * math.sin(h))):.1f}°" in said  # closed form
    for p in m.pieces:
        if p.inlet:
            assert p.id in said
    if n > 2:
        psi = math.degrees(math.atan2(math.cos(h), math.sin(h) * math.cos(g)))
        assert f"clockwise by {2 * psi:.1f}°" in said.replace("\n", " ")
    assert "eyes protected" in said
    ids = {j.id for j in m.joints if j.id.startswith("JC.")}
    assert not [i for i in ids if i not in text_of(hub.figure)]
