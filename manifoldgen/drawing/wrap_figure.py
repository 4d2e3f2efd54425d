"""One wrap template as a drawing, full size: the paper to cut out, its named lines, the hatched waste.

x runs round the tube from the back line, y along it with the gas, printed side out. The paper stays on the
side of the cut that is kept, from the curve to an edge that is laid on the datum.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from manifoldgen.drawing.figure import (
    BOLD,
    FINE,
    HIDDEN,
    PLAIN,
    THIN,
    Anchor,
    EdgeLine,
    Figure,
    Item,
    Pen,
    Text,
    line,
)
from manifoldgen.drawing.lettering import text_width, wrapped
from manifoldgen.geometry.vectors import Array
from manifoldgen.shop.wrap import Wrap, WrapMark
from manifoldgen.wording import fixed, sizes

CUT, LINES, NOTES = "CUT_OUTER", "ETCH", "NOTES"  # layers
THINNED = 0.005  # mm: the drawn curve is this close to the reckoned one
LEAST_WIDE = 178.0  # mm that the words below may take
_WHOLE, _NARROW = (
    270.0,
    85.0,
)  # mm: what goes over several sheets has its words in a narrow block on the first
_LETTER, _TITLE, _LEAD = 2.3, 3.5, 1.75  # capitals, mm; line feed in capitals
_BEYOND = 40.0  # mm of paper past the cut where the datum lies on the waste side
_REACH = 110.0  # mm: a datum farther off is not reached by the paper
_WASTE, _HATCH = 7.0, 3.0  # mm: depth of the hatched strip, distance of its lines
_SMALLEST, _COLUMN, _TICKED = 1.8, 3.4, 11.0  # mm: least capitals, from name to name, room of a joint's name
_JOINT = 3.0  # mm, capitals of a joint's name
_LABEL = Pen(THIN, grey=0.35)


@dataclass(frozen=True)
class Sheet:
    """Where the paper's straight edge lies: `edge` mm from the datum along y; `shift` is edge to datum, 0 on it."""

    edge: float
    shift: float
    keeps_above: bool


def wrap_figure(w: Wrap, *, words: bool = True, hatch: bool = True) -> Figure:
    """The template; the lower left of the tube's paper stands at x = 0.

    words : with the block of text below it.  hatch : with the waste hatched (paper, not DXF).
    """
    sheet = laid(w)
    x, y = paper_curve(w)
    keep = np.argwhere(thinned(x, y)).ravel()
    curve = [(float(x[k]), float(y[k]), 0.0) for k in keep]
    ring = (*curve, (w.girth, sheet.edge, 0.0), (0.0, sheet.edge, 0.0))
    items: list[Item] = []
    if hatch:
        items += _hatched(x, y, above=not sheet.keeps_above)
    for mark in w.marks:
        items += _named(w, sheet, mark, x, y)
    items += _arrow(w, sheet, x, y)
    items.append(EdgeLine(ring, pen=PLAIN, layer=CUT))
    if hatch:
        items.append(EdgeLine(tuple(curve), closed=False, pen=BOLD, layer=CUT))
    if words:
        low = min(float(y.min()) - (0.0 if not sheet.keeps_above else _WASTE), sheet.edge)
        items += _words(w, sheet, low - 6.0)
    return Figure(tuple(items))


def laid(w: Wrap) -> Sheet:
    """Where the paper's straight edge is laid."""
    above = w.waste == "upstream"
    downstream = float(np.mean(w.cut)) < 0  # the datum lies downstream of the cut
    if above != downstream:  # the datum is on the waste side: the curve's own lowest points are laid on it
        edge = float(w.cut.max()) + _BEYOND if above else float(w.cut.min()) - _BEYOND
        return Sheet(edge, math.nan, above)
    shift = 0.0
    if w.nearest > _REACH:
        shift = 10.0 * math.floor((w.nearest - _BEYOND) / 10.0)
    return Sheet(-shift if downstream else shift, shift, above)


def paper_curve(w: Wrap) -> tuple[Array, Array]:
    """The cut on the paper: x mm round (on the paper's middle), y mm from the datum, downstream up."""
    return w.girth * w.phi / 360.0, w.cut


def thinned(x: Array, y: Array, tolerance: float = THINNED) -> Array:
    """Which points of a line are needed to stay within `tolerance` of all of them (first and last always)."""
    keep = np.zeros(len(x), dtype=bool)
    keep[0] = keep[-1] = True
    spans = [(0, len(x) - 1)]
    while spans:
        a, b = spans.pop()
        if b - a < 2:
            continue
        dx, dy = x[b] - x[a], y[b] - y[a]
        span = math.hypot(dx, dy) or 1.0
        off = np.abs(dx * (y[a + 1 : b] - y[a]) - dy * (x[a + 1 : b] - x[a])) / span
        k = int(off.argmax())
        if off[k] > tolerance:
            keep[a + 1 + k] = True
            spans += [(a, a + 1 + k), (a + 1 + k, b)]
    return np.asarray(keep)


