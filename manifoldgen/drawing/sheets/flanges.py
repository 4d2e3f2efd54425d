"""Flanges at a glance: what the laser shop gets, what is drilled, which tool takes each nut."""

from __future__ import annotations

from functools import partial

from manifoldgen.access.hands import Hands
from manifoldgen.drawing.extent import extent
from manifoldgen.drawing.figure import FINE, PLAIN, Circle, EdgeLine, Figure, Item, Text, outline
from manifoldgen.drawing.flanges import notes
from manifoldgen.drawing.labels import Label, placed
from manifoldgen.drawing.lettering import fitting
from manifoldgen.drawing.paper import Draft, Paper
from manifoldgen.drawing.sheets.flow import Flow, filled
from manifoldgen.drawing.table import TICK, Column
from manifoldgen.geometry.vectors import array
from manifoldgen.shop.cut_plates import CutPlate
from manifoldgen.shop.plan import ShopPlan
from manifoldgen.wording import fixed, size, sizes

_DENSE = 60  # points of an edge
_HIGH = 52.0  # mm, a small picture


def flange_sheet(shop: ShopPlan, paper: Paper) -> tuple[Draft, ...]:
    """The sheets of the flanges."""
    return filled("Flanges and nuts", paper, partial(_fill, shop))


def _fill(shop: ShopPlan, flow: Flow) -> None:
    m, hands = shop.manifold, shop.hands
    flow.words(
        "The flanges at full size are in templates.pdf: lay them on the real parts before anything is cut."
    )
    for plate in shop.plates:
        picture = small(plate, flow.room.width)
        high = -extent(picture).low
        if flow.left < high + 24.0:
            flow.new_sheet()
        flow.heading(f"{plate.name}: {plate.file}", keep=0.0)
        flow.put(picture, high)
        for words in notes(plate):
            flow.words(words, 2.0, gap=0.8)
        flow.y -= 3.0
    for flange in m.flanges:
        if flange.vband:
            v = flange.vband
            flow.heading(f"{flange.name}: V-band, bought")
            flow.words(
                f"Flange {size(v.od)} mm, clamp {sizes(v.clamp_od, v.clamp_width)} mm; clamp first, tack with it closed."
            )
    if hands is not None and hands.studs:
        flow.heading("Nuts and bolts, each tried before the last weld")
        flow.table(
            [
                Column("id", width=12.0), "thread", "tool", Column("tilt", "right", unit="°"), Column("swing", "right", unit="°"),
                Column("room", "right", unit="mm"), "comes off", Column("tried", "middle", 14.0),
            ],
            _studs(hands),
        )  # fmt: skip


def _studs(hands: Hands) -> list[list[str]]:
    made = []
    for s in hands.studs:
        tool = s.tool or "none"
        if not s.reachable:
            tool = f"OUT OF REACH: {s.blocked_by or 'blocked'}"
        numbers = (
            [f"{s.tilt_deg:.0f}", f"{s.swing_deg:.0f}", fixed(s.clearance_mm)] if s.reachable else ["–"] * 3
        )
        made.append([s.id, s.thread, tool, *numbers, "yes" if s.comes_off else "NO", TICK])
    return made


def small(plate: CutPlate, width: float) -> Figure:
    """A plate fitted into a strip of the sheet, its holes named; hangs from (0, 0)."""
    x0, y0, x1, y1 = plate.outline.bounds
    scale = min((width - 30.0) / (x1 - x0), (_HIGH - 12.0) / (y1 - y0), 1.0)
    high = (y1 - y0) * scale + 12.0
    dx, dy = width / 2 - scale * (x0 + x1) / 2, -high / 2 - scale * (y0 + y1) / 2

    def at(p: tuple[float, float]) -> tuple[float, float]:
        return (p[0] * scale + dx, p[1] * scale + dy)

    def fit(item: EdgeLine) -> EdgeLine:
        return EdgeLine(tuple((*at((x, y)), b) for x, y, b in item.vertices), item.closed, item.pen)

    items: list[Item] = [fit(outline(plate.outline, PLAIN))]
    items += [fit(outline(p.opening, FINE)) for p in plate.passages]
    items += [Circle(at(h.at), h.diameter / 2 * scale, FINE) for h in plate.holes]
    labels = [Label(h.id, at(h.at), "words", h.diameter / 2 * scale) for h in plate.holes if h.id]
    for p in plate.passages:
        x_low, _, x_high, _ = p.opening.bounds
        letters, (said, *rest) = fitting(
            f"{'port' if plate.clocked else 'cyl.'} {p.id}", 2.2, (x_high - x_low) * scale - 2.5, bold=True
        )
        x, y = at(p.at)
        if p.id:  # where the opening is too small for its name, its number has to do
            items.append(Text((x, y - letters / 2), p.id if rest else said, letters, "middle", bold=True))
    covered = array([at(p) for p in _ring(plate)])
    room = extent(Figure(items=(EdgeLine(((0.0, -high, 0.0), (width, 0.0, 0.0)), closed=False),)))
    return Figure(tuple(items)) + placed(labels, covered, 0.6, room)


def _ring(plate: CutPlate) -> list[tuple[float, float]]:
    return [
        edge.point(k / _DENSE)
        for contour in (plate.outline, *(p.opening for p in plate.passages))
        for edge in contour.edges()
        for k in range(_DENSE)
    ]
