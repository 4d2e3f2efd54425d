"""The steps before the first tack: shop sheets, stock, flanges, pieces of tube, transition plate and cone."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from manifoldgen.manifold.model import Flange, Manifold, Piece
from manifoldgen.shop.cuts import CutRow
from manifoldgen.shop.marks import RollMark
from manifoldgen.shop.prep import prep
from manifoldgen.shop.rates import rate
from manifoldgen.shop.sawn import Sawn
from manifoldgen.shop.work_step import Step
from manifoldgen.wording import size

if TYPE_CHECKING:
    from manifoldgen.shop.plan import ShopPlan

PAPERS = ("print-papers", "check-head-flange")
STOCK = "measure-stock"


def first_steps(m: Manifold) -> Iterator[Step]:
    """Papers printed and laid on the real thing, stock ordered and measured."""
    yield Step(
        "print-papers",
        "desk",
        "print the papers at 100 % and measure the 100 mm bar",
        rate(m, "print_papers"),
    )
    for flange in m.flanges:
        lying = "the real head" if flange is m.head else "its mate"
        what = f"lay the 1:1 paper of the {flange.name} on {lying}: every hole and opening must meet"
        if flange.vband:
            what = f"try the {flange.name} (V-band) on its mate"
        yield Step(
            f"check-{_id(flange)}", "engine", what, rate(m, "check_paper"), ("print-papers",), flange.name
        )
    yield Step(
        "order-stock", "store", f"order or fetch the stock: {_stock_words(m)}", rate(m, "order_stock"), PAPERS
    )
    what = "measure OD, wall, CLR and legs of what has come; other sizes go into the job's stock, then print anew"
    yield Step(STOCK, "store", what, rate(m, "measure_stock"), ("order-stock",))


def flange_steps(m: Manifold) -> Iterator[Step]:
    """Every flange cut, drilled and deburred; one operation after the other."""
    flanges = [f for f in m.flanges if not f.vband]
    for f in flanges:
        what = f"have the {f.name} cut from its DXF, {f.thickness:g} mm {f.material}"
        yield Step(f"cut-{_id(f)}", "cutter", what, rate(m, "send_flange"), (f"check-{_id(f)}",), f.name)
    for f in flanges:
        if f.holes:
            sizes = ", ".join(f"{d:g}" for d in sorted({h.diameter for h in f.holes}))
            what = f"drill or ream {len(f.holes)} holes of the {f.name}: {sizes} mm"
            minutes = len(f.holes) * rate(m, "drill_hole")
            yield Step(f"drill-{_id(f)}", "drill", what, minutes, (f"cut-{_id(f)}",), f.name)
    for f in flanges:
        before = f"drill-{_id(f)}" if f.holes else f"cut-{_id(f)}"
        what = f"deburr the {f.name}, flatten its face"
        yield Step(f"ready-{_id(f)}", "belt", what, rate(m, "deburr_flange"), (before,), f.name)
    for f in m.flanges:
        if f.vband:
            what = f"have the {f.name} (V-band) with its clamp"
            yield Step(f"ready-{_id(f)}", "store", what, rate(m, "send_flange"), (f"check-{_id(f)}",), f.name)


def piece_steps(shop: ShopPlan) -> Iterator[Step]:
    """Every piece of tube laid out, sawn, trued, deburred, mitred and marked; one operation after the other."""
    m, cuts = shop.manifold, shop.sawn
    rows = sorted(shop.cuts, key=lambda r: (r.stock is None, r.stock or "", r.number))
    pieces = {p.id: p for p in m.pieces}
    yield from (_lay(m, r) for r in rows if r.angle)
    yield from (_saw(m, r, cuts[r.piece]) for r in rows)
    yield from (_end_step(m, r, "square and true", "true_end", f"cut-{r.piece}") for r in rows)
    bevelled = {r.piece for r in rows if prep(m.tables, r.wall).bevel}
    for r in rows:
        if r.piece in bevelled:
            yield _end_step(m, r, "bevel", "bevel_end", f"true-{r.piece}")
    for r in rows:
        before = f"bevel-{r.piece}" if r.piece in bevelled else f"true-{r.piece}"
        clean = prep(m.tables, r.wall).clean
        yield _end_step(m, r, f"deburr, clean {clean:g} mm inside and outside,", "deburr_end", before)
    rolls = {mark.piece: mark for mark in shop.marks}
    yield from (_mark(m, r, rolls.get(r.piece)) for r in rows)
    yield from (_mill(m, r, cuts[r.piece]) for r in rows if r.inlet and _merged(m, r.inlet))
    yield from (_flat(m, r, cuts[r.piece]) for r in rows if r.inlet and not _merged(m, r.inlet))
    yield from _branch_steps(m, pieces)


def collector_steps(m: Manifold) -> Iterator[Step]:
    """Lid (or plate) and cone."""
    for p in m.pieces:
        if p.path is not None or p.part != "collector":
            continue
        if p.id.endswith("-P1"):
            kind = "lid" if any(c.kind == "merge" for c in m.collectors) else "plate"
            yield Step(
                f"cut-{p.id}", "cutter", f"cut the {kind} {p.id} from its drawing, deburr", rate(m, "cut_sheet"),
                (STOCK,), p.id,
            )  # fmt: skip
            continue
        yield Step(
            f"cut-{p.id}",
            "cutter",
            f"cut the cone {p.id} from its flat pattern",
            rate(m, "cut_sheet"),
            (STOCK,),
            p.id,
        )
        yield Step(
            f"roll-{p.id}", "bench", f"roll the cone {p.id}", rate(m, "roll_cone"), (f"cut-{p.id}",), p.id
        )
        yield Step(
            f"seam-{p.id}", "torch", f"tack and weld the long seam of the cone {p.id}, round it again",
            rate(m, "weld_setup") + rate(m, "dress_joint"), (f"roll-{p.id}",), p.id,
        )  # fmt: skip


def finished(m: Manifold) -> dict[str, tuple[str, ...]]:
    """By piece and flange: the steps after which it can be fitted."""
    made: dict[str, tuple[str, ...]] = {f.name: (f"ready-{_id(f)}",) for f in m.flanges}
    holes = {j.between[0]: f"hole-{j.id}" for j in m.joints if j.kind == "saddle"}
    for p in m.pieces:
        last = f"mark-{p.id}"
        if p.path is None:
            last = f"cut-{p.id}" if p.id.endswith("-P1") else f"seam-{p.id}"
        elif p.inlet:
            last = f"{'mill' if _merged(m, p.inlet) else 'flat'}-{p.id}"
        elif any(j.kind == "saddle" and j.between[1] == p.id for j in m.joints):
            last = f"saddle-{p.id}"
        made[p.id] = (last, holes[p.id]) if p.id in holes else (last,)
    return made


def _lay(m: Manifold, r: CutRow) -> Step:
    what = (
        f"lay out {r.piece} on {_from(r)}: {r.angle:.1f}°, back {r.back:.1f}, side {r.centre:.1f}, "
        f"throat {r.throat:.1f} mm"
    )
    return Step(f"lay-{r.piece}", "bench", what, rate(m, "lay_out"), (STOCK,), r.piece)


def _saw(m: Manifold, r: CutRow, cut: Sawn) -> Step:
    if r.angle:
        legs = f" with straights {cut.before:.1f} and {cut.after:.1f} mm" if cut.before or cut.after else ""
        what = f"saw {r.piece} from {_from(r)}: {r.angle:.1f}°{legs}"
        return Step(
            f"cut-{r.piece}", "saw", what, rate(m, "saw_bend"), (f"lay-{r.piece}",), r.piece, _size(r)
        )
    blank = " (a blank: its inlet end comes later)" if cut.more else ""
    what = f"saw {r.piece} from {_from(r)}: {cut.before:.1f} mm{blank}"
    return Step(f"cut-{r.piece}", "saw", what, rate(m, "saw_straight"), (STOCK,), r.piece, _size(r))


def _end_step(m: Manifold, r: CutRow, words: str, name: str, before: str) -> Step:
    """One operation on the ends of a piece that are not mitred; `name` is its rate."""
    foot = any(j.kind == "saddle" and j.between[1] == r.piece for j in m.joints)
    ends = 1 if r.inlet or foot else 2
    what = f"{words} {'the square end' if ends == 1 else 'both ends'} of {r.piece}"
    code = name.removesuffix("_end")
    return Step(f"{code}-{r.piece}", "belt", what, ends * rate(m, name), (before,), r.piece)


def _mark(m: Manifold, r: CutRow, roll: RollMark | None) -> Step:
    what = f"mark {r.piece}: id, flow, back line"
    if roll:
        what += f"; {roll.said}"
    size = f"{roll.roll:.1f}° roll" if roll else ""
    return Step(
        f"mark-{r.piece}", "bench", what, rate(m, "mark_piece"), (f"deburr-{r.piece}",), r.piece, size
    )


def _mill(m: Manifold, r: CutRow, cut: Sawn) -> Step:
    line = f"scribe {r.joints[0]} {cut.line:.1f} mm from its end and measure from there; " if cut.line else ""
    what = f"mill the inlet end of {r.piece}: {line}two cuts by tilt and roll from the back line, then the flat cut"
    if cut.hold:
        what += f"; saw off {cut.hold:.0f} mm of hold"
    minutes = rate(m, "mill_setup") + 3 * rate(m, "mill_cut")
    return Step(f"mill-{r.piece}", "mill", what + "; deburr", minutes, (f"mark-{r.piece}",), r.piece)


def _flat(m: Manifold, r: CutRow, cut: Sawn) -> Step:
    """A bundle's inlet: one slanted cut at the saw."""
    angle = next(c.half_angle for c in m.collectors if r.inlet in c.order)
    line = f"scribe {r.joints[0]} {cut.line:.1f} mm from its end and measure from there; " if cut.line else ""
    what = f"inlet end of {r.piece}: {line}saw it {angle:.1f}° from square, shortest on the back line"
    if cut.hold:
        what += f"; saw off {cut.hold:.0f} mm of hold"
    return Step(
        f"flat-{r.piece}", "saw", what + "; deburr", rate(m, "saw_bend"), (f"mark-{r.piece}",), r.piece
    )


