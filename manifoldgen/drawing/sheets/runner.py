"""One page a runner (and outlet, and branch): picture, CUT, FIT AND TACK, WELD, CHECK."""

from __future__ import annotations

from collections.abc import Sequence

from manifoldgen import wording
from manifoldgen.designs import Design
from manifoldgen.drawing.figure import FINE, Anchor, Figure, box
from manifoldgen.drawing.paper import Draft, Paper
from manifoldgen.drawing.sheets.check import check_words
from manifoldgen.drawing.sheets.flow import GAP, Flow, boxed, paragraph, stacked
from manifoldgen.drawing.sheets.picture import bare_run, joints_of
from manifoldgen.drawing.table import TICK, Column, Row, height_of, table
from manifoldgen.manifold.model import Manifold, Run
from manifoldgen.shop.cautions import in_brief
from manifoldgen.shop.cuts import CutRow
from manifoldgen.shop.jig import JointRow
from manifoldgen.shop.plan import ShopPlan
from manifoldgen.shop.prep import filler_metal, prep
from manifoldgen.shop.purging import Purging, argon_in, capped, vented
from manifoldgen.shop.weldplan import PlannedWeld, WeldPlan

_SIZES = (
    (2.7, 2.3),
    (2.5, 2.1),
    (2.3, 1.9),
    (2.0, 1.85),
)  # mm, capitals: CUT, the rest; the largest that fits
_SIDE = 68.0  # mm, the CHECK box beside the picture
_LEAST, _GOOD, _MOST = 66.0, 80.0, 100.0  # mm, height of the picture; smaller letters make it good
_CHECK = (2.1, 1.85)  # mm, capitals of the CHECK box
_UPRIGHT = 89.9  # degrees: a tube this steep points nowhere on the bench
_RIGHT: Anchor = "right"
_MIDDLE: Anchor = "middle"


def runner_sheet(design: Design, run: Run, paper: Paper) -> tuple[Draft, ...]:
    """The page of one run; more than one where its tables are long."""
    m, shop = design.manifold, design.shop
    rows = shop.of(run.name)
    flow = Flow(_title(run), paper)
    flow.words(_facts(m, run, rows))
    flow.words(in_brief(m.tables, "saw", "weld"), 1.85, bold=True)
    width = flow.room.width
    tried = [
        (_cut(shop, rows, width, head), _fit(shop, run, width, rest), _weld(shop, run, width, rest))
        for head, rest in _SIZES
    ]
    free = [flow.left - GAP - sum(height_of(b) + GAP for b in blocks) for blocks in tried]
    side = _side(design, run, max(free))
    least = max(height_of(side), _LEAST)
    good = [k for k, high in enumerate(free) if high >= max(least, _GOOD)] or [
        k for k, high in enumerate(free) if high >= least
    ]
    taken = good[0] if good else -1
    high = min(max(free[taken], least), max(_MOST, least))
    picture = bare_run(m, run, width - _SIDE - 2.0, high)
    frame = Figure((box(0.0, -high, width - _SIDE - 2.0, high, pen=FINE),))
    flow.put(frame + picture + side.moved(width - _SIDE, 0.0), high)
    for block in tried[taken]:
        flow.put(block)
    return flow.drafts()


def _side(design: Design, run: Run, room: float) -> Figure:
    """The CHECK box, in the larger letters where `room` mm hold it."""
    told = check_words(design, run)
    for size in _CHECK:
        side = boxed("CHECK", stacked([paragraph(w, _SIDE - 4.0, size) for w in told]), _SIDE)
        if height_of(side) <= room:
            break
    return side


def _title(run: Run) -> str:
    if run.kind == "runner":
        return f"Runner {run.number}: port {run.number} to collector"
    return "Outlet: collector to turbo" if run.kind == "outlet" else "Wastegate branch"


def _facts(m: Manifold, run: Run, rows: Sequence[CutRow]) -> str:
    s = run.section
    clrs = sorted({r.clr for r in rows if r.angle})
    radii = f", CLR {', '.join(map(wording.size, clrs))} mm" if clrs else ""
    length = run.path.length if run.path else 0.0
    ends = "flange face to collector joint plane" if run.kind == "runner" else "along the centreline"
    joints = len(joints_of(m, run))
    ready = prep(m.tables, s.wall)
    metal = filler_metal(m, s.material, s.material)[0]
    return (
        f"Tube {wording.sizes(s.od, s.wall)} mm, {s.material}{radii}. Length {wording.fixed(length)} mm {ends}. "
        f"{wording.counted(len(rows), 'piece')}, {wording.counted(joints, 'weld')}: gap at most {wording.fixed(ready.gap)} mm, "
        f"step {wording.fixed(ready.hi_lo)} mm, rod {metal} {wording.size(ready.rod)} mm. A back line is the outside of a bend."
    )


