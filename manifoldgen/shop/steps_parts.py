"""The steps of the pieces of tube: marked out, sawn, trued, deburred, marked, their inlet or saddle cut, cleaned."""

from __future__ import annotations

from collections.abc import Iterator

from manifoldgen.manifold.model import Joint, Manifold
from manifoldgen.pieces.blanks import SQUARE
from manifoldgen.shop.cuts import CutRow
from manifoldgen.shop.marks import RollMark
from manifoldgen.shop.prep import prep
from manifoldgen.shop.rates import rate
from manifoldgen.shop.sawn import Sawn
from manifoldgen.shop.steps_prints import Printing
from manifoldgen.shop.steps_start import STOCK, code
from manifoldgen.shop.tables import ShopTables
from manifoldgen.shop.work_step import Operation, Step
from manifoldgen.wording import size


def piece_steps(shop: ShopTables, printing: Printing) -> Iterator[Step]:
    """Every piece of tube from the stock to where it can be fitted; one operation (`work_step.Operation`) after the other."""
    m, cuts = shop.manifold, shop.sawn
    rows = sorted(shop.cuts, key=lambda r: (r.stock is None, r.stock or "", r.number))
    feet = {j.between[1]: j for j in m.joints if j.kind == "saddle"}
    for family in ("saw guides", "mill nests"):
        yield from printing.step(family, (STOCK,))
    yield from (_lay(m, r) for r in rows if r.angle)
    yield from (_saw(m, r, cuts[r.piece], printing) for r in rows)
    yield from (_end_step(m, r, "square and true", "true", f"cut-{r.piece}") for r in rows)
    bevelled = {r.piece for r in rows if prep(m.tables, r.wall).bevel}
    for r in rows:
        if r.piece in bevelled:
            yield _end_step(m, r, "bevel", "bevel", f"true-{r.piece}")
    for r in rows:
        before = f"bevel-{r.piece}" if r.piece in bevelled else f"true-{r.piece}"
        yield _end_step(m, r, "deburr, inside and outside,", "deburr", before)
    rolls = {mark.piece: mark for mark in shop.marks}
    yield from (_mark(m, r, rolls.get(r.piece)) for r in rows)
    yield from (_mill(m, r, cuts[r.piece], printing) for r in rows if r.inlet and _merged(m, r.inlet))
    yield from (_flat(m, r, cuts[r.piece]) for r in rows if r.inlet and not _merged(m, r.inlet))
    yield from (_saddle(m, r, feet[r.piece]) for r in rows if r.piece in feet)
    yield from (_clean(m, r, feet) for r in rows)


def hole_steps(m: Manifold, printing: Printing) -> Iterator[Step]:
    """The hole of every branch in the piece it leaves, which is ready by then."""
    pieces = {p.id for p in m.pieces}
    yield from printing.step("wastegate window", (STOCK,))
    for joint in m.joints:
        if joint.kind != "saddle":
            continue
        parent, foot = joint.between
        window = printing.serving("wastegate window", joint.id)
        along = f"along the edges of {' and '.join(window)}" if window else f"from {foot} held in its place"
        what = (
            f"scribe the hole for {joint.id} on {parent} {along}; cut it, try {foot} on it, deburr and clean it "
            "inside and outside"
        )
        needs = [f"clean-{name}" for name in (parent, foot) if name in pieces]
        needs += printing.needs("wastegate window") if window else ()
        yield Step(f"hole-{joint.id}", "bench", what, rate(m, "hole_for_branch"), tuple(needs), joint.id)


def finished(m: Manifold) -> dict[str, tuple[str, ...]]:
    """By piece and flange: the steps after which it can be fitted."""
    saddles = [j for j in m.joints if j.kind == "saddle"]
    made: dict[str, tuple[str, ...]] = {f.name: (f"ready-{code(f)}",) for f in m.flanges}
    for p in m.pieces:
        made[p.id] = (f"clean-{p.id}", *(f"hole-{j.id}" for j in saddles if j.between[0] == p.id))
    return made


def _lay(m: Manifold, r: CutRow) -> Step:
    what = (
        f"mark out {r.piece} on {_from(r)}: {r.angle:.1f}°, back {r.back:.1f}, side {r.centre:.1f}, "
        f"throat {r.throat:.1f} mm"
    )
    return Step(f"lay-{r.piece}", "bench", what, rate(m, "lay_out"), (STOCK,), r.piece, op="lay")