def _branch_steps(m: Manifold, pieces: dict[str, Piece]) -> Iterator[Step]:
    for joint in m.joints:
        if joint.kind != "saddle":
            continue
        parent, foot = joint.between
        if foot in pieces:
            what = f"cut the saddle end of {foot} by its wrap, try it on {parent}"
            yield Step(f"saddle-{foot}", "bench", what, rate(m, "hole_for_branch"), (f"mark-{foot}",), foot)
        before = (f"mark-{parent}",) if pieces[parent].path is not None else (f"seam-{parent}",)
        also = (f"saddle-{foot}",) if foot in pieces else ()
        what = f"scribe the hole for {joint.id} on {parent} from the branch held in place, cut and deburr it"
        yield Step(f"hole-{joint.id}", "bench", what, rate(m, "hole_for_branch"), (*before, *also), joint.id)


def _from(r: CutRow) -> str:
    return f"{r.stock} no. {r.number}" if r.stock else "no stock in the job"


def _size(r: CutRow) -> str:
    """The numbers a piece is cut to."""
    straights = f" +{r.before:.1f} +{r.after:.1f}" if r.angle and (r.before or r.after) else ""
    return f"{r.angle:.1f}°{straights} CLR {size(r.clr)}" if r.angle else f"{r.cut:.1f} mm"


def _merged(m: Manifold, inlet: int) -> bool:
    return any(c.kind == "merge" and inlet in c.order for c in m.collectors)


def _id(flange: Flange) -> str:
    return flange.name.replace(" ", "-")


def _stock_words(m: Manifold) -> str:
    count: dict[str, int] = {}
    for taken in m.cutting.taken:
        count[taken.item.name] = count.get(taken.item.name, 0) + 1
    return ", ".join(f"{n} × {name}" for name, n in count.items()) or "see the stock sheet"
