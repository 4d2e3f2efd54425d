"""Whether the turbo's oil drain falls, and steeply enough."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from manifoldgen.checks.check import Check
from manifoldgen.checks.finding import Finding, FindingKind
from manifoldgen.geometry.vectors import angle_between, array
from manifoldgen.manifold.model import Manifold
from manifoldgen.wording import compared, fixed, some

DRAIN_FALL = FindingKind(
    name="drain-fall",
    means="The turbo's oil drain does not fall all the way, or leans too far from plumb.",
    why="Oil leaves the turbo as foam, by gravity alone. A drain that runs level or uphill backs up, and the turbo "
    "smokes. 35° from plumb is common practice, no published limit.",
    do="Raise the turbo, turn its centre housing, or take a return port further below. Straight down is best:\n\n"
    "      turbo o            turbo o\n"
    "            |                  \\__.--' return\n"
    "            o return     (backs up)",
)


@dataclass(frozen=True)
class Fall:
    """The straight line from drain to return: drop along `engine.up` in mm, degrees between it and plumb."""

    drop_mm: float
    from_plumb_deg: float


def fall(m: Manifold) -> Fall | None:
    """How the drain runs, None without one."""
    if m.drain is None:
        return None
    start, end = array(m.drain[0]), array(m.drain[1])
    down = -array(m.engine.up)
    run = end - start
    lean = angle_between(run, down) if float(np.linalg.norm(run)) > 0 else 90.0
    return Fall(float(run @ down), lean)


def check(m: Manifold) -> tuple[Finding, ...]:
    """`drain-fall`: the drain runs level or uphill, or further from plumb than the catalogue's limit."""
    found = fall(m)
    limit = m.tables.defaults("drain")["from_plumb"]
    if found is None or m.drain is None or found.from_plumb_deg <= limit + 1e-9:
        return ()
    lean = f"{compared(found.from_plumb_deg, limit).value}° from plumb, {limit:g}° is common practice at most"
    if found.drop_mm <= 0:
        message = f"The oil drain does not fall: its return is {fixed(-found.drop_mm)} mm above the turbo's port; {lean}."
    else:
        message = f"The oil drain falls {some(found.drop_mm)} mm but leans {lean}."
    sideways = float(np.linalg.norm(np.subtract(*m.drain))) ** 2 - found.drop_mm**2
    needed = max(0.0, sideways) ** 0.5 / float(np.tan(np.radians(limit))) - found.drop_mm
    do = f"Raise the turbo's drain or lower the return by {some(needed)} mm, or bring the two under each other."
    return (
        DRAIN_FALL.finding(
            message=message,
            do=do,
            value=found.from_plumb_deg,
            limit=limit,
            unit="deg",
            parts=("oil drain",),
            points=m.drain,
            where=m.where.get("turbo.drain"),
        ),
    )


CHECK = Check(kinds=(DRAIN_FALL,), ask=check)
