"""Tables: they fit their width, wrap, and split where a sheet ends without losing a row."""

from __future__ import annotations

import pytest

from manifoldgen.drawing.extent import extent
from manifoldgen.drawing.figure import Text
from manifoldgen.drawing.lettering import text_width
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


def test_units_go_below_their_titles_where_a_table_is_narrow():
    """One line while that fits; else title and unit stand below each other and the column is as wide as its title."""
    columns = ["piece", *(Column(name, "right", unit="mm") for name in ("back", "side", "throat"))]
    rows = [("R1-P1", "100.0", "100.0", "100.0")]

    def heads(width):
        return [t.text for t in _texts(table(columns, rows, width=width))][:-4]

    assert heads(100.0) == ["piece", "back mm", "side mm", "throat mm"]
    assert heads(54.0) == ["piece", "back", "mm", "side", "mm", "throat", "mm"]


def test_one_row_alone_is_not_left_over():
    """Where the rest of a table would be a row or two, rows of the sheet before come with it."""
    rows = [(f"R{k}-P1", "1.0", "", TICK) for k in range(1, 31)]
    heights = {n: height_of(table(COLUMNS, rows[:n], width=120.0)) for n in (28, 29)}
    for n, height in heights.items():
        parts = tables(COLUMNS, rows, width=120.0, height=height + 0.1)
        ids = [[t.text for t in _texts(p) if t.text.endswith("-P1")] for p in parts]
        assert [i for part in ids for i in part] == [r[0] for r in rows]
        assert len(ids[-1]) == 3, n


def test_a_row_higher_than_the_sheet_goes_on_on_the_next():
    """Every word of an endless cell is printed, no part is higher than its sheet, and no row is dropped for it."""
    rows = [("a", "1", "x", ""), ("b", "2", "word " * 400, ""), ("c", "3", "y", "")]
    parts = tables(COLUMNS, rows, width=80.0, height=40.0)
    said = [t.text for p in parts for t in _texts(p)]
    assert [text for text in said if text in {"a", "b", "c"}] == ["a", "b", "c"]
    assert " ".join(said).split().count("word") == 400
    assert all(height_of(p) <= 40.5 for p in parts)


def test_no_rows_leave_a_header():
    """An empty list is shown as an empty table."""
    assert any(t.text == "piece" for t in _texts(table(COLUMNS, [], width=100.0)))


def test_a_word_exactly_as_wide_as_its_column_stays_whole():
    """However the sum of widths is rounded: no head and no cell is broken in the middle of a word."""
    for less in (0.0, 1e-12, 1e-9):
        width = text_width("seam", 2.0, bold=True) + 2.0 - less
        figure = table(
            [Column("seam", width=width, unit="mm"), Column("", width=20.0)],
            [["seam", ""]],
            width=width + 20.0,
            size=2.0,
        )
        assert [t.text for t in _texts(figure)] == ["seam", "mm", "seam"]
