"""Every printed sheet as the eye sees it, read by a library that is not ours: nothing cut off, nothing over another.

What counts as next to empty (a fifth of the height) and how near letters may come to a line are our own house rules:
common practice, no source.
"""

from __future__ import annotations

import re
from functools import cache
from pathlib import Path

import pytest

from manifoldgen.drawing.figure import FINE, PLAIN, Figure, PaperDocument, SheetPage, Text, Window, box, line
from manifoldgen.drawing.papers import write_papers
from manifoldgen.drawing.pdf import write_pdf
from tests.agreement.paper import sheets
from tests.drawing.ink import Page, pages
from tests.drawing.layout import faults, used
from tests.worked import NAMES, printed, routed

CARDS = ("snow_groomer_tight", "init 2")  # whose printed parts are made
LEAST = 0.2  # of a sheet's height
UNITS = re.compile(r"(?<![a-z])(mm|°|g|grams|hours|min|litres|ppm|%)(?![a-z])")
COUNTED = {"", "no.", "stage", "qty", "inlets", "piece"}  # heads of columns that hold counts or names


@cache
def read(name: str) -> dict[str, tuple[Page, ...]]:
    """The pages of both documents of a job."""
    return {f: pages(printed(name) / f"{f}.pdf") for f in ("build-sheets", "templates")}


def every(name: str) -> list[tuple[str, Page]]:
    """All pages, each with where it stands."""
    return [(f"{file} {page.number}", page) for file, found in read(name).items() for page in found]


@pytest.mark.slow
@pytest.mark.parametrize("name", NAMES)
def test_nothing_is_cut_off_or_over_another(name) -> None:
    """Demo jobs and starters, all sheets: no dots for what is missing, no words over the edge, on words, struck through."""
    assert [f"{where}: {fault}" for where, page in every(name) for fault in faults(page)] == []


@pytest.mark.slow
@pytest.mark.parametrize("name", NAMES)
def test_no_page_is_next_to_empty(name) -> None:
    """A fifth of the height at least is used, of last pages too."""
    assert [where for where, page in every(name) if used(page) < LEAST] == []


@pytest.mark.slow
@pytest.mark.parametrize("name", NAMES)
def test_pages_are_numbered_through(name) -> None:
    """1/N to N/N in both documents, the job's name and the mark of its state on each page."""
    for found in read(name).values():
        counts = [next(t.text for t in page.lines if re.fullmatch(r"\d+/\d+", t.text)) for page in found]
        assert counts == [f"{n}/{len(found)}" for n in range(1, len(found) + 1)]
        assert len({re.search(r"file \w{12}", page.text)[0] for page in found}) == 1
        assert all(routed(name).manifold.name in page.text for page in found)


@pytest.mark.slow
@pytest.mark.parametrize("name", NAMES)
def test_no_number_misleads(name) -> None:
    """No negative zero, no angle beyond a turn, no value that reads as what is asked, no more digits than the bench has use for."""
    for where, page in every(name):
        for told in page.lines:
            assert not re.search(r"(?<![\d.])-0(\.0+)?(?![\d.])", told.text), f"{where}: {told.text}"
            assert all(float(a) <= 360.0 for a in re.findall(r"(\d+(?:\.\d+)?) ?°(?!C)", told.text)), (
                f"{where}: {told.text}"
            )
            assert all(
                re.search(r"0\.00\d mm off", told.text)
                for _ in re.findall(r"\d\.\d{3,}(?! \w+ rod)", told.text)
            ), f"{where}: {told.text}"
        for value, asked in re.findall(r"([\d.]+) mm,? \(?asked ([\d.]+) mm", page.text):
            assert value != asked, where


@pytest.mark.slow
@pytest.mark.parametrize("name", NAMES)
def test_no_column_of_numbers_is_without_its_unit(name) -> None:
    """In the head or in the cell; the table of the inlets has it in its heading and in its rows."""
    bare = []
    for file in ("build-sheets", "templates"):
        for sheet in sheets(printed(name) / f"{file}.pdf"):
            for table in sheet.tables:
                if table.rows and table.rows[0][0] == "from":
                    continue
                for k, head in enumerate(table.heads):
                    cells = [row[k] for row in table.rows if len(row) == len(table.heads)]
                    numbers = [
                        c for c in cells if re.fullmatch(r"[+−-]?\d+(\.\d+)?( / [+−-]?\d+(\.\d+)?)?", c)
                    ]
                    if numbers and head not in COUNTED and not UNITS.search(head):
                        bare.append(f"{sheet.title}: {head}")
    assert bare == []


