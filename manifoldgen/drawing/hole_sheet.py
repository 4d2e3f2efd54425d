"""The hole for a branch in a bend: a side view that says where to measure, and the table."""

from __future__ import annotations

import math

import numpy as np

from manifoldgen.drawing.extent import extent
from manifoldgen.drawing.figure import BOLD, CENTRE, FINE, PLAIN, Figure, Item, Text, line, polyline
from manifoldgen.drawing.lettering import wrapped
from manifoldgen.drawing.table import Column, table
from manifoldgen.shop.hole import HoleTable
from manifoldgen.wording import fixed, size

_WIDE = 178.0  # mm
_LETTER = 2.3
_SAME = 0.05  # mm and degrees: the two sides of a hole differ by less: they mirror each other
_STUB = 30.0  # mm of branch drawn


def hole_figure(t: HoleTable) -> Figure:
    """Picture above, table below; its top stands at y = 0."""
    picture = _side(t)
    box = extent(picture)
    picture = picture.moved(-box.left, -box.high - 14.0)
    title = f"{t.piece}   hole for the {t.name} ({t.joint})"
    told = f"Bend {fixed(t.angle)}°, CLR {size(t.clr)} mm, tube {size(t.od)} mm.  Picture half size."
    head = Figure((Text((0.0, -3.5), title, 3.5, bold=True), Text((0.0, -9.0), told, _LETTER)))
    beside = box.width + 8.0
    said = [part for note in _HOW for part in wrapped(note, _LETTER, _WIDE - beside)]
    notes = Figure(tuple(Text((beside, -20.0 - 4.2 * k), part, _LETTER) for k, part in enumerate(said)))
    rows = _rows(t)
    names = (("bend", "°"), ("along back", "mm"), ("around the tube", "mm"))
    heads = [
        ("branch clock", "°"),
        *((f"{what}: {n}", unit) for what in ("FOOT", "HOLE") for n, unit in names),
    ]
    below = table([Column(name, "right", unit=unit) for name, unit in heads], rows, width=_WIDE)
    lower = min(-box.height - 20.0, -20.0 - 4.2 * len(said) - 2.0)
    return head + picture + notes + below.moved(0.0, lower)


def _rows(t: HoleTable) -> list[list[str]]:
    """The table's cells; where both sides mirror each other, one row for the two of them."""
    half = len(t.rows) // 2
    mirrored = all(
        abs(a.angle - b.angle) < _SAME and abs(a.round + b.round) < _SAME
        for k in range(1, half)
        for a, b in ((t.rows[k].foot, t.rows[-k].foot), (t.rows[k].hole, t.rows[-k].hole))
    )
    made = []
    for k, row in enumerate(t.rows[: half + 1] if mirrored else t.rows):
        both = mirrored and 0 < k < half
        cells = [f"{row.clock:.0f} / {360 - row.clock:.0f}" if both else f"{row.clock:.0f}"]
        for s in (row.foot, row.hole):
            sides = f"{fixed(s.round)} / {fixed(-s.round)}" if both else fixed(s.round)
            cells += [fixed(s.angle), fixed(s.back), sides]
        made.append(cells)
    return made


_HOW = (
    "A bent tube has no flat template: mark the hole point by point, or scribe round the fitted branch.",
    "Along back: tape laid on the back line from the start of the bend.",
    "Around the tube: from the back line, square to the tube; + is anticlockwise seen from downstream.",
    "FOOT: where the branch's outside stands. HOLE: edge of the branch's bore.",
    "Branch clock 0°: the branch's back line.",
    "Cut inside the hole's line, then file to it.",
)


def _side(t: HoleTable) -> Figure:
    """The bend in its own plane, half size, flow upwards at its start."""
    half = 0.5
    r = t.od / 2

    def at(radius: float, angle: float) -> tuple[float, float]:
        a = math.radians(angle)
        return -half * radius * math.cos(a), half * radius * math.sin(a)

    turns = np.linspace(0.0, t.angle, 60)
    items: list[Item] = [
        polyline([at(t.clr + r, a) for a in turns], PLAIN),
        polyline([at(t.clr - r, a) for a in turns], PLAIN),
        polyline([at(t.clr, a) for a in turns], CENTRE),
    ]
    for a in (0.0, t.angle):
        items.append(line(at(t.clr - r, a), at(t.clr + r, a), FINE))
    aim = math.radians(t.aim)
    for row in (t.rows[0], next(k for k in t.rows if k.clock == 180.0)):
        x, y = at(t.clr + r, row.foot.angle)
        far = (x - _STUB * math.sin(aim), y + _STUB * math.cos(aim))
        items += [
            line((x, y), far, PLAIN),
            Text((far[0], far[1] + 1.5), f"{row.clock:.0f}°", _LETTER, "middle"),
            line(at(t.clr + r - 2.5, row.hole.angle), at(t.clr + r + 2.5, row.hole.angle), BOLD),
        ]
    x, y = at(t.clr + r + 4, 0.0)
    items.append(Text((x, y - 3.0), "start of the bend", _LETTER, "right"))
    x, y = at(t.clr + r + 6, t.rows[0].foot.angle * 0.5)
    items.append(Text((x, y), "back line", _LETTER, "right"))
    x, y = at(t.clr, 0.0)
    items += [
        line((x, y - 14.0), (x, y - 3.0), PLAIN),
        polyline([(x - 1.5, y - 6.0), (x, y - 3.0), (x + 1.5, y - 6.0)], PLAIN),
        Text((x + 2.0, y - 10.0), "gas", _LETTER),
    ]
    return Figure(tuple(items))
