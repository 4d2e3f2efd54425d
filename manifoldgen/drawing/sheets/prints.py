"""The pages of the printed parts: the list, then each part as it lies on the printer's bed and how it is used."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Protocol

import numpy as np

from manifoldgen.drawing.figure import FINE, Figure, Item, Pen, SheetPage, Text, box, polyline
from manifoldgen.drawing.lettering import LEADING, fitted, wrapped
from manifoldgen.drawing.linework import picture
from manifoldgen.drawing.paper import Draft, Paper, Stamp, framed, paper
from manifoldgen.drawing.table import Column, Row, tables
from manifoldgen.drawing.view import View
from manifoldgen.geometry.vectors import Array
from manifoldgen.manifold.model import Manifold
from manifoldgen.mesh.triangles import Mesh

TITLE = "Printed parts"
_ACROSS, _DOWN = 2, 3  # cards on a sheet
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


def print_pages(parts: Sequence[Listed], groups: Sequence[Summed], m: Manifold) -> tuple[SheetPage, ...]:
    """The list of all parts and a card for each, on the shop's paper.

    parts : group by group.  groups : what each takes.
    """
    if not parts:
        return ()
    size = paper(m.workshop.paper)
    return framed([*_lists(parts, groups, size), *_cards(parts, size)], Stamp(m.name))


def _lists(parts: Sequence[Listed], groups: Sequence[Summed], size: Paper) -> list[Draft]:
    columns = (
        Column("part", width=44.0),
        Column("mark"),
        Column("x", "right"),
        Column("y", "right"),
        Column("z", "right"),
        Column("grams", "right"),
        Column("hours", "right"),
        Column("what for"),
    )
    rows: list[Row] = []
    for group in groups:
        count = f"{group.parts} part{'' if group.parts == 1 else 's'}"
        rows.append(
            f"{group.group.capitalize()}: {count}, {group.grams:.0f} g, {group.hours:.0f} h; {group.why}"
        )
        rows += [
            (p.name, p.mark, *(f"{v:.1f}" for v in p.size), f"{p.grams:.0f}", f"{p.hours:.1f}", p.purpose)
            for p in parts
            if p.group == group.group
        ]
    rows.append(
        (
            "all",
            "",
            "",
            "",
            "",
            f"{sum(p.grams for p in parts):.0f}",
            f"{sum(p.hours for p in parts):.1f}",
            "",
        )
    )
    room = size.room
    made = tables(columns, rows, width=room.width, size=2.2, height=room.height - 8.0)
    note = "Sizes as they lie on the bed. Grams and hours are estimates without supports; printed-parts.csv has the formula."
    head = Figure((Text((room.x, room.top - 3.5), note, 2.2),))
    return [Draft(f"{TITLE}: what to print", head + t.moved(room.x, room.top - 7.0), size) for t in made]


def _cards(parts: Sequence[Listed], size: Paper) -> list[Draft]:
    room = size.room
    width = (room.width - (_ACROSS - 1) * _GAP) / _ACROSS
    height = (room.height - (_DOWN - 1) * _GAP) / _DOWN
    drafts = []
    for start in range(0, len(parts), _ACROSS * _DOWN):
        sheet = Figure()
        for k, part in enumerate(parts[start : start + _ACROSS * _DOWN]):
            row, column = divmod(k, _ACROSS)
            x, top = room.x + column * (width + _GAP), room.top - row * (height + _GAP)
            sheet += _card(part, width, height).moved(x, top)
        drafts.append(Draft(TITLE, sheet, size))
    return drafts


def _card(part: Listed, width: float, height: float) -> Figure:
    """One part; hangs from (0, 0)."""
    items: list[Item] = [box(0.0, -height, width, height, pen=_BED)]
    head = f"{part.name}   {part.mark}" if part.mark else part.name
    y = -4.5
    items.append(Text((2.0, y), fitted(head, 2.8, width - 4.0, bold=True), 2.8, bold=True))
    x, dy, z = part.size
    words = [
        (
            f"{part.group.capitalize()}: {x:.0f} x {dy:.0f} x {z:.0f} mm, about {part.grams:.0f} g, {part.hours:.1f} h",
            False,
        ),
        (f"For: {part.purpose}", False),
        (f"Sits: {part.sits}" if part.sits else "", False),
        *((f"Caution: {c}", True) for c in part.cautions),
    ]
    lines = [
        (line, bold)
        for text, bold in words
        if text
        for line in wrapped(text, _SIZE, width - 4.0, bold=bold, most=4)
    ]
    foot = len(lines) * _SIZE * LEADING + 2.0
    drawing = _on_bed(part, width - 10.0, height - foot - 12.0)
    figure = drawing.moved(width / 2, -7.0 - (height - foot - 12.0) / 2)
    y = -height + foot - _SIZE
    for line, bold in lines:
        items.append(Text((2.0, y), line, _SIZE, bold=bold))
        y -= _SIZE * LEADING
    return Figure(tuple(items)) + figure


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
