"""What is taken from stock, and the cutting plan: every elbow and bar as a strip with its pieces in cut order."""

from __future__ import annotations

import math
from collections.abc import Mapping
from functools import partial

from manifoldgen.drawing.figure import BOLD, FINE, PLAIN, Figure, Item, Text, box, line
from manifoldgen.drawing.lettering import text_width
from manifoldgen.drawing.paper import Draft, Paper
from manifoldgen.drawing.sheets.flow import Flow, filled
from manifoldgen.drawing.table import TICK, Column
from manifoldgen.manifold.model import CuttingPlan, Slice, StockItem, Taken
from manifoldgen.shop.cautions import caution
from manifoldgen.shop.plan import ShopPlan
from manifoldgen.shop.sawn import Sawn
from manifoldgen.wording import fixed, size, sizes

_HIGH = 6.5  # mm, a strip
_TICK = 1.2
_STEP = 3.0  # mm from one row of words below a strip to the next
_SIZE = 2.0


def stock_sheet(shop: ShopPlan, paper: Paper) -> tuple[Draft, ...]:
    """The sheets of stock and cuts."""
    return filled("Stock and cutting plan", paper, partial(_fill, shop))


def _fill(shop: ShopPlan, flow: Flow) -> None:
    plan = shop.stock
    flow.words(_summary(plan))
    if plan.missing:
        told = ", ".join(plan.missing)
        flow.words(
            f"Not to be had from the stock in the job: {told}. Add stock, or buy for these pieces.", bold=True
        )
    flow.table(
        ["item", Column("qty", "right"), "tube", "size", Column("have it", "middle", 16.0)],
        _items(plan),
    )
    flow.words(caution(shop.manifold.tables, "saw", "grind"), 1.9, bold=True)
    flow.heading("Cut in this order, from the left; grey is saw and truing, white is left over")
    if any(any(taken.item.legs) for taken in plan.taken):
        flow.words("Two short strokes mark where a bend begins and ends; beyond them are its straight legs.")
    flow.y -= 1.5
    for taken in plan.taken:
        flow.put(strip(taken, shop.sawn, flow.room.width), gap=1.5)


def _summary(plan: CuttingPlan) -> str:
    cost = (
        ""
        if plan.cost is None or plan.cost == 0
        else f" Stock taken costs {plan.cost:.2f} by the job's prices."
    )
    proven = "" if plan.proven else " The search for the best plan was cut short: a better one may exist."
    return (
        "Measure OD, wall, CLR and legs of what comes; other sizes go into the job's stock, then print again."
        + cost
        + proven
    )


def _items(plan: CuttingPlan) -> list[list[str]]:
    count: dict[str, list[Taken]] = {}
    for taken in plan.taken:
        count.setdefault(taken.item.name, []).append(taken)
    return [
        [
            name,
            str(len(group)),
            f"{sizes(group[0].item.od, group[0].item.wall)} mm",
            _size(group[0].item),
            TICK,
        ]
        for name, group in count.items()
    ]


def _size(item: StockItem) -> str:
    if item.kind == "straight":
        return f"bar {item.length:g} mm"
    legs = f", legs {size(item.legs[0])} and {size(item.legs[1])} mm" if any(item.legs) else ""
    return f"{item.angle:g}°, CLR {size(item.clr)} mm{legs}"


def strip(taken: Taken, cuts: Mapping[str, Sawn], width: float) -> Figure:
    """One elbow or bar as a strip along its centreline; hangs from (0, 0).  Much of a long rest is left out.

    An elbow's legs are straight parts at its ends: short strokes stand where the bend begins and ends.
    """
    item, arc = taken.item, taken.item.kind != "straight"
    per_degree = math.radians(item.clr)
    whole = sum(item.legs) + item.angle * per_degree if arc else item.length
    low = -_SIZE - 2.5 - _HIGH
    shown = whole if arc else min(whole, 1.25 * (whole - taken.left))
    scale = width / shown
    left = f"left {fixed(taken.left)}" + ("°" if arc else " mm")
    items: list[Item] = [
        Text((0.0, -_SIZE - 0.5), f"{item.name} no. {taken.number}", 2.3, bold=True),
        Text((width, -_SIZE - 0.5), left, _SIZE, "right"),
        box(0.0, low, width, _HIGH, pen=FINE, fill=1.0),
    ]
    if shown < whole:
        items += [
            line((width - d, low - 1.0), (width - d + 2.0, low + _HIGH + 1.0), PLAIN) for d in (6.0, 8.0)
        ]
    kerf = taken.kerf_deg * per_degree if arc else taken.kerf
    end = 0.0
    rows: list[float] = []
    for k, s in enumerate(taken.slices):
        first, long = _lies(item, s, per_degree)
        if k and first > end:  # what lies between saw cut and piece beyond that is left over
            items.append(box(end * scale, low, min(kerf, first - end) * scale, _HIGH, pen=None, fill=0.6))
        items.append(box(first * scale, low, long * scale, _HIGH, pen=PLAIN, fill=0.95))
        span = (first * scale, long * scale)
        items += _named(s.piece, _measure(s.piece, s.angle, cuts), span, low, (rows, width))
        end = first + long
    if arc and any(item.legs):
        for x in (item.legs[0], whole - item.legs[1]):
            for y in (low, low + _HIGH - _TICK):
                items.append(line((x * scale, y), (x * scale, y + _TICK), BOLD))
    return Figure(tuple(items))


def _lies(item: StockItem, s: Slice, per_degree: float) -> tuple[float, float]:
    """Where a piece begins along its item's centreline and how long it is, mm."""
    if item.kind == "straight":
        return s.at, s.legs[0]
    before, after = s.legs[::-1] if s.turned else s.legs
    if item.whole:
        before, after = item.legs
    return item.legs[0] + s.at * per_degree - before, before + s.angle * per_degree + after


def _measure(piece: str, angle: float, cuts: Mapping[str, Sawn]) -> str:
    cut = cuts[piece]
    if not angle:
        return f"{fixed(cut.before)} mm"
    legs = [fixed(a) for a in (cut.before, cut.after) if a]
    return f"{fixed(angle)}°" + (f" + {' + '.join(legs)} mm" if legs else "")


def _named(
    piece: str, measure: str, span: tuple[float, float], low: float, below: tuple[list[float], float]
) -> list[Item]:
    """Id inside the strip and measure below it where there is room; else both below, in the first free row.

    span : where the piece begins and how wide it is.  below : how far each row is taken, and the strip's width.
    """
    (x, wide), (rows, width) = span, below
    inside = text_width(piece, _SIZE, bold=True) < wide - 1.0
    items: list[Item] = []
    if inside:
        items.append(Text((x + wide / 2, low + _HIGH / 2 - _SIZE / 2), piece, _SIZE, "middle", bold=True))
    said = measure if inside else f"{piece} {measure}"
    long = text_width(said, _SIZE)
    left = min(max(x + (wide - long) / 2 if inside else x, 0.0), width - long)
    row = next((k for k, taken in enumerate(rows) if taken <= left), len(rows))
    rows[row:] = [left + long + 2.0, *rows[row + 1 :]]
    items.append(Text((left, low - _SIZE - 1.0 - row * _STEP), said, _SIZE))
    return items
