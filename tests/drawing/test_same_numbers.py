"""One job, three readers: what stands on the sheets, on the page and in report.json is the same number."""

from __future__ import annotations

import re

import pytest

from manifoldgen.drawing.pdf import write_pdf
from manifoldgen.drawing.sheets import build_sheets
from manifoldgen.report import report
from manifoldgen.report.page import made
from tests.drawing.rendering import needs_poppler, said
from tests.report.same_numbers import number_of, on_page
from tests.worked import demo

SHOWN = 0.051  # both round to 0.1


@pytest.fixture(scope="module")
def told(tmp_path_factory) -> tuple[dict, dict[str, set[str]], list[str]]:
    """The report, the page's numbers by key, the lines of the sheets."""
    design = demo("sand_rail_four")
    content = report(design)
    pdf = tmp_path_factory.mktemp("papers") / "build-sheets.pdf"
    write_pdf(pdf, build_sheets(design))
    return content, on_page(made(design, content).text), said(pdf, "pdftotext", "-layout").splitlines()


def row(lines: list[str], name: str, like: str) -> list[float]:
    """The numbers of the one table row that starts with a name and goes on in a certain way."""
    hits = [line for line in lines if re.match(rf"\s*{re.escape(name)}\s+{like}", line)]
    assert len(hits) == 1, hits
    rest = re.sub(rf"^\s*{re.escape(name)}\s+{like}", "", hits[0])
    return [float(n) for n in re.findall(r"(?<![\w/])[+-]?\d+(?:\.\d+)?(?![\w/])", rest)]


@needs_poppler
def test_runner_lengths(told) -> None:
    """The length on a runner's sheet, on the page and in the report, and the spread of all."""
    content, page, lines = told
    sheets = [
        number_of(line.partition("Length ")[2]) for line in lines if "flange face to ring plane" in line
    ]

    assert len(sheets) == len(content["runners"]) == 4
    for printed, (name, runner) in zip(sheets, content["runners"].items(), strict=True):
        assert abs(printed - runner["length_mm"]) < SHOWN
        assert {number_of(text) for text in page[f"runners.{name}.length_mm"]} == {printed}
    spread = next(line.partition("spread ")[2] for line in lines if "spread " in line)
    assert abs(number_of(spread) - content["length"]["spread_pct"]) < 0.0051


@needs_poppler
def test_pieces(told) -> None:
    """Bend and net length of every bend in the cut tables are the report's and the page's."""
    content, page, lines = told
    bends = [(k, p) for k, p in enumerate(content["pieces"]) if p["angle_deg"] > 0]

    assert len(bends) >= 8
    for k, piece in bends:
        numbers = row(lines, piece["piece"], rf"{re.escape(piece['stock'])} no\. \d+")
        assert abs(numbers[0] - piece["angle_deg"]) < SHOWN
        assert abs(numbers[-1] - piece["net_mm"]) < SHOWN
        assert {number_of(t) for t in page[f"pieces.{k}.net_mm"]} == {numbers[-1]}


@needs_poppler
def test_studs(told) -> None:
    """Tool, swing and room of every nut on the flange sheet are the report's and the page's."""
    content, page, lines = told

    for k, stud in enumerate(content["studs"]):
        swing, clear = row(lines, stud["id"], r"M\d+ .*? (?=\d+\s+\d+\s+[\d.]+\s+yes)\d+")[:2]
        assert abs(swing - stud["swing_deg"]) <= 0.51  # whole degrees on paper
        assert abs(clear - stud["clearance_mm"]) < SHOWN
        assert {number_of(t) for t in page[f"studs.{k}.clearance_mm"]} == {clear}