@pytest.mark.slow
@pytest.mark.parametrize("name", CARDS)
def test_cards_of_printed_parts(name, tmp_path) -> None:
    """They stand among the build sheets, numbered with them, each part once with all its words, nothing over another."""
    from manifoldgen.prints.all import printed_parts
    from manifoldgen.prints.worth import sums

    parts = printed_parts(routed(name)).parts
    write_papers(tmp_path, routed(name), parts, sums(parts))
    found = pages(tmp_path / "build-sheets.pdf")
    words = " ".join(" ".join(page.text for page in found).split())

    assert [f"{page.number}: {fault}" for page in found for fault in faults(page)] == []
    assert [page.number for page in found if used(page) < LEAST] == []
    assert all(f"{n}/{len(found)}" in page.text for n, page in enumerate(found, start=1))
    assert len(found) > len(read(name)["build-sheets"]) + len(parts) / 8
    for part in parts:
        assert part.name in words.replace("- ", "-")
        for said in (part.purpose, part.sits, *part.cautions):
            assert " ".join(said.split()).replace("⌀", "ø") in words, part.name


def drawn(folder: Path, *items: object) -> Page:
    """A page of A4 with some items, written and read back."""
    write_pdf(folder / "page.pdf", PaperDocument("page", (SheetPage(210.0, 297.0, Figure(items)),)))
    return pages(folder / "page.pdf")[0]


WORD = Text((50.0, 100.0), "word", 3.0)


@pytest.mark.parametrize(
    ("items", "fault"),
    [
        ((WORD, Text((50.0, 104.0), "above", 3.0)), ""),
        ((WORD, Text((52.0, 101.0), "over", 3.0)), "stands on"),
        ((WORD, Text((52.0, 95.0), "upright", 3.0, angle=90.0)), "stands on"),
        ((WORD, line((40.0, 99.5), (90.0, 99.5), FINE)), ""),
        ((WORD, line((40.0, 101.0), (90.0, 101.0), FINE)), "struck through"),
        (
            (line((40.0, 101.0), (90.0, 101.0), FINE), box(48.0, 98.0, 20.0, 7.0, pen=PLAIN, fill=1.0), WORD),
            "",
        ),
        ((Text((50.0, 100.0), "what is left …", 3.0),), "cut off"),
        ((Text((195.0, 100.0), "far out", 3.0),), "runs over the margin"),
        ((Window((20.0, 20.0), 150.0, 200.0, Figure((WORD,))),), ""),
        ((Window((20.0, 20.0), 35.0, 200.0, Figure((WORD,))),), "cut at the sheet's edge"),
        ((Window((20.0, 20.0), 25.0, 200.0, Figure((WORD,))),), ""),
        ((WORD, Window((20.0, 20.0), 25.0, 200.0, Figure((line((30.0, 101.0), (90.0, 101.0), FINE),)))), ""),
    ],
)
def test_what_the_eye_stumbles_over_is_found(items, fault, tmp_path) -> None:
    """One page just right and one just wrong for every fault that is looked for."""
    told = list(faults(drawn(tmp_path, *items)))

    assert all(fault in sentence for sentence in told)
    assert bool(told) == bool(fault)


@pytest.mark.parametrize("low", [200.0, 250.0, 30.0])
def test_how_much_of_a_page_is_used(low, tmp_path) -> None:
    """From the lowest line up to the head, 25 mm below the upper edge, of what is left above the foot of 21 mm."""
    page = drawn(tmp_path, Text((20.0, 260.0), "first", 3.0), Text((20.0, low), "last", 3.0))

    assert used(page) == pytest.approx((297.0 - 25.0 - low) / (297.0 - 25.0 - 21.0), abs=1e-3)
