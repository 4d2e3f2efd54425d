"""One word, one meaning: module docstrings, the heads of sheets, tables and page, and the glossary keep to the table."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from dataclasses import replace
from functools import cache
from html.parser import HTMLParser
from pathlib import Path

import pytest

from manifoldgen.drawing import table
from manifoldgen.drawing.figure import Figure, Text, Window
from manifoldgen.drawing.flanges import flange_pages
from manifoldgen.drawing.sheets import build_sheets
from manifoldgen.drawing.sheets.flow import Flow
from manifoldgen.drawing.templates import templates
from manifoldgen.pieces import split
from manifoldgen.reports.page import page
from tests import factory
from tests.words import REPLACED, REPLACED_IN_HEADS, found
from tests.worked import bare, demo

ROOT = Path(__file__).resolve().parents[1]
GLOSSARY = ROOT / "docs" / "glossary.md"


def docstrings() -> dict[str, str]:
    """Every module's docstring, by the file's name."""
    files = sorted((ROOT / "manifoldgen").rglob("*.py"))
    return {
        path.relative_to(ROOT).as_posix(): ast.get_docstring(ast.parse(path.read_text("utf-8"))) or ""
        for path in files
    }


def bold(figure: Figure) -> Iterator[str]:
    """What stands in bold on a page, in windows too."""
    for item in figure.items:
        if isinstance(item, Window):
            yield from bold(item.figure)
        elif isinstance(item, Text) and item.bold:
            yield item.text


@cache
def sheet_heads() -> frozenset[str]:
    """Titles, headings and heads of tables of all sheets and templates, with a merge and with a plate collector."""
    seen: list[str] = []
    heading, widths = Flow.heading, table._widths
    flat = replace(factory.manifold(4, kind="bundle", merge_depth=0.0, join_depth=0.0), name="flat-four")
    plate = split(factory.with_branch(flat))
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(Flow, "heading", lambda *a, **k: (seen.append(a[1]), heading(*a, **k))[1])
        patch.setattr(table, "_widths", lambda *a: (seen.extend(c.head for c in a[0]), widths(*a))[1])
        for design in (demo("sand_rail_four"), bare(plate)):
            seen += [sheet.title for sheet in build_sheets(design).pages]
            for sheet in (*flange_pages(design.shop), *templates(design.shop).pages):
                seen += [sheet.title, *bold(sheet.figure)]
    return frozenset(seen)


class Heads(HTMLParser):
    """The heads of a page: headings, legends, summaries, choices, heads of tables."""

    KEPT = frozenset({"h2", "h3", "legend", "summary", "option"})

    def __init__(self, text: str) -> None:
        super().__init__()
        self.inside = False
        self.texts: list[str] = []
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """What follows is a head, or not."""
        self.inside = tag in self.KEPT or (tag == "th" and ("scope", "col") in attrs)

    def handle_endtag(self, _tag: str) -> None:
        """The head is over."""
        self.inside = False

    def handle_data(self, data: str) -> None:
        """Keep the text of a head."""
        if self.inside:
            self.texts.append(data)


def wrong(texts: dict[str, str], *tables: dict[str, str]) -> list[str]:
    """Every replaced word in some texts, with the name of the text."""
    return [
        f"{name}: {told}" for name, text in texts.items() for words in tables for told in found(text, words)
    ]


def test_the_table_finds_words() -> None:
    """Whole words, over line ends, capitals or not; crotch in brackets, code and file names are no words."""
    assert list(found("Lids on the ring\n  plane")) == [
        "ring\n  plane → collector joint plane",
        "Lids → transition plate",
    ]
    assert list(found("solid, valid, slider, `lid`, ``kind: bundle``, collector-lid.dxf")) == []
    assert list(found("outer valley (crotch), a belt sander")) == []
    assert list(found("the crotch, a belt")) == [
        "crotch → outer valley between inlets (crotch)",
        "belt → belt sander",
    ]


def test_module_docstrings() -> None:
    """What a file is for is said in the words of the trade."""
    assert wrong(docstrings(), REPLACED) == []


def test_heads_of_sheets() -> None:
    """Titles, headings and table heads of everything that is printed."""
    heads = sheet_heads()

    assert {"Stock and cutting plan", "FIT, TACK", "inlet circle", "Cautions", "HOLE: bend °"} <= heads
    assert wrong({head: head for head in heads}, REPLACED, REPLACED_IN_HEADS) == []


def test_heads_of_the_page() -> None:
    """Headings, legends and table heads of report.html."""
    heads = Heads(page(demo("snow_groomer_tight")).text).texts

    assert {"Findings", "Section", "swing °", "Assembly stage"} <= set(heads)
    assert wrong({head: head for head in heads}, REPLACED, REPLACED_IN_HEADS) == []


def entries() -> list[tuple[str, str]]:
    """Words of the glossary and what they mean, in their order."""
    text = re.sub(r"\n {2}", " ", GLOSSARY.read_text("utf-8"))
    return re.findall(r"^\* \*\*(.+?)\*\*: (.+)$", text, re.MULTILINE)


def test_the_glossary_says_each_word_once_in_order() -> None:
    """Alphabetical, no word twice, no entry without a sentence; every line of the list is an entry."""
    words = [word for word, _ in entries()]

    assert words == sorted(set(words), key=str.casefold)
    assert len(words) == GLOSSARY.read_text("utf-8").count("\n* ") > 60
    assert all(meaning.endswith(".") for _, meaning in entries())


def test_the_glossary_keeps_to_the_table() -> None:
    """It says no replaced word (a file's own word stands as code), and says the one that took its place."""
    words = {word for word, _ in entries()}
    parts = {"collector joint plane", "inlet circle", "transition plate", "centre point", "collector end",
             "plate collector", "end mill", "belt sander", "torch access", "swing", "item", "qty"}  # fmt: skip

    assert wrong(dict(entries()), REPLACED) == []
    assert wrong({word: word for word in words}, REPLACED, REPLACED_IN_HEADS) == []
    assert parts <= words
    assert parts - {"end mill"} <= {*REPLACED.values(), *REPLACED_IN_HEADS.values()}
