"""What is taken from stock, and the cutting plan: every elbow and bar as a strip with its pieces in cut order."""

from __future__ import annotations

from manifoldgen.drawing.figure import FINE, PLAIN, Figure, Item, Text, box
from manifoldgen.drawing.lettering import fitted, text_width
from manifoldgen.drawing.paper import Draft, Paper
from manifoldgen.drawing.sheets.flow import Flow
from manifoldgen.drawing.table import TICK, Column
from manifoldgen.manifold.model import CuttingPlan, Manifold, StockItem, Taken
from manifoldgen.shop.sawn import Sawn, sawn

_HIGH = 6.5  # mm, a strip
_ROW = 17.0  # mm, a strip with its words
_SIZE = 2.0


def stock_sheet(m: Manifold, paper: Paper) -> tuple[Draft, ...]:
    """The sheets of stock and cuts."""
    flow = Flow("Stock and cutting plan", paper)
    plan = m.cutting
    flow.words(_summary(plan))
    if plan.missing:
        told = ", ".join(plan.missing)
        flow.words(
            f"Not to be had from the stock in the job: {told}. Add stock, or buy for these pieces.", bold=True
        )
    flow.table(
        ["take", Column("pieces of stock", "right"), "tube", "size", Column("have it", "middle", 16.0)],
        _items(plan),
    )
    flow.heading("Cut in this order, from the left; the grey strips are saw and truing")
    cuts = sawn(m)
    for taken in plan.taken:
        flow.put(strip(taken, cuts, flow.room.width), _ROW, gap=0.0)
    over = _over(plan, cuts)
    for words in over:
        flow.words(words, bold=True)
    return flow.drafts()


def _summary(plan: CuttingPlan) -> str:
    cost = (
        ""
        if plan.cost is None or plan.cost == 0
        else f" Stock taken costs {plan.cost:.2f} by the job's prices."
    )
    proven = "" if plan.proven else " The search for the best plan was cut short: a better one may exist."
    return (
        "Measure OD, wall, CLR and legs of what comes; other sizes go into the job's stock, then print anew."
        + cost
        + proven
    )


def _items(plan: CuttingPlan) -> list[list[str]]:
    count: dict[str, list[Taken]] = {}
    for taken in plan.taken:
        count.setdefault(taken.item.name, []).append(taken)
    return [
        [name, str(len(group)), f"{group[0].item.od:g} x {group[0].item.wall:g}", _size(group[0].item), TICK]
        for name, group in count.items()
    ]


def _size(item: StockItem) -> str:
    if item.kind == "straight":
        return f"bar {item.length:g} mm"
    legs = f", legs {item.legs[0]:g} and {item.legs[1]:g}" if any(item.legs) else ""
    return f"{item.angle:g}°, CLR {item.clr:g}{legs}"


def strip(taken: Taken, cuts: dict[str, Sawn], width: float) -> Figure:
    """One elbow or bar as a strip with its pieces; hangs from (0, 0)."""
    arc = taken.item.kind != "straight"
    whole = taken.item.angle if arc else taken.item.length
    unit = "°" if arc else " mm"
    left = f"left {taken.left:.1f}{unit}"
    items: list[Item] = [Text((0.0, -_SIZE - 0.5), f"{taken.item.name} no. {taken.number}", 2.3, bold=True)]
    items.append(Text((width, -_SIZE - 0.5), left, _SIZE, "right"))
    low = -_SIZE - 2.5 - _HIGH
    scale = width / whole
    items.append(box(0.0, low, width, _HIGH, pen=FINE, fill=1.0))
    end = 0.0
    for k, s in enumerate(taken.slices):
        long = s.angle if arc else s.legs[0] + s.legs[1]
        x = s.at * scale
        if k and s.at > end:
            items.append(box(end * scale, low, (s.at - end) * scale, _HIGH, pen=None, fill=0.6))
        items.append(box(x, low, long * scale, _HIGH, pen=PLAIN, fill=0.95))
        items += _named(s.piece, _measure(s.piece, s.angle, cuts), x, low, long * scale, odd=bool(k % 2))
        end = s.at + long
    return Figure(tuple(items))


def _measure(piece: str, angle: float, cuts: dict[str, Sawn]) -> str:
    cut = cuts[piece]
    if not angle:
        return f"{cut.before:.1f}"
    legs = [f"{a:.1f}" for a in (cut.before, cut.after) if a]
    return f"{angle:.1f}°" + (f" + {' + '.join(legs)}" if legs else "")


def _named(piece: str, measure: str, x: float, low: float, wide: float, *, odd: bool) -> list[Item]:
    """Id inside the strip where there is room, the measure below it; else both below, one row or the other."""
    middle = x + wide / 2
    if text_width(piece, _SIZE, bold=True) < wide - 1.0 and text_width(measure, _SIZE) < wide - 0.5:
        return [
            Text((middle, low + _HIGH / 2 - _SIZE / 2), piece, _SIZE, "middle", bold=True),
            Text((middle, low - _SIZE - 1.0), measure, _SIZE, "middle"),
        ]
    below = low - _SIZE - (3.6 if odd else 1.0)
    return [Text((x, below), fitted(f"{piece} {measure}", _SIZE, 60.0), _SIZE)]


def _over(plan: CuttingPlan, cuts: dict[str, Sawn]) -> list[str]:
    """Bars that the mill's longer blanks make too short."""
    told = []
    for taken in plan.taken:
        if taken.item.kind != "straight":
            continue
        more = sum(max(0.0, cuts[s.piece].before - s.legs[0]) for s in taken.slices if not s.angle)
        if more > taken.left + 1e-6:
            told.append(
                f"{taken.item.name} no. {taken.number}: the blanks for the mill need {more - taken.left:.1f} mm more than it "
                "has; take the last blank from another bar."
            )
    return told