def _named(w: Wrap, sheet: Sheet, mark: WrapMark, x: Array, y: Array) -> list[Item]:
    """A line along the tube with its name beside it; the joint at a scallop only as a tick."""
    at = w.girth * (mark.at % 360.0) / 360.0
    reach = float(np.interp(at, x, y))
    if mark.kind == "joint":
        step = 5.0 if sheet.keeps_above else -5.0
        beside, anchor = _beside_lines(w, mark, at)
        name = (beside, reach + 1.5 * step - (1.0 if step > 0 else 1.5))
        return [
            line((at, reach), (at, reach + step), PLAIN, LINES),
            Text(name, mark.text, _JOINT, anchor, bold=True, layer=LINES),
        ]
    bend = mark.kind == "bend"
    pen = HIDDEN if bend else FINE
    items: list[Item] = [line((at, sheet.edge), (at, reach), pen, LINES)]
    if mark.at % 360.0 == 0.0:
        items.append(line((w.girth, sheet.edge), (w.girth, reach), pen, LINES))
    near = [w.girth * (m.at % 360.0) / 360.0 - at for m in w.marks if m is not mark and m.kind != "joint"]
    ticks = [w.girth * (m.at % 360.0) / 360.0 - at for m in w.marks if m.kind == "joint"]
    taken = (
        _TICKED if any(abs(u) < _TICKED for u in ticks) else 3.0
    )  # a joint's name stands below its scallop
    column = np.interp(np.linspace(at, min(at + 2 * _COLUMN, w.girth), 9), x, y)  # where its name stands
    text, size = _fitting(mark, float(np.abs(column - sheet.edge).min()) - taken)
    beside = at + size + 0.8
    if bend:  # close behind a named line it writes in the next column
        beside += sum(_COLUMN for u in near if -_COLUMN - 1.0 < u < 1.0)
    elif any(
        0.0 < u < _COLUMN for u in near
    ):  # a line close behind: names go before, the first at the far end
        beside = (at if at > 2 * size else w.girth) - 0.8
    if beside > w.girth - 0.5:
        beside = at - 0.8
    start = sheet.edge + 1.5 if reach > sheet.edge else sheet.edge - 1.5 - text_width(text, size)
    items.append(Text((beside, start), text, size, angle=90.0, layer=LINES))
    return items


def _beside_lines(w: Wrap, mark: WrapMark, at: float) -> tuple[float, Anchor]:
    """Where a joint's name stands below its scallop: in the middle, or to the side where no line and no name is."""
    wide = text_width(mark.text, _JOINT, bold=True)
    others = [w.girth * (m.at % 360.0) / 360.0 for m in w.marks if m is not mark and m.kind != "joint"]
    places: tuple[tuple[float, float, Anchor], ...] = (
        (at - wide / 2, at, "middle"), (at + 1.0, at + 1.0, "left"), (at - 1.0 - wide, at - 1.0, "right"),
    )  # fmt: skip

    def taken(left: float) -> int:
        return sum(left - _COLUMN - 0.5 < other < left + wide + 0.5 for other in others)

    _, beside, anchor = min(places, key=lambda p: taken(p[0]))
    return beside, anchor


def _fitting(mark: WrapMark, room: float) -> tuple[str, float]:
    """A line's name and its size where `room` mm are left for it: shortened before it gets too small."""
    said = mark.text
    for said in (mark.text, *mark.shorter):
        size = min(_LETTER, _LETTER * room / text_width(said, _LETTER))
        if size >= _SMALLEST:
            return said, size
    return said, _SMALLEST


def _arrow(w: Wrap, sheet: Sheet, x: Array, y: Array) -> list[Item]:
    """Which way the gas goes, and the piece's id, in the quarter that has room for them."""
    quarter = w.girth / 4
    start = quarter * _free_quarter(w, sheet)
    at, name = start + 0.3 * quarter, start + 0.62 * quarter
    middle = _middle(sheet, x, y, at)
    tip, foot = middle + 6.0, middle - 6.0
    head = [(at - 1.6, tip - 4.0), (at, tip), (at + 1.6, tip - 4.0)]
    size = min(3.5, 3.5 * 0.62 * quarter / text_width(w.pieces[0], 3.5, bold=True))
    middle = _middle(sheet, x, y, name)
    return [
        line((at, foot), (at, tip), PLAIN, LINES),
        EdgeLine(tuple((u, v, 0.0) for u, v in head), closed=False, pen=PLAIN, layer=LINES),
        Text((name, middle + 2.0), w.pieces[0], size, "middle", bold=True, layer=LINES),
        Text((name, middle - 2.5), "gas up", 2.0, "middle", layer=LINES),
        Text((name, middle - 6.0), "print out", 2.0, "middle", layer=LINES),
    ]


