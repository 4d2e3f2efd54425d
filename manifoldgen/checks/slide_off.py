"""Whether the manifold comes off its studs once the nuts are off."""

from __future__ import annotations

from manifoldgen.access.hands import Hands
from manifoldgen.checks.finding import Finding
from manifoldgen.manifold.model import Manifold


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
            f"{who} ({mm:.1f} mm short)" for who, mm in zip(off.blocked_by, off.missing_mm, strict=False)
        ]
        message = (
            f"The head flange does not slide off its studs: {off.travel_mm:.1f} mm of travel needed, "
            f"{off.free_mm:.1f} mm free before {', '.join(named) or 'something in the way'}."
        )
        do = "Move what stands in the way, take it off first, or use shorter studs."
        value, limit = off.free_mm, off.travel_mm
    unit = None if value is None else "mm"
    where = m.where.get("head_flange.studs")
    return (Finding("flange-will-not-slide-off", "error", message, do, value, limit, unit, parts, (), where),)