def _cut(shop: ShopPlan, rows: Sequence[CutRow], width: float, size: float) -> Figure:
    columns: list[Column | str] = [
        Column("CUT", width=18.0), "take from", Column("bend", _RIGHT, unit="°"), Column("back", _RIGHT, unit="mm"),
        Column("side", _RIGHT, unit="mm"), Column("throat", _RIGHT, unit="mm"), Column("straight", _RIGHT, unit="mm"),
        Column("after the bend", _RIGHT, unit="mm"), Column("net", _RIGHT, unit="mm"), Column("done", _MIDDLE, 13.0),
    ]  # fmt: skip
    made: list[Row] = []
    for r in rows:
        source = f"{r.stock} no. {r.number}" if r.stock else "no stock: buy"
        cut = shop.sawn[r.piece]
        arc = [wording.fixed(v) for v in (r.angle, r.back, r.centre, r.throat)] if r.angle else ["–"] * 4
        legs = [wording.fixed(a) if a else "–" for a in (cut.before, cut.after)]
        made.append([r.piece, source, *arc, *legs, wording.fixed(r.net), TICK])
        if cut.line is not None:
            hold = (
                f"; saw off the {cut.hold:.0f} mm grip allowance after the inlet end is cut"
                if cut.hold
                else ""
            )
            made.append(
                f"{r.piece} is a blank: its line {r.joints[0]} lies {wording.fixed(cut.line)} mm from the sawn end{hold}"
            )
    return table(columns, made, width=width, size=size)


def _fit(shop: ShopPlan, run: Run, width: float, size: float) -> Figure:
    columns: list[Column | str] = [
        Column("FIT, TACK", width=22.0), "joins", Column("x", _RIGHT, unit="mm"), Column("y", _RIGHT, unit="mm"), Column("z", _RIGHT, unit="mm"),
        Column("top over bench", _RIGHT, unit="mm"), Column("to bench", _RIGHT, unit="°"), Column("heading (x towards y)", _RIGHT, unit="°"),
        Column("done", _MIDDLE, 13.0),
    ]  # fmt: skip
    rolls = {mark.joint: mark for mark in shop.marks}
    ids = [j.id for j in joints_of(shop.manifold, run)]
    made: list[Row] = []
    for j in shop.joints:
        if j.id not in ids:
            continue
        at = [wording.fixed(v) for v in j.at]
        joins = _joins(shop.manifold, j.between)
        high, tilt = wording.fixed(j.highest), wording.fixed(j.to_face)
        made.append([j.id, joins, *at, high, tilt, _compass(j), TICK])
        if j.id in rolls:
            made.append(f"{rolls[j.id].piece}: {rolls[j.id].said}")
    return table(columns, made, width=width, size=size)


def _compass(j: JointRow) -> str:
    return "–" if abs(j.to_face) > _UPRIGHT else wording.turn(j.compass)


def _joins(m: Manifold, between: tuple[str, str]) -> str:
    """Ids of the two things, the second one short where both belong to one run."""
    pieces = {p.id: p for p in m.pieces}
    before, after = (pieces.get(name) for name in between)
    a, b = ("flange" if name == m.head.name else name for name in between)
    if before is not None and after is not None and before.owner == after.owner:
        b = f"P{after.number}"
    return f"{a}, {b}"


def _weld(shop: ShopPlan, run: Run, width: float, size: float) -> Figure:
    ids = {j.id for j in joints_of(shop.manifold, run)}
    mine = [w for w in shop.welding.ordered if w.id in ids]
    columns: list[Column | str] = [
        Column("WELD", width=15.0), Column("no.", _RIGHT, 10.0), Column("stage", _RIGHT, 12.0), "kind", "torch",
        "tacks", Column("done", _MIDDLE, 13.0),
    ]  # fmt: skip
    made: list[Row] = []
    for purge, welds in _by_purge(shop.welding, mine):
        if purge is not None:
            made.append(purge_line(purge))
        made += [
            [
                w.id,
                str(w.rank),
                str(w.stage or ""),
                w.words,
                how(w),
                w.tacks.words,
                TICK,
            ]
            for w in welds
        ]
    return table(columns, made, width=width, size=size)


def how(w: PlannedWeld) -> str:
    """How the torch gets there; early: before the parts of the next stage go on."""
    if w.stuck:
        return "not all reached" + (f": {w.way_out}" if w.way_out else "")
    return (w.tier or "not measured") + (", early" if w.apart else "")


def purge_line(p: Purging) -> str:
    """One purged volume in a line."""
    caps = f"cap {capped(p)}; " if p.cap else ""
    return f"stage {p.stage}: {caps}argon in at {argon_in(p)}; {vented(p)}; {p.litres:.2f} l, at least {clock(p.minutes)}, until a meter reads {p.target:g} ppm"


def clock(minutes: float) -> str:
    """Seconds below two minutes, minutes above."""
    return f"{60 * minutes:.0f} s" if minutes < 2 else f"{minutes:.1f} min"


def _by_purge(plan: WeldPlan, mine: list[PlannedWeld]) -> list[tuple[Purging | None, list[PlannedWeld]]]:
    groups: list[tuple[Purging | None, list[PlannedWeld]]] = []
    for w in mine:
        purge = next((p for p in plan.purges if w.id in p.joints), None)
        if not groups or groups[-1][0] is not purge:
            groups.append((purge, []))
        groups[-1][1].append(w)
    return groups
