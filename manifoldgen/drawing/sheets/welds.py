"""The weld map in the order of welding, every purge, preparation and what it all takes."""

from __future__ import annotations

from functools import partial

from manifoldgen.drawing.paper import Draft, Paper
from manifoldgen.drawing.sheets.flow import Flow, filled
from manifoldgen.drawing.sheets.runner import clock, how
from manifoldgen.drawing.table import TICK, Column, Row
from manifoldgen.manifold.model import Manifold
from manifoldgen.shop.cautions import caution
from manifoldgen.shop.plan import ShopPlan
from manifoldgen.shop.prep import Prep
from manifoldgen.shop.purging import Purging, argon_in, capped, openings
from manifoldgen.shop.weldplan import WeldPlan
from manifoldgen.wording import fixed, size

_TIERS = (
    "easy: by the book; awkward: torch leans more; stretch: long stick-out and steep torch, try it dry first. early: before the "
    "parts of the next stage go on."
)


def weld_sheet(shop: ShopPlan, paper: Paper) -> tuple[Draft, ...]:
    """The sheets of welds and purge."""
    return filled("Welds and purge", paper, partial(_fill, shop))


def _fill(shop: ShopPlan, flow: Flow) -> None:
    m, plan = shop.manifold, shop.welding
    flow.words(
        f"{len(plan.welds)} welds in the order of no.; ids never change, the order may. Welds round a tube are square butts or "
        f"fillets all round unless said. Tack opposite places first, angles from the back line. {_TIERS}"
    )
    flow.words(caution(m.tables, "weld", "purge"), 1.9, bold=True)
    _purges(m, plan, flow)
    flow.heading("Weld map")
    columns: list[Column | str] = [
        Column("no.", "right", 10.0), Column("joint", width=14.0), "joins", "kind", Column("stage", "right", 12.0),
        Column("seam", "right", unit="mm"), "torch", "tacks", "rod", Column("g", "right"), Column("min", "right"),
        Column("done", "middle", 12.0),
    ]  # fmt: skip
    rows: list[Row] = [
        [
            str(w.rank), w.id, " – ".join(w.joins), w.words, str(w.stage or "–"), f"{w.length:.0f}", how(w), w.tacks.short,
            f"{w.metal} {size(w.prep.rod)} mm", f"{w.takes.grams:.1f}", f"{w.minutes:.0f}", TICK,
        ]
        for w in plan.ordered
    ]  # fmt: skip
    flow.table(columns, rows, 1.9)
    _preparation(plan, flow)
    _amounts(plan, flow)


def _purges(m: Manifold, plan: WeldPlan, flow: Flow) -> None:
    if not plan.purges:
        why = (
            "the reach of the torch was not measured"
            if plan.welds and any(w.purged for w in plan.welds)
            else "mild steel"
        )
        flow.words(f"No purge is planned: {why}.")
        return
    p = plan.purges[0]
    flow.heading(
        f"Purge: {p.flow:g} l/min before, {p.hold:g} l/min while welding, to {p.target:g} ppm of oxygen"
    )
    columns: list[Column | str] = [
        Column("stage", "right", 12.0), "joints", "cap", "argon in (low)", "vent (high)", Column("litres", "right"),
        Column("by volumes", "right"), Column("by mixing", "right"), Column("done", "middle", 12.0),
    ]  # fmt: skip
    flow.table(columns, [_purge(q) for q in plan.purges], 2.0)
    changes = m.tables.row("shop", "purge", "volumes")["value"]
    flow.words(
        f"By volumes: {changes:g} changes. By mixing: ln((209000 - cs) / (c - cs)) changes, c = {p.target:g} ppm wanted, cs in the "
        f"argon. Take the longer; a meter at the vent decides. {_sentence(m, 'rules')} "
        f"Tacked joints of the same volume leak: tape them, open only the one being welded. "
        f"{_sentence(m, 'caution')}",
        2.0,
    )


def _sentence(m: Manifold, row: str) -> str:
    text = str(m.tables.row("shop", "purge", row)["text"])
    return f"{text[0].upper()}{text[1:]}."


def _purge(p: Purging) -> list[str]:
    return [
        str(p.stage), ", ".join(p.joints), capped(p) if p.cap else "–", argon_in(p),
        openings((p.vent,)) if p.vent else "none: drill a vent", f"{p.litres:.2f}", clock(p.by_volumes), clock(p.by_mixing), TICK,
    ]  # fmt: skip


def _preparation(plan: WeldPlan, flow: Flow) -> None:
    flow.heading("Preparation by wall")
    walls: dict[float, Prep] = {w.prep.wall: w.prep for w in plan.welds}
    flow.table(
        [
            Column("wall", unit="mm"), "ends, sizes in mm", Column("gap at most", "right", unit="mm"), Column("step at most", "right", unit="mm"),
            Column("clean", "right", unit="mm"), Column("rod", "right", unit="mm"),
        ],
        [
            [size(p.wall), p.words + (" (nearest row)" if p.outside else ""), fixed(p.gap), fixed(p.hi_lo), size(p.clean), size(p.rod)]
            for _, p in sorted(walls.items())
        ],
        2.0,
    )  # fmt: skip


def _amounts(plan: WeldPlan, flow: Flow) -> None:
    flow.heading("What it takes (to buy by)")
    rods = "; ".join(
        f"{fixed(metres)} m of {metal} {size(d)} mm" for (metal, d), metres in plan.rods().items()
    )
    flow.words(
        f"Filler {plan.grams:.0f} g in the seams: {rods}. Argon {plan.torch_l:.0f} l through the torch and {plan.purge_l:.0f} l for "
        f"purging: {(plan.torch_l + plan.purge_l) / 1000:.2f} m³ in all; stock double."
    )
    flow.words(
        "Butt: A = 0.7 w h + gap x wall; fillet: A = leg^2 / 2; grams = A x length x density; rod = A x length / rod section / share "
        "used; arc = length / travel; torch gas = flow x (arc + starts x post flow).",
        2.0,
    )
    if plan.assumed:
        flow.words(
            f"Assumed, common practice: {', '.join(a.replace('_', ' ') for a in plan.assumed)}. Your own go into the shop file under rates.",
            2.0,
        )
