"""What can hurt stands where the hand is: read off the sheets, the page and the command line as a stranger does.

The hazards are those of the trade: common practice; limits of law are in the catalogue with the law's name.
"""

from __future__ import annotations

import re
from collections.abc import Sequence

import pytest

import manifoldgen as mg
from manifoldgen.cli import main
from manifoldgen.shop.work_step import Step
from tests.agreement.paper import PaperSheet, sheets
from tests.worked import JOBS, demo, printed

QUICK = "snow_groomer_tight"
LAW = "Local codes and licensed practice come first."
WORDS = {  # a few of the words that cannot be missing
    "saw": "never held by hand",
    "grind": "sparks away from fuel",
    "drill": "Drill: the plate clamped",
    "mill": "gloves off at the spindle; stop it before measuring",
    "weld": "extraction at the arc, screen, dry gloves, cylinder chained; watch for fire",
    "purge": "Argon displaces air",
    "leak test": "at most 0.2 bar (20 kPa)",
    "penetrant": "Dye penetrant burns",
    "pickle": "hydrofluoric acid",
    "lift": "second person until the nuts hold; engine cold",
    "first run": "carbon monoxide",
}


def of(found: Sequence[PaperSheet], title: str) -> list[str]:
    """The words of all pages whose title begins so."""
    pages = [sheet.words for sheet in found if sheet.title.startswith(title)]
    assert pages, title
    return pages


@pytest.mark.slow
def test_sheets_that_begin_a_dangerous_step() -> None:
    """Saw, mill, weld and purge: the line stands on the sheet itself, with who has the last word."""
    found = sheets(printed(QUICK) / "build-sheets.pdf")
    for title, hazards in (
        ("Stock and cutting plan", ("saw", "grind")),
        ("Collector: inlets on the mill", ("mill",)),
        ("Collector: section", ("weld", "penetrant")),
        ("Welds and purge", ("weld", "purge")),
    ):
        first = of(found, title)[0]
        assert LAW in first, title
        assert all(WORDS[hazard] in first for hazard in hazards), title
    for run in ("Runner 1", "Runner 2", "Runner 3", "Outlet"):
        assert (
            f"saw with the piece clamped, never held by hand; weld with extraction, screen and fire watch. {LAW}"
            in of(found, run)[0]
        )
    templates = [
        s for s in sheets(printed(QUICK) / "templates.pdf") if "template" in s.words or "hole for" in s.words
    ]
    assert templates
    assert all("saw with the piece clamped" in s.words for s in templates)


@pytest.mark.slow
def test_the_work_list_says_each_once_before_its_first_step() -> None:
    """Eleven lines, each on one place of the list, in front of the first step that it is for."""
    listed = " ".join(of(sheets(printed(QUICK) / "build-sheets.pdf"), "Work list"))
    steps = demo(QUICK).shop.steps
    kinds = dict.fromkeys(s.hazard for s in steps if s.hazard)

    assert set(kinds) == set(WORDS)
    for hazard, words in WORDS.items():
        assert listed.count(words) == 1, hazard
        own = [listed.index(f" {s.id} ") for s in steps if s.hazard == hazard and f" {s.id} " in listed]
        if hazard not in {"saw", "grind"}:  # those begin with the grid of the pieces
            assert listed.index(words) < min(own), hazard


def test_a_step_is_as_dangerous_as_its_station_or_more() -> None:
    """A step at the torch is welding unless it says what else; at a desk nothing hurts."""
    assert Step("a", "torch", "", 1.0).hazard == "weld"
    assert Step("b", "torch", "", 1.0, danger="purge").hazard == "purge"
    assert Step("c", "desk", "", 1.0).hazard is None


@pytest.mark.slow
def test_the_sheet_of_cautions_tells_chromium_manganese_and_nickel_apart() -> None:
    """One row each, limits with the place whose law they are; fire watch, cylinder and spindles have theirs."""
    (sheet,) = [s for s in sheets(printed(QUICK) / "build-sheets.pdf") if s.title.startswith("Cautions")]
    (table,) = sheet.tables
    rows = {row[0].split(",")[0]: row for row in table.rows}
    for metal in ("chromium VI", "manganese", "nickel"):
        (row,) = [row for name, row in rows.items() if metal in name]
        assert re.search(r"US [\d.]+ [µm]g/m³", row[1]), metal
    for word in ("fire", "cylinder", "spindle", "leak test", "hydrofluoric", "argon", "carbon monoxide"):
        assert any(word in name for name in rows), word
    assert "Local codes and laws" in sheet.words


def test_page_and_command_line_end_with_it(capsys: pytest.CaptureFixture[str]) -> None:
    """The last line of `check`; the foot of the page."""
    main(["check", str(JOBS / f"{QUICK}.yaml")])
    last = capsys.readouterr().out.splitlines()[-1]

    assert last.startswith("caution: Fume, argon, hot and sharp metal")
    assert last.endswith("local codes and licensed practice come first.")
    assert last.removeprefix("caution: ") in mg.page(demo(QUICK)).text
