"""Blocks set under each other, and a new sheet where one is full."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

from manifoldgen.drawing.extent import extent
from manifoldgen.drawing.figure import PLAIN, Figure, Item, Text, box
from manifoldgen.drawing.lettering import LEADING, wrapped
from manifoldgen.drawing.paper import Area, Draft, Paper
from manifoldgen.drawing.table import Column, Row, height_of, tables

SIZE = 2.3  # mm, capitals of running words and tables (more than 7 pt)
GAP = 3.0  # mm between blocks
LEAST_USED = 0.25  # share of the last sheet's height: with less on it, the sheets before it give some
_STEP = 4.0  # mm by which they end higher
_LINE = 0.5  # mm, the lines round a table


@dataclass
class Flow:
    """Sheets of one title that are filled from the top.

    size : height of the capitals, mm.  spare : mm that stay free at the foot of every sheet.
    y : where the next block hangs, mm.
    """

    title: str
    paper: Paper
    size: float = SIZE
    spare: float = 0.0
    figures: list[Figure] = field(default_factory=lambda: [Figure()])
    y: float = 0.0

    def __post_init__(self) -> None:
        self.y = self.room.top

    @property
    def room(self) -> Area:
        """What a sheet has for blocks."""
        whole = self.paper.room
        return Area(whole.x, whole.y + self.spare, whole.width, whole.height - self.spare)

    @property
    def used(self) -> float:
        """Share of the last sheet's height that is taken."""
        return (self.room.top - self.y) / self.paper.room.height

    @property
    def left(self) -> float:
        """Height that is left on this sheet, mm."""
        return self.y - self.room.y

    def new_sheet(self) -> None:
        """Begin another sheet."""
        self.figures.append(Figure())
        self.y = self.room.top

    def put(self, figure: Figure, height: float | None = None, *, gap: float = GAP) -> None:
        """A block that hangs from (0, 0); on a new sheet where it does not fit on this one."""
        high = height_of(figure) if height is None else height
        if high > self.left + 1e-6 and self.y < self.room.top:
            self.new_sheet()
        self.figures[-1] += figure.moved(self.room.x, self.y)
        self.y -= high + gap

    def heading(self, text: str, size: float = 3.0, *, keep: float = 14.0) -> None:
        """A line in bold that stays with at least `keep` mm of what follows."""
        if self.left < size + keep and self.y < self.room.top:
            self.new_sheet()
        if self.y < self.room.top:
            self.y -= 1.5
        self.put(Figure((Text((0.0, -size), text, size, bold=True),)), size + 1.8, gap=0.0)

    def words(self, text: str, size: float | None = None, *, bold: bool = False, gap: float = 1.5) -> None:
        """A paragraph over the whole width, in letters of the sheet's own size where none is given."""
        letters = size or self.size
        lines = wrapped(text, letters, self.room.width, bold=bold)
        most = max(1, int(self.room.height / (letters * LEADING)) - 1)
        for k in range(0, len(lines), most):  # one sheet at a time
            figure = _under_each_other(lines[k : k + most], letters, bold=bold)
            self.put(figure, height_of(figure), gap=gap)

    def table(self, columns: Sequence[Column | str], rows: Sequence[Row], size: float | None = None) -> None:
        """A table over the whole width, on as many sheets as it takes, in letters as `words` has them."""
        if not rows:
            return
        if self.left < 20.0 and self.y < self.room.top:
            self.new_sheet()
        high = self.room.height - _LINE
        width, letters = self.room.width, size or self.size
        parts = tables(columns, rows, width=width, size=letters, height=high, first=self.left - _LINE)
        for n, part in enumerate(parts):
            if n:
                self.new_sheet()
            if part.items:
                self.put(part)

    def drafts(self) -> tuple[Draft, ...]:
        """The sheets, numbered in their title where there are several."""
        filled = [f for f in self.figures if f.items]
        if len(filled) == 1:
            return (Draft(self.title, filled[0], self.paper),)
        return tuple(
            Draft(f"{self.title} ({n} of {len(filled)})", f, self.paper, self.title)
            for n, f in enumerate(filled, start=1)
        )


def filled(
    title: str, paper: Paper, fill: Callable[[Flow], None], sizes: Sequence[float] = (SIZE,)
) -> tuple[Draft, ...]:
    """The sheets that `fill` makes: one, in the largest letters of `sizes` that allow it; else as many as it takes.

    A last sheet with next to nothing on it is filled up: the sheets before it end a little higher.
    """
    tried = [_filled(Flow(title, paper, size), fill) for size in sizes[:1]]
    for size in sizes[1:]:
        if len(tried[-1].figures) > 1:
            tried.append(_filled(Flow(title, paper, size), fill))
    flow = tried[-1] if len(tried[-1].figures) == 1 else tried[0]
    count, free = len(flow.figures), flow.room.height
    spare = _STEP
    while count > 1 and flow.used < LEAST_USED and spare < free / 2:
        higher = _filled(Flow(title, paper, flow.size, spare), fill)
        if len(higher.figures) > count:
            break
        flow, spare = higher, spare + _STEP
    return flow.drafts()


def _filled(flow: Flow, fill: Callable[[Flow], None]) -> Flow:
    fill(flow)
    return flow


def paragraph(text: str, width: float, size: float = SIZE, *, bold: bool = False) -> Figure:
    """Wrapped words that hang from (0, 0)."""
    return _under_each_other(wrapped(text, size, width, bold=bold), size, bold=bold)


def _under_each_other(lines: Sequence[str], size: float, *, bold: bool) -> Figure:
    return Figure(
        tuple(Text((0.0, -size * (1.1 + k * LEADING)), said, size, bold=bold) for k, said in enumerate(lines))
    )


def stacked(blocks: Sequence[Figure], gap: float = 1.2) -> Figure:
    """Blocks that hang from (0, 0), one under the other."""
    whole, y = Figure(), 0.0
    for block in blocks:
        if block.items:
            whole += block.moved(0.0, y)
            y -= height_of(block) + gap
    return whole


def boxed(title: str, block: Figure, width: float) -> Figure:
    """A block in a frame with its title; hangs from (0, 0)."""
    pad, size = 2.0, 2.6
    inner = block.moved(pad, -pad - size - 2.0)
    low = extent(inner).low - pad if block.items else -pad - size - 3.0
    items: tuple[Item, ...] = (
        box(0.0, low, width, -low, pen=PLAIN),
        Text((pad, -pad - size), title, size, bold=True),
    )
    return Figure(items) + inner
