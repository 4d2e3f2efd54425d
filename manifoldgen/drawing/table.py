"""Tables on paper: columns, a header, long cells wrapped, boxes to tick; split where a sheet ends.

A table's figure hangs from (0, 0): its top left corner there, everything below at negative y.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from manifoldgen.drawing.extent import extent
from manifoldgen.drawing.figure import FINE, PLAIN, Anchor, Figure, Item, Pen, Text, box, line
from manifoldgen.drawing.lettering import LEADING, text_width, wrapped

TICK = "\x00tick"  # a cell of this is an empty box
DONE = "\x00done"  # … and of this a ticked one

_PAD = 1.0  # mm left and right of a cell's text
_ABOVE, _BELOW = 0.6, 0.7  # above and below it, in heights of the capitals
_HEAD_GREY = 0.88
_RULE = Pen(FINE.width, grey=0.5)


@dataclass(frozen=True)
class Column:
    """A column: its title, its alignment, and its width in mm (None: as its cells need)."""

    title: str
    align: Anchor = "left"
    width: float | None = None


Row = Sequence[str] | str  # a row of cells, or one line across the whole table


@dataclass(frozen=True)
class _Line:
    """A row laid out: the lines of every cell and the height they take."""

    cells: tuple[tuple[str, ...], ...]
    height: float
    across: bool = False


def table(columns: Sequence[Column | str], rows: Sequence[Row], *, width: float, size: float = 2.5) -> Figure:
    """One table of all rows.

    Parameters
    ----------
    columns : titles, or `Column`s.  rows : cells as text (`TICK`, `DONE`: a box), or one text across.
    width : of the whole table, mm.  size : height of the capitals, mm.
    """
    return tables(columns, rows, width=width, size=size, height=None)[0]


def tables(
    columns: Sequence[Column | str],
    rows: Sequence[Row],
    *,
    width: float,
    size: float = 2.5,
    height: float | None,
    first: float | None = None,
) -> tuple[Figure, ...]:
    """The rows in as many tables as it takes, each with the header and at most `height` mm high.

    first : height of the first one, where a sheet is already begun.  A row higher than a sheet stands alone.
    """
    heads = tuple(c if isinstance(c, Column) else Column(c) for c in columns)
    widths = _widths(heads, rows, width, size)
    head = _laid([c.title for c in heads], widths, size, bold=True)
    lines = [_laid(row, widths, size, bold=isinstance(row, str)) for row in rows]
    parts: list[list[_Line]] = [[]]
    room = (first if first is not None else height) or 0.0
    used = head.height
    for k, laid in enumerate(lines):
        # a line across never stays behind alone at the foot of a sheet
        needed = laid.height + (lines[k + 1].height if laid.across and k + 1 < len(lines) else 0.0)
        if height is not None and used + needed > room and (parts[-1] or (len(parts) == 1 and first)):
            parts.append([])
            room, used = height, head.height
        parts[-1].append(laid)
        used += laid.height
    return tuple(_drawn(heads, widths, head, part, size) if part or not rows else Figure() for part in parts)


def height_of(figure: Figure) -> float:
    """Height of a table's figure, mm."""
    return extent(figure).height if figure.items else 0.0


def _widths(heads: Sequence[Column], rows: Sequence[Row], width: float, size: float) -> tuple[float, ...]:
    """Written widths as they are; the others share the rest by what their longest cell needs."""
    needs, words = [], []
    for i, column in enumerate(heads):
        cells = [row[i] for row in rows if not isinstance(row, str) and i < len(row)]
        longest = max((_need(cell, size) for cell in cells), default=0.0)
        needs.append(max(longest, text_width(column.title, size, bold=True)) + 2 * _PAD)
        parts = [w for cell in cells if cell not in {TICK, DONE} for w in cell.split()]
        word = max((text_width(w, size) for w in parts), default=size)
        head = max((text_width(w, size, bold=True) for w in column.title.split()), default=0.0)
        words.append(min(max(word, head) + 2 * _PAD, width / 2))
    free = [i for i, c in enumerate(heads) if c.width is None]
    rest = width - sum(c.width or 0.0 for c in heads)
    share = _shared([needs[i] for i in free], [words[i] for i in free], rest)
    found = dict(zip(free, share, strict=True))
    return tuple(found[i] if c.width is None else c.width for i, c in enumerate(heads))


