"""A drawing larger than the paper: full size over several sheets, to be laid over each other and taped.

Neighbouring sheets repeat 10 mm of the drawing. Crosses stand in the middle of that strip, at the same place
of the drawing on both: laid on each other, they join the sheets.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from manifoldgen.drawing.extent import Extent, extent, item_extent
from manifoldgen.drawing.figure import FINE, Figure, Item, Pen, SheetPage, Text, Window, box, line
from manifoldgen.drawing.lettering import fitted
from manifoldgen.drawing.paper import BAR, Paper, check_bar

OVERLAP = 10.0  # mm that two neighbours share
FOOT = 22.0  # mm, strip for the title and the check bars
UPRIGHT = 20.0  # mm, the upright check bar
CROSSES = 3  # along each side that has a neighbour
_ARM = 4.0  # mm, half a cross
_EDGE = Pen(FINE.width, grey=0.6, dash=(1.0, 1.0))


def tiled(figure: Figure, paper: Paper, title: str) -> tuple[SheetPage, ...]:
    """The drawing at full size, on as many sheets of this paper as it takes, upright or turned.

    Rows run from the top left, like reading.
    """
    whole = extent(figure)
    sheet = min((paper, paper.turned), key=lambda p: math.prod(_counts(whole, p)))  # upright where equal
    columns, rows = _counts(whole, sheet)
    wide, high = _window(sheet)
    total = columns * rows
    # the drawing stands in the middle of what the sheets cover
    left = whole.left - (_covered(columns, wide) - whole.width) / 2
    low = whole.low - (_covered(rows, high) - whole.height) / 2
    pages = []
    for row in range(rows):
        for column in range(columns):
            at = (left + column * (wide - OVERLAP), low + (rows - 1 - row) * (high - OVERLAP))
            seen = Extent(at[0], at[1], at[0] + wide, at[1] + high)
            kept = Figure(tuple(item for item in figure.items if item_extent(item).meets(seen)))
            shown = Figure((Window(at, wide, high, kept + _crosses(seen, (column, row), (columns, rows))),))
            shown = shown.moved(sheet.margin - at[0], sheet.margin + FOOT - at[1])
            number = row * columns + column + 1
            frame = _frame(sheet, title, number, (column, row), (columns, rows))
            name = title if total == 1 else f"{title} {number}/{total}"
            pages.append(SheetPage(sheet.width, sheet.height, frame + shown, name))
    return tuple(pages)


def _window(paper: Paper) -> tuple[float, float]:
    """Width and height of the drawing that one sheet shows, mm."""
    return paper.width - 2 * paper.margin, paper.height - 2 * paper.margin - FOOT


def _counts(whole: Extent, paper: Paper) -> tuple[int, int]:
    """Columns and rows of sheets."""
    return (
        _count(whole.width, _window(paper)[0]),
        _count(whole.height, _window(paper)[1]),
    )


def _count(size: float, window: float) -> int:
    return max(1, math.ceil((size - OVERLAP) / (window - OVERLAP) - 1e-9))


def _covered(count: int, window: float) -> float:
    return count * window - (count - 1) * OVERLAP


def _crosses(seen: Extent, cell: tuple[int, int], counts: tuple[int, int]) -> Figure:
    """Crosses along the sides that have a neighbour, in the middle of the shared strip."""
    half = OVERLAP / 2
    places = []
    for k in range(CROSSES):
        part = (k + 0.5) / CROSSES
        y, x = seen.low + part * seen.height, seen.left + part * seen.width
        places += [(seen.left + half, y)] if cell[0] > 0 else []
        places += [(seen.right - half, y)] if cell[0] < counts[0] - 1 else []
        places += [(x, seen.high - half)] if cell[1] > 0 else []
        places += [(x, seen.low + half)] if cell[1] < counts[1] - 1 else []
    items = [line((x - _ARM, y), (x + _ARM, y), FINE) for x, y in places]
    return Figure((*items, *(line((x, y - _ARM), (x, y + _ARM), FINE) for x, y in places)))


def _frame(paper: Paper, title: str, number: int, cell: tuple[int, int], counts: tuple[int, int]) -> Figure:
    """The edge of what is shown, and the foot strip."""
    m = paper.margin
    wide, high = _window(paper)
    beside = m + 12.0
    right = paper.width - m
    map_wide = 4.0 * counts[0]
    half = _EDGE.width / 2
    texts: Sequence[Item] = (
        box(m + half, m + FOOT + half, wide - 2 * half, high - 2 * half, pen=_EDGE),
        Text(
            (beside, m + 16.0), fitted(title, 3.5, right - beside - map_wide - 2, bold=True), 3.5, bold=True
        ),
        Text((beside, m + 10.5), _place(number, cell, counts), 2.5),
        Text(
            (beside + BAR / 2, m + 4.2),
            "100 mm across, 20 mm up: print at 100 % (actual size)",
            2.0,
            "middle",
        ),
    )
    bars = check_bar(beside, m + 2.0) + check_bar(m + 4.0, m + 1.0, UPRIGHT, upright=True)
    return Figure(tuple(texts)) + bars + _map(right - map_wide - 1, m + FOOT - 2.0, cell, counts)


def _place(number: int, cell: tuple[int, int], counts: tuple[int, int]) -> str:
    total = counts[0] * counts[1]
    if total == 1:
        return "sheet 1/1"
    sides = [
        f"right of sheet {number - 1}" if cell[0] > 0 else "",
        f"below sheet {number - counts[0]}" if cell[1] > 0 else "",
    ]
    joined = "".join(f", {side}" for side in sides if side)
    return f"sheet {number}/{total}{joined}: lay cross on cross"


def _map(x: float, top: float, cell: tuple[int, int], counts: tuple[int, int]) -> Figure:
    """Which sheet of all this is, as small boxes."""
    if counts == (1, 1):
        return Figure()
    side = min(4.0, (FOOT - 8.0) / counts[1])
    return Figure(
        tuple(
            box(
                x + c * side, top - (r + 1) * side, side, side, pen=FINE, fill=0.7 if (c, r) == cell else None
            )
            for r in range(counts[1])
            for c in range(counts[0])
        )
    )