def _middle(sheet: Sheet, x: Array, y: Array, at: float) -> float:
    """Half way between the straight edge and the cut."""
    return (float(np.interp(at, x, y)) + sheet.edge) / 2


def _free_quarter(w: Wrap, sheet: Sheet) -> int:
    """The quarter between two named lines that has no other mark, and paper all the way; the first such."""

    def taken(k: int) -> tuple[int, float]:
        inside = sum(90 * k - 3 < m.at % 360 < 90 * (k + 1) + 3 and m.at % 90 != 0 for m in w.marks)
        part = (w.phi >= 90 * k) & (w.phi <= 90 * (k + 1))
        return inside, -round(float(np.abs(w.cut[part] - sheet.edge).min()), 3)

    return min(range(4), key=taken)


def _hatched(x: Array, y: Array, *, above: bool) -> list[Item]:
    """Slanted lines on a strip along the curve, on the side that falls off."""
    sign = 1.0 if above else -1.0
    limit = float(y.max() if above else y.min()) + sign * _WASTE
    made: list[Item] = []
    first, last = float(x[0]), float(x[-1])
    span = abs(limit - float(y.min() if above else y.max()))
    for start in np.arange(first - span, last, _HATCH):
        u = np.linspace(max(start, first), min(start + span, last), 200)
        v = limit - sign * (u - start)
        curve = np.interp(u, x, y)
        inside = np.asarray(sign * (v - curve) > 0.4)
        made += [line((u[a], v[a]), (u[b], v[b]), _LABEL) for a, b in _runs(inside) if b > a]
    return [*made, line((first, limit), (last, limit), _LABEL)]


def _runs(flags: NDArray[np.bool_]) -> list[tuple[int, int]]:
    """First and last index of every stretch of True."""
    edges = np.flatnonzero(np.diff(np.concatenate([[0], flags.astype(int), [0]])))
    return [(int(a), int(b) - 1) for a, b in zip(edges[::2], edges[1::2], strict=True)]


def _words(w: Wrap, sheet: Sheet, top: float) -> list[Item]:
    """What the template is for and how it is laid, below it."""
    width = LEAST_WIDE if w.girth < _WHOLE else _NARROW
    items: list[Item] = []
    title = f"{', '.join(w.pieces)}   {w.name}   {w.off} off"
    baseline = top - _TITLE
    items.append(Text((0.0, baseline), title, _TITLE, bold=True, layer=NOTES))
    baseline -= 0.8 * _TITLE
    for said in words(w, sheet):
        for part in wrapped(said, _LETTER, width):
            baseline -= _LETTER * _LEAD
            items.append(Text((0.0, baseline), part, _LETTER, layer=NOTES))
    return items


def words(w: Wrap, sheet: Sheet) -> tuple[str, ...]:
    """The sentences below a template."""
    side = "above" if not sheet.keeps_above else "below"
    straight = "upper" if sheet.keeps_above else "lower"
    if math.isnan(sheet.shift):
        edge = f"The curve's {'lowest' if sheet.keeps_above else 'highest'} points go on the blank's {w.datum.words}."
    elif sheet.shift:
        edge = f"The {straight} edge goes {sheet.shift:.0f} mm from the {w.datum.words}."
    else:
        edge = f"The {straight} edge goes on the {w.datum.words}."
    return (
        (
            f"Tube {sizes(w.od, w.section.wall)} mm {w.section.material}.  Joints on this cut: {', '.join(w.joints)}.  "
            f"Once round {fixed(w.girth)} mm ({fixed(w.paper)} mm paper)."
        ),
        (
            f"{edge}  From the {w.datum.name}: {fixed(w.nearest)} mm to the nearest point of the cut, {fixed(w.farthest)} mm to the "
            f"farthest.  Waste (hatched) is {side} the curve, {w.waste}."
        ),
        (
            "Cut out, wrap with the printed side out, arrow with the gas, 0° on the back line; both ends must meet: if they "
            "do not, check the 100 mm bar and measure the tube."
        ),
        *(f"{note[0].upper()}{note[1:]}." for note in w.notes),
    )
