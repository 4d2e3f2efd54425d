"""Whether the valve's seat is the narrowest place, and the branch can be cut into its parent."""

from __future__ import annotations

from collections.abc import Iterator

from manifoldgen.checks.check import Check
from manifoldgen.checks.finding import Finding, FindingKind
from manifoldgen.engineering.areas import Passage, round_area, through_branch
from manifoldgen.errors import GeometryError
from manifoldgen.manifold.model import Branch, Manifold
from manifoldgen.manifold.mouth import mouth_of, parent_of
from manifoldgen.manifold.mouth_fit import troubles
from manifoldgen.wording import compared, fixed, size

WASTEGATE_AREA = FindingKind(
    name="wastegate-area",
    means="Something in the branch is narrower than the valve's seat, the branch is not clearly smaller than the tube "
    "it leaves, or its mouth runs off the bend.",
    why="The seat must be the narrowest place or the valve cannot pass what it was bought for. A branch as wide as its "
    "tube, or a mouth across a weld, cannot be cut and welded cleanly.",
    do="Open what is narrow, take a branch tube clearly smaller than the tube it leaves, make the bend longer or shift "
    "the branch outwards.",
)
EXACT = 1e-6  # mm, degrees; a share for areas


def check(m: Manifold) -> tuple[Finding, ...]:
    """`wastegate-area`: a passage narrower than the seat, a branch as wide as its tube, a mouth off its bend."""
    found: list[Finding] = []
    for branch in m.branches:
        found += (*_seat(m, branch), *_mouth(m, branch))
    return tuple(found)


CHECK = Check(kinds=(WASTEGATE_AREA,), ask=check)


def _seat(m: Manifold, branch: Branch) -> Iterator[Finding]:
    seat = Passage("seat", round_area(branch.seat))
    for passage in through_branch(m, branch):
        if passage.area < seat.area * (1 - EXACT):
            bore, area = compared(passage.bore, branch.seat), compared(passage.area, seat.area, least=0)
            message = (
                f"{passage.name} ({area.value} mm², as a {bore.value} mm in diameter) is smaller than the {size(branch.seat)} mm seat "
                f"({area.limit} mm²)."
            )
            do = f"Open it by {bore.apart} mm in diameter, or fit a valve with a smaller seat."
            yield _finding(branch, message, do, passage.area, seat.area, unit="mm²")


def _mouth(m: Manifold, branch: Branch) -> Iterator[Finding]:
    """What keeps a saddle from being built, as the solids ask it too; and a mouth that runs off its bend."""
    try:
        mouth, parent = mouth_of(m, branch), parent_of(m, branch)
    except GeometryError:
        return  # its parent has no path yet, or no bend there
    found = troubles(m, branch, mouth)
    for trouble in found:
        message = f"{branch.run.name}: {trouble.reason}."
        do = f"{trouble.do[0].upper()}{trouble.do[1:]}."
        yield _finding(branch, message, do, trouble.value, trouble.limit, unit="mm")
    if parent is not None and mouth.turn is not None and not found:
        yield from _off_its_bend(branch, mouth.turn, parent.bend.angle)


def _off_its_bend(branch: Branch, turn: tuple[float, float], angle: float) -> Iterator[Finding]:
    (first, last), bend = turn, f"the {branch.takeoff}'s {fixed(angle)}° bend"
    if last - angle > EXACT:
        told = compared(last, angle)
        message = (
            f"{branch.run.name}: its mouth runs to {told.value}°, {bend} has room to {told.limit}°: "
            f"{told.apart}° missing."
        )
        do = f"Make the bend {told.apart}° longer, shift the branch outwards or take a smaller tube."
        yield _finding(branch, message, do, last, angle, unit="deg")
    if first < -EXACT:
        told = compared(first, 0.0)
        message = f"{branch.run.name}: its mouth begins at {told.value}°, {bend} has room from 0.0°: {told.apart}° missing."
        do = f"Move it {told.apart}° downstream: aim it further into the flow, or take a smaller tube."
        yield _finding(branch, message, do, first, 0.0, unit="deg")


def _finding(
    branch: Branch, message: str, do: str, value: float | None, limit: float | None, *, unit: str
) -> Finding:
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
