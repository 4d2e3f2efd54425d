"""Blocks set under each other, and a new sheet where one is full."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from manifoldgen.drawing.extent import extent
from manifoldgen.drawing.figure import PLAIN, Figure, Item, Text, box
from manifoldgen.drawing.lettering import LEADING, wrapped
from manifoldgen.drawing.paper import Area, Draft, Paper
from manifoldgen.drawing.table import Column, Row, height_of, tables

SIZE = 2.3  # mm, capitals of running words and tables (more than 7 pt)
GAP = 3.0  # mm between blocks
_LINE = 0.5  # mm, the lines round a table


@dataclass
class Flow:
    """Sheets of one title that are filled from the top.  y : where the next block hangs, mm."""

    title: str
    paper: Paper
    figures: list[Figure] = field(default_factory=lambda: [Figure()])
    y: float = 0.0

    def __post_init__(self) -> None:
        self.y = self.room.top

    @property
    def room(self) -> Area:
        """What a sheet has for blocks."""
        return self.paper.room

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

    def words(self, text: str, size: float = SIZE, *, bold: bool = False, gap: float = 1.5) -> None:
        """A paragraph over the whole width."""
        figure = paragraph(text, self.room.width, size, bold=bold)
        self.put(figure, height_of(figure), gap=gap)

    def table(self, columns: Sequence[Column | str], rows: Sequence[Row], size: float = SIZE) -> None:
        """A table over the whole width, on as many sheets as it takes."""
        if not rows:
            return
        if self.left < 20.0 and self.y < self.room.top:
            self.new_sheet()
        high = self.room.height - _LINE
        parts = tables(columns, rows, width=self.room.width, size=size, height=high, first=self.left - _LINE)
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


def paragraph(text: str, width: float, size: float = SIZE, *, bold: bool = False) -> Figure:
    """Wrapped words that hang from (0, 0)."""
    lines = wrapped(text, size, width, bold=bold)
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
