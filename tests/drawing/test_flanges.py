"""Flange drawings: closed, on their layers, of the model's area, seen from the tube side; their paper is true."""

from __future__ import annotations

import math
from dataclasses import replace
from functools import cache
from itertools import combinations
from pathlib import Path

import ezdxf
import numpy as np
import pytest

import manifoldgen as mg
from manifoldgen.drawing.dxf import dxf_bytes, write_dxf
from manifoldgen.drawing.etched import unmarked
from manifoldgen.drawing.extent import item_extent
from manifoldgen.drawing.figure import Circle, EdgeLine, PaperDocument, Text
from manifoldgen.drawing.flange_paper import flange_pages, full_size
from manifoldgen.drawing.flanges import flange_drawing, notes, write_flanges
from manifoldgen.drawing.paper import Stamp, framed
from manifoldgen.drawing.pdf import write_pdf
from manifoldgen.geometry import contour
from manifoldgen.geometry.contour import Contour
from manifoldgen.manifold.model import Manifold
from manifoldgen.readers.dxf import read_dxf
from manifoldgen.shop.cut_plates import lid, plate
from manifoldgen.shop.plan import ShopPlan
from tests.drawing.rendering import needs_poppler, pixels, said

JOBS = sorted((Path(__file__).parents[2] / "cq_scripts" / "jobs").glob("*.yaml"))
ALL = pytest.mark.parametrize("path", JOBS, ids=lambda p: p.stem)


@cache
def job(path: Path) -> Manifold:
    """A demo job, laid out once."""
    return mg.assemble(mg.load(path))


def rings(space, layer):
    """Closed polylines of a layer as contours, whatever the version."""
    made = []
    for e in space.query("LWPOLYLINE POLYLINE"):
        if e.dxf.layer == layer:
            assert e.closed if e.dxftype() == "LWPOLYLINE" else e.is_closed
            if e.dxftype() == "LWPOLYLINE":
                places = list(e.get_points("xyb"))
            else:
                places = [(*v.dxf.location.vec2, v.dxf.get("bulge", 0.0)) for v in e.vertices]
            made.append(Contour(tuple(places)))
    return made


def net_area(space) -> float:
    """Outer less inner less holes, from the entities alone."""
    holes = sum(math.pi * e.dxf.radius**2 for e in space.query("CIRCLE"))
    (outer,) = rings(space, "CUT_OUTER")
    return outer.area - sum(c.area for c in rings(space, "CUT_INNER")) - holes


@ALL
@pytest.mark.parametrize("version", ["R2010", "R12"])
def test_every_plate_is_clean_closed_and_of_the_models_area(path, version, tmp_path):
    """Audit without errors, every CUT layer closed, no splines or ellipses, area from the bulges = the model's."""
    m = job(path)
    m = replace(m, workshop=replace(m.workshop, dxf=version))
    written = write_flanges(tmp_path, ShopPlan(m))
    made = ShopPlan(m).plates
    assert [p.name for p in written] == [p.file for p in made]
    assert "head-flange.dxf" in [p.name for p in written]
    for file, part in zip(written, made, strict=True):
        doc = ezdxf.readfile(file)
        assert doc.audit().errors == []
        space = doc.modelspace()
        kinds = {e.dxftype() for e in space}
        assert kinds <= {"LWPOLYLINE", "POLYLINE", "CIRCLE", "LINE", "ARC", "TEXT"}
        for e in space:
            assert (e.dxftype() == "TEXT") <= (e.dxf.layer == "NOTES")
            if e.dxf.layer.startswith("CUT"):
                assert e.dxftype() in {"LWPOLYLINE", "POLYLINE", "CIRCLE"}
        assert net_area(space) == pytest.approx(part.area, rel=1e-9)
        words = " ".join(e.dxf.text for e in space.query("TEXT"))
        assert f"{part.thickness:g} mm" in words
        assert part.material in words
        assert "no kerf offset" in words


@ALL
def test_the_cut_is_what_opening_and_bore_share(path):
    """Nothing is cut that the finished part needs: the cut lies in the opening and in the tube's bore (sampled)."""
    m = job(path)
    for flange in m.flanges:
        if flange.outline is None:
            continue
        part = plate(m, flange)
        assert part.outline.area == pytest.approx(flange.outline.area, rel=1e-12)
        for passage, opening in zip(part.passages, flange.openings, strict=True):
            at, r = passage.at, flange.tube.bore_radius
            side = -1 if part.mirrored else 1
            assert at == pytest.approx((side * opening.at[0], opening.at[1]))
            for x, y in contour.points(passage.cut, 0.05):
                assert math.dist((x, y), at) <= r + 1e-6
                assert contour.distance(opening.contour, (side * (x - at[0]), y - at[1])) <= 1e-6
            # and it is all of what they share: the area counted on a grid of 0.4 mm
            u = np.arange(-40, 40, 0.4) + 0.2
            inside = (
                [
                    (x, y)
                    for x in u[np.abs(u) < r]
                    for y in u[np.abs(u) < r]
                    if x * x + y * y < r * r and contour.contains(opening.contour, (x, y))
                ]
                if passage is part.passages[0]
                else []
            )
            if inside:
                assert passage.cut.area == pytest.approx(len(inside) * 0.16, rel=1e-2)


