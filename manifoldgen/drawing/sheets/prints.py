"""The pages of the printed parts: the list, then each part as it lies on the printer's bed and how it is used."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Protocol

import numpy as np

from manifoldgen.drawing.figure import FINE, Figure, Item, Pen, Text, box, polyline
from manifoldgen.drawing.lettering import LEADING, fitting, wrapped
from manifoldgen.drawing.linework import picture
from manifoldgen.drawing.paper import Area, Draft, Paper
from manifoldgen.drawing.sheets.flow import Flow, filled
from manifoldgen.drawing.table import Column, Row
from manifoldgen.drawing.view import View
from manifoldgen.geometry.vectors import Array
from manifoldgen.mesh.triangles import Mesh
from manifoldgen.wording import counted, fixed

TITLE = "Printed parts"
_NOTE = "Sizes as they lie on the bed. Grams and hours are estimates without supports; printed-parts.csv has the formula."
_LEAST, _MOST = 34.0, 62.0  # mm, height of a picture
_GAP = 4.0  # mm between cards
_SIZE = 2.1  # mm, capitals of a card's text
_VIEW = View.from_side(-55.0, 28.0)
_BED = Pen(FINE.width, grey=0.6)


class Listed(Protocol):
    """What a page has to know of a printed part."""

    @property
    def name(self) -> str:
        """As its files are called."""
        ...

    @property
    def group(self) -> str:
        """When it is worth printing."""
        ...

    @property
    def mark(self) -> str:
        """What is engraved."""
        ...

    @property
    def mesh(self) -> Mesh:
        """In print pose."""
        ...

    @property
    def size(self) -> tuple[float, float, float]:
        """On the bed, and its height, mm."""
        ...

    @property
    def purpose(self) -> str:
        """What it is for."""
        ...

    @property
    def sits(self) -> str:
        """How it goes on the work."""
        ...

    @property
    def cautions(self) -> tuple[str, ...]:
        """What can go wrong."""
        ...

    @property
    def grams(self) -> float:
        """Estimated."""
        ...

    @property
    def hours(self) -> float:
        """Estimated."""
        ...


class Summed(Protocol):
    """What a page has to know of a group of printed parts."""

    @property
    def group(self) -> str:
        """Its name."""
        ...

    @property
    def why(self) -> str:
        """What it is worth."""
        ...

    @property
    def parts(self) -> int:
        """How many."""
        ...

    @property
    def grams(self) -> float:
        """Estimated."""
        ...

    @property
    def hours(self) -> float:
        """Estimated."""
        ...


@dataclass(frozen=True)
class _Card:
    """One card before it is placed.  title, lines : as they stand, lines with whether they are bold.  part : drawn."""

    title: tuple[str, ...]
    letters: float
    lines: tuple[tuple[str, bool], ...]
    part: Listed | None

    @property
    def head(self) -> float:
        """Height of the title, mm."""
        return 2.0 + len(self.title) * self.letters * LEADING

    @property
    def foot(self) -> float:
        """Height of the text, mm."""
        return len(self.lines) * _SIZE * LEADING + 2.5

    @property
    def least(self) -> float:
        """What it takes with the smallest picture, mm."""
        return self.head + self.foot + (_LEAST if self.part else 0.0)


def print_sheets(parts: Sequence[Listed], groups: Sequence[Summed], size: Paper) -> tuple[Draft, ...]:
    """The list of all parts and a card for each; none where there are no parts.

    parts : group by group.  groups : what each takes.
    """
    return (*_list(parts, groups, size), *_cards(parts, size)) if parts else ()


def _list(parts: Sequence[Listed], groups: Sequence[Summed], size: Paper) -> tuple[Draft, ...]:
    columns: list[Column | str] = [
        Column("part", width=44.0), "mark", *(Column(axis, "right", unit="mm") for axis in "xyz"),
        Column("grams", "right"), Column("hours", "right"), "what for",
    ]  # fmt: skip
    rows: list[Row] = []
    for group in groups:
        count = counted(group.parts, "part")
        rows.append(
            f"{group.group.capitalize()}: {count}, {group.grams:.0f} g, {group.hours:.0f} h; {group.why}"
        )
        rows += [
            [p.name, p.mark, *(fixed(v) for v in p.size), f"{p.grams:.0f}", fixed(p.hours), p.purpose]
            for p in parts
            if p.group == group.group
        ]
    total = [f"{sum(g.grams for g in groups):.0f}", fixed(sum(g.hours for g in groups))]
    rows.append(["all", "", "", "", "", *total, ""])

    def fill(flow: Flow) -> None:
        flow.words(_NOTE)
        flow.table(columns, rows, 2.2)

    return filled(f"{TITLE}: what to print", size, fill)


def _cards(parts: Sequence[Listed], size: Paper) -> tuple[Draft, ...]:
    """Two cards beside each other, as high as the longer of them needs; what is left on a sheet goes to the pictures."""
    room = size.room
    width = (room.width - _GAP) / 2
    cards = [card for part in parts for card in _made(part, width, room.height)]
    rows = [cards[k : k + 2] for k in range(0, len(cards), 2)]
    sheets: list[list[list[_Card]]] = []
    left = 0.0
    for row in rows:
        need = max(card.least for card in row)
        if not sheets or need > left:
            sheets.append([])
            left = room.height
        sheets[-1].append(row)
        left -= need + _GAP
    drafts = [Draft(TITLE, _placed(sheet, room, width), size) for sheet in sheets]
    if len(drafts) > 1:
        drafts = [
            replace(d, title=f"{TITLE} ({n} of {len(drafts)})", subject=TITLE)
            for n, d in enumerate(drafts, start=1)
        ]
    return tuple(drafts)


def _placed(rows: Sequence[Sequence[_Card]], room: Area, width: float) -> Figure:
    """The cards of one sheet."""
    needs = [max(card.least for card in row) for row in rows]
    spare = (room.height - sum(needs) - (len(rows) - 1) * _GAP) / len(rows)
    figure, y = Figure(), room.top
    for row, need in zip(rows, needs, strict=True):
        height = need + min(spare, _MOST - _LEAST)
        for column, card in enumerate(row):
            figure += _drawn(card, width, height).moved(room.x + column * (width + _GAP), y)
        y -= height + _GAP
    return figure


def _made(part: Listed, width: float, height: float) -> Iterator[_Card]:
    """A part's card; further ones for words that a sheet's height does not hold."""
    x, y, z = part.size
    words = [
        (
            f"{part.group.capitalize()}: {x:.0f} x {y:.0f} x {z:.0f} mm, about {part.grams:.0f} g, {fixed(part.hours)} h",
            False,
        ),
        (f"For: {part.purpose}", False),
        (f"Sits: {part.sits}" if part.sits else "", False),
        *((f"Caution: {c}", True) for c in part.cautions),
    ]
    lines = [
        (line, bold) for text, bold in words if text for line in wrapped(text, _SIZE, width - 4.0, bold=bold)
    ]
    title = f"{part.name}   {part.mark}" if part.mark else part.name
    drawn: Listed | None = part
    while drawn or lines:
        letters, said = fitting(title, 2.8, width - 4.0, bold=True)
        card = _Card(said, letters, (), drawn)
        fit = max(1, int((height - card.least) / (_SIZE * LEADING)))
        yield replace(card, lines=tuple(lines[:fit]))
        lines, title, drawn = lines[fit:], f"{part.name}, continued", None


def _drawn(card: _Card, width: float, height: float) -> Figure:
    """One card; hangs from (0, 0)."""
    items: list[Item] = [box(0.0, -height, width, height, pen=_BED)]
    y = -1.0
    for said in card.title:
        y -= card.letters * LEADING
        items.append(Text((2.0, y), said, card.letters, bold=True))
    y = -height + card.foot - _SIZE - 0.5 if card.part else -card.head - _SIZE
    for words, bold in card.lines:
        items.append(Text((2.0, y), words, _SIZE, bold=bold))
        y -= _SIZE * LEADING
    figure = Figure(tuple(items))
    if card.part is None:
        return figure
    free = height - card.head - card.foot
    return figure + _on_bed(card.part, width - 10.0, free - 4.0).moved(width / 2, -card.head - free / 2)


def _on_bed(part: Listed, width: float, height: float) -> Figure:
    """The part and the patch of bed it stands on; the middle of the drawing at (0, 0)."""
    mesh = part.mesh
    x, y, _ = part.size
    rim = np.array([(-4.0, -4.0, 0.0), (x + 4.0, -4.0, 0.0), (x + 4.0, y + 4.0, 0.0), (-4.0, y + 4.0, 0.0)])
    flat, whole = _VIEW.flat(rim), _VIEW.flat(np.vstack([mesh.vertices, rim]))
    low, high = whole.min(axis=0), whole.max(axis=0)
    scale = float(min(width / (high[0] - low[0]), height / (high[1] - low[1])))
    middle = (low + high) / 2
    own = _VIEW.flat(mesh.vertices)
    a, b = own.min(axis=0), own.max(axis=0)
    drawn = picture(mesh, _VIEW, float(b[0] - a[0]) * scale, float(b[1] - a[1]) * scale)
    at: Array = ((a + b) / 2 - middle) * scale
    patch = polyline(((flat - middle) * scale).tolist(), _BED, closed=True)
    return Figure((patch,)) + drawn.moved(float(at[0]), float(at[1]))
