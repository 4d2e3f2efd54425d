"""Sheets of paper: sizes, margins, and the frame that every sheet carries.

┌ title                      job   page n/N ┐   head strip
│ free line                                 │
│                 room for content          │
└ |—— 100 mm ——|  print at 100 %   versions ┘   foot strip
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from importlib.metadata import PackageNotFoundError, version

from manifoldgen.drawing.figure import FINE, PLAIN, Anchor, Figure, Item, Pen, Point, SheetPage, Text, line
from manifoldgen.drawing.lettering import LEADING, fitting, text_width
from manifoldgen.errors import GeometryError

MARGIN = 10.0  # mm; no printer of the two sizes needs more
HEAD, FOOT = 15.0, 11.0  # mm, strips inside the margins; the head holds a line below the title
BAR = 100.0  # mm, the line that tells whether the printer scaled
_INSET = 0.2  # mm, so that a line along the edge keeps its whole width inside the margin

_GREY = Pen(FINE.width, grey=0.6)


@dataclass(frozen=True)
class Paper:
    """A size of paper as it lies before the reader, mm."""

    name: str
    width: float
    height: float
    margin: float = MARGIN

    @property
    def turned(self) -> Paper:
        """The same paper turned by 90°."""
        return Paper(self.name, self.height, self.width, self.margin)

    @property
    def room(self) -> Area:
        """What is left for content between head and foot strip."""
        m = self.margin + _INSET
        return Area(m, m + FOOT, self.width - 2 * m, self.height - 2 * m - HEAD - FOOT)


@dataclass(frozen=True)
class Area:
    """A rectangle on a sheet: lower left corner, width, height, mm."""

    x: float
    y: float
    width: float
    height: float

    @property
    def top(self) -> float:
        """Its upper edge, mm."""
        return self.y + self.height


A4 = Paper("A4", 210.0, 297.0)
LETTER = Paper("Letter", 215.9, 279.4)
PAPERS = {paper.name: paper for paper in (A4, LETTER)}


@dataclass(frozen=True)
class Stamp:
    """What every sheet says of itself.  job : its name.  file : how the parameter file is told apart."""

    job: str
    file: str = ""
    tool: str = ""

    @property
    def line(self) -> str:
        """Units, program and file in one line."""
        parts = ["mm, degrees", self.tool or _tool()]
        return " · ".join([*parts, f"file {self.file[:12]}"] if self.file else parts)


@dataclass(frozen=True)
class Draft:
    """A sheet before it is numbered: the figure's origin is the paper's lower left corner.

    subject : the title of all sheets of one subject, where this is one of several.
    """

    title: str
    figure: Figure
    paper: Paper = A4
    subject: str = ""


def paper(name: str) -> Paper:
    """The paper of this name (A4, Letter)."""
    if name not in PAPERS:
        raise GeometryError(f"'{name}' is no paper size: use {' or '.join(PAPERS)}")
    return PAPERS[name]


def framed(drafts: Sequence[Draft | SheetPage], stamp: Stamp) -> tuple[SheetPage, ...]:
    """The drafts as numbered pages, each with its frame; a page of full size has one, and gets number and stamp."""
    return tuple(
        _numbered(d, stamp, f"{n}/{len(drafts)}")
        if isinstance(d, SheetPage)
        else SheetPage(
            d.paper.width, d.paper.height, _frame(d, stamp, f"{n}/{len(drafts)}") + d.figure, d.title
        )
        for n, d in enumerate(drafts, start=1)
    )


def check_bar(x: float, y: float, length: float = BAR, *, upright: bool = False) -> Figure:
    """A line of known length with its ends marked; (x, y) is its left or lower end."""
    end = (x, y + length) if upright else (x + length, y)
    tick = 1.5
    marks = [(x, y), end]
    items: list[Item] = [line((x, y), end, PLAIN)]
    for u, v in marks:
        across = ((u - tick, v), (u + tick, v)) if upright else ((u, v - tick), (u, v + tick))
        items.append(line(*across, FINE))
    return Figure(tuple(items))


def _numbered(page: SheetPage, stamp: Stamp, count: str) -> SheetPage:
    """A page of full size with its number and the stamp in its foot strip, on the right."""
    right, low = page.width - MARGIN - _INSET, MARGIN + _INSET
    items = (
        Text((right, low + 5.2), count, 3.5, "right", bold=True),
        *_lines((right, low + 1.2), *fitting(stamp.line, 1.9, right - MARGIN - 14.0 - BAR, most=1), "right"),
    )
    return replace(page, figure=page.figure + Figure(items))


def _frame(draft: Draft, stamp: Stamp, count: str) -> Figure:
    """Title, job and number above; check bar, units and versions below."""
    p = draft.paper
    m = p.margin + _INSET
    left, right, low, top = m, p.width - m, m, p.height - m
    base, rule = top - 6.5, top - 8.5
    job_right = right - text_width(count, 3.5, bold=True) - 4
    size, job = fitting(stamp.job, 3.0, (right - left) * 0.4, most=2)
    room = job_right - max(text_width(line, size) for line in job) - 4 - left
    bar_y = low + 3.0
    beside = left + BAR + 4
    items: list[Item] = [
        *_lines((left, base), *fitting(draft.title, 4.5, room, bold=True, most=2), bold=True),
        *_lines((job_right, base), size, job, "right"),
        Text((right, base), count, 3.5, "right", bold=True),
        line((left, rule), (right, rule), PLAIN),
        line((left, low + FOOT - 2.5), (right, low + FOOT - 2.5), _GREY),
        Text(
            (left + BAR / 2, bar_y + 1.2), "100 mm: print at 100 % (actual size), then measure", 1.9, "middle"
        ),
        *_lines((right, low + 1.2), *fitting(stamp.line, 1.9, right - beside, most=2), "right"),
    ]
    return Figure(tuple(items)) + check_bar(left, bar_y)


def _lines(
    last: Point, size: float, said: Sequence[str], anchor: Anchor = "left", *, bold: bool = False
) -> list[Text]:
    """Lines whose last one stands on `last`, the others above it."""
    (x, y), step = last, LEADING * size
    return [Text((x, y + k * step), words, size, anchor, bold=bold) for k, words in enumerate(reversed(said))]


def _tool() -> str:
    try:
        return f"manifoldgen {version('manifoldgen')}"
    except PackageNotFoundError:  # run from a folder that was never installed
        return "manifoldgen"