@ALL
def test_marks_stand_on_metal_that_stays(path):
    """Every mark lies inside the outline, clear of cuts and of the tubes; numbers and TOP find room."""
    for part in ShopPlan(job(path)).plates:
        small = {h.at for h in part.holes if h.diameter < part.thickness}
        for item in flange_drawing(part, "job").items:
            if not isinstance(item, EdgeLine) or item.layer != "ETCH":
                continue
            for x, y, _ in item.vertices:
                if any(math.dist((x, y), at) < 3.0 for at in small):
                    continue  # centre marks of holes to be drilled
                assert contour.distance(part.outline, (x, y)) <= -0.9
                assert all(contour.distance(p.foot, (x, y)) >= 0.9 for p in part.passages)
                assert all(math.dist(h.at, (x, y)) >= h.diameter / 2 + 0.9 for h in part.holes)
        assert unmarked(part) == ()


def test_what_is_written_can_be_read_again(tmp_path):
    """Our own drawing as a gasket: outline, openings and holes come back; marks and words are left out."""
    m = job(JOBS[0])
    for path, part in zip(write_flanges(tmp_path, ShopPlan(m)), ShopPlan(m).plates, strict=True):
        drawn = read_dxf(path)
        assert drawn.outline.area == pytest.approx(part.outline.area, rel=1e-9)
        assert sorted(c.area for c in drawn.openings) == pytest.approx(
            sorted(p.cut.area for p in part.passages)
        )
        assert sorted(at for at, _ in drawn.holes) == [
            pytest.approx(at) for at in sorted(h.at for h in part.holes)
        ]


def test_small_holes_are_named_with_their_thickness():
    """A 9 mm hole in 12 mm plate fails both rules of cutting services (1 × and 1.5 × the thickness)."""
    m = job(JOBS[0])
    part = plate(m, m.head)
    assert part.holes[0].diameter == pytest.approx(9.0)  # ISO 273 medium for M8
    for thickness, words in (
        (12.0, "under 1 x the thickness"),
        (8.0, "under 1.5 x the thickness"),
        (6.0, None),
    ):
        told = replace(part, thickness=thickness).warnings
        assert (words is None and told == ()) or (words is not None and words in told[0])
        assert set(told) <= set(notes(replace(part, thickness=thickness)))


def test_the_lid_is_the_ring_less_all_bores():
    """Merge: rim less N lobes, each an ellipse from bisector to bisector; area by integration in polar angle."""
    for path in JOBS:
        (c,) = job(path).collectors
        if c.kind == "bundle":
            continue
        part = lid(c)
        gamma = math.radians(c.half_angle)
        a, b = c.section.bore_radius / math.cos(gamma), c.section.bore_radius
        centre = c.ring_radius - c.merge_depth * math.tan(gamma)
        n = len(c.order)
        t = (np.arange(20_000) + 0.5) / 20_000 * math.pi / n
        # ray (r cos t, r sin t) meets ((x − centre)/a)² + (y/b)² = 1: the far root
        p, q, k = (
            (np.cos(t) / a) ** 2 + (np.sin(t) / b) ** 2,
            centre * np.cos(t) / a**2,
            (centre / a) ** 2 - 1,
        )
        far = (q + np.sqrt(q * q - p * k)) / p
        lobes = 2 * n * float(np.sum(far**2) / 2 * (math.pi / n / 20_000))
        assert part.passages[0].cut.area == pytest.approx(lobes, rel=2e-4)
        rim = max(c.rim_radius, c.outlet.radius if c.cone_half_angle < 0 else 0.0)
        assert part.outline.area <= math.pi * rim**2 * (1 + 1e-9)
        assert part.deviation <= 0.01


def test_a_mirrored_flange_is_seen_from_the_tube():
    """A bolt at the flange's own +x lies on the left of its drawing; the head's stays right."""
    m = job(JOBS[0])
    head, turbo = plate(m, m.head), plate(m, m.turbo)
    assert [h.at for h in head.holes] == [h.at for h in m.head.holes]
    assert [h.at for h in turbo.holes] == [(-h.at[0], h.at[1]) for h in m.turbo.holes]
    lop = replace(m.turbo, outline=contour.polygon([(-60, -50), (60, -50), (60, 50), (-50, 50)]))
    assert plate(m, lop).outline.bounds == pytest.approx((-60, -50, 60, 50))
    assert contour.contains(plate(m, lop).outline, (-59, 49))  # the uncut corner came over to the left
    assert not contour.contains(plate(m, lop).outline, (59, 49))


