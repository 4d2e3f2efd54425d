"""The first sheet: what is built, what is wrong with it, what was assumed, which sheets follow."""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import partial

from manifoldgen.designs import Design
from manifoldgen.drawing.figure import PLAIN, Figure, box
from manifoldgen.drawing.paper import Draft, paper
from manifoldgen.drawing.sheets.flow import SIZE, Flow, boxed, filled, paragraph, stacked
from manifoldgen.drawing.sheets.picture import whole
from manifoldgen.drawing.table import Column, height_of
from manifoldgen.manifold.cut import COLLECTOR_WORDS
from manifoldgen.manifold.model import Manifold
from manifoldgen.shop.plan import ShopPlan
from manifoldgen.shop.work_step import clock
from manifoldgen.wording import fixed, size, sizes

_SIZES = (SIZE, 2.1, 1.9)  # mm, capitals: the largest that keep it to one page
_HIGH = 105.0  # mm, the picture with the largest of them


def overview_sheet(design: Design, titles: Sequence[str]) -> tuple[Draft, ...]:
    """The sheet of the whole job."""
    m = design.manifold
    return filled("Overview", paper(m.workshop.paper), partial(_fill, design, titles), _SIZES)


def _fill(design: Design, titles: Sequence[str], flow: Flow) -> None:
    m = design.manifold
    if m.description:
        flow.words(m.description, 2.6)
    width = flow.room.width
    errors = [f for f in design.findings if f.severity == "error"]
    unknown = [r.name for r in m.runs if r.path is None]
    if errors or unknown:
        open_paths = (
            [f"{', '.join(unknown)} has no path yet: nothing of it is on these sheets."] if unknown else []
        )
        _stop(flow, [*open_paths, *(f"{f.message} {f.do}" for f in errors)])
    facts = _facts(design.shop)
    high, small = _HIGH * flow.size / SIZE, min(flow.size, 2.1)
    flow.put(Figure((box(0.0, -high, width, high, pen=PLAIN),)) + whole(m, width, high), high)
    flow.table([Column("the job", width=38.0), ""], facts)
    warnings = [f.message for f in design.findings if f.severity == "warning"]
    for words in warnings:
        flow.words(f"Note: {words}", small, gap=0.6)
    flow.y -= 2.0
    flow.heading("What was assumed")
    for words in _assumed(design):
        flow.words(words, small, gap=0.6)
    flow.y -= 2.0
    flow.heading("Sheets")
    flow.words(" · ".join(titles), small)


def _stop(flow: Flow, told: Sequence[str]) -> None:
    """The errors in a box that is read first; a box on every sheet that they take."""
    title, width = "DO NOT CUT: these errors stand", flow.room.width
    held: list[Figure] = []
    for words in told:
        more = [*held, paragraph(words, width - 4.0, SIZE)]
        if held and height_of(boxed(title, stacked(more), width)) > flow.left:
            flow.put(boxed(title, stacked(held), width))
            flow.new_sheet()
            more, title = more[-1:], "DO NOT CUT: these errors stand too"
        held = more
    flow.put(boxed(title, stacked(held), width))


def _facts(shop: ShopPlan) -> list[list[str]]:
    m, plan, steps = shop.manifold, shop.welding, shop.steps
    lengths = [r.path.length for r in m.runners if r.path]
    rows = [["bench frame", ("The head flange lies on the bench, engine side down: z = 0 is its engine side, x along it from the "
             "centre of port 1, y across it, z up. Every x, y, z on these sheets is measured from there.")]]  # fmt: skip
    rows.append(["firing order", " ".join(str(k) for k in m.engine.firing_order)])
    for c in m.collectors:
        turn = "anticlockwise" if c.mirror else "clockwise"
        rows.append(
            [m.part_name(c),
             (f"{COLLECTOR_WORDS[c.kind]}, {len(c.order)} inlets in the order {' '.join(str(k) for k in c.order)}, {turn} looking downstream, half angle "
             f"{c.half_angle:g}°, {fixed(c.length)} mm long")]
        )  # fmt: skip
    if lengths:
        spread = 100 * (max(lengths) - min(lengths)) / (math.fsum(lengths) / len(lengths))
        told = ", ".join(f"{r.number}: {fixed(r.path.length)}" for r in m.runners if r.path)
        rows.append(["runner lengths", f"{told} mm; spread {spread:.2f} %"])
    tubes = {(r.kind, r.section) for r in m.runs}
    rows.append(
        ["tubes", "; ".join(sorted(f"{kind} {sizes(s.od, s.wall)} mm {s.material}" for kind, s in tubes))]
    )
    taken = len(m.cutting.taken)
    rows.append(
        [
            "pieces",
            f"{len(m.pieces)} pieces from {taken} pieces of stock, {len(plan.welds)} welds, {len(plan.purges)} purges",
        ]
    )
    rows.append(["work", f"{len(steps)} steps, about {clock(sum(s.minutes for s in steps))}"])
    stages = max((w.stage for w in plan.welds), default=0)
    welded = f"take apart, weld in {stages} stages" if stages > 1 else "weld"
    last = "the last one back on the plate" if stages > 1 else "back on the plate"
    rows.append(["order", f"tack on the plate, trial fit on the engine, mark every joint, {welded}, {last}"])
    return rows


def _assumed(design: Design) -> list[str]:
    m, plan = design.manifold, design.shop.welding
    told = [f.message for f in design.findings if f.name == "size-assumed"]
    if m.cutting.taken:
        shrink = sorted({p.section.wall for p in m.pieces})
        told.append(
            f"Kerf, truing, shrink and trim by the shop's rows (walls {', '.join(map(size, shrink))} mm)."
        )
    if plan.assumed:
        told.append("Purge, travel and bead figures are common practice: see the weld sheet.")
    told += _surveyed(m)
    return told or ["Nothing beyond the parameter file and the shop file."]


def _surveyed(m: Manifold) -> list[str]:
    """How well what stands on the car is known, where tape and gauge put it."""
    if m.survey is None:
        return []
    pose = m.survey.turbo
    used = {name for o in m.obstacles for name in o.surveyed}
    told = [f"turbo ±{pose.expected_error_mm:.1f} mm and ±{pose.expected_error_deg:.1f}°"] if pose else []
    told += [f"{n} ±{p.expected_error_mm:.1f} mm" for n, p in m.survey.points.items() if n in used]
    return [f"Places by the survey (95 %): {', '.join(told)}."] if told else []
