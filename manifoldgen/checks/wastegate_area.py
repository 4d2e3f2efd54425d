"""Whether the valve's seat is the narrowest place, and the branch can be cut into its parent."""

from __future__ import annotations

from collections.abc import Iterator

from manifoldgen.checks.check import Check
from manifoldgen.checks.finding import Finding, FindingKind
from manifoldgen.checks.mouth import Mouth, on_bend, on_cone
from manifoldgen.engineering.areas import Passage, round_area, through_branch
from manifoldgen.geometry.path import Bend
from manifoldgen.manifold.model import Branch, Collector, Manifold
from manifoldgen.wording import compared, size, some

CLEARLY_SMALLER = 0.9  # of the parent's OD; common practice, no source (equal sizes leave no saddle)
WASTEGATE_AREA = FindingKind(
    name="wastegate-area",
    means="Something in the branch is narrower than the valve's seat, the branch is not clearly smaller than the tube "
    "it leaves, or its mouth runs off the bend.",
    why="The seat must be the narrowest place or the valve cannot pass what it was bought for. A branch as wide as its "
    "tube, or a mouth across a weld, cannot be cut and welded cleanly.",
    do=f"Open what is narrow, take a branch tube at most {CLEARLY_SMALLER:g} of the tube it leaves, make the bend longer "
    "or shift the branch outwards.",
)
TO_WELD = 3.0  # mm from a mouth to the welds at the cone's ends; common practice, no source
EXACT = 1e-6  # mm, degrees; a share for areas


def check(m: Manifold) -> tuple[Finding, ...]:
    """`wastegate-area`: a passage narrower than the seat, a branch as wide as its tube, a mouth off its bend."""
    found: list[Finding] = []
    for branch in m.branches:
        found += _seat(m, branch)
        if branch.element is not None:
            found += _off_bend(m, branch, branch.element)
        elif m.collectors:
            found += _off_cone(branch, m.collectors[0])
    return tuple(found)


CHECK = Check(kinds=(WASTEGATE_AREA,), ask=check)


def _seat(m: Manifold, branch: Branch) -> Iterator[Finding]:
    seat = Passage("seat", round_area(branch.seat))
    for passage in through_branch(m, branch):
        if passage.area < seat.area * (1 - EXACT):
            bore, area = compared(passage.bore, branch.seat), compared(passage.area, seat.area, least=0)
            message = (
                f"{passage.name} ({area.value} mm², as a {bore.value} mm round) is smaller than the {size(branch.seat)} mm seat "
                f"({area.limit} mm²)."
            )
            do = f"Open it by {bore.apart} mm in diameter, or fit a valve with a smaller seat."
            yield _finding(branch, message, do, passage.area, seat.area, unit="mm²")


def _off_bend(m: Manifold, branch: Branch, element: int) -> Iterator[Finding]:
    parent = next((r for r in (*m.runners, m.outlet) if r.name == branch.takeoff), None)
    if parent is None or parent.path is None:
        return
    bend = parent.path.elements[element]
    too_wide = list(_width(branch, parent.section.od, parent.name))
    yield from too_wide
    if isinstance(bend, Bend) and not too_wide:
        mouth = on_bend(bend.clr, parent.section.radius, branch.run.section.radius, branch.aim, branch.shift)
        yield from _mouth(
            branch, mouth, (0.0, bend.angle), f"the {branch.takeoff}'s {bend.angle:.1f}° bend", "deg"
        )


def _off_cone(branch: Branch, c: Collector) -> Iterator[Finding]:
    mouth = on_cone(c, branch)
    middle = min(max((mouth.first + mouth.last) / 2, c.merge_depth), c.length)
    share = (middle - c.merge_depth) / max(c.length - c.merge_depth, EXACT)
    od = 2 * (c.rim_radius + (c.outlet.radius - c.rim_radius) * share)
    too_wide = list(_width(branch, od, "the cone"))
    yield from too_wide
    if not too_wide:
        room = (c.merge_depth + TO_WELD, c.length - TO_WELD)
        yield from _mouth(branch, mouth, room, "the cone", "mm")


def _width(branch: Branch, parent: float, name: str) -> Iterator[Finding]:
    od, limit = branch.run.section.od, CLEARLY_SMALLER * parent
    if od > limit + EXACT:
        message = (
            f"{branch.run.name} OD {size(od)} mm is not clearly smaller than {name} ({size(parent)} mm); at most "
            f"{compared(od, limit).limit} mm."
        )
        do = f"Take a branch tube at least {some(od - limit)} mm smaller, or branch off a larger tube."
        yield _finding(branch, message, do, od, limit, unit="mm")


def _mouth(
    branch: Branch, mouth: Mouth, room: tuple[float, float], parent: str, unit: str
) -> Iterator[Finding]:
    sign = "°" if unit == "deg" else " mm"
    if mouth.over > EXACT:
        message = f"{branch.run.name} stands {some(mouth.over)} mm beyond the side of {parent}."
        do = f"Take {some(mouth.over)} mm or more off wastegate.takeoff.shift, or a smaller branch tube."
        yield _finding(branch, message, do, mouth.over, 0.0, unit="mm")
        return
    if mouth.last > room[1] + EXACT:
        told = compared(mouth.last, room[1])
        message = (
            f"{branch.run.name}'s mouth runs to {told.value}{sign}, {parent} has room to {told.limit}{sign}: "
            f"{told.apart}{sign} missing."
        )
        do = f"Make the bend {told.apart}{sign} longer, shift the branch outwards or take a smaller tube."
        if unit == "mm":
            do = f"Move it {told.apart} mm upstream (wastegate.takeoff.at), take a smaller tube or a longer cone."
        yield _finding(branch, message, do, mouth.last, room[1], unit=unit)
    if mouth.first < room[0] - EXACT:
        told = compared(mouth.first, room[0])
        message = (
            f"{branch.run.name}'s mouth begins at {told.value}{sign}, {parent} has room from {told.limit}{sign}: "
            f"{told.apart}{sign} missing."
        )
        do = f"Move it {told.apart}{sign} downstream: aim it further into the flow, or take a smaller tube."
        if unit == "mm":
            do = f"Move it {told.apart} mm downstream (wastegate.takeoff.at), take a smaller tube or a longer cone."
        yield _finding(branch, message, do, mouth.first, room[0], unit=unit)


def _finding(branch: Branch, message: str, do: str, value: float, limit: float, *, unit: str) -> Finding:
    return WASTEGATE_AREA.finding(
        message=message,
        do=do,
        value=value,
        limit=limit,
        unit=unit,
        parts=(branch.run.name, branch.takeoff),
        points=(branch.root,),
        where=branch.run.where,
    )
