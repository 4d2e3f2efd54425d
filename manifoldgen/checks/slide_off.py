"""Whether the manifold comes off its studs once the nuts are off."""

from __future__ import annotations

from manifoldgen.access.hands import Hands
from manifoldgen.checks.check import HandCheck
from manifoldgen.checks.finding import Finding, FindingKind
from manifoldgen.manifold.model import Manifold
from manifoldgen.wording import compared, some

FLANGE_WILL_NOT_SLIDE_OFF = FindingKind(
    name="flange-will-not-slide-off",
    means="With all nuts off, the manifold does not travel far enough along its studs to come free.",
    why="It then has to be cut off, or the engine lifted out.",
    do="Shorter studs, the obstacle moved, or taken off first. Studs that are not parallel lock the flange: use "
    "screws there.",
)


def check(m: Manifold, hands: Hands) -> tuple[Finding, ...]:
    """`flange-will-not-slide-off`: something stands in the way, or the studs are not parallel."""
    off = hands.removal
    if off.head_flange_slides_off:
        return ()
    value: float | None = None
    limit: float | None = None
    if off.not_parallel:
        parts = off.not_parallel
        message = f"The head flange does not slide off: {', '.join(parts)} not parallel to the other studs."
        do = "Set the studs parallel, or use screws instead of studs on that flange."
    else:
        parts = ("head flange", *off.blocked_by)
        named = [
            f"{who} ({some(mm)} mm short)" for who, mm in zip(off.blocked_by, off.missing_mm, strict=False)
        ]
        told = compared(off.free_mm, off.travel_mm)
        message = (
            f"The head flange does not slide off its studs: {told.limit} mm of travel needed, "
            f"{told.value} mm free before {', '.join(named) or 'something in the way'}."
        )
        do = "Move what stands in the way, take it off first, or use shorter studs."
        value, limit = off.free_mm, off.travel_mm
    return (
        FLANGE_WILL_NOT_SLIDE_OFF.finding(
            message=message,
            do=do,
            value=value,
            limit=limit,
            unit=None if value is None else "mm",
            parts=parts,
            where=m.where.get("head_flange.studs"),
        ),
    )


CHECK = HandCheck(kinds=(FLANGE_WILL_NOT_SLIDE_OFF,), ask=check)
