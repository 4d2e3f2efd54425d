"""Tables on paper: columns, a header, long cells wrapped, boxes to tick; split where a sheet ends.

A table's figure hangs from (0, 0): its top left corner there, everything below at negative y.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from manifoldgen.drawing.extent import extent
from manifoldgen.drawing.figure import FINE, PLAIN, Anchor, Figure, Item, Pen, Text, box, line
from manifoldgen.drawing.lettering import HAIR, LEADING, text_width, wrapped

TICK = "\x00tick"  # a cell of this is an empty box
DONE = "\x00done"  # … and of this a ticked one

_PAD = 1.0  # mm left and right of a cell's text
_ABOVE, _BELOW = 0.6, 0.7  # above and below it, in heights of the capitals
_LEAST_ROWS = 3  # on the last sheet of a table
_HEAD_GREY = 0.88
_RULE = Pen(FINE.width, grey=0.5)


@dataclass(frozen=True)
class Column:
    """A column: its title, its alignment, and its width in mm (None: as its cells need).

    unit : of its numbers; behind the title, or below it where the table is narrow.
    """

    title: str
    align: Anchor = "left"
    width: float | None = None
    unit: str = ""

    @property
    def head(self) -> str:
        """Title and unit."""
        return f"{self.title} {self.unit}".strip()


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

    first : height of the first one, where a sheet is already begun.  A row higher than a sheet goes on on the next.
    """
    heads = tuple(c if isinstance(c, Column) else Column(c) for c in columns)
    widths = _widths(heads, rows, width, size)
    head = _headed(heads, widths, size)
    lines = [_laid(row, widths, size, bold=isinstance(row, str)) for row in rows]
    if height is not None:
        lines = [part for line in lines for part in _broken(line, height - head.height, size)]
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
    _kept_company(parts, (height or math.inf) - head.height)
    return tuple(_drawn(heads, widths, head, part, size) if part or not rows else Figure() for part in parts)


def _broken(line: _Line, room: float, size: float) -> Iterator[_Line]:
    """A row in parts that a sheet holds."""
    most = max(1, int((room / size - _ABOVE - 1 - _BELOW) / LEADING + 1e-9) + 1)
    for k in range(0, max(len(c) for c in line.cells), most):
        cells = tuple(c[k : k + most] or ("",) for c in line.cells)
        yield _Line(cells, _height(cells, size), line.across)


def _kept_company(parts: list[list[_Line]], room: float) -> None:
    """A row or two alone on the last sheet get others from the sheet before, in place."""
    while len(parts) > 1 and 0 < len(parts[-1]) < _LEAST_ROWS < len(parts[-2]):
        moved = parts[-2][-2:] if parts[-2][-2].across else parts[-2][-1:]
        if sum(line.height for line in (*moved, *parts[-1])) > room:
            return
        parts[-1][:0] = moved
        del parts[-2][-len(moved) :]


def height_of(figure: Figure) -> float:
    """Height of a table's figure, mm."""
    return extent(figure).height if figure.items else 0.0


def _widths(heads: Sequence[Column], rows: Sequence[Row], width: float, size: float) -> tuple[float, ...]:
    """Written widths as they are; the others share the rest by what their longest cell needs.

    Where that is too little, units go below their titles.
    """
    needs, narrow, words = [], [], []
    for i, column in enumerate(heads):
        cells = [row[i] for row in rows if not isinstance(row, str) and i < len(row)]
        longest = max((_need(cell, size) for cell in cells), default=0.0)
        needs.append(max(longest, text_width(column.head, size, bold=True)) + 2 * _PAD)
        narrow.append(max(longest, text_width(column.title, size, bold=True)) + 2 * _PAD)
        parts = [w for cell in cells if cell not in {TICK, DONE} for w in cell.split()]
        word = max((text_width(w, size) for w in parts), default=size)
        head = max((text_width(w, size, bold=True) for w in column.title.split()), default=0.0)
        words.append(min(max(word, head) + 2 * _PAD, width / 2))
    free = [i for i, c in enumerate(heads) if c.width is None]
    rest = width - sum(c.width or 0.0 for c in heads)
    if sum(needs[i] for i in free) > rest:
        needs = narrow
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


def _headed(heads: Sequence[Column], widths: Sequence[float], size: float) -> _Line:
    """The row of heads: units beside their titles if all are one line, else below titles of one line."""
    line = _laid([c.head for c in heads], widths, size, bold=True)
    if all(len(cell) == 1 for cell in line.cells):
        return line
    room = [w - 2 * _PAD for w in widths]
    cells = tuple(
        (c.title, c.unit) if c.unit and text_width(c.title, size, bold=True) <= w + HAIR else told
        for c, w, told in zip(heads, room, line.cells, strict=True)
    )
    return _Line(cells, _height(cells, size))


def _height(cells: Sequence[Sequence[str]], size: float) -> float:
    """Of a row, mm."""
    return size * (_ABOVE + 1 + (max((len(c) for c in cells), default=1) - 1) * LEADING + _BELOW)


def _laid(row: Row, widths: Sequence[float], size: float, *, bold: bool) -> _Line:
    if isinstance(row, str):
        cells: tuple[tuple[str, ...], ...] = (wrapped(row, size, sum(widths) - 2 * _PAD, bold=bold),)
    else:
        cells = tuple(
            (cell,) if cell in {TICK, DONE} else wrapped(cell, size, w - 2 * _PAD, bold=bold)
            for cell, w in zip(row, widths, strict=True)
        )
    return _Line(cells, _height(cells, size), across=isinstance(row, str))


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
