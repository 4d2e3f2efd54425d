"""The build sheets on the page: every id in the text, nothing outside the margins, nothing over each other, bytes repeat."""

from __future__ import annotations

import csv
import math
from collections.abc import Iterator
from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import pytest

from manifoldgen.designs import Design
from manifoldgen.drawing.figure import Figure, PaperDocument, SheetPage, Text, Window
from manifoldgen.drawing.papers import write_papers
from manifoldgen.drawing.pdf import pdf_bytes, write_pdf
from manifoldgen.drawing.sheets import build_sheets
from manifoldgen.pieces import split
from manifoldgen.reports import report
from manifoldgen.shop.lists import bends_csv
from tests.drawing.ink import CAPITAL, pages
from tests.drawing.layout import faults, used
from tests.drawing.rendering import needs_poppler, pixels, said
from tests.worked import bare, demo

JOBS = Path(__file__).resolve().parents[2] / "cq_scripts" / "jobs"
WRITTEN = ("sand_rail_four", "snow_groomer_tight")  # every path is in the file: no search
SEVEN_POINT = 7 * 25.4 / 72 * 1493 / 2048  # mm, capitals of a 7 pt face
MARGIN = 10.0


@pytest.fixture(scope="module")
def examined() -> dict[str, tuple[Design, PaperDocument]]:
    """Design and sheets of both jobs: one on A4, one on Letter."""
    made = {}
    for name, paper in zip(WRITTEN, ("A4", "Letter"), strict=True):
        design = demo(name)
        m = replace(design.manifold, workshop=replace(design.manifold.workshop, paper=paper))  # type: ignore[arg-type]
        design = replace(design, manifold=m)
        made[name] = (design, build_sheets(design))
    return made


def texts(figure: Figure) -> Iterator[Text]:
    """Every text of a figure, those in windows too."""
    for item in figure.items:
        if isinstance(item, Window):
            yield from texts(item.figure)
        elif isinstance(item, Text):
            yield item


@needs_poppler
@pytest.mark.parametrize("name", WRITTEN)
def test_every_id_is_in_the_text(examined, name, tmp_path) -> None:
    """Joints of the report, pieces of the manifold, studs, and all pages have embedded letters that can be searched."""
    design, document = examined[name]
    m = design.manifold
    write_pdf(tmp_path / "sheets.pdf", document)
    words = set(said(tmp_path / "sheets.pdf", "pdftotext", "-layout").replace(",", " ").split())
    content = report(design)

    assert {w["id"] for w in content["welds"]} <= words
    assert {p.id for p in m.pieces} <= words
    assert {s["id"] for s in content["studs"]} <= words
    fonts = said(tmp_path / "sheets.pdf", "pdffonts").splitlines()[2:]
    assert fonts
    assert all("yes yes" in line for line in fonts)  # embedded, subset


@needs_poppler
@pytest.mark.parametrize("name", WRITTEN)
def test_no_ink_outside_the_margins(examined, name, tmp_path) -> None:
    """Rendered by another program: the outer 10 mm of every page are white, and the page is not."""
    document = examined[name][1]
    write_pdf(tmp_path / "sheets.pdf", document)
    dpi = 50
    edge = int(MARGIN / 25.4 * dpi) - 1
    for n in range(1, len(document.pages) + 1):
        grey = pixels(tmp_path / "sheets.pdf", n, dpi)
        frame = grey.copy()
        frame[edge:-edge, edge:-edge] = 255
        assert frame.min() == 255, f"page {n}"
        assert grey.min() < 128


@pytest.mark.parametrize("name", WRITTEN)
def test_nothing_is_too_small_cut_off_or_over_another_word(examined, name, tmp_path) -> None:
    """On A4 and on Letter: capitals of 7 pt and more, nothing that the eye stumbles over, no page next to empty."""
    design, document = examined[name]
    write_pdf(tmp_path / "sheets.pdf", document)
    found = pages(tmp_path / "sheets.pdf")
    size = {"A4": (210.0, 297.0), "Letter": (215.9, 279.4)}[design.manifold.workshop.paper]

    for page in found:
        assert page.size == pytest.approx(size, abs=0.01)
        assert min(line.size for line in page.lines) * CAPITAL >= SEVEN_POINT * 0.995
    assert [f"{page.number}: {fault}" for page in found for fault in faults(page)] == []
    assert [page.number for page in found if used(page) < 0.2] == []


@pytest.mark.parametrize("name", WRITTEN)
def test_one_sheet_a_runner_and_all_common_sheets(examined, name) -> None:
    """Every run has one page of its own; stock, collector, flanges, welds, work list and cautions are there."""
    design, document = examined[name]
    m = design.manifold
    titles = [p.title for p in document.pages]

    assert titles[0] == "Overview"
    for run in m.runners:
        assert sum(t.startswith(f"Runner {run.number}:") for t in titles) == 1
    for start in ("Stock", "Outlet", "Collector", "Flanges", "Welds", "Work list", "Cautions"):
        assert any(t.startswith(start) for t in titles), start


@pytest.mark.parametrize("name", WRITTEN)
def test_picture_and_tables_name_the_same_things(examined, name) -> None:
    """On a run's page each of its pieces stands in the picture and in CUT, each joint in the picture and two tables."""
    design, document = examined[name]
    m = design.manifold
    for run in m.runners:
        page = next(p for p in document.pages if p.title.startswith(f"Runner {run.number}:"))
        words = [t.text for t in texts(page.figure)]
        for piece in m.pieces:
            if piece.part == run.name:
                assert words.count(piece.id) >= 2, piece.id
        rings = [j.id for j in m.joints if j.id.startswith(f"J{run.number}.")]
        assert rings
        assert all(words.count(j) == 3 for j in rings)