def _shared(needs: Sequence[float], least: Sequence[float], rest: float) -> list[float]:
    """`rest` mm over columns: each gets what it needs up to a common level, none less than its longest word."""
    if sum(needs) <= rest or sum(least) >= rest:
        base = needs if sum(needs) <= rest else least
        return [rest * b / sum(base) for b in base]
    low, high = 0.0, rest
    for _ in range(50):
        level = (low + high) / 2
        taken = sum(max(m, min(n, level)) for n, m in zip(needs, least, strict=True))
        low, high = (level, high) if taken < rest else (low, level)
    return [max(m, min(n, low)) for n, m in zip(needs, least, strict=True)]


def _need(cell: str, size: float) -> float:
    return 1.2 * size if cell in {TICK, DONE} else text_width(cell, size)


def _laid(row: Row, widths: Sequence[float], size: float, *, bold: bool) -> _Line:
    if isinstance(row, str):
        cells: tuple[tuple[str, ...], ...] = (wrapped(row, size, sum(widths) - 2 * _PAD, bold=bold),)
    else:
        cells = tuple(
            (cell,) if cell in {TICK, DONE} else wrapped(cell, size, w - 2 * _PAD, bold=bold)
            for cell, w in zip(row, widths, strict=True)
        )
    count = max((len(c) for c in cells), default=1)
    height = size * (_ABOVE + 1 + (count - 1) * LEADING + _BELOW)
    return _Line(cells, height, across=isinstance(row, str))


def _drawn(
    heads: Sequence[Column], widths: Sequence[float], head: _Line, lines: Sequence[_Line], size: float
) -> Figure:
    width = sum(widths)
    items: list[Item] = [box(0, -head.height, width, head.height, pen=None, fill=_HEAD_GREY)]
    items += _row(heads, widths, head, 0.0, size, bold=True)
    y = -head.height
    for laid in lines:
        items += _row(heads, widths, laid, y, size, bold=laid.across)
        y -= laid.height
        items.append(line((0, y), (width, y), _RULE))
    items.append(line((0, -head.height), (width, -head.height), PLAIN))
    items.append(box(0, y, width, -y, pen=PLAIN))
    x = 0.0
    for w in widths[:-1]:
        x += w
        items += [line((x, a), (x, b), _RULE) for a, b in _beside(head, lines)]
    return Figure(tuple(items))


def _beside(head: _Line, lines: Sequence[_Line]) -> list[tuple[float, float]]:
    """Stretches of y where the columns are parted: not through a line across."""
    top, low = 0.0, -head.height
    spans = []
    for laid in lines:
        if laid.across:
            if top > low:
                spans.append((top, low))
            top = low - laid.height
        low -= laid.height
    return [*spans, (top, low)] if top > low else spans


def _row(
    heads: Sequence[Column], widths: Sequence[float], laid: _Line, top: float, size: float, *, bold: bool
) -> list[Item]:
    items: list[Item] = []
    x = 0.0
    spans: list[tuple[float, Anchor]] = [(w, c.align) for w, c in zip(widths, heads, strict=True)]
    if laid.across:
        spans = [(sum(widths), "left")]
    for (w, align), cell in zip(spans, laid.cells, strict=True):
        first = top - size * (_ABOVE + 1)
        if cell[0] in {TICK, DONE}:
            items += _tick(x + w / 2, first, size, done=cell[0] == DONE)
        else:
            at: dict[str, float] = {"left": x + _PAD, "middle": x + w / 2, "right": x + w - _PAD}
            items += [
                Text((at[align], first - k * LEADING * size), text, size, align, bold=bold)
                for k, text in enumerate(cell)
                if text
            ]
        x += w
    return items


def _tick(x: float, y: float, size: float, *, done: bool) -> list[Item]:
    side = 1.2 * size
    left, low = x - side / 2, y - 0.1 * size
    items: list[Item] = [box(left, low, side, side, pen=PLAIN)]
    if done:
        corner = (left + 0.4 * side, low + 0.2 * side)
        items.append(line((left + 0.15 * side, low + 0.5 * side), corner, PLAIN))
        items.append(line(corner, (left + 0.85 * side, low + 0.85 * side), PLAIN))
    return items
