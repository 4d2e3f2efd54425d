"""Whether every stud comes all the way through its nut."""

from __future__ import annotations

from manifoldgen.checks.check import Check
from manifoldgen.checks.finding import Finding, FindingKind
from manifoldgen.checks.places import of_studs
from manifoldgen.manifold.model import Manifold, Stud
from manifoldgen.wording import compared

STUD_TOO_SHORT = FindingKind(
    name="stud-too-short",
    means="A stud ends inside its nut.",
    why="A nut holds with its whole thread, and a lock nut locks with its last turns.",
    do="Fit a longer stud. Lengths are measured from the engine-side face on the head, from the flange face elsewhere.",
)
EXACT = 1e-6  # mm


def check(m: Manifold) -> tuple[Finding, ...]:
    """`stud-too-short`: a stud that ends inside its nut; a stud whose length is not given is not judged."""
    return tuple(f for stud in m.studs if (f := _short(m, stud)) is not None)


CHECK = Check(kinds=(STUD_TOO_SHORT,), ask=check)


def _short(m: Manifold, stud: Stud) -> Finding | None:
    if stud.kind != "stud" or stud.nut is None or stud.tip <= 0:
        return None
    washer = m.tables.washer(stud.thread).thickness if stud.washer else 0.0
    needed = washer + m.tables.nut(stud.nut, stud.thread).height
    if stud.tip >= needed - EXACT:
        return None
    under = "washer and nut" if stud.washer else "the nut"
    told = compared(stud.tip, needed)
    return STUD_TOO_SHORT.finding(
        message=f"{stud.id}: the stud ends {told.value} mm above the {stud.flange}, {under} need {told.limit} mm.",
        do=f"Fit a stud {told.apart} mm longer or more, or use a thinner nut.",
        value=stud.tip,
        limit=needed,
        unit="mm",
        parts=(stud.id, stud.flange),
        points=(stud.at,),
        where=of_studs(m, stud.flange),
    )
