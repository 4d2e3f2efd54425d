"""A drawing larger than the paper: full size over several sheets, to be laid over each other and taped.

Neighbouring sheets repeat 10 mm of the drawing. Crosses stand in the middle of that strip, at the same place
of the drawing on both: laid on each other, they join the sheets.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np

from manifoldgen.drawing.extent import Extent, extent, item_extent
from manifoldgen.drawing.figure import FINE, Figure, Item, Pen, SheetPage, Text, Window, box, line
from manifoldgen.drawing.lettering import LEADING, fitting
from manifoldgen.drawing.paper import BAR, Paper, check_bar

OVERLAP = 10.0  # mm that two neighbours share
FOOT = 22.0  # mm, strip for the title and the check bars
UPRIGHT = 20.0  # mm, the upright check bar
CROSSES = 3  # along each side that has a neighbour
_ARM = 4.0  # mm, half a cross
_STEP = 2.0  # mm by which the sheets are shifted to keep words whole
_CLEAR = 0.5  # mm from words to the edge of what a sheet shows
_EDGE = Pen(FINE.width, grey=0.6, dash=(1.0, 1.0))


def tiled(figure: Figure, paper: Paper, title: str, mind: str = "") -> tuple[SheetPage, ...]:
    """The drawing at full size, on as many sheets of this paper as it takes, upright or turned.

    Rows run from the top left, like reading.  mind : what can hurt where it is used, in the foot of every sheet.
    """
    whole = extent(figure)
    sheet = min((paper, paper.turned), key=lambda p: math.prod(_counts(whole, p)))  # upright where equal
    columns, rows = _counts(whole, sheet)
    wide, high = _window(sheet)
    total = columns * rows
    words = [item_extent(item) for item in figure.items if isinstance(item, Text)]
    left = _begins((whole.left, whole.right), columns, wide, [(w.left, w.right) for w in words])
    low = _begins((whole.low, whole.high), rows, high, [(w.low, w.high) for w in words])
    pages = []
    for row in range(rows):
        for column in range(columns):
            at = (left + column * (wide - OVERLAP), low + (rows - 1 - row) * (high - OVERLAP))
            seen = Extent(at[0], at[1], at[0] + wide, at[1] + high)
            kept = tuple(seen_on(figure, seen, whole))
            shown = Figure(
                (Window(at, wide, high, Figure(kept) + _crosses(seen, (column, row), (columns, rows))),)
            )
            shown = shown.moved(sheet.margin - at[0], sheet.margin + FOOT - at[1])
            number = row * columns + column + 1
            frame = _frame(sheet, title, number, (column, row), (columns, rows)) + _minded(sheet, mind)
            name = title if total == 1 else f"{title} {number}/{total}"
            pages.append(SheetPage(sheet.width, sheet.height, frame + shown, name))
    return tuple(pages)


def _begins(
    span: tuple[float, float], count: int, window: float, words: Sequence[tuple[float, float]]
) -> float:
    """Where the first sheet begins along one axis: the drawing in the middle of what the sheets cover.

    A little aside where fewer words then lie across an edge.
    """
    spare = _covered(count, window) - (span[1] - span[0])
    middle = span[0] - spare / 2

    def cut(begin: float) -> int:
        edges = [begin + k * (window - OVERLAP) for k in range(count)]
        return sum(not any(e + _CLEAR <= a and b <= e + window - _CLEAR for e in edges) for a, b in words)

    shifts = np.arange(0.0, max(spare / 2 - _CLEAR, 0.0) + _STEP / 2, _STEP)
    places = [middle + sign * float(shift) for shift in shifts for sign in (1.0, -1.0)]
    return min(places, key=cut)


def seen_on(figure: Figure, seen: Extent, whole: Extent) -> Iterator[Item]:
    """What of a drawing one sheet shows.  Words are whole or not there: those across an edge are moved inside.

    seen : the sheet's part.  whole : of the drawing.  Words that stand whole on a neighbour are left to it.
    """
    for item in figure.items:
        box = item_extent(item)
        if not box.meets(seen):
            continue
        if not isinstance(item, Text):
            yield item
            continue
        dx = _inward(box.left, box.right, (seen.left, seen.right), (whole.left, whole.right))
        dy = _inward(box.low, box.high, (seen.low, seen.high), (whole.low, whole.high))
        if dx is not None and dy is not None:
            yield replace(item, at=(item.at[0] + dx, item.at[1] + dy))


def _inward(low: float, high: float, seen: tuple[float, float], whole: tuple[float, float]) -> float | None:
    """How far words from `low` to `high` move along one axis to be whole on a sheet; None where a neighbour has them."""
    before, after = seen[0] + _CLEAR - low, high - seen[1] + _CLEAR  # how far they reach over either edge
    if before > 0.0 and seen[0] > whole[0]:
        neighbour = high <= seen[0] + OVERLAP - _CLEAR or (low + high) / 2 < seen[0] + OVERLAP / 2
        return None if neighbour else before
    if after > 0.0 and seen[1] < whole[1]:
        neighbour = low >= seen[1] - OVERLAP + _CLEAR or (low + high) / 2 >= seen[1] - OVERLAP / 2
        return None if neighbour else -after
    return 0.0


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
    size, said = fitting(title, 3.5, right - beside - map_wide - 2, bold=True, most=2)
    texts: Sequence[Item] = (
        box(m + half, m + FOOT + half, wide - 2 * half, high - 2 * half, pen=_EDGE),
        *(
            Text((beside, m + 16.0 + k * LEADING * size), words, size, bold=True)
            for k, words in enumerate(reversed(said))
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


def _minded(paper: Paper, mind: str) -> Figure:
    """The hazard in the foot strip, between place and check bar."""
    beside, low = paper.margin + 12.0, paper.margin + 7.2
    size, said = fitting(mind, 2.0, paper.width - paper.margin - 16.0 - beside, bold=True, most=1)
    return Figure(tuple(Text((beside, low), words, size, bold=True) for words in said if words))


def _place(number: int, cell: tuple[int, int], counts: tuple[int, int]) -> str:
    total = counts[0] * counts[1]
    if total == 1:
        return "all of it on this sheet"
    sides = [
        f"right of part {number - 1}" if cell[0] > 0 else "",
        f"below part {number - counts[0]}" if cell[1] > 0 else "",
    ]
    joined = "".join(f", {side}" for side in sides if side)
    return f"part {number} of {total}{joined}: lay cross on cross"


def _map(x: float, top: float, cell: tuple[int, int], counts: tuple[int, int]) -> Figure:
    """Which sheet of all this is, as small boxes."""
    if counts == (1, 1):
        return Figure()
    side = min(4.0, (FOOT - 12.0) / counts[1])  # the page's number stands below
    return Figure(
        tuple(
            box(
                x + c * side, top - (r + 1) * side, side, side, pen=FINE, fill=0.7 if (c, r) == cell else None
            )
            for r in range(counts[1])
            for c in range(counts[0])
        )
    )
