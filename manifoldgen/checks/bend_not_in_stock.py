"""Whether every bend can be cut from what is in stock, and matches the tube it is welded to."""

from __future__ import annotations

from collections.abc import Iterator

from manifoldgen.checks.bend_too_tight import least_clr
from manifoldgen.checks.bends import Bends, by_radius
from manifoldgen.checks.check import Check
from manifoldgen.checks.finding import Finding, FindingKind
from manifoldgen.geometry.path import Bend, Path, Straight
from manifoldgen.manifold.allowances import Allowances
from manifoldgen.manifold.model import Manifold, StockItem
from manifoldgen.pieces.choices import can_be_cut
from manifoldgen.pieces.stock import SAME_CLR, arcs, fits, step, with_clr
from manifoldgen.wording import compared

BEND_NOT_IN_STOCK = FindingKind(
    name="bend-not-in-stock",
    means="No elbow or bend of this radius is in stock for this tube, it does not match the tube's OD and wall, or it "
    "can only be used whole and the angle or the straights beside it do not suit.",
    why="The cut list can only cut what is there, and a step of more than a quarter of the wall is a poor butt weld.",
    do="Use a radius that is in stock, or list the elbow you have under `stock` with its measured sizes.",
)


def check(m: Manifold) -> tuple[Finding, ...]:
    """`bend-not-in-stock`: no elbow or bend of that radius and tube, or only one that must be used whole.

    Tubes for which the stock lists no elbow or bend at all are not judged, radii that are too tight are
    `bend-too-tight`. A bend larger than the largest elbow is no finding: it is welded from parts. Where the stock
    says how many there are, a bend that is left without one is named too.
    """
    found: list[Finding] = []
    for bends in by_radius(m):
        tightest = max(bends.run.section.radius, least_clr(m, bends.run) - SAME_CLR)
        if arcs(m.stock, bends.run.kind) and bends.clr >= tightest:
            found += _missing(m, bends)
    return tuple(found)


CHECK = Check(kinds=(BEND_NOT_IN_STOCK,), ask=check)


def _missing(m: Manifold, bends: Bends) -> Iterator[Finding]:
    listed = arcs(m.stock, bends.run.kind)
    same = with_clr(listed, bends.clr)
    share = Allowances.of(m.tables).step_share
    fitting = [i for i in same if fits(i, bends.run.section, share)]
    if not same:
        near = min(listed, key=lambda i: abs(i.clr - bends.clr)).clr
        had = ", ".join(f"{clr:g}" for clr in sorted({i.clr for i in listed}))
        message = f"CLR {bends.clr:g} mm is not in stock; there is {had} mm."
        do = f"Use CLR {near:g} mm, or list an elbow of {bends.clr:g} mm."
        yield bends.finding(BEND_NOT_IN_STOCK, message, do, value=bends.clr, limit=near)
    elif not fitting:
        yield _mismatch(bends, min(same, key=lambda i: step(i, bends.run.section)), share)
    elif bends.run.path is not None:
        for k in bends.at:
            path = bends.run.path
            element = path.elements[k]
            room = (_straight(path, k - 1), _straight(path, k + 1))
            if isinstance(element, Bend) and not can_be_cut(element.angle, fitting, room):
                yield _whole_only(bends, k, fitting)
            elif any(
                p.part == bends.run.name and k in p.elements for p in m.pieces if p.id in m.cutting.missing
            ):
                yield _too_few(bends, k, fitting)


def _straight(path: Path, k: int) -> float:
    """Length of an element that is a straight, mm; 0 for a bend or past either end."""
    element = path.elements[k] if 0 <= k < len(path.elements) else None
    return element.length if isinstance(element, Straight) else 0.0


def _too_few(bends: Bends, k: int, items: list[StockItem]) -> Finding:
    had = ", ".join(f"{i.count} of {i.name}" for i in items if i.count is not None)
    message = f"not enough CLR {bends.clr:g} mm in stock to cut it from: there is only {had}."
    do = "List more of them, or an elbow of that radius that can be bought."
    one = Bends(bends.run, bends.clr, (k,))
    return one.finding(BEND_NOT_IN_STOCK, message, do, value=0.0, limit=1.0, unit="pieces")


def _mismatch(bends: Bends, item: StockItem, share: float) -> Finding:
    tube = bends.run.section
    off, limit = step(item, tube), share * min(item.wall, tube.wall)
    told = compared(off, limit)
    message = (
        f"{item.name} is {item.od:g} × {item.wall:g} mm, the tube {tube.od:g} × {tube.wall:g} mm: "
        f"they step {told.value} mm at the joint, allowed {told.limit} mm."
    )
    do = "List an elbow of the tube's size, or use the tube that matches the elbow."
    return bends.finding(BEND_NOT_IN_STOCK, message, do, value=off, limit=limit)


def _whole_only(bends: Bends, k: int, items: list[StockItem]) -> Finding:
    element = bends.run.path.elements[k] if bends.run.path else None
    angle = element.angle if isinstance(element, Bend) else 0.0
    had = ", ".join(f"{i.name} ({i.angle:g}°, ends {i.legs[0]:g} and {i.legs[1]:g} mm)" for i in items)
    near = min(items, key=lambda i: abs(i.angle - angle))
    message = f"{compared(angle, near.angle).value}° cannot be cut: of CLR {bends.clr:g} mm there is only {had}, used whole."
    do = f"Make it {near.angle:g}° with {max(near.legs):g} mm of straight or more on both sides, or list a plain elbow."
    one = Bends(bends.run, bends.clr, (k,))
    return one.finding(BEND_NOT_IN_STOCK, message, do, value=angle, limit=near.angle, unit="deg")