def test_errors_stand_on_the_first_sheet(examined) -> None:
    """`DO NOT CUT` and the sentence where an error stands; neither where none does."""
    with_error = " ".join(t.text for t in texts(examined["snow_groomer_tight"][1].pages[0].figure))
    without = " ".join(t.text for t in texts(examined["sand_rail_four"][1].pages[0].figure))

    assert "DO NOT CUT" in with_error
    assert "S1: no tool reaches it" in with_error
    assert "DO NOT CUT" not in without


def test_a_run_without_a_path_is_said_first(examined) -> None:
    """Sheets of a job that is not all there say so in the box that is read first."""
    design = examined["snow_groomer_tight"][0]
    m = design.manifold
    part = replace(m, runners=(replace(m.runners[0], path=None, todo="auto"), *m.runners[1:]))
    words = " ".join(t.text for t in texts(build_sheets(bare(split(part), design.findings)).pages[0].figure))

    assert "DO NOT CUT" in words
    assert "runner 1 has no path yet" in words


def test_the_check_box_says_what_errors_cost(examined) -> None:
    """The printed-number error is the one measured; shrink and the stud to try are named."""
    design, document = examined["sand_rail_four"]
    page = next(p for p in document.pages if p.title.startswith("Runner 2:"))
    words = " ".join(t.text for t in texts(page.figure))
    error = next(e for e in design.shop.end_errors if e.part == "runner 2")

    assert f"end {error.mm:.1f} mm" in words
    assert "Shrink is already in the cut lengths" in words
    assert "Try stud S" in words
    assert "1 mm of roll error" in words


def test_welds_stand_in_their_order(examined) -> None:
    """The weld map's rows follow the plan's ranks from the first to the last."""
    design, document = examined["sand_rail_four"]
    m = design.manifold
    pages = [p for p in document.pages if p.title.startswith("Welds")]
    ids = {j.id for j in m.joints}
    column = [
        t.text
        for p in pages
        for t in sorted(texts(p.figure), key=lambda t: -t.at[1])
        if t.text in ids
        and abs(t.at[0] - (p.figure_left + 11.0 if hasattr(p, "figure_left") else 21.2)) < 0.1
    ]
    assert column == [w.id for w in design.shop.welding.ordered]


def test_extra_pages_come_last_as_they_are(examined) -> None:
    """A page for printed parts is not framed again."""
    design, document = examined["snow_groomer_tight"]
    page = SheetPage(215.9, 279.4, Figure((Text((20.0, 20.0), "print me", 3.0),)), "Printed parts")
    more = build_sheets(design, extra=(page,))

    assert more.pages[-1] is page
    assert len(more.pages) == len(document.pages) + 1
    assert any("Printed parts" in t.text for t in texts(more.pages[0].figure))


def test_bytes_repeat_and_another_state_has_another_mark(examined) -> None:
    """The same manifold gives the same bytes; another cut list changes the mark in every foot."""
    design, document = examined["snow_groomer_tight"]
    assert pdf_bytes(build_sheets(design)) == pdf_bytes(document)

    def mark(d: PaperDocument) -> str:
        return next(t.text for t in texts(d.pages[-1].figure) if "file " in t.text)

    other = replace(design.manifold, joints=design.manifold.joints[::-1])
    assert mark(build_sheets(replace(design, manifold=other))) != mark(document)


def test_a_job_without_reach_still_has_its_sheets(examined) -> None:
    """No stage and no purge are invented; every piece is there."""
    m = examined["snow_groomer_tight"][0].manifold
    document = build_sheets(bare(m))
    words = {w for p in document.pages for t in texts(p.figure) for w in t.text.replace(",", " ").split()}

    assert {p.id for p in m.pieces} <= words
    assert not any(
        w == "stretch"
        for p in document.pages
        if p.title.startswith("Runner")
        for t in texts(p.figure)
        for w in [t.text]
    )


def test_the_whole_folder(examined, tmp_path) -> None:
    """Every file of the shop folder, none empty, all lists with one line a piece or joint; no file twice."""
    design = examined["sand_rail_four"][0]
    m = design.manifold
    written = write_papers(tmp_path, design)
    names = {p.name for p in tmp_path.iterdir()}

    assert names == {p.name for p in written}
    assert len(written) == len(names)
    assert names >= {
        "build-sheets.pdf", "templates.pdf", "templates.dxf", "cut-list.csv", "joints.csv", "bend-table.csv",
        "work-list.csv", "head-flange.dxf", "turbo-flange.dxf", "wastegate-flange.dxf",
    }  # fmt: skip
    assert all(p.stat().st_size > 100 for p in written)
    joints = (tmp_path / "joints.csv").read_text("utf-8").splitlines()
    assert [line.split(",")[0] for line in joints[1:]] == [j.id for j in m.joints]
    cuts = (tmp_path / "cut-list.csv").read_text("utf-8").splitlines()
    assert [line.split(",")[0] for line in cuts[1:]] == [p.id for p in m.pieces if p.path is not None]


def test_the_bend_table_rebuilds_the_corners(examined) -> None:
    """Lengths between corners are straights plus setbacks CLR tan(A/2) (bender's rule), from the list alone."""
    rows = list(csv.DictReader(bends_csv(examined["snow_groomer_tight"][0].shop).splitlines()))
    checked = 0
    for a, b in pairwise(rows):
        if a["run"] != b["run"]:
            continue
        setbacks = sum(float(r["clr_mm"]) * math.tan(math.radians(float(r["bend_deg"])) / 2) for r in (a, b))
        here, there = ([float(r[f"corner_{k}_mm"]) for k in "xyz"] for r in (a, b))
        assert math.dist(here, there) == pytest.approx(float(b["length_mm"]) + setbacks, abs=1e-3)
        checked += 1
    assert checked >= 6
