"""Whether a gap is still there if what stands beside it is as far off as the survey leaves open."""

from __future__ import annotations

from collections.abc import Iterable

from manifoldgen.checks.finding import Finding, FindingKind
from manifoldgen.checks.pairs import TOLERANCE, Pair
from manifoldgen.checks.surveyed import beyond, measure_next, rests_on
from manifoldgen.geometry.vectors import vec
from manifoldgen.manifold.model import Manifold
from manifoldgen.wording import compared, some

SURVEY_GAP = FindingKind(
    name="survey-gap",
    severities=("error", "warning"),
    means="A gap is wide enough as laid out, but what stands beside it comes from the survey and may be nearer: the gap "
    "less the survey's expected error (95 %) is less than required. An error where the two may touch.",
    why="Tape and gauge cannot promise the gap. Most often there is more room than the sentence says, but that shows only "
    "when the tubes are there.",
    do="Take the readings named, the most useful first: they are cheaper than a tube. Or move the tube by the "
    "millimetres given. Or look at the trial fit, while everything is only tacked.",
)
KINDS = (SURVEY_GAP,)


def check(m: Manifold, gaps: Iterable[Pair]) -> tuple[Finding, ...]:
    """`survey-gap`: wide enough as laid out, but not less the survey's expected error; an error where the two may touch.

    gaps : every pair measured; one that is short as laid out, and one with a part that nothing can be built on, are
        findings of their own already.
    """
    return tuple(
        _finding(m, p)
        for p in gaps
        if -TOLERANCE <= p.gap.margin < p.known_to - TOLERANCE
        and not any(place and beyond(m, place[1]) for place in (rests_on(m, p.a), rests_on(m, p.b)))
    )


def _finding(m: Manifold, p: Pair) -> Finding:
    gap, required, sure = float(p.gap.gap), float(p.gap.asked), float(p.gap.gap) - p.known_to
    loose = [part for part in (p.a, p.b) if rests_on(m, part)]
    known = f"{loose[0]} is known" if len(loose) == 1 else "their places are known"
    told, apart = compared(gap, required), compared(sure, required)
    asked = f"{told.limit} mm required" if required else "which may not touch"
    promised = f"no more than {apart.value} mm can be promised" if sure > 0 else "the two may touch"
    settle = measure_next(m, (p.a, p.b), p.gap.margin)
    return SURVEY_GAP.finding(
        severity="warning" if sure > 0 else "error",
        message=f"{p.a} to {p.b} is {told.value} mm{p.told}, {asked}; {known} to ±{some(p.known_to)} mm "
        f"there (95 %), so {promised}.",
        do=f"{settle} Or move it at least {apart.apart} mm away there.",
        value=sure,
        limit=required,
        unit="mm",
        parts=(p.a, p.b),
        points=tuple(vec(q) for q in p.gap.points),
        where=p.where,
    )
