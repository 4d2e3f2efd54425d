"""One word, one meaning, on everything that is handed out: sheets, lists, page, messages, printed parts, guide, explanations."""

from __future__ import annotations

import re
from html.parser import HTMLParser
from pathlib import Path

import pdfplumber
import pytest

import manifoldgen as mg
from manifoldgen.checks.registry import KINDS
from manifoldgen.cli import main
from manifoldgen.prints.all import printed_parts
from tests.words import found
from tests.worked import JOBS, NAMES, printed, routed

ROOT = JOBS.parents[1]


class Shown(HTMLParser):
    """What a reader sees of a page: its text, without scripts and styles."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.hidden = False
        self.texts: list[str] = []
        self.feed(text)

    def handle_starttag(self, tag: str, _attrs: list[tuple[str, str | None]]) -> None:
        """Scripts and styles are not read."""
        self.hidden = tag in {"script", "style"}

    def handle_endtag(self, _tag: str) -> None:
        """What was hidden is over."""
        self.hidden = False

    def handle_data(self, data: str) -> None:
        """Keep what is read."""
        if not self.hidden:
            self.texts.append(data)


def on_paper(pdf: Path) -> str:
    """All words of a PDF."""
    with pdfplumber.open(pdf) as opened:
        return "\n".join(page.extract_text() or "" for page in opened.pages)


@pytest.mark.slow
@pytest.mark.parametrize("name", NAMES)
def test_sheets_lists_and_page(name: str) -> None:
    """No replaced word on any sheet, in any list, on the page, in any finding."""
    design, folder = routed(name), printed(name)
    said = {file.name: on_paper(file) for file in folder.glob("*.pdf")}
    said |= {file.name: file.read_text("utf-8-sig") for file in folder.glob("*.csv")}
    said["page"] = "\n".join(Shown(mg.page(design).text).texts)
    said["findings"] = "\n".join(f"{f.message} {f.do}" for f in design.findings)

    assert len(said) >= 7
    assert {where: hits for where, text in said.items() if (hits := list(found(text)))} == {}


@pytest.mark.slow
@pytest.mark.parametrize("name", ["sand_rail_four", "snow_groomer_three"])
def test_printed_parts(name: str) -> None:
    """What a printed part is called, what it is for, how it sits, what can go wrong."""
    parts = printed_parts(routed(name)).parts
    said = "\n".join(f"{p.name}. {p.purpose} {p.sits} {' '.join(p.cautions)}" for p in parts)

    assert len(parts) > 20
    assert list(found(said)) == []


@pytest.mark.parametrize(
    "file", ["README.md", "CHANGELOG.md", *(f"docs/{f.name}" for f in (ROOT / "docs").glob("*.md"))]
)
def test_guides(file: str) -> None:
    """What a user reads before the first job; the glossary names the replaced ones in brackets."""
    said = re.sub(r"\([^()]*\)", "", (ROOT / file).read_text("utf-8"))

    assert list(found(said)) == []


def test_explanations(capsys: pytest.CaptureFixture[str]) -> None:
    """`explain` of every finding."""
    for name in KINDS:
        assert main(["explain", name]) == 0
    said = capsys.readouterr().out

    assert len(said) > 5_000
    assert list(found(said)) == []
