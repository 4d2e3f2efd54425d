"""What is checked on a finished run: its end, what errors cost, the tightest place, the stud to try."""

from __future__ import annotations

import math

from manifoldgen.access.results import StudAccess
from manifoldgen.designs import Design
from manifoldgen.manifold.known import end_error, end_within
from manifoldgen.manifold.model import Manifold, Run
from manifoldgen.shop.cuts import CutRow
from manifoldgen.shop.plan import ShopPlan
from manifoldgen.wording import compared, fixed, place


def check_words(design: Design, run: Run) -> tuple[str, ...]:
    """Sentences for the CHECK box of one run."""
    return tuple(
        words
        for words in (
            _end(design.manifold, run), _printed(design.shop, run), _felt(design.shop, run), _tightest(design, run),
            _stud(design, run), _shrink(design.shop, run),
        )
        if words
    )  # fmt: skip


def _end(m: Manifold, run: Run) -> str:
    if run.path is None:
        return ""
    end = run.path.end
    to_bench = math.degrees(math.asin(max(-1.0, min(1.0, end.direction[2]))))
    where = "Collector joint plane" if run.kind == "runner" else "End"
    mm, deg = (math.ceil(10.0 * v - 1e-6) / 10.0 for v in end_within(m, run))  # never less than was measured
    off = end_error(m, run)
    known = (
        f". By the survey the place is known to ±{fixed(off[0])} mm and ±{fixed(off[1])}°" if any(off) else ""
    )
    return (
        f"[ ] {where} at x, y, z = {place(end.at)} mm, within {mm:g} mm; tube there {fixed(to_bench)}° to the bench, "
        f"within {deg:g}°{known}"
    )


def _printed(shop: ShopPlan, run: Run) -> str:
    error = next((e for e in shop.end_errors if e.part == run.name), None)
    if error is None:
        return ""
    return f"Rounding to 0.1 moves the end {_little(error.mm)} mm and {_little(error.deg)}°"


def _little(error: float) -> str:
    return "less than 0.1" if fixed(error) == "0.0" else fixed(error)


def _felt(shop: ShopPlan, run: Run) -> str:
    ids = {row.piece for row in shop.of(run.name)}
    felt = [s for s in shop.sensitivity if s.piece in ids]
    if not felt:
        return ""
    roll, cut = max(felt, key=lambda s: s.roll_mm), max(felt, key=lambda s: s.cut_deg)
    return (
        f"1 mm of roll error at {roll.piece} moves the end by {roll.roll_mm:.1f} mm; 1° of cut error at {cut.piece} "
        f"by {cut.cut_deg:.1f} mm"
    )


def _tightest(design: Design, run: Run) -> str:
    mine = [p for p in design.gaps if run.name in {p.a, p.b} and p.a != p.b and float(p.gap.asked) > 0.0]
    if not mine:
        return ""
    p = min(mine, key=lambda q: float(q.gap.margin) - q.known_to)
    other = p.b if p.a == run.name else p.a
    gap, asked = float(p.gap.gap), float(p.gap.asked)
    known = f", by the survey ± {fixed(p.known_to)} mm" if p.known_to else ""
    if not p.short and fixed(gap) == fixed(asked):
        return f"[ ] Tightest place: {other}, {fixed(gap)} mm{known}, just what is asked"
    told = compared(gap, asked)
    return f"[ ] Tightest place: {other}, {told.value} mm{known} (asked {told.limit} mm)"


def _stud(design: Design, run: Run) -> str:
    if design.hands is None or run.path is None:
        return ""
    m = design.manifold
    flange = {"runner": m.head, "outlet": m.turbo, "wastegate": m.wastegate_flange}[run.kind]
    at = run.path.start.at if run.kind == "runner" else run.path.end.at
    near = sorted(
        (s for s in design.hands.studs if flange is not None and s.flange == flange.name),
        key=lambda s: math.dist(s.at, at),
    )
    near = near[:4] if run.kind == "runner" else near
    return _try(min(near, key=lambda s: (s.reachable, s.clearance_mm))) if near else ""


def _try(s: StudAccess) -> str:
    if not s.reachable:
        return (
            f"[ ] Stud {s.id} is out of reach ({s.blocked_by or 'blocked'}): do not weld before it is tried"
        )
    return f"[ ] Try stud {s.id} before the last weld: {s.tool}, {fixed(s.clearance_mm)} mm of room"


def _shrink(shop: ShopPlan, run: Run) -> str:
    rows = shop.of(run.name)
    given, left = sum(r.shrink for r in rows), shop.shrink_left.get(run.name, 0.0)
    trim = next((r for r in rows if r.trim), None)
    words = f"Shrink is already in the cut lengths: {fixed(given)} mm in all"
    if left >= 0.05:
        words += (
            f"; {fixed(left)} mm more is drawn in where no straight could be made longer: hold it on the jig"
        )
    return words + (f". {trimmed(trim)}" if trim else "")


def trimmed(row: CutRow) -> str:
    """How a piece that is left longer is trimmed."""
    if not row.survey:
        return f"{row.piece} is {row.trim:g} mm longer: trim it on the jig"
    least, most = row.comes_off
    return (
        f"{row.piece} is {fixed(row.trim)} mm longer, {fixed(row.survey)} of it for the survey: trim it on the engine, to the "
        f"turbo itself; {fixed(least)} to {fixed(most)} mm come off"
    )