def _saw(m: Manifold, r: CutRow, cut: Sawn, printing: Printing) -> Step:
    if r.angle:
        legs = f" with straights {cut.before:.1f} and {cut.after:.1f} mm" if cut.before or cut.after else ""
        guide = printing.serving("saw guides", r.piece)
        held = f", in {' with '.join(guide)}" if guide else ""
        needs = (f"lay-{r.piece}", *(printing.needs("saw guides") if guide else ()))
        what = f"saw {r.piece} from {_from(r)}: {r.angle:.1f}°{legs}{held}"
        return Step(f"cut-{r.piece}", "saw", what, rate(m, "saw_bend"), needs, r.piece, _size(r), op="cut")
    blank = " (a blank: its inlet end comes later)" if cut.more else ""
    what = f"saw {r.piece} from {_from(r)}: {cut.before:.1f} mm{blank}"
    return Step(f"cut-{r.piece}", "saw", what, rate(m, "saw_straight"), (STOCK,), r.piece, _size(r), op="cut")


def _end_step(m: Manifold, r: CutRow, words: str, op: Operation, before: str) -> Step:
    """One operation on the square ends of a piece."""
    foot = any(j.kind == "saddle" and j.between[1] == r.piece for j in m.joints)
    ends = 1 if r.inlet or foot else 2
    what = f"{words} {'the square end' if ends == 1 else 'both ends'} of {r.piece}"
    minutes = ends * rate(m, f"{op}_end")
    return Step(f"{op}-{r.piece}", "belt sander", what, minutes, (before,), r.piece, op=op)


def _mark(m: Manifold, r: CutRow, roll: RollMark | None) -> Step:
    what = f"mark {r.piece}: its id, an arrow downstream, its back line"
    if roll:
        what += f"; {roll.said}"
    size = f"{roll.roll:.1f}° roll" if roll else ""
    return Step(
        f"mark-{r.piece}",
        "bench",
        what,
        rate(m, "mark_piece"),
        (f"deburr-{r.piece}",),
        r.piece,
        size,
        op="mark",
    )


def _mill(m: Manifold, r: CutRow, cut: Sawn, printing: Printing) -> Step:
    nest = printing.serving("mill nests", r.piece)
    held = f", in {' with '.join(nest)}" if nest else ""
    what = (
        f"mill the inlet end of {r.piece}{held}: {_line(r, cut)}two cuts by tilt and roll from the back line, "
        f"then the flat cut{_grip(cut)}; deburr"
    )
    minutes = rate(m, "mill_setup") + 3 * rate(m, "mill_cut")
    needs = (f"mark-{r.piece}", *(printing.needs("mill nests") if nest else ()))
    return Step(f"mill-{r.piece}", "mill", what, minutes, needs, r.piece, op="mill")


def _flat(m: Manifold, r: CutRow, cut: Sawn) -> Step:
    """A plate collector's inlet: one slanted cut at the saw."""
    angle = next(c.half_angle for c in m.collectors if r.inlet in c.order)
    how = (
        f"saw it {angle:.1f}° from square, shortest on the back line" if angle > SQUARE else "true it square"
    )
    what = f"inlet end of {r.piece}: {_line(r, cut)}{how}{_grip(cut)}; deburr"
    return Step(f"flat-{r.piece}", "saw", what, rate(m, "saw_bend"), (f"mark-{r.piece}",), r.piece, op="flat")


def _saddle(m: Manifold, r: CutRow, joint: Joint) -> Step:
    what = f"cut the saddle end of {r.piece} by its wrap template for {joint.between[0]}, deburr"
    minutes = rate(m, "hole_for_branch")
    return Step(f"saddle-{r.piece}", "bench", what, minutes, (f"mark-{r.piece}",), r.piece, op="saddle")


def _clean(m: Manifold, r: CutRow, feet: dict[str, Joint]) -> Step:
    """Both ends, after all that makes them dirty."""
    last = "mark"
    if r.inlet:
        last = "mill" if _merged(m, r.inlet) else "flat"
    elif r.piece in feet:
        last = "saddle"
    what = (
        f"clean both ends of {r.piece}: bright metal {prep(m.tables, r.wall).clean:g} mm inside and outside, "
        "wiped with solvent"
    )
    return Step(
        f"clean-{r.piece}",
        "bench",
        what,
        2 * rate(m, "clean_end"),
        (f"{last}-{r.piece}",),
        r.piece,
        op="clean",
    )


def _line(r: CutRow, cut: Sawn) -> str:
    """The line the inlet end is measured from, where that is not the sawn end."""
    if not cut.line:
        return ""
    return f"scribe {r.joints[0]} {cut.line:.1f} mm from its end and measure from there; "


def _grip(cut: Sawn) -> str:
    return f"; saw off the {cut.hold:.0f} mm grip allowance" if cut.hold else ""


def _from(r: CutRow) -> str:
    return f"{r.stock} no. {r.number}" if r.stock else "no stock in the job"


def _size(r: CutRow) -> str:
    """The numbers a piece is cut to."""
    straights = f" +{r.before:.1f} +{r.after:.1f}" if r.angle and (r.before or r.after) else ""
    return f"{r.angle:.1f}°{straights} CLR {size(r.clr)}" if r.angle else f"{r.cut:.1f} mm"


def _merged(m: Manifold, inlet: int) -> bool:
    return any(c.kind == "merge" and inlet in c.order for c in m.collectors)
