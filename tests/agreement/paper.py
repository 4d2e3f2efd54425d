"""What a stranger reads on paper: the tables of a PDF by their heads, and its running words; by a library that is not ours."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import pdfplumber

_LINES = {  # our rules are thin and exact: lines a hair apart are two lines
    "snap_tolerance": 0.05,
    "join_tolerance": 0.6,
    "intersection_tolerance": 1.0,
}


@dataclass(frozen=True)
class PaperTable:
    """One ruled table.  title : of its sheet.  heads : as printed.  rows : cells; a line across has one cell."""

    title: str
    heads: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


@dataclass(frozen=True)
class PaperSheet:
    """One page.  title : its first line, without job and number.  words : everything on it, one line."""

    title: str
    words: str
    tables: tuple[PaperTable, ...]


@cache
def sheets(pdf: Path) -> tuple[PaperSheet, ...]:
    """Every page of a PDF."""
    with pdfplumber.open(pdf) as opened:
        made = []
        for page in opened.pages:
            text = page.extract_text() or ""
            title = re.sub(r"\s+\S+ \d+/\d+$", "", text.split("\n")[0])
            found = [_table(title, rows) for rows in page.extract_tables(_LINES) if len(rows) > 1]
            made.append(PaperSheet(title, " ".join(text.split()), tuple(t for t in found if t is not None)))
        return tuple(made)


def _table(title: str, rows: list[list[str | None]]) -> PaperTable | None:
    heads = tuple(_flat(cell) for cell in rows[0])
    if sum(map(bool, heads)) < 2:  # a frame round a picture
        return None
    body = [tuple(_flat(c) for c in row) if None not in row else (_flat(row[0]),) for row in rows[1:]]
    return PaperTable(title, heads, tuple(body))


def _flat(cell: str | None) -> str:
    return " ".join((cell or "").split())