def test_bytes_repeat():
    """The same plate, the same file."""
    part = ShopPlan(job(JOBS[0])).plates[0]
    assert dxf_bytes(flange_drawing(part, "a")) == dxf_bytes(flange_drawing(part, "a"))


def test_a_clean_drawing_has_no_words():
    """`clean` leaves out what cutting services ask to be removed."""
    part = ShopPlan(job(JOBS[0])).plates[0]
    assert "NOTES" not in {i.layer for i in flange_drawing(part, "a", clean=True).items}


@needs_poppler
@pytest.mark.parametrize("paper", ["A4", "Letter"])
@pytest.mark.parametrize("path", JOBS[:4], ids=lambda p: p.stem)
def test_the_paper_names_every_hole_and_stays_in_the_margins(path, paper, tmp_path):
    """Every stud id and its place is in the text; no dark pixel outside the margins."""
    m = job(path)
    m = replace(m, workshop=replace(m.workshop, paper=paper))
    pages = framed(flange_pages(ShopPlan(m)), Stamp(m.name))
    pdf = tmp_path / "flanges.pdf"
    write_pdf(pdf, PaperDocument("flanges", pages))
    words = said(pdf, "pdftotext", "-layout").split()
    for flange in m.flanges:
        if flange.outline is not None:
            assert {h.id for h in flange.holes} <= set(words)
    for number in range(1, len(pages) + 1):
        levels = pixels(pdf, number, 127)
        edge = np.ones_like(levels, bool)
        edge[49:-49, 49:-49] = False
        assert (levels[edge] > 250).all()


@needs_poppler
def test_the_paper_is_full_size(tmp_path):
    """The bolt holes of the turbo flange are printed where the model has them, to 0.2 mm, mirrored to the tube side."""
    m = job(JOBS[0])
    pages = framed(flange_pages(ShopPlan(m)), Stamp(m.name))
    number = next(k for k, p in enumerate(pages, start=1) if p.title.startswith("Turbo"))
    pdf = tmp_path / "flanges.pdf"
    write_pdf(pdf, PaperDocument("flanges", pages))
    dark = pixels(pdf, number) < 128
    centres = [i.centre for i in pages[number - 1].figure.items if isinstance(i, Circle)]
    for (one, a), (two, b) in combinations(zip(m.turbo.holes, centres, strict=True), 2):
        assert math.dist(a, b) == pytest.approx(math.dist(one.at, two.at), abs=1e-9)
    for x, y in centres:
        radius = m.turbo.holes[0].diameter / 2
        turn = np.linspace(0, math.tau, 90, endpoint=False)
        columns = np.round((x + radius * np.cos(turn)) * 10 - 0.5).astype(int)
        rows = np.round((pages[number - 1].height - y - radius * np.sin(turn)) * 10 - 0.5).astype(int)
        assert dark[rows, columns].mean() > 0.95


def test_dimensions_say_what_a_tape_reads():
    """Pitch, spread of the studs and size over all stand on the drawing as numbers of the model."""
    m = job(JOBS[0])
    texts = [i.text for i in full_size(plate(m, m.head)).items if isinstance(i, Text)]
    x = [p.at[0] for p in m.ports]
    assert texts.count(f"{x[1] - x[0]:.1f} mm") >= len(x) - 1
    x0, _, x1, _ = m.head.outline.bounds
    assert f"{x1 - x0:.1f} mm" in texts
    spread = max(h.at[0] for h in m.head.holes) - min(h.at[0] for h in m.head.holes)
    assert f"{spread:.1f} mm" in texts
    for item in full_size(plate(m, m.head)).items:
        assert item_extent(item).width < 1000


@pytest.mark.slow
@pytest.mark.parametrize("path", [JOBS[0], JOBS[1]], ids=lambda p: p.stem)
def test_the_kernel_reads_the_same_area(path, tmp_path):
    """Re-imported by the CAD kernel, the faces of the drawing have the model's net area."""
    import cadquery as cq

    for part in ShopPlan(job(path)).plates:
        file = tmp_path / part.file
        write_dxf(file, flange_drawing(part, "a"))
        # the importer makes a face of every loop: the edge's, less those of the cuts
        area = {
            layer: sum(f.Area() for f in cq.importers.importDXF(str(file), include=[layer]).faces().vals())
            for layer in ("CUT_OUTER", "CUT_INNER", *(["CUT_HOLES"] if part.holes else []))
        }
        net = area.pop("CUT_OUTER") - sum(area.values())
        assert net == pytest.approx(part.area, rel=1e-7)
