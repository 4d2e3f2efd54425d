"""Tables: they fit their width, wrap, and split where a sheet ends without losing a row."""

from __future__ import annotations

import pytest

from manifoldgen.drawing.extent import extent
from manifoldgen.drawing.figure import Text
from manifoldgen.drawing.table import TICK, Column, height_of, table, tables

COLUMNS = ("piece", Column("mm", "right"), "note", Column("ok", "middle", 12.0))
ROWS = [
    (f"R{k}-P1", f"{k * 11.5:.1f}", "a note that is long enough to be wrapped " * (k % 4), TICK)
    for k in range(1, 60)
]


def _texts(figure):
    return [item for item in figure.items if isinstance(item, Text)]


@pytest.mark.parametrize("width", [80.0, 120.0, 190.0])
def test_a_table_is_as_wide_as_asked_and_nothing_in_it_is_wider(width):
    """Cells stay in the table, and the table hangs from its upper left corner."""
    box = extent(table(COLUMNS, ROWS, width=width))
    assert (box.left, box.right, box.high) == pytest.approx((0.0, width, 0.0), abs=0.4)
    assert height_of(table(COLUMNS, ROWS[:3], width=width)) < height_of(table(COLUMNS, ROWS, width=width))


def test_rows_are_split_over_sheets_and_none_is_lost():
    """Every part fits, has the header, and all rows come once, in order; a heading is not left behind alone."""
    rows = [*ROWS[:20], "Station: saw", *ROWS[20:]]
    for height in (60.0, 97.0, 150.0):
        parts = tables(COLUMNS, rows, width=120.0, height=height, first=height / 2)
        assert height_of(parts[0]) <= height / 2 + 0.5
        assert all(height_of(p) <= height + 0.5 for p in parts)
        assert all(any(t.text == "piece" for t in _texts(p)) for p in parts)
        ids = [t.text for p in parts for t in _texts(p) if t.text.endswith("-P1")]
        assert ids == [r[0] for r in ROWS]
        holding = next(p for p in parts if any(t.text == "Station: saw" for t in _texts(p)))
        words = [t.text for t in _texts(holding)]
        assert words.index("Station: saw") < len(words) - 1
        assert "R21-P1" in words


def test_a_row_higher_than_the_sheet_stands_alone():
    """An endless cell does not hang the split, and no row is dropped for it."""
    rows = [("a", "1", "x", ""), ("b", "2", "word " * 400, ""), ("c", "3", "y", "")]
    parts = tables(COLUMNS, rows, width=80.0, height=40.0)
    assert [t.text for p in parts for t in _texts(p) if t.text in {"a", "b", "c"}] == ["a", "b", "c"]


def test_no_rows_leave_a_header():
    """An empty list is shown as an empty table."""
    assert any(t.text == "piece" for t in _texts(table(COLUMNS, [], width=100.0)))
