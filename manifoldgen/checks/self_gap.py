"""Whether a tube keeps clear of itself."""

from __future__ import annotations

from collections.abc import Iterator

from manifoldgen.checks.bodies import whole
from manifoldgen.checks.check import GapCheck
from manifoldgen.checks.finding import Finding, FindingKind
from manifoldgen.checks.pairs import TOLERANCE, Pair, short
from manifoldgen.geometry.distance import within_tube
from manifoldgen.manifold.model import Manifold

SELF_GAP = FindingKind(
    name="self-gap",
    means="A tube comes back too close to itself.",
    why="A loop that touches itself cannot be welded, and rubs through.",
    do="Open the loop: a longer straight between the two bends, less bend, or a roll that carries it past itself.",
)
DO = "Open the loop by at least {}: a longer straight between its bends, or a flatter turn."


def measured(m: Manifold) -> Iterator[Pair]:
    """Every run that comes back near itself, with the worst place."""
    for run in m.runs:
        tube = whole(run)
        if tube is None:
            continue
        gap = within_tube(tube, m.limits.self_gap, TOLERANCE)
        if gap is not None:
            yield Pair(SELF_GAP, run.name, run.name, gap, DO, run.where)


def check(m: Manifold) -> tuple[Finding, ...]:
    """`self-gap`: a tube closer to itself than `limits.self_gap`."""
    return short(measured(m))


CHECK = GapCheck(kinds=(SELF_GAP,), measure=measured)
